//! Which constructs of a dialect mean which concept.
//!
//! `at` leads from the document's root element (its name is the first step) to the elements
//! that play the role, unless said otherwise; the other paths start at such an element and
//! lead to an attribute or a text.

use crate::inputs::ControlKind;
use crate::kinds::Kind;
use crate::notation::Direction;
use crate::path::Path;
use crate::value_type::ItemType;

/// All roles of a dialect. Each may be played by several constructs.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Roles {
    /// Where a machine says which scene it drives.
    pub scenes: Vec<SceneRole>,
    /// Friendly names for nodes.
    pub aliases: Vec<AliasRole>,
    /// Wheels.
    pub wheels: Vec<WheelRole>,
    /// Sounds.
    pub sounds: Vec<SoundRole>,
    /// Animations.
    pub animations: Vec<AnimationRole>,
    /// Channels of animations.
    pub channels: Vec<ChannelRole>,
    /// What lets the player drive an animation.
    pub controls: Vec<ControlRole>,
    /// A manifest's machines.
    pub listings: Vec<ListingRole>,
    /// What texts read in a language.
    pub wordings: Vec<WordingRole>,
}

impl Roles {
    /// Whether a control's word of this type tells a wheel by the node that it turns on.
    pub fn wheels_by_node(&self, word: &ItemType) -> bool {
        let is_wheel = |kind: &Kind| self.wheels.iter().any(|role| role.kind == *kind);
        let is_alias = |kind: &Kind| self.aliases.iter().any(|role| role.kind == *kind);
        match word {
            ItemType::Node { .. } | ItemType::IndexPath => true,
            ItemType::Reference(kinds) => kinds.iter().any(is_alias) && !kinds.iter().any(is_wheel),
            _ => false,
        }
    }
}

/// Where a machine names its scene.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneRole {
    /// The element that names it.
    pub at: Path,
    /// The scene's file.
    pub file: Path,
}

/// A friendly name for a node.
#[derive(Clone, Debug, PartialEq)]
pub struct AliasRole {
    /// What its name is a name of.
    pub kind: Kind,
    /// The element.
    pub at: Path,
    /// The name it gives.
    pub name: Path,
    /// The index path it names.
    pub path: Path,
}

/// A wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct WheelRole {
    /// What its name is a name of; also what positions of wheels count.
    pub kind: Kind,
    /// The element.
    pub at: Path,
    /// The name, if wheels have names.
    pub name: Option<Path>,
    /// The node it is fixed to.
    pub node: Path,
    /// A length.
    pub radius: Option<Path>,
    /// A length.
    pub width: Option<Path>,
}

/// A sound.
#[derive(Clone, Debug, PartialEq)]
pub struct SoundRole {
    /// What its name is a name of.
    pub kind: Kind,
    /// The element.
    pub at: Path,
    /// The name.
    pub name: Option<Path>,
    /// The recording.
    pub file: Option<Path>,
}

/// An animation.
#[derive(Clone, Debug, PartialEq)]
pub struct AnimationRole {
    /// What its name is a name of.
    pub kind: Kind,
    /// The element.
    pub at: Path,
    /// The name.
    pub name: Option<Path>,
    /// A time; where it is absent, the last channel's end.
    pub duration: Option<Path>,
}

/// A channel: one node, a time window, and the properties that move in it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelRole {
    /// The element; starts at an animation's element. `.` if the animation itself is
    /// its only channel. Where channels name their animation, it starts at the document.
    pub at: Path,
    /// Where a channel that stands elsewhere says which animation it belongs to.
    pub animation: Option<Path>,
    /// The moved node.
    pub node: Path,
    /// When it moves; motions may say that themselves.
    pub window: Option<Window>,
    /// How it moves; linear where absent.
    pub easing: Option<WordRule<Easing>>,
    /// What moves. A motion whose values are absent from a document does not take place.
    pub motions: Vec<Motion>,
}

/// Where the times stand between which something moves.
#[derive(Clone, Debug, PartialEq)]
pub enum Window {
    /// Two values.
    Pair {
        /// A time.
        begin: Path,
        /// A time.
        end: Path,
    },
    /// Two values.
    Lasting {
        /// A time.
        begin: Path,
        /// How long it lasts from then on: a time.
        duration: Path,
    },
    /// One list of two.
    List(Path),
}

