//! Large files, read without what a scene is not read from: the binary chunks of a GLB file, buffers and images that
//! stand in a glTF file as text, and long stretches of blanks. A machine's scene may have a hundred megabytes of these
//! and one of nodes.

mod container;
mod json;

use std::io::{self, Read, Seek, SeekFrom};
use std::sync::Arc;

use dialect::Dialect;

use crate::{Scene, SceneError, read};

/// The bytes of a scene file, perhaps with gaps.
#[derive(Debug)]
pub struct Skimmed {
    bytes: Vec<u8>,
    gaps: Gaps,
}

impl From<Vec<u8>> for Skimmed {
    fn from(bytes: Vec<u8>) -> Self {
        let gaps = Gaps::default();
        Self { bytes, gaps }
    }
}

impl Skimmed {
    /// Reads the first `most` bytes of a file, or all of it. What is less than `large_text` is read whole, unless it is a
    /// GLB file: to look through text takes longer than to read it.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn of(mut file: impl Read + Seek, most: u64, large_text: u64) -> io::Result<Self> {
        let size = file.seek(SeekFrom::End(0))?.min(most);
        file.rewind()?;
        let mut head = Vec::new();
        file.by_ref().take(4).read_to_end(&mut head)?;
        file.rewind()?;
        if head == b"glTF" {
            return container::skim(file, size);
        }
        if size >= large_text {
            if let Some(skimmed) = json::skim(file.by_ref().take(most), size as usize)? {
                return Ok(skimmed);
            }
            file.rewind()?;
        }
        let mut bytes = Vec::with_capacity(size as usize);
        file.take(most).read_to_end(&mut bytes)?;
        Ok(bytes.into())
    }

    /// What is there of the file.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Whether all of the file is there.
    pub fn is_whole(&self) -> bool {
        self.gaps.total() == 0
    }

    /// The scene, as [`read_at_most`](crate::read_at_most) reads it. All places are those in the file.
    ///
    /// # Errors
    /// As there.
    pub fn scene(
        &self,
        most: usize,
        file_name: &str,
        dialects: &[Arc<Dialect>],
    ) -> Result<Scene, SceneError> {
        let read = read::read_with_gaps(most, &self.bytes, &self.gaps, file_name, dialects);
        if self.is_whole() {
            return read;
        }
        let in_file = |mut error: SceneError| {
            error.offset = error.offset.map(|offset| self.in_file(offset));
            error
        };
        let mut scene = read.map_err(in_file)?;
        scene.notes = scene.notes.into_iter().map(in_file).collect();
        for node in &mut scene.nodes {
            if !node.source.is_empty() {
                let [start, last] = [node.source.start, node.source.end - 1]
                    .map(|place| self.in_file(place as usize) as u32);
                node.source = start..last + 1;
            }
        }
        Ok(scene)
    }

    /// The place in the file of a byte that is there.
    fn in_file(&self, place: usize) -> usize {
        place + self.gaps.before(place)
    }
}

/// What was left out.
#[derive(Debug, Default)]
pub(crate) struct Gaps {
    /// In order.
    list: Vec<Gap>,
    /// So many bytes after all that is there.
    beyond: usize,
}

#[derive(Debug)]
struct Gap {
    /// The first byte after it, among those that are there.
    at: usize,
    /// So many bytes are left out up to here.
    left_out: usize,
}

impl Gaps {
    /// In bytes.
    pub(crate) fn total(&self) -> usize {
        self.inside() + self.beyond
    }

    /// The same without what is beyond all that is there.
    pub(crate) fn inside(&self) -> usize {
        self.before(usize::MAX)
    }

    /// How much is left out before a byte that is there.
    fn before(&self, place: usize) -> usize {
        let gaps = self.list.partition_point(|gap| gap.at <= place);
        gaps.checked_sub(1)
            .map_or(0, |last| self.list[last].left_out)
    }

    /// How much is left out right before a byte that is there.
    pub(crate) fn right_before(&self, place: usize) -> usize {
        self.before(place) - place.checked_sub(1).map_or(0, |last| self.before(last))
    }

    /// Makes the last gap smaller, which is right before the byte that will be at this place.
    fn give_back(&mut self, at: usize, bytes: usize) {
        if let Some(gap) = self.list.last_mut().filter(|gap| gap.at == at) {
            gap.left_out -= bytes;
        }
    }

    /// The next ones: so many bytes before the byte that will be at this place.
    fn add(&mut self, at: usize, bytes: usize) {
        let left_out = self.before(at) + bytes;
        match self.list.last_mut() {
            Some(gap) if gap.at == at => gap.left_out = left_out,
            _ => self.list.push(Gap { at, left_out }),
        }
    }
}
