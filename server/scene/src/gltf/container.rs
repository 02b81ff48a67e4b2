//! The binary container: a header of 12 bytes, then chunks (glTF 2.0, section 4.4).

use std::ops::Range;

use crate::SceneError;

const HEADER: usize = 12;
const CHUNK_HEADER: usize = 8;
const JSON: u32 = u32::from_le_bytes(*b"JSON");
const BIN: u32 = u32::from_le_bytes(*b"BIN\0");

const AGAIN: &str = "Export the scene again.";

/// Where the JSON is, and what is odd about the rest.
pub(super) struct Container {
    pub(super) json: Range<usize>,
    pub(super) notes: Vec<SceneError>,
}

/// Finds the JSON of a file that begins with `glTF`. Faults that leave the JSON whole are only notes.
pub(super) fn read(bytes: &[u8]) -> Result<Container, SceneError> {
    let (Some(version), Some(length)) = (number(bytes, 4), number(bytes, 8)) else {
        return Err(SceneError::at(
            bytes.len(),
            format!("The file ends inside the header of its GLB container. {AGAIN}"),
        ));
    };
    if version != 2 {
        return Err(SceneError::at(
            4,
            format!(
                "This GLB container has version {version}; only version 2 can be read. Export the scene \
                     as glTF 2.0."
            ),
        ));
    }
    let json = first_chunk(bytes)?;
    let mut notes = Vec::new();
    if length as usize != bytes.len() {
        notes.push(SceneError::at(
            8,
            format!(
                "The GLB header says that the file has {length} bytes, but it has {}. {AGAIN}",
                bytes.len()
            ),
        ));
    }
    let declared = bytes.get(..length as usize).unwrap_or(bytes);
    if json.end <= declared.len() {
        later_chunks(declared, &json, &mut notes);
    }
    Ok(Container { json, notes })
}

/// The bytes of the first chunk, which must be the JSON.
fn first_chunk(bytes: &[u8]) -> Result<Range<usize>, SceneError> {
    let chunk = Chunk::read(bytes, HEADER)?;
    if chunk.kind != JSON {
        return Err(SceneError::at(
            HEADER,
            format!("The first chunk of this GLB file is not its JSON. {AGAIN}"),
        ));
    }
    // Padding is spaces; some exporters write zeros.
    let data = &bytes[chunk.data.clone()];
    let used = data
        .iter()
        .rposition(|byte| *byte != 0)
        .map_or(0, |last| last + 1);
    if data[..used].trim_ascii().is_empty() {
        return Err(SceneError::at(
            HEADER,
            format!("The JSON chunk of this GLB file is empty. {AGAIN}"),
        ));
    }
    Ok(chunk.data.start..chunk.data.start + used)
}

/// Notes what is wrong after the JSON. Nothing there concerns the node tree.
fn later_chunks(bytes: &[u8], json: &Range<usize>, notes: &mut Vec<SceneError>) {
    let mut at = HEADER;
    for place in 0.. {
        let chunk = match Chunk::read(bytes, at) {
            Ok(chunk) => chunk,
            Err(error) => return notes.push(error),
        };
        if chunk.data.len() % 4 != 0 {
            notes.push(SceneError::at(
                at,
                format!(
                    "This chunk of the GLB file has {} bytes, which is no multiple of four. {AGAIN}",
                    chunk.data.len()
                ),
            ));
        }
        if (chunk.kind == JSON && chunk.data.start != json.start)
            || (chunk.kind == BIN && place != 1)
        {
            notes.push(SceneError::at(
                at,
                format!("This chunk of the GLB file is one too many, or out of its place. {AGAIN}"),
            ));
        }
        at = chunk.data.end;
        if at == bytes.len() || place > 1000 {
            return;
        }
    }
}

struct Chunk {
    kind: u32,
    data: Range<usize>,
}

impl Chunk {
    fn read(bytes: &[u8], at: usize) -> Result<Self, SceneError> {
        let (Some(length), Some(kind)) = (number(bytes, at), number(bytes, at + 4)) else {
            return Err(SceneError::at(
                bytes.len(),
                format!("The file ends where a chunk of the GLB container should begin. {AGAIN}"),
            ));
        };
        let start = at + CHUNK_HEADER;
        match start.checked_add(length as usize) {
            Some(end) if end <= bytes.len() => Ok(Self {
                kind,
                data: start..end,
            }),
            _ => Err(SceneError::at(
                at,
                format!(
                    "This chunk of the GLB file should have {length} bytes, but the file ends after {} of \
                     them. The file was cut off: copy it or export it again.",
                    bytes.len() - start
                ),
            )),
        }
    }
}

/// The little-endian number at a place, if the file is that long.
fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..)?.first_chunk::<4>()?;
    Some(u32::from_le_bytes(*four))
}
