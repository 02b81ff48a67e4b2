//! What a definition may contain: grammar, notation and roles; the house dialect.
//!
//! A dialect is data. [`Dialect::read`] turns a TOML file into a [`Dialect`] or into
//! the complete list of what is wrong with it, each problem with its place.
//! The format is documented for users in `DIALECT.md` beside this crate.

mod around;
mod child_rules;
mod colour;
mod context;
mod documents;
mod grammar;
mod house;
mod index_path;
mod inputs;
mod kinds;
mod lengths;
mod model;
mod nearest;
mod node_path;
mod notation;
mod numbers;
mod path;
mod problem;
mod read;
mod roles;
mod scene_format;
mod scope;
mod units;
mod value_type;
mod values;
mod write;

pub use around::Around;
pub use child_rules::ChildRules;
pub use colour::{Colour, ColourNotation};
pub use context::{Context, name_of_key};
pub use documents::{DocumentKind, Fit, Marked, Marks, NAME_KEY};
pub use grammar::{AttributeDecl, ChildRule, Choice, ElementDecl, Kept, Learnt, Order};
pub use index_path::{IndexPathFault, IndexPathNotation};
pub use inputs::{ControlKind, Inputs};
pub use kinds::{Kind, Kinds};
pub use lengths::{in_unit, read_length};
pub use model::Dialect;
pub use nearest::nearest;
pub use node_path::{NodeNameNotation, NodeNames, NodePath};
pub use notation::{Axes, Axis, Direction, EulerOrder, FileNotation, FilesFrom, Notation};
pub use numbers::{NumberNotation, Separator};
pub use path::{Leaf, Path, PathFault, Predicate, Step, StepKind};
pub use problem::DialectProblem;
pub use read::is_name;
pub use roles::{
    AliasRole, AnimationRole, AxisSaid, ChannelRole, ControlRole, Easing, Ends, Keyframes, Kinded,
    ListingRole, Motion, Place, Property, Roles, Rule, SceneRole, SoundRole, WheelRole, Window,
    WordRule, WordingRole,
};
pub use scene_format::{MatrixOrder, RotationForm, SceneBounds, XmlSceneFormat};
pub use scope::NameScope;
pub use units::{Quantity, Unit, Units};
pub use value_type::{Bounds, ItemType, ListRule, ValueType, Word, WordList};
pub use values::{EndValue, ValueFault, ValueProblem};
pub use write::{Draft, RoleDraft, RoleValue};
