//! A GLB file: its header, its JSON, and the headers of its other chunks (glTF 2.0, section 4.4).

use std::io::{self, Read, Seek};

use super::{Gaps, Skimmed};
use crate::gltf::container::{CHUNK_HEADER, HEADER, MOST_CHUNKS, number};

/// In bytes: before the JSON.
const FIRST: usize = HEADER + CHUNK_HEADER;

/// Reads the first `size` bytes, without what is in the chunks after the first.
pub(super) fn skim(mut file: impl Read + Seek, size: u64) -> io::Result<Skimmed> {
    let mut bytes = Vec::new();
    let mut gaps = Gaps::default();
    let mut left = size;
    read(&mut file, FIRST as u64, &mut left, &mut bytes)?;
    let json = number(&bytes, HEADER).unwrap_or_default();
    read(&mut file, json.into(), &mut left, &mut bytes)?;
    // What is after the end that the header tells is no chunk.
    let declared = number(&bytes, 8).map_or(size, u64::from);
    gaps.beyond = size.saturating_sub(declared).min(left) as usize;
    left -= gaps.beyond as u64;
    for _ in 1..MOST_CHUNKS {
        let header = bytes.len();
        read(&mut file, CHUNK_HEADER as u64, &mut left, &mut bytes)?;
        let Some(length) = number(&bytes, header) else {
            break;
        };
        // One that claims more than there is has what is there.
        let length = u64::from(length).min(left);
        file.seek_relative(length as i64)?;
        gaps.add(bytes.len(), length as usize);
        left -= length;
    }
    gaps.beyond += left as usize;
    Ok(Skimmed { bytes, gaps })
}

/// Reads the next bytes, of so many that are left.
fn read(file: impl Read, wanted: u64, left: &mut u64, bytes: &mut Vec<u8>) -> io::Result<()> {
    let wanted = wanted.min(*left);
    *left -= wanted;
    file.take(wanted).read_to_end(bytes).map(drop)
}
