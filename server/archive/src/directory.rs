//! An archive's directory, read byte by byte (PKWARE's APPNOTE, 4.3.7 and 4.3.12): what the library does not tell of it.

use std::collections::{HashMap, HashSet};
use std::io::{self, BufReader, Read, Seek, SeekFrom};

const ENTRY: usize = 46;
const OWN_HEADER: usize = 30;
/// The sizes and the checksum come after the content.
const COMES_LATER: u16 = 1 << 3;
/// The true number is elsewhere, since it is too large.
const TOO_LARGE: u32 = u32::MAX;

/// What the directory says.
#[derive(Debug)]
pub(crate) struct Directory {
    pub(crate) entries: Vec<Entry>,
    /// The last entry of each name.
    by_name: HashMap<Vec<u8>, usize>,
}

/// What it says of one member.
#[derive(Debug)]
pub(crate) struct Entry {
    name: Vec<u8>,
    method: u16,
    checksum: u32,
    compressed: u32,
    size: u32,
}

impl Directory {
    /// `start`: where it begins; `most`: so many entries are read.
    pub(crate) fn read(file: &mut (impl Read + Seek), start: u64, most: usize) -> io::Result<Self> {
        let mut file = BufReader::new(file);
        file.seek(SeekFrom::Start(start))?;
        let mut entries = Vec::new();
        let mut header = [0; ENTRY];
        while entries.len() <= most {
            match file.read_exact(&mut header) {
                Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => break,
                read => read?,
            }
            if !header.starts_with(b"PK\x01\x02") {
                break;
            }
            let mut name = vec![0; usize::from(short(&header, 28))];
            file.read_exact(&mut name)?;
            file.seek_relative(i64::from(short(&header, 30)) + i64::from(short(&header, 32)))?;
            entries.push(Entry {
                name,
                method: short(&header, 10),
                checksum: long(&header, 16),
                compressed: long(&header, 20),
                size: long(&header, 24),
            });
        }
        let names = entries.iter().enumerate();
        Ok(Self {
            by_name: names.map(|(at, entry)| (entry.name.clone(), at)).collect(),
            entries,
        })
    }

    /// The names that several entries have.
    pub(crate) fn repeated(&self) -> HashSet<&[u8]> {
        let mut known = HashSet::new();
        let names = self.entries.iter().map(|entry| entry.name.as_slice());
        names.filter(|name| !known.insert(*name)).collect()
    }

    pub(crate) fn named(&self, name: &[u8]) -> Option<&Entry> {
        self.entries.get(*self.by_name.get(name)?)
    }
}

impl Entry {
    /// What the member, which begins at `start`, says differently of itself.
    pub(crate) fn contradicted(
        &self,
        file: &mut (impl Read + Seek),
        start: u64,
    ) -> io::Result<Option<&'static str>> {
        let mut header = [0; OWN_HEADER];
        file.seek(SeekFrom::Start(start))?;
        file.read_exact(&mut header)?;
        let mut name = vec![0; usize::from(short(&header, 26))];
        file.read_exact(&mut name)?;
        let comes_later = short(&header, 6) & COMES_LATER != 0;
        let is_same = |own: u32, said: u32| {
            own == said || own == TOO_LARGE || said == TOO_LARGE || (comes_later && own == 0)
        };
        Ok(if name != self.name {
            Some("name")
        } else if short(&header, 8) != self.method {
            Some("compression")
        } else if !is_same(long(&header, 18), self.compressed)
            || !is_same(long(&header, 22), self.size)
        {
            Some("size")
        } else if !is_same(long(&header, 14), self.checksum) {
            Some("checksum")
        } else {
            None
        })
    }
}

fn short(bytes: &[u8], at: usize) -> u16 {
    u16::from_le_bytes([bytes[at], bytes[at + 1]])
}

fn long(bytes: &[u8], at: usize) -> u32 {
    u32::from(short(bytes, at)) | u32::from(short(bytes, at + 2)) << 16
}
