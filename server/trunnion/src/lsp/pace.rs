//! How long it takes to look at a document after a change: what the last time took is what the next time will take.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Nobody notices that a message waits so long. The next thread would be awake after a twentieth of it.
const QUICK: Duration = Duration::from_millis(2);

/// Of one document. Clones are the same one.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pace(Arc<AtomicBool>);

impl Pace {
    /// Calls `look`, which looks at the document.
    pub(crate) fn measure<T>(&self, look: impl FnOnce() -> T) -> T {
        let begun = Instant::now();
        let seen = look();
        self.0.store(begun.elapsed() < QUICK, Ordering::Relaxed);
        seen
    }

    /// Whether a look will be over in no time.
    pub(crate) fn is_quick(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// More than a key was pressed, so the next look may take any time.
    pub(crate) fn forget(&self) {
        self.0.store(false, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use std::thread;

    use super::*;

    #[test]
    fn the_next_look_takes_as_long_as_the_last_one() {
        let pace = Pace::default();
        assert!(!pace.is_quick(), "nothing is known");
        assert_eq!(pace.measure(|| 1), 1);
        assert!(pace.is_quick());
        pace.measure(|| thread::sleep(QUICK));
        assert!(!pace.is_quick());
    }

    #[test]
    fn what_is_forgotten_is_not_quick() {
        let pace = Pace::default();
        pace.measure(|| ());
        pace.clone().forget();
        assert!(!pace.is_quick());
    }
}
