//! The habits of writing that hold for a whole dialect.

use crate::index_path::IndexPathNotation;
use crate::node_path::NodeNameNotation;
use crate::numbers::NumberNotation;
use crate::units::Units;

/// How a dialect writes what many of its values have in common.
#[derive(Clone, Debug, PartialEq)]
pub struct Notation {
    /// Index paths.
    pub index_path: IndexPathNotation,
    /// Names of nodes of the scene.
    pub node_names: NodeNameNotation,
    /// Numbers and vectors.
    pub numbers: NumberNotation,
    /// The order in which the three angles of a rotation are applied.
    pub euler: EulerOrder,
    /// Default unit of each quantity.
    pub units: Units,
    /// Which way the axes of the scene point.
    pub axes: Axes,
    /// File names.
    pub files: FileNotation,
    /// Words for true; the first is the one to write. Never empty.
    pub yes: Vec<String>,
    /// Words for false; the first is the one to write. Never empty.
    pub no: Vec<String>,
}

impl Default for Notation {
    fn default() -> Self {
        Self {
            index_path: IndexPathNotation::default(),
            node_names: NodeNameNotation::default(),
            numbers: NumberNotation::default(),
            euler: EulerOrder::default(),
            units: Units::default(),
            axes: Axes::default(),
            files: FileNotation::default(),
            yes: vec![String::from("true")],
            no: vec![String::from("false")],
        }
    }
}

/// The order in which three angles turn a node, each about the axes as turned so far
/// (intrinsic rotations). The angles themselves are always written x, y, z.
///
/// `Xyz` means: turn about x, then about the turned y, then about the twice turned z;
/// as matrices `Rx · Ry · Rz` applied to a column vector. Orders about fixed axes are the
/// reverse: fixed x, y, z is `Zyx`.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum EulerOrder {
    /// x, y, z.
    #[default]
    Xyz,
    /// x, z, y.
    Xzy,
    /// y, x, z.
    Yxz,
    /// y, z, x.
    Yzx,
    /// z, x, y.
    Zxy,
    /// z, y, x.
    Zyx,
}

impl EulerOrder {
    /// All orders with their words in dialect files.
    pub const ALL: [(&'static str, EulerOrder); 6] = [
        ("xyz", EulerOrder::Xyz),
        ("xzy", EulerOrder::Xzy),
        ("yxz", EulerOrder::Yxz),
        ("yzx", EulerOrder::Yzx),
        ("zxy", EulerOrder::Zxy),
        ("zyx", EulerOrder::Zyx),
    ];
}

/// Which way a machine faces in its scene.
///
/// The default is that of glTF 2.0 (section 3.4): y is up, z is forward, −x is right.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Axes {
    /// To the right of somebody who sits in the machine and looks forward.
    pub right: Direction,
    /// Up.
    pub up: Direction,
    /// The way the machine drives.
    pub forward: Direction,
}

impl Default for Axes {
    fn default() -> Self {
        Self {
            right: Direction {
                axis: Axis::X,
                negative: true,
            },
            up: Direction {
                axis: Axis::Y,
                negative: false,
            },
            forward: Direction {
                axis: Axis::Z,
                negative: false,
            },
        }
    }
}

/// One way along an axis.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Direction {
    /// The axis.
    pub axis: Axis,
    /// Whether it points against the axis.
    pub negative: bool,
}

impl Direction {
    /// All directions with their words in dialect files.
    pub const ALL: [(&'static str, Direction); 6] = [
        ("x", Self::along(Axis::X, false)),
        ("y", Self::along(Axis::Y, false)),
        ("z", Self::along(Axis::Z, false)),
        ("-x", Self::along(Axis::X, true)),
        ("-y", Self::along(Axis::Y, true)),
        ("-z", Self::along(Axis::Z, true)),
    ];

    const fn along(axis: Axis, negative: bool) -> Self {
        Self { axis, negative }
    }

    /// The direction as a vector of length 1.
    pub fn vector(self) -> [f64; 3] {
        let mut vector = [0.0; 3];
        vector[self.axis as usize] = if self.negative { -1.0 } else { 1.0 };
        vector
    }
}

/// An axis of the scene. `as usize` gives its place in a vector.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum Axis {
    /// First number.
    X,
    /// Second number.
    Y,
    /// Third number.
    Z,
}

/// How files are named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileNotation {
    /// A prefix that stands for the game's own folder. Such files are not looked for
    /// unless that folder is configured.
    pub game_prefix: Option<String>,
    /// Marks read between folders; the first is the one to write. Never empty.
    pub folder_separators: Vec<char>,
    /// Where file names start.
    pub from: FilesFrom,
}

impl Default for FileNotation {
    fn default() -> Self {
        Self {
            game_prefix: None,
            folder_separators: vec!['/'],
            from: FilesFrom::Document,
        }
    }
}

/// Where file names start.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum FilesFrom {
    /// In the folder of the document that names the file.
    #[default]
    Document,
    /// In the folder of the mod's manifest.
    Mod,
}
