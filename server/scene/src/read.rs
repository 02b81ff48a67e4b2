use std::sync::Arc;

use dialect::Dialect;

use crate::skim::Gaps;
use crate::{Scene, SceneError, gltf, xml};

/// So many nodes are read unless told otherwise. Real scenes have thousands.
pub const MOST_NODES: usize = 200_000;

/// More than this is never read.
pub const MOST_NODES_EVER: usize = 1_000_000;

/// [`read_at_most`] with the usual limit.
///
/// # Errors
/// As there.
pub fn read(bytes: &[u8], file_name: &str, dialects: &[Arc<Dialect>]) -> Result<Scene, SceneError> {
    read_at_most(MOST_NODES, bytes, file_name, dialects)
}

/// Reads a scene file: glTF 2.0 as text or as one binary file (told apart by content, not by name), else
/// an XML scene of the first of the dialects whose scene format fits. `file_name` is only for messages.
///
/// # Errors
/// Says what is wrong with the file, where, and what to do; also if it has more than `most` nodes. A file with
/// a tree that can be read but, say, a mesh that cannot be measured is no error: see [`Scene::notes`].
pub fn read_at_most(
    most: usize,
    bytes: &[u8],
    file_name: &str,
    dialects: &[Arc<Dialect>],
) -> Result<Scene, SceneError> {
    read_with_gaps(most, bytes, &Gaps::default(), file_name, dialects)
}

/// The same of a file of which not all is there. Places are those in `bytes`.
pub(crate) fn read_with_gaps(
    most: usize,
    bytes: &[u8],
    gaps: &Gaps,
    file_name: &str,
    dialects: &[Arc<Dialect>],
) -> Result<Scene, SceneError> {
    let most = most.min(MOST_NODES_EVER);
    if u32::try_from(bytes.len() + gaps.total()).is_err() {
        return Err(SceneError::new(format!(
            "“{file_name}” is larger than 4 GiB. Export the scene in smaller parts, or keep its buffers in \
             files of their own."
        )));
    }
    if bytes.starts_with(b"glTF") {
        return gltf::read_binary(most, bytes, gaps);
    }
    let start = bytes
        .strip_prefix(b"\xEF\xBB\xBF")
        .unwrap_or(bytes)
        .trim_ascii_start();
    match start {
        [] => Err(SceneError::new(format!(
            "“{file_name}” is empty. Export the scene again."
        ))),
        [b'{' | b'[', ..] => gltf::read_text(most, bytes),
        [b'<', ..] | [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => {
            read_xml(most, bytes, file_name, dialects)
        }
        _ => Err(unknown(file_name, bytes.len() - start.len())),
    }
}

/// Reads what is XML by its first character. Places in a UTF-16 file are those of its text as UTF-8.
fn read_xml(
    most: usize,
    bytes: &[u8],
    file_name: &str,
    dialects: &[Arc<Dialect>],
) -> Result<Scene, SceneError> {
    let text =
        syntax::decode::bytes(bytes).map_err(|error| SceneError::at(error.offset, error.reason))?;
    match text
        .trim_start_matches('\u{FEFF}')
        .trim_start()
        .chars()
        .next()
    {
        Some('<') => xml::read(most, &text, file_name, dialects),
        Some('{') => Err(SceneError::at(
            0,
            format!("“{file_name}” is UTF-16, but glTF has to be UTF-8. Save the file as UTF-8."),
        )),
        _ => Err(unknown(file_name, 0)),
    }
}

fn unknown(file_name: &str, offset: usize) -> SceneError {
    SceneError::at(
        offset,
        format!(
            "“{file_name}” is not a scene that can be read here: it is neither glTF 2.0 (.gltf or .glb) nor an \
             XML scene that a dialect describes. Export the scene as glTF 2.0."
        ),
    )
}
