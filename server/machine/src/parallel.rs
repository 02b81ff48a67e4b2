//! The same work for many things, on all cores.

use std::cell::Cell;
use std::iter::Flatten;
use std::panic::resume_unwind;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::vec::IntoIter;

thread_local! {
    static IS_ONE_OF_MANY: Cell<bool> = const { Cell::new(false) };
}

/// One after the other, as they are taken: together they may be large.
pub type Made<T> = Flatten<IntoIter<Vec<T>>>;

/// What `make` makes of each number below `count`, in order, on all cores if each gets at least `share` numbers, which
/// should be worth a thread. What is done in parallel already is not divided further.
pub fn in_parallel<T: Send>(
    count: usize,
    share: usize,
    make: impl Fn(usize) -> T + Sync,
) -> Made<T> {
    in_parallel_with(count, share, || (), |(), number| make(number))
}

/// The same with something that each thread begins with and keeps from one number to the next, such as room to work in.
pub(crate) fn in_parallel_with<T: Send, R>(
    count: usize,
    share: usize,
    begin: impl Fn() -> R + Sync,
    make: impl Fn(&mut R, usize) -> T + Sync,
) -> Made<T> {
    let shares = count.div_ceil(share);
    // Taken at a time. When there is no more, no thread has much left to do.
    let few = (share / 8).max(1);
    // Asked only where there are several.
    let threads = match shares < 2 || IS_ONE_OF_MANY.get() {
        true => 1,
        false => shares.min(cores()),
    };
    if threads < 2 {
        let mut room = begin();
        let all = (0..count).map(|number| make(&mut room, number)).collect();
        return vec![all].into_iter().flatten();
    }
    let (next, begin, make) = (&AtomicUsize::new(0), &begin, &make);
    let work = move || {
        let _until_done = OneOfMany::begin();
        let mut made: Vec<(usize, Vec<T>)> = Vec::new();
        let mut room = begin();
        loop {
            let start = next.fetch_add(few, Ordering::Relaxed);
            if start >= count {
                return made;
            }
            let numbers = start..count.min(start + few);
            let few = numbers.map(|number| make(&mut room, number));
            made.push((start, few.collect()));
        }
    };
    let mut made: Vec<(usize, Vec<T>)> = thread::scope(|scope| {
        // This thread does its share: one less has to be started, and what it makes lies where it will be used.
        let workers: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut made = work();
        for worker in workers {
            made.extend(worker.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        made
    });
    made.sort_unstable_by_key(|(start, _)| *start);
    let made: Vec<Vec<T>> = made.into_iter().map(|(_, made)| made).collect();
    made.into_iter().flatten()
}

/// What two functions give back. They are called at the same time, the second one on another thread, unless what is at
/// hand is done in parallel already. Both should be worth a thread.
pub fn both<A, B: Send>(one: impl FnOnce() -> A, other: impl FnOnce() -> B + Send) -> (A, B) {
    if is_one_of_many() {
        return (one(), other());
    }
    thread::scope(|scope| {
        let other = scope.spawn(other);
        let one = one();
        (
            one,
            other.join().unwrap_or_else(|panic| resume_unwind(panic)),
        )
    })
}

/// Whether what is at hand is done in parallel already, or there is only one core: nothing is gained by another thread.
pub fn is_one_of_many() -> bool {
    IS_ONE_OF_MANY.get() || cores() < 2
}

/// Marks the thread as one that does a share, until it is dropped.
struct OneOfMany;

impl OneOfMany {
    fn begin() -> Self {
        IS_ONE_OF_MANY.set(true);
        Self
    }
}

impl Drop for OneOfMany {
    fn drop(&mut self) {
        IS_ONE_OF_MANY.set(false);
    }
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
                assert!(squares.eq((0..count).map(|n| n * n)));
            }
        }
    }

    #[test]
    fn what_is_divided_is_not_divided_further() {
        let here = || thread::current().id();
        let mut inner = in_parallel(8, 1, |_| {
            in_parallel(8, 1, |_| here()).all(|id| id == here())
        });
        assert!(cores() < 2 || inner.all(|is_same| is_same));
    }

    #[test]
    fn who_asks_does_a_share_each_time() {
        if cores() < 2 {
            return;
        }
        let here = || thread::current().id();
        for _ in 0..2 {
            let both_at_once = std::sync::Barrier::new(2);
            let threads = in_parallel(2, 1, |_| {
                both_at_once.wait();
                here()
            });
            let threads: Vec<_> = threads.collect();
            assert!(threads.contains(&here()) && threads[0] != threads[1]);
        }
    }

    #[test]
    fn two_are_done_at_once_but_not_within_what_is_divided() {
        let here = || thread::current().id();
        let (one, other) = both(here, || (here(), both(here, here).0));
        assert!(one == here() && other.0 == other.1);
        assert!(cores() < 2 || (one != other.0 && !is_one_of_many()));
        assert!(in_parallel(8, 1, |_| is_one_of_many()).all(|is_one| is_one));
        let mut inner = in_parallel(8, 1, |_| both(here, here) == (here(), here()));
        assert!(cores() < 2 || inner.all(|is_same| is_same));
    }

    #[test]
    #[should_panic(expected = "of the other")]
    fn a_panic_of_the_second_of_two_comes_out() {
        both(|| (), || panic!("of the other"));
    }

    #[test]
    #[should_panic(expected = "at 700")]
    fn a_panic_comes_out() {
        let _ = in_parallel(1000, 100, |n| assert!(n != 700, "at {n}"));
    }
}
