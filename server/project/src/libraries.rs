//! The libraries that documents are compared with, read in the background: who asks gets what is
//! known by now, and never waits.

use crate::{
    config::{Limits, Size},
    index::{self, Index, Progress},
    settings::Settings,
};
use dashmap::DashMap;
use learn::Precedents;
use std::{
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
    path::{Path, PathBuf},
    sync::{Arc, OnceLock, RwLock},
    thread,
};

/// Told how far the reading of a library is.
type Observer = dyn Fn(News<'_>) + Send + Sync;

/// What happens to a library.
#[derive(Clone, Copy, Debug)]
pub enum News<'n> {
    /// It is being read: which one, as a person may know it.
    Reading(&'n Path, Progress),
    /// It is there.
    Ready(&'n Path, &'n Index),
    /// It could not be read, by a fault of ours.
    Failed(&'n Path),
}

/// All libraries that somebody asked for.
#[derive(Default)]
pub struct Libraries {
    known: DashMap<Key, Arc<Slot>>,
    observer: OnceLock<Box<Observer>>,
}

/// What makes a library: the folders, where its index is kept, the root elements of the documents that are of interest,
/// and how large these may be.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    roots: Vec<PathBuf>,
    cache: Option<PathBuf>,
    documents: Vec<String>,
    largest: Size,
}

struct Slot {
    limits: Limits,
    state: RwLock<State>,
}

#[derive(Default)]
struct State {
    precedents: Option<Arc<Precedents>>,
    is_being_read: bool,
    /// Files changed since the reading began.
    is_stale: bool,
}

impl Libraries {
    /// From now on `observer` is told. Only the first one counts.
    pub fn observe(&self, observer: Box<Observer>) {
        let _ = self.observer.set(observer);
    }

    /// The library of a document with these settings, if it was read by now. The first to ask
    /// has it read. None, too, if none is configured.
    pub fn ready(self: &Arc<Self>, settings: &Settings) -> Option<Arc<Precedents>> {
        let config = &settings.config;
        if config.library.is_empty() {
            return None;
        }
        let dialects = settings.dialects.iter();
        let documents = dialects.flat_map(|dialect| &dialect.documents);
        let key = Key {
            roots: config.library.clone(),
            cache: config.cache_folder.clone(),
            documents: documents.map(|document| document.root.clone()).collect(),
            largest: config.limits.document,
        };
        if let Some(slot) = self.known.get(&key) {
            return slot.read(|state| state.precedents.clone());
        }
        let slot = self.known.entry(key.clone()).or_insert_with(|| {
            Arc::new(Slot {
                limits: config.limits,
                state: RwLock::default(),
            })
        });
        let slot = slot.clone();
        self.begin(key, &slot);
        None
    }

    /// Files have changed: libraries that hold one of them are read again.
    pub fn changed(self: &Arc<Self>, files: &[PathBuf]) {
        let holding: Vec<(Key, Arc<Slot>)> = self
            .known
            .iter()
            .filter(|slot| {
                let is_in =
                    |file: &PathBuf| slot.key().roots.iter().any(|root| file.starts_with(root));
                files.iter().any(is_in)
            })
            .map(|slot| (slot.key().clone(), slot.value().clone()))
            .collect();
        for (key, slot) in holding {
            self.begin(key, &slot);
        }
    }

    fn begin(self: &Arc<Self>, key: Key, slot: &Arc<Slot>) {
        let is_begun = slot.write(|state| {
            state.is_stale = state.is_being_read;
            std::mem::replace(&mut state.is_being_read, true)
        });
        if is_begun {
            return;
        }
        let (this, own) = (self.clone(), slot.clone());
        let begun = thread::Builder::new().spawn(move || {
            let name = key.roots.first().map_or(Path::new(""), PathBuf::as_path);
            loop {
                let Some((precedents, index)) = this.read(&key, name, &own.limits) else {
                    own.write(|state| state.is_being_read = false);
                    return this.tell(News::Failed(name));
                };
                let again = own.write(|state| {
                    state.precedents = Some(Arc::new(precedents));
                    state.is_being_read = std::mem::take(&mut state.is_stale);
                    state.is_being_read
                });
                this.tell(News::Ready(name, &index));
                if !again {
                    return;
                }
            }
        });
        if begun.is_err() {
            // Without a thread there is no library; the next change tries again.
            slot.write(|state| state.is_being_read = false);
        }
    }

    /// None: something in here went wrong.
    fn read(&self, key: &Key, name: &Path, limits: &Limits) -> Option<(Precedents, Index)> {
        let read = || {
            let told = |progress| self.tell(News::Reading(name, progress));
            let mut index = index::read(&key.roots, key.cache.as_deref(), limits, &told);
            let corpus = std::mem::take(&mut index.corpus);
            let corpus = corpus.only(|_, root| key.documents.iter().any(|known| known == root));
            (Precedents::of(corpus), index)
        };
        // Nothing of what it was at is used any more.
        catch_unwind(AssertUnwindSafe(read)).ok()
    }

    fn tell(&self, news: News<'_>) {
        if let Some(observer) = self.observer.get() {
            observer(news);
        }
    }
}

impl Slot {
    fn read<T>(&self, look: impl FnOnce(&State) -> T) -> T {
        look(
            &self
                .state
                .read()
                .unwrap_or_else(|broken| broken.into_inner()),
        )
    }

    fn write<T>(&self, change: impl FnOnce(&mut State) -> T) -> T {
        change(
            &mut self
                .state
                .write()
                .unwrap_or_else(|broken| broken.into_inner()),
        )
    }
}

impl fmt::Debug for Libraries {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Libraries").finish_non_exhaustive()
    }
}