/// One property of the node and the values it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// Which property.
    pub property: Rule<Property>,
    /// Which values.
    pub ends: Ends,
    /// A time window of its own instead of the channel's.
    pub window: Option<Window>,
    /// Whether values are added to where the node rests (factors multiplied), instead of being what they say.
    pub from_rest: bool,
}

/// Where the values stand.
#[derive(Clone, Debug, PartialEq)]
pub enum Ends {
    /// Two values.
    Pair {
        /// At the begin.
        from: Place,
        /// At the end.
        to: Place,
    },
    /// Lists of two.
    List(Place),
    /// The value at the end. It begins as the motion before it ended, the first one as the node rests.
    To(Place),
    /// What is added to what the motion before it ended with, or to where the node rests. Factors are multiplied.
    By(Place),
    /// A value at each of several times.
    Keyframes(Keyframes),
}

/// Elements with a time and a value each.
#[derive(Clone, Debug, PartialEq)]
pub struct Keyframes {
    /// The elements, from the channel.
    pub at: Path,
    /// When, from a keyframe.
    pub time: Path,
    /// The value then, from a keyframe. Keyframes without it do not count.
    pub value: Place,
}

/// Where one value stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Place {
    /// All of it in one place.
    Whole(Path),
    /// A number for each of the three axes. Along axes without one nothing is said.
    Axes([Option<Path>; 3]),
    /// One number along or about one axis. Along the others nothing is said.
    Along {
        /// The axis.
        axis: AxisSaid,
        /// How far, by how much.
        amount: Path,
    },
}

/// Where an axis is said.
#[derive(Clone, Debug, PartialEq)]
pub enum AxisSaid {
    /// By a word.
    Word(WordRule<Direction>),
    /// By three numbers. Their length does not matter.
    Vector(Path),
}

impl ChannelRole {
    /// All paths that a channel is read by, but for the one that finds it. Those of keyframes lead from a keyframe.
    pub fn paths(&self) -> Vec<&Path> {
        let mut paths = vec![&self.node];
        paths.extend(&self.animation);
        paths.extend(self.window.iter().flat_map(Window::paths));
        paths.extend(self.easing.iter().map(|rule| &rule.at));
        for motion in &self.motions {
            if let Rule::Read(rule) = &motion.property {
                paths.push(&rule.at);
            }
            paths.extend(motion.ends.paths());
            let places = motion.ends.places();
            paths.extend(places.into_iter().filter_map(Place::axis_path));
            if let Ends::Keyframes(keyframes) = &motion.ends {
                paths.extend(keyframes.paths());
            }
            paths.extend(motion.window.iter().flat_map(Window::paths));
        }
        paths
    }
}

impl Place {
    /// Where it is said which axis its number is about.
    pub(crate) fn axis_path(&self) -> Option<&Path> {
        match self {
            Place::Along { axis, .. } => Some(match axis {
                AxisSaid::Word(rule) => &rule.at,
                AxisSaid::Vector(path) => path,
            }),
            Place::Whole(_) | Place::Axes(_) => None,
        }
    }

    /// All paths to its numbers.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        let (whole, axes) = match self {
            Place::Whole(path) | Place::Along { amount: path, .. } => (Some(path), None),
            Place::Axes(axes) => (None, Some(axes)),
        };
        whole
            .into_iter()
            .chain(axes.into_iter().flatten().flatten())
    }
}

impl Window {
    /// All paths that it is read by.
    pub fn paths(&self) -> Vec<&Path> {
        match self {
            Window::Pair { begin, end } => vec![begin, end],
            Window::Lasting { begin, duration } => vec![begin, duration],
            Window::List(path) => vec![path],
        }
    }
}

impl Ends {
    /// All places of values. For keyframes, that is one, from a keyframe.
    pub fn places(&self) -> Vec<&Place> {
        match self {
            Ends::Pair { from, to } => vec![from, to],
            Ends::List(place) | Ends::To(place) | Ends::By(place) => vec![place],
            Ends::Keyframes(keyframes) => vec![&keyframes.value],
        }
    }

    /// All paths from the channel to its values. For keyframes, the path to these is the only one.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        let (places, path) = match self {
            Ends::Pair { from, to } => ([Some(from), Some(to)], None),
            Ends::List(place) | Ends::To(place) | Ends::By(place) => ([Some(place), None], None),
            Ends::Keyframes(keyframes) => ([None, None], Some(&keyframes.at)),
        };
        let places = places.into_iter().flatten();
        places.flat_map(Place::paths).chain(path)
    }
}

