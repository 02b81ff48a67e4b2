//! What is read from files, once for each state of a file: whoever asks while another thread reads waits for that.

use dashmap::DashMap;
use std::{
    path::{Path, PathBuf},
    sync::{Arc, OnceLock},
};

/// By file: its state, and what was read from it, once somebody has.
#[derive(Debug)]
pub(crate) struct ReadOnce<S, T>(DashMap<PathBuf, (S, Slot<T>)>);

type Slot<T> = Arc<OnceLock<T>>;

impl<S, T> Default for ReadOnce<S, T> {
    fn default() -> Self {
        Self(DashMap::new())
    }
}

impl<S: Clone + PartialEq, T: Clone> ReadOnce<S, T> {
    /// What is in the file in this state; `read` reads it.
    pub(crate) fn get(&self, file: &Path, state: S, read: impl FnOnce() -> T) -> T {
        self.slot(file, state).get_or_init(read).clone()
    }

    pub(crate) fn knows(&self, file: &Path, state: &S) -> bool {
        self.0.get(file).is_some_and(|known| known.0 == *state)
    }

    fn slot(&self, file: &Path, state: S) -> Slot<T> {
        if let Some(known) = self.0.get(file).filter(|known| known.0 == state) {
            return Arc::clone(&known.1);
        }
        let new = || (state.clone(), Slot::default());
        let mut known = self.0.entry(file.to_path_buf()).or_insert_with(new);
        // Another thread may have begun to read it just now.
        if known.0 != state {
            *known = new();
        }
        Arc::clone(&known.1)
    }

    /// The states of all files of which something is known.
    pub(crate) fn states(&self) -> impl Iterator<Item = S> {
        self.0.iter().map(|known| known.0.clone())
    }

    /// Lets go of what has been read and is not `wanted`.
    pub(crate) fn retain(&self, wanted: impl Fn(&T) -> bool) {
        self.0.retain(|_, (_, slot)| slot.get().is_none_or(&wanted));
    }
}

#[cfg(test)]
mod tests {
    use super::ReadOnce;
    use std::path::Path;
    use std::sync::Barrier;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn of_all_who_ask_at_once_one_reads() {
        let (known, read) = (ReadOnce::default(), AtomicU32::new(0));
        let together = Barrier::new(8);
        let ask = || {
            together.wait();
            known.get(Path::new("a"), 1, || read.fetch_add(1, Ordering::Relaxed))
        };
        std::thread::scope(|scope| {
            let asking: Vec<_> = (0..8).map(|_| scope.spawn(ask)).collect();
            for one in asking {
                assert_eq!(one.join().unwrap(), 0);
            }
        });
        assert_eq!(read.into_inner(), 1);
    }

    #[test]
    fn a_file_is_read_again_in_another_state() {
        let known = ReadOnce::default();
        let file = Path::new("a");
        assert_eq!(known.get(file, 1, || "old"), "old");
        assert_eq!(known.get(file, 1, || "new"), "old");
        assert!(!known.knows(file, &2));
        assert_eq!(known.get(file, 2, || "new"), "new");
        assert_eq!(known.states().collect::<Vec<_>>(), [2]);
    }
}
