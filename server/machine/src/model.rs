//! The values that a definition is read into. Every field that a person may
//! have left out or got wrong is optional: what is broken is a fact with a
//! range, never an early return. Units are the base units: metres, degrees,
//! seconds.

use dialect::{ControlKind, Easing, EndValue, Kind, Kinds, NodePath, Property};
use std::sync::Arc;
use syntax::TextRange;

/// A value and where it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Spanned<T> {
    pub value: T,
    /// The value itself, without quotes or surrounding white space.
    pub range: TextRange,
}

/// Everything that one definition (or manifest) says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Machine {
    /// The dialect's name for this kind of document.
    pub document: String,
    /// The dialect calls this kind of document a manifest.
    pub is_manifest: bool,
    /// Every name that the document gives to something.
    pub definitions: Vec<Definition>,
    /// What positions count, in document order.
    pub counted: Vec<Counted>,
    /// Every place that points at something.
    pub uses: Vec<Use>,
    /// Every place that names a file.
    pub files: Vec<FileUse>,
    pub scene: Option<Spanned<Arc<str>>>,
    pub aliases: Vec<Alias>,
    pub wheels: Vec<Wheel>,
    pub sounds: Vec<Sound>,
    pub animations: Vec<Animation>,
    pub controls: Vec<Control>,
    /// The machine files that a manifest lists.
    pub listings: Vec<Spanned<Arc<str>>>,
    pub wordings: Vec<Wording>,
}

/// What a text reads in one language.
#[derive(Debug, Clone, PartialEq)]
pub struct Wording {
    pub key: Option<Spanned<Arc<str>>>,
    pub language: Option<Spanned<Arc<str>>>,
    pub element: TextRange,
}

/// A name given to something: `name="mast"` on an alias.
#[derive(Debug, Clone, PartialEq)]
pub struct Definition {
    pub kind: Kind,
    pub name: Spanned<Arc<str>>,
    /// The element that is named: the one that plays a role, though the name may stand in
    /// a child of it; else the one that carries the name.
    pub element: TextRange,
}

/// Something that a position can point at, with a name or without.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    pub kind: Kind,
    pub element: TextRange,
}

/// A place that points at something.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    pub target: UseTarget,
    /// The single item, also where it stands in a list.
    pub range: TextRange,
    pub element: TextRange,
}

impl Use {
    /// The node path that stands here, if it is one.
    pub fn path(&self) -> Option<&NodePath> {
        match &self.target {
            UseTarget::Path(path) => Some(path),
            UseTarget::Name { .. } | UseTarget::Position { .. } | UseTarget::Input { .. } => None,
        }
    }
}

/// What a [`Use`] points at.
#[derive(Debug, Clone, PartialEq)]
pub enum UseTarget {
    /// A name of one of these kinds. `or_path`: an index path would do too.
    Name {
        kinds: Kinds,
        name: Arc<str>,
        or_path: bool,
        /// The node of the scene that is meant where nothing has this name.
        or_node: Option<Box<NodePath>>,
    },
    /// The thing of this kind at this zero-based position in the document.
    Position { kind: Kind, index: i64 },
    /// A node by its place in the scene.
    Path(NodePath),
    Input {
        kind: Option<ControlKind>,
        word: Arc<str>,
    },
}

/// A place that names a file, and the endings it may have.
#[derive(Debug, Clone, PartialEq)]
pub struct FileUse {
    pub name: Spanned<Arc<str>>,
    pub extensions: Arc<[String]>,
    pub element: TextRange,
}

/// A place where a scene node is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct NodeRef {
    pub text: Arc<str>,
    pub range: TextRange,
    pub target: NodeTarget,
}

/// What a [`NodeRef`] is written as.
#[derive(Debug, Clone, PartialEq)]
pub enum NodeTarget {
    /// A name, to be found among the definitions of these kinds.
    Name {
        kinds: Kinds,
        /// The node of the scene that is meant where nothing has this name.
        or_node: Option<Box<NodePath>>,
    },
    /// Its place in the scene.
    Path(NodePath),
    /// Neither a name nor a path in the dialect's notation.
    Unreadable,
}

/// A friendly name for a node.
#[derive(Debug, Clone, PartialEq)]
pub struct Alias {
    pub name: Option<Spanned<Arc<str>>>,
    pub path: Option<NodeRef>,
    pub element: TextRange,
}

/// A wheel, fixed to a node.
#[derive(Debug, Clone, PartialEq)]
pub struct Wheel {
    pub name: Option<Spanned<Arc<str>>>,
    pub node: Option<NodeRef>,
    /// Metres.
    pub radius: Option<f64>,
    /// Metres.
    pub width: Option<f64>,
    pub element: TextRange,
}

/// A recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Sound {
    pub name: Option<Spanned<Arc<str>>>,
    pub file: Option<Spanned<Arc<str>>>,
    pub element: TextRange,
}

/// A named set of channels with times of their own.
#[derive(Debug, Clone, PartialEq)]
pub struct Animation {
    pub name: Option<Spanned<Arc<str>>>,
    /// Seconds, where the definition says it.
    pub duration: Option<Spanned<f64>>,
    pub channels: Vec<Channel>,
    pub element: TextRange,
}

impl Animation {
    /// Seconds: the written duration, else the end of the last channel.
    pub fn length(&self) -> f64 {
        self.duration
            .as_ref()
            .map_or_else(|| self.last_end(), |written| written.value)
    }