impl Keyframes {
    /// All paths from a keyframe that it is read by.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        std::iter::once(&self.time).chain(self.value.paths())
    }
}

/// A control.
#[derive(Clone, Debug, PartialEq)]
pub struct ControlRole {
    /// The element.
    pub at: Path,
    /// Analog or digital.
    pub kind: Rule<ControlKind>,
    /// The name of the animation it drives (where it refers to one, or where the animation
    /// around it gives its name).
    pub animation: Path,
    /// The input.
    pub input: Path,
    /// How strongly it follows.
    pub gain: Option<Path>,
    /// How fast it plays.
    pub rate: Option<Path>,
    /// Where the control itself asks for a node.
    pub node: Option<Path>,
    /// The wheels it carries: each item found is one.
    pub wheels: Option<Path>,
    /// The sounds it plays: each item found is one.
    pub sounds: Option<Path>,
    /// What the player reads.
    pub text: Option<Path>,
    /// Values to write into a new control of this role, by path; they win over the
    /// `usual` values of the declarations.
    pub usual: Vec<(Path, String)>,
}

/// A machine that a manifest lists.
#[derive(Clone, Debug, PartialEq)]
pub struct ListingRole {
    /// The element.
    pub at: Path,
    /// The definition's file.
    pub file: Path,
}

/// What a text reads in one language. The texts of controls are the keys that it is looked up by.
#[derive(Clone, Debug, PartialEq)]
pub struct WordingRole {
    /// The element.
    pub at: Path,
    /// What the text is called.
    pub key: Path,
    /// The language.
    pub language: Path,
}

/// Something that is the same everywhere, or is read from the document.
#[derive(Clone, Debug, PartialEq)]
pub enum Rule<T> {
    /// Always this.
    Fixed(T),
    /// Said by a word of the document.
    Read(WordRule<T>),
}

/// A word of the document and what its possible values mean.
#[derive(Clone, Debug, PartialEq)]
pub struct WordRule<T> {
    /// Where the word stands.
    pub at: Path,
    /// Words and their meanings; the first word of a meaning is the one to write.
    pub words: Vec<(String, T)>,
    /// What the game takes where no word is written, if that is known for all places.
    pub default: Option<String>,
}

impl<T: Copy + PartialEq> WordRule<T> {
    /// What a word means.
    pub fn meaning(&self, word: &str) -> Option<T> {
        let word = crate::numbers::trimmed(word);
        let entry = self.words.iter().find(|(known, _)| known == word);
        entry.map(|(_, meaning)| *meaning)
    }

    /// The word to write for a meaning.
    pub fn word(&self, meaning: T) -> Option<&str> {
        let entry = self.words.iter().find(|(_, known)| *known == meaning);
        entry.map(|(word, _)| word.as_str())
    }
}

/// A concept that has words for its values in dialect files.
pub trait Kinded: Sized + Copy + 'static {
    /// Each value with its key in dialect files.
    const WORDS: &'static [(&'static str, Self)];
}

/// What a channel moves.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Property {
    /// Place, as an offset along the parent's axes.
    Translation,
    /// Direction, as three angles.
    Rotation,
    /// Size, as factors along the node's axes.
    Scale,
    /// Shown or not.
    Visibility,
}

impl Property {
    /// The word of the concept.
    pub fn as_str(self) -> &'static str {
        match self {
            Property::Translation => "translation",
            Property::Rotation => "rotation",
            Property::Scale => "scale",
            Property::Visibility => "visibility",
        }
    }
}

impl Kinded for Property {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("translation", Property::Translation),
        ("rotation", Property::Rotation),
        ("scale", Property::Scale),
        ("visibility", Property::Visibility),
    ];
}

impl Kinded for Direction {
    const WORDS: &'static [(&'static str, Self)] = &Direction::ALL;
}

impl Kinded for ControlKind {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("analog", ControlKind::Analog),
        ("digital", ControlKind::Digital),
    ];
}

/// How a motion passes from begin to end.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, Default)]
pub enum Easing {
    /// At constant speed.
    #[default]
    Linear,
    /// All at once, at the end of the window.
    Step,
    /// Gently away and gently in (3t² − 2t³).
    Smooth,
}

impl Kinded for Easing {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("linear", Easing::Linear),
        ("step", Easing::Step),
        ("smooth", Easing::Smooth),
    ];
}
