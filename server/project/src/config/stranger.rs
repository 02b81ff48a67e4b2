//! What counts of settings that a stranger may have written.

use super::Reading;
use std::{mem, path::Path};

impl Reading {
    /// The same without what names folders, which are read and written, and without dialects of which `is_inside` says
    /// that they lie elsewhere than the settings do.
    pub(crate) fn of_a_stranger(mut self, is_inside: impl Fn(&Path) -> bool) -> Self {
        let dialects = mem::take(&mut self.config.dialects).into_iter();
        let absent = mem::take(&mut self.absent);
        let own = dialects.zip(absent).filter(|(file, _)| is_inside(file));
        (self.config.dialects, self.absent) = own.unzip();
        (self.config.game_folder, self.absent_game) = (None, None);
        self.config.library.clear();
        self.absent_libraries.clear();
        self.config.cache_folder = None;
        self
    }
}
