//! glTF 2.0 (Khronos Group, ISO/IEC 12113:2022): the node tree of the default scene.

pub(crate) mod container;
mod hierarchy;
mod json;
mod measure;
mod nodes;
mod quick;
mod spare;

pub use spare::{may_be_gltf, spare_meshes};

use crate::skim::Gaps;
use crate::{Scene, SceneBuilder, SceneError};
use json::{Document, Piece};

/// Reads a `.gltf` file of at most `most` nodes.
pub(crate) fn read_text(most: usize, bytes: &[u8]) -> Result<Scene, SceneError> {
    read_json(most, bytes, 0, SceneBuilder::new().text_positions(true))
}

/// Reads a `.glb` file of at most `most` nodes.
pub(crate) fn read_binary(most: usize, bytes: &[u8], gaps: &Gaps) -> Result<Scene, SceneError> {
    let container = container::read(bytes, gaps)?;
    let mut builder = SceneBuilder::new();
    for note in container.notes {
        builder.note(note);
    }
    read_json(
        most,
        &bytes[container.json.clone()],
        container.json.start,
        builder,
    )
}

/// Reads the JSON that begins at byte `start` of the file.
fn read_json(
    most: usize,
    bytes: &[u8],
    mut start: usize,
    mut builder: SceneBuilder,
) -> Result<Scene, SceneError> {
    let mut bytes = bytes;
    if let Some(rest) = bytes.strip_prefix(b"\xEF\xBB\xBF") {
        builder.note(SceneError::at(
            start,
            "The JSON begins with a byte order mark. glTF does not allow one, and some programs will \
             not open the file. Save it as UTF-8 without the mark.",
        ));
        bytes = rest;
        start += 3;
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        SceneError::at(
            start + error.valid_up_to(),
            "The JSON is not UTF-8 here. Save the file as UTF-8, or export the scene again.",
        )
    })?;
    let mut document = Document::read(Piece { text, start }, most)?;
    nodes::build(&mut document, builder)
}
