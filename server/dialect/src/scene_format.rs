//! How a dialect's own scene files are written, where it has any besides glTF.

use crate::documents::DocumentKind;
use crate::notation::EulerOrder;
use crate::numbers::NumberNotation;
use crate::path::Path;
use crate::units::Units;

/// An XML format for scenes.
#[derive(Clone, Debug, PartialEq)]
pub struct XmlSceneFormat {
    /// Which documents are scenes. Its root is the scene's root element.
    pub document: DocumentKind,
    /// From the root element to the elements whose children are the top nodes.
    pub top: Path,
    /// The local names of the elements that are nodes. Never empty.
    pub node_names: Vec<String>,
    /// From a node to the elements whose children are its child nodes; `.` if they are
    /// its own children. Other children are no nodes.
    pub children: Path,
    /// A node's name.
    pub name: Option<Path>,
    /// Three lengths.
    pub translation: Option<Path>,
    /// As `rotation_form` says.
    pub rotation: Option<Path>,
    /// How rotations are written.
    pub rotation_form: RotationForm,
    /// Three factors, or one for all three.
    pub scale: Option<Path>,
    /// Sixteen numbers; instead of the three above.
    pub matrix: Option<Path>,
    /// The order of the matrix's numbers.
    pub matrix_order: MatrixOrder,
    /// The box around the node's own shape, in the node's own space.
    pub bounds: Option<SceneBounds>,
    /// A boolean; shown where absent.
    pub visible: Option<Path>,
    /// The units of the scene's numbers.
    pub units: Units,
    /// How the scene's numbers are written.
    pub numbers: NumberNotation,
    /// Words for true.
    pub yes: Vec<String>,
    /// Words for false.
    pub no: Vec<String>,
}

/// How a rotation is written.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum RotationForm {
    /// Three angles about x, y, z in the unit of angles, applied in this order.
    Euler(EulerOrder),
    /// Four numbers x y z w.
    QuaternionXyzw,
    /// Four numbers w x y z.
    QuaternionWxyz,
    /// An axis and an angle in the unit of angles: four numbers x y z angle.
    AxisAngle,
}

/// The order of a matrix's numbers.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum MatrixOrder {
    /// Row after row: the translation is the 4th, 8th and 12th number.
    #[default]
    Rows,
    /// Column after column: the translation is the 13th, 14th and 15th number.
    Columns,
}

/// Where the bounds of a node stand.
#[derive(Clone, Debug, PartialEq)]
pub enum SceneBounds {
    /// Two vectors of three lengths.
    Pair {
        /// Least corner.
        min: Path,
        /// Greatest corner.
        max: Path,
    },
    /// Six lengths: least corner, greatest corner.
    List(Path),
}
