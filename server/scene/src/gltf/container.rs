//! The binary container: a header of 12 bytes, then chunks (glTF 2.0, section 4.4).

use std::ops::Range;

use crate::SceneError;
use crate::skim::Gaps;

pub(crate) const HEADER: usize = 12;
pub(crate) const CHUNK_HEADER: usize = 8;
/// More than that are not looked at. A usual file has two.
pub(crate) const MOST_CHUNKS: usize = 1000;
const JSON: u32 = u32::from_le_bytes(*b"JSON");
const BIN: u32 = u32::from_le_bytes(*b"BIN\0");

const AGAIN: &str = "Export the scene again.";

/// Where the JSON is, and what is odd about the rest.
pub(super) struct Container {
    pub(super) json: Range<usize>,
    pub(super) notes: Vec<SceneError>,
}

/// Finds the JSON of a file that begins with `glTF`. Faults that leave the JSON whole are only notes. There may be gaps
/// in place of what the chunks after the JSON hold.
pub(super) fn read(bytes: &[u8], gaps: &Gaps) -> Result<Container, SceneError> {
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
    let size = bytes.len() + gaps.total();
    let json = first_chunk(bytes)?;
    let mut notes = Vec::new();
    if length as usize != size {
        notes.push(SceneError::at(
            8,
            format!(
                "The GLB header says that the file has {length} bytes, but it has {size}. {AGAIN}"
            ),
        ));
    }
    let declared = (length as usize).min(size) - gaps.inside();
    if let Some(declared) = bytes.get(..declared).filter(|it| json.end <= it.len()) {
        later_chunks(declared, gaps, &json, &mut notes);
    }
    Ok(Container { json, notes })
}

/// The bytes of the first chunk, which must be the JSON.
fn first_chunk(bytes: &[u8]) -> Result<Range<usize>, SceneError> {
    let chunk = Chunk::read(bytes, &Gaps::default(), HEADER)?;
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
fn later_chunks(bytes: &[u8], gaps: &Gaps, json: &Range<usize>, notes: &mut Vec<SceneError>) {
    let mut at = HEADER;
    for place in 0..MOST_CHUNKS {
        let chunk = match Chunk::read(bytes, gaps, at) {
            Ok(chunk) => chunk,
            Err(error) => return notes.push(error),
        };
        if chunk.length % 4 != 0 {
            notes.push(SceneError::at(
                at,
                format!(
                    "This chunk of the GLB file has {} bytes, which is no multiple of four. {AGAIN}",
                    chunk.length
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
        if at == bytes.len() {
            return;
        }
    }
}

struct Chunk {
    kind: u32,
    /// In bytes.
    length: usize,
    /// What is there of them.
    data: Range<usize>,
}

impl Chunk {
    fn read(bytes: &[u8], gaps: &Gaps, at: usize) -> Result<Self, SceneError> {
        let (Some(length), Some(kind)) = (number(bytes, at), number(bytes, at + 4)) else {
            return Err(SceneError::at(
                bytes.len(),
                format!("The file ends where a chunk of the GLB container should begin. {AGAIN}"),
            ));
        };
        let start = at + CHUNK_HEADER;
        let length = length as usize;
        let left_out = gaps.right_before(start);
        match start.checked_add(length.saturating_sub(left_out)) {
            Some(end) if end <= bytes.len() => Ok(Self {
                kind,
                length,
                data: start..end,
            }),
            _ => Err(SceneError::at(
                at,
                format!(
                    "This chunk of the GLB file should have {length} bytes, but the file ends after {} of \
                     them. The file was cut off: copy it or export it again.",
                    bytes.len() - start + left_out
                ),
            )),
        }
    }
}

/// The little-endian number at a place, if the file is that long.
pub(crate) fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..)?.first_chunk::<4>()?;
    Some(u32::from_le_bytes(*four))
}
