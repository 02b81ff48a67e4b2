//! What of a portion's facts stays when some of its items do.
//!
//! What an element says depends on itself and on what it stands in. So of a run of items in which one has changed, only
//! that one is read again.

use crate::facts::{Facts, LooseChannel, Ranges};
use crate::model::{
    Alias, Animation, Control, Definition, FileUse, Sound, Spanned, Use, Wheel, Wording,
};
use syntax::{Portion, TextRange, TextSize};

/// What two versions of a run of items have in common.
#[derive(Debug)]
pub struct Kept {
    /// The end of the items at the front, relative to the portion.
    front: TextSize,
    /// The start of the items at the back, relative to the portion.
    back: TextSize,
    /// The same in the version before.
    back_before: TextSize,
}

impl Kept {
    /// What a portion shares with what it was before an edit.
    pub fn of(now: &Portion, before: &Portion) -> Self {
        let (front, back) = now.in_common(before);
        Self {
            front,
            back: now.range.len() - back,
            back_before: before.range.len() - back,
        }
    }

    /// The range of the items that are not kept, relative to the portion.
    pub fn between(&self) -> TextRange {
        TextRange::new(self.front, self.back)
    }

    /// The range of those that they stand for in the version before, relative to the portion then.
    pub fn between_before(&self) -> TextRange {
        TextRange::new(self.front, self.back_before)
    }

    /// What was found of items: of what is between, and what is kept of the version before. Ranges, and the `start` of what was
    /// found, are relative to the portion; all is sorted by item.
    pub fn put_around<T: Ranges + Clone>(
        &self,
        between: Vec<T>,
        before: &[T],
        start: impl Fn(&T) -> TextSize,
    ) -> Vec<T> {
        let front = before.partition_point(|one| start(one) < self.front);
        let back = before.partition_point(|one| start(one) < self.back_before);
        let (front, back) = (&before[..front], &before[back..]);
        if front.is_empty() && back.is_empty() {
            return between;
        }
        let mut all = Vec::with_capacity(front.len() + between.len() + back.len());
        all.extend_from_slice(front);
        all.extend(between);
        let moved = |one: &T| one.clone().moved_back(self.back_before).moved_on(self.back);
        all.extend(back.iter().map(moved));
        all
    }

    /// The facts of the portion: those of what is between, and those that are kept of the version before.
    pub(crate) fn facts(&self, between: Facts, before: &Facts) -> Facts {
        Facts {
            definitions: self.around(between.definitions, &before.definitions),
            uses: self.around(between.uses, &before.uses),
            files: self.around(between.files, &before.files),
            scenes: self.around(between.scenes, &before.scenes),
            aliases: self.around(between.aliases, &before.aliases),
            wheels: self.around(between.wheels, &before.wheels),
            sounds: self.around(between.sounds, &before.sounds),
            animations: self.around(between.animations, &before.animations),
            loose: self.around(between.loose, &before.loose),
            controls: self.around(between.controls, &before.controls),
            listings: self.around(between.listings, &before.listings),
            wordings: self.around(between.wordings, &before.wordings),
        }
    }

    fn around<T: Placed + Ranges + Clone, L: Into<Vec<T>> + From<Vec<T>>>(
        &self,
        between: L,
        before: &[T],
    ) -> L {
        self.put_around(between.into(), before, T::start).into()
    }
}

/// What is said by some item.
trait Placed {
    /// Some place in the item.
    fn start(&self) -> TextSize;
}

macro_rules! placed_by_element {
    ($($type:ty),*) => {$(
        impl Placed for $type {
            fn start(&self) -> TextSize {
                self.element.start()
            }
        }
    )*};
}

placed_by_element!(
    Definition, Use, FileUse, Alias, Wheel, Sound, Animation, Control, Wording
);

impl Placed for LooseChannel {
    fn start(&self) -> TextSize {
        self.channel.element.start()
    }
}

impl<T> Placed for Spanned<T> {
    fn start(&self) -> TextSize {
        self.range.start()
    }
}

impl<T> Placed for (usize, Spanned<T>) {
    fn start(&self) -> TextSize {
        self.1.start()
    }
}
