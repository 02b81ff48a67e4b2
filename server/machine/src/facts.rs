//! What one portion of a document says.

use crate::few::Few;
use crate::model::{
    Alias, Animation, Channel, Control, Definition, FileUse, Motion, NodeRef, Sound, Spanned, Use,
    Wheel, WheelTarget, Window, Wording, Written,
};
use std::sync::Arc;
use syntax::{TextRange, TextSize};

/// What one portion of a document says. All ranges are relative to the start of the portion, so that it stays true
/// wherever the portion moves; only those of a long element may lead past the portion's end, into that element.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    pub definitions: Vec<Definition>,
    pub uses: Vec<Use>,
    pub files: Few<FileUse>,
    /// With the rank of the role that names it: the lowest wins.
    pub scenes: Few<(usize, Spanned<Arc<str>>)>,
    pub aliases: Vec<Alias>,
    pub wheels: Few<Wheel>,
    pub sounds: Few<Sound>,
    /// With their channels, but for the channels of a long element: those are loose, in the portions that follow.
    pub animations: Vec<Animation>,
    pub loose: Vec<LooseChannel>,
    pub controls: Few<Control>,
    pub listings: Few<Spanned<Arc<str>>>,
    pub wordings: Few<Wording>,
}

fn taken<T>(list: &mut Vec<T>) -> Vec<T> {
    let mut taken = Vec::with_capacity(list.len());
    taken.append(list);
    taken
}

/// A channel of an animation whose element is so long that it is in several portions.
#[derive(Debug, Clone, PartialEq)]
pub struct LooseChannel {
    /// How many elements there are from the root to the animation's, both included.
    pub depth: usize,
    pub channel: Channel,
}

/// A sort of facts that few portions have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    Files,
    Scenes,
    Aliases,
    Wheels,
    Animations,
    Loose,
    Controls,
}

impl Sort {
    pub(crate) const ALL: [Self; 7] = [
        Self::Files,
        Self::Scenes,
        Self::Aliases,
        Self::Wheels,
        Self::Animations,
        Self::Loose,
        Self::Controls,
    ];
}

/// Which sorts of facts there are: to pass over what says nothing to the point without looking into it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sorts(u8);

impl Sorts {
    /// Whether there are facts of this sort.
    pub fn has(self, sort: Sort) -> bool {
        self.0 & (1 << sort as u8) != 0
    }

    /// The numbers of the sorts that are there.
    pub(crate) fn numbers(self) -> impl Iterator<Item = usize> {
        let mut rest = self.0;
        std::iter::from_fn(move || {
            let next = rest.trailing_zeros();
            rest &= rest.checked_sub(1)?;
            Some(next as usize)
        })
    }
}

impl Facts {
    /// Takes all that is there into lists without room for more, since facts stay as long as their portion. The room
    /// stays here, for the facts of the next one.
    pub(crate) fn take(&mut self) -> Self {
        for animation in &mut self.animations {
            animation.channels = taken(&mut animation.channels);
        }
        Self {
            definitions: taken(&mut self.definitions),
            uses: taken(&mut self.uses),
            files: self.files.take(),
            scenes: self.scenes.take(),
            aliases: taken(&mut self.aliases),
            wheels: self.wheels.take(),
            sounds: self.sounds.take(),
            animations: taken(&mut self.animations),
            loose: taken(&mut self.loose),
            controls: self.controls.take(),
            listings: self.listings.take(),
            wordings: self.wordings.take(),
        }
    }

    /// Where the first range starts.
    pub(crate) fn start(&mut self) -> Option<TextSize> {
        let mut first = None;
        self.each_range(&mut |range| {
            first = Some(first.map_or(range.start(), |first: TextSize| first.min(range.start())));
        });
        first
    }

    pub(crate) fn sorts(&self) -> Sorts {
        let has = |sort: &Sort| match sort {
            Sort::Files => !self.files.is_empty(),
            Sort::Scenes => !self.scenes.is_empty(),
            Sort::Aliases => !self.aliases.is_empty(),
            Sort::Wheels => !self.wheels.is_empty(),
            Sort::Animations => !self.animations.is_empty(),
            Sort::Loose => !self.loose.is_empty(),
            Sort::Controls => !self.controls.is_empty(),
        };
        let there = Sort::ALL.into_iter().filter(has);
        Sorts(there.fold(0, |sorts, sort| sorts | 1 << sort as u8))
    }
}

/// What has ranges in a document.
pub trait Ranges {
    /// Calls `each` with every range.
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange));

    /// The same with all ranges moved on by `by`.
    #[must_use]
    fn moved_on(mut self, by: TextSize) -> Self
    where
        Self: Sized,
    {
        self.each_range(&mut |range| *range += by);
        self
    }

    /// The same with all ranges moved back by `by`. A range before that stays where it is.
    #[must_use]
    fn moved_back(mut self, by: TextSize) -> Self
    where
        Self: Sized,
    {
        self.each_range(&mut |range| *range = range.checked_sub(by).unwrap_or(*range));
        self
    }
}

impl Ranges for TextRange {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        each(self);
    }
}

impl Ranges for Written {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        let mut range = self.range();
        range.each_range(each);
        *self = range.into();
    }
}

impl<T> Ranges for Spanned<T> {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        each(&mut self.range);
    }
}

impl<T: Ranges> Ranges for Option<T> {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        if let Some(inner) = self {
            inner.each_range(each);
        }
    }
}

impl<T: Ranges> Ranges for Box<T> {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        self.as_mut().each_range(each);
    }
}

impl<T: Ranges> Ranges for Vec<T> {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        for item in self {
            item.each_range(each);
        }
    }
}

impl<T: Ranges> Ranges for Few<T> {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        for item in self.iter_mut() {
            item.each_range(each);
        }
    }
}

impl Ranges for WheelTarget {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        match self {
            Self::Node(node) => node.each_range(each),
            Self::Name(_) | Self::Position(_) => {}
        }
    }
}

/// Lists the fields of a type that have ranges.
macro_rules! ranges_in {
    ($($type:ty: $($field:ident),*;)*) => {$(
        impl Ranges for $type {
            fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
                $(self.$field.each_range(each);)*
            }
        }
    )*};
}

ranges_in! {
    Definition: name, element;
    Use: range, element;
    FileUse: name, element;
    NodeRef: range;
    Alias: name, path, element;
    Wheel: name, node, element;
    Sound: name, file, element;
    Animation: name, duration, channels, element;
    Channel: node, motions, element;
    Motion: property_range, window, from, to, by;
    Window: begin, end;
    Wording: key, language, element;
    Control: animation, input, gain, rate, node, wheels, sounds, text, element;
    crate::model::WheelRef: target, range, element;
    LooseChannel: channel;
    Facts: definitions, uses, files, scenes, aliases, wheels, sounds, animations, loose, controls, listings, wordings;
}

impl<T> Ranges for (usize, Spanned<T>) {
    fn each_range(&mut self, each: &mut impl FnMut(&mut TextRange)) {
        self.1.each_range(each);
    }
}
