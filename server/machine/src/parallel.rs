//! The same work for many things, on all cores.

use std::panic::resume_unwind;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// What `make` makes of each number below `count`, in order. Uses all cores, each of which takes `share` numbers at a
/// time; `share` should be worth a thread.
pub fn in_parallel<T: Send>(
    count: usize,
    share: usize,
    make: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    let shares = count.div_ceil(share);
    // Asked only where there are several.
    let threads = if shares < 2 { 1 } else { shares.min(cores()) };
    if threads < 2 {
        return (0..count).map(make).collect();
    }
    let (next, make) = (&AtomicUsize::new(0), &make);
    let work = move || {
        let mut made: Vec<(usize, Vec<T>)> = Vec::new();
        loop {
            let start = next.fetch_add(1, Ordering::Relaxed) * share;
            if start >= count {
                return made;
            }
            made.push((start, (start..count.min(start + share)).map(make).collect()));
        }
    };
    let mut made: Vec<(usize, Vec<T>)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        let made = workers.into_iter().map(|worker| worker.join());
        made.flat_map(|made| made.unwrap_or_else(|panic| resume_unwind(panic)))
            .collect()
    });
    made.sort_unstable_by_key(|(start, _)| *start);
    made.into_iter().flat_map(|(_, made)| made).collect()
}

/// To ask the system takes longer than most of what is done between two keystrokes.
fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| thread::available_parallelism().map_or(1, usize::from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_order_stays() {
        for count in [0, 1, 127, 128, 1000, 1025] {
            for share in [1, 64, 5000] {
                let squares = in_parallel(count, share, |n| n * n);
                assert_eq!(squares, (0..count).map(|n| n * n).collect::<Vec<_>>());
            }
        }
    }

    #[test]
    #[should_panic(expected = "at 700")]
    fn a_panic_comes_out() {
        in_parallel(1000, 100, |n| assert!(n != 700, "at {n}"));
    }
}
