//! The same work for many things, on all cores.

use std::sync::OnceLock;
use std::thread;

/// Fewer things than this are not worth a thread.
const WORTHWHILE: usize = 128;

/// What `make` makes of each number below `count`, in order. Uses all cores if there is much to do.
pub fn in_parallel<T: Send>(count: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let threads = match count / WORTHWHILE {
        0 | 1 => 1,
        worthwhile => worthwhile.min(cores()),
    };
    if threads < 2 {
        return (0..count).map(make).collect();
    }
    let make = &make;
    let share = count.div_ceil(threads);
    thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|nth| {
                let numbers = nth * share..((nth + 1) * share).min(count);
                scope.spawn(move || numbers.map(make).collect::<Vec<T>>())
            })
            .collect();
        let mut all = Vec::with_capacity(count);
        for worker in workers {
            match worker.join() {
                Ok(made) => all.extend(made),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    })
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
            let squares = in_parallel(count, |n| n * n);
            assert_eq!(squares, (0..count).map(|n| n * n).collect::<Vec<_>>());
        }
    }

    #[test]
    #[should_panic(expected = "at 700")]
    fn a_panic_comes_out() {
        in_parallel(1000, |n| assert!(n != 700, "at {n}"));
    }
}
