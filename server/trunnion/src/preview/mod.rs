//! The live preview: a page on this computer that shows a machine in 3D and follows its definition.
//!
//! [`host`] opens a port and hands out addresses, [`answers`] says what each of them gets, [`facts`] what the page
//! shows of a machine and [`poses`] where everything stands, [`tracks`] how wide it gets, [`files`] gives the page the scene's meshes, and no other
//! file. The page itself is in `editor-clients/preview-page`.
//!
//! All poses are calculated here, by the room `motion`: the page has world matrices to show and nothing to reckon, so
//! what it shows is what the checks and the command line say.

mod answers;
mod facts;
mod files;
mod host;
mod page;
mod poses;
mod tracks;

use std::path::PathBuf;
use std::sync::Arc;

use ide::Finding;
use project::View;

pub(crate) use files::{Referred, Stamp, stamp};
pub(crate) use host::Host;
pub(crate) use page::{NOT_BUILT, is_built};

/// What a page is about, looked at afresh for every answer.
pub(crate) trait Subject: Send + Sync + 'static {
    /// The definition's file: for its name only.
    fn file(&self) -> PathBuf;

    /// The definition as it is now.
    ///
    /// # Errors
    /// Says, for a person, why there is nothing to be seen.
    fn view(&self) -> Result<Arc<View>, String>;

    /// All that is wrong with it.
    fn findings(&self, view: &View) -> Vec<Finding>;
}
