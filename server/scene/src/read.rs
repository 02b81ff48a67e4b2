use std::sync::Arc;

use dialect::Dialect;

use crate::{Scene, SceneError, gltf};

/// Reads a scene file: glTF 2.0 as text or as one binary file (told apart by content, not by name), else
/// an XML scene of the first of the dialects whose scene format fits. `file_name` is only for messages.
///
/// # Errors
/// Says what is wrong with the file, where, and what to do. A file with a tree that can be read but, say,
/// a mesh that cannot be measured is no error: see [`Scene::notes`].
pub fn read(
    bytes: &[u8],
    file_name: &str,
    _dialects: &[Arc<Dialect>],
) -> Result<Scene, SceneError> {
    if u32::try_from(bytes.len()).is_err() {
        return Err(SceneError::new(format!(
            "“{file_name}” is larger than 4 GiB. Export the scene in smaller parts, or keep its buffers in \
             files of their own."
        )));
    }
    if bytes.starts_with(b"glTF") {
        return gltf::read_binary(bytes);
    }
    let start = bytes
        .strip_prefix(b"\xEF\xBB\xBF")
        .unwrap_or(bytes)
        .trim_ascii_start();
    match start.first() {
        Some(b'{' | b'[') => gltf::read_text(bytes),
        Some(_) => Err(SceneError::at(
            bytes.len() - start.len(),
            format!(
                "“{file_name}” is not a scene that can be read here: it is neither glTF 2.0 (.gltf or .glb) \
                 nor an XML scene that a dialect describes. Export the scene as glTF 2.0."
            ),
        )),
        None => Err(SceneError::new(format!(
            "“{file_name}” is empty. Export the scene again."
        ))),
    }
}