    /// Seconds: when the last motion ends; 0 without any.
    pub fn last_end(&self) -> f64 {
        self.motions()
            .filter_map(|(_, motion)| motion.window.end.as_ref())
            .map(|end| end.value)
            .fold(0.0, f64::max)
    }

    /// All motions with the channel that carries each.
    pub fn motions(&self) -> impl Iterator<Item = (&Channel, &Motion)> {
        self.channels
            .iter()
            .flat_map(|channel| channel.motions.iter().map(move |motion| (channel, motion)))
    }
}

/// One element that moves a node. Most dialects let it carry one motion, some
/// several.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    pub node: Option<NodeRef>,
    pub easing: Easing,
    pub motions: Vec<Motion>,
    pub element: TextRange,
}

impl Channel {
    /// What it moves, where that is one thing.
    pub fn property(&self) -> Option<Property> {
        let mut properties = self.motions.iter().map(|motion| motion.property);
        let first = properties.next()??;
        properties
            .all(|other| other == Some(first))
            .then_some(first)
    }
}

/// Where something is written, if it is. Takes less than an optional range: there are many motions.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Written(TextRange);

impl Written {
    /// Where there is nothing to see, nothing is written.
    pub fn range(self) -> Option<TextRange> {
        Some(self.0).filter(|range| !range.is_empty())
    }
}

impl From<Option<TextRange>> for Written {
    fn from(range: Option<TextRange>) -> Self {
        Self(range.filter(|range| !range.is_empty()).unwrap_or_default())
    }
}

/// One property moving between two values in a time window. Between keyframes there is one from each to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    pub property: Option<Property>,
    /// Where the property is written.
    pub property_range: Written,
    pub window: Window,
    pub from: Option<Spanned<EndValue>>,
    pub to: Option<Spanned<EndValue>>,
    /// It begins with what the motion before it ended with, the first one with where the node rests.
    pub starts_here: bool,
    /// What is added to that, where that is said instead of `to`. Factors are multiplied.
    pub by: Option<Box<Spanned<EndValue>>>,
    /// Where values are written axis by axis: of which axes both speak. Along the others other motions may move the
    /// node, else it stays as it rests, and the numbers mean nothing. Ranges are those of the first number.
    pub axes: Option<[bool; 3]>,
    /// Values are added to where the node rests; factors are multiplied.
    pub from_rest: bool,
    /// Both values are keyframes, which other motions may share.
    pub is_keyed: bool,
}

impl Motion {
    /// The values that are written.
    pub fn values(&self) -> impl Iterator<Item = &Spanned<EndValue>> {
        [self.from.as_ref(), self.to.as_ref(), self.by.as_deref()]
            .into_iter()
            .flatten()
    }
}

/// When a motion runs. Seconds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Window {
    pub begin: Option<Spanned<f64>>,
    /// Where it is written: there stands how long it lasts, if `lasts`.
    pub end: Option<Spanned<f64>>,
    /// Whether a duration is written instead of the end.
    pub lasts: bool,
}

impl Window {
    /// Begin and end in seconds, where both can be read.
    pub fn seconds(&self) -> Option<(f64, f64)> {
        Some((self.begin.as_ref()?.value, self.end.as_ref()?.value))
    }
}

/// What lets the player drive an animation.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    pub kind: Option<ControlKind>,
    pub animation: Option<Spanned<Arc<str>>>,
    pub input: Option<Spanned<Arc<str>>>,
    /// How many times as fast as written an analog control plays its animation with the input at its end; less than 0
    /// the other way round.
    pub gain: Option<Spanned<f64>>,
    /// How many times as fast as written a digital control plays its animation, and an analog one at most.
    pub rate: Option<Spanned<f64>>,
    /// What the dialect says holds where the control has no gain of its own.
    pub default_gain: Option<f64>,
    /// What the dialect says holds where the control has no rate of its own.
    pub default_rate: Option<f64>,
    pub node: Option<NodeRef>,
    pub wheels: Vec<WheelRef>,
    pub sounds: Vec<Spanned<Arc<str>>>,
    pub text: Option<Spanned<Arc<str>>>,
    pub element: TextRange,
    /// Which of the dialect's control roles it was read by.
    pub role: usize,
}

impl Control {
    /// How strongly it follows: what it says, else what the dialect says, else 1.
    pub fn gain(&self) -> f64 {
        said_or(self.gain.as_ref(), self.default_gain)
    }

    /// How fast it plays: what it says, else what the dialect says, else 1.
    pub fn rate(&self) -> f64 {
        said_or(self.rate.as_ref(), self.default_rate)
    }
}

fn said_or(said: Option<&Spanned<f64>>, default: Option<f64>) -> f64 {
    said.map(|said| said.value).or(default).unwrap_or(1.0)
}

/// A control's word on a wheel that follows its motion.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelRef {
    pub target: WheelTarget,
    pub range: TextRange,
    /// The element that holds the word: the control itself or one below it.
    pub element: TextRange,
}

/// How a control tells a wheel that it carries.
#[derive(Debug, Clone, PartialEq)]
pub enum WheelTarget {
    Name(Arc<str>),
    /// Zero-based position among the wheels of the document.
    Position(i64),
    /// The node that it turns on.
    Node(Box<NodeRef>),
}

#[cfg(test)]
mod tests {
    use super::Motion;

    /// The allocator has none between this one and the next, a fifth larger; and a large machine has many motions.
    #[test]
    fn a_motion_is_no_larger_than_a_size_of_the_allocator() {
        assert!(size_of::<Motion>() <= 160);
    }
}
