//! Mods on disk and open documents: one snapshot of all that is known.
//!
//! A [`Workspace`] has one writer and gives out [`Snapshot`]s; a snapshot
//! makes a [`View`] of a document when it is asked for one. All reading of the
//! disk happens there, so that features can be pure functions over a view.

mod ahead;
mod baseline;
mod below;
mod config;
mod disk;
mod document;
mod files;
#[cfg(test)]
mod fixture;
mod folder;
mod index;
mod inventory;
mod libraries;
pub mod library;
mod once;
mod scene_change;
mod scene_file;
mod settings;
mod snapshot;
mod step;
mod view;
mod workspace;

pub use ahead::HEAD_LENGTH;
pub use baseline::is_baseline;
pub use config::{
    Config, FILE_NAME as CONFIG_FILE_NAME, Limits, SETTINGS, Setting, SettingsProblem, Size,
    dialects_named, reference as settings_reference, straightened,
};
pub use disk::{Disk, FileState};
pub use document::{ChangeError, ContentChange, Document};
pub use files::{About, Entries, Entry, Files, Inside, content_of, inside};
pub use folder::ModFolder;
pub use index::{Index, Progress, cache_folder, read as read_index, readable};
pub use inventory::{ControlText, Heavy, Inventory, Weight};
pub use libraries::{Libraries, News};
pub use scene_change::{Earlier, SceneChange};
pub use scene_file::SceneFile;
pub use settings::{Settings, SettingsStore};
pub use snapshot::{Below, Snapshot, view_of};
pub use step::{Difference, How};
pub use view::{Meaning, SceneState, View};
pub use workspace::{Workspace, WorkspaceError};
