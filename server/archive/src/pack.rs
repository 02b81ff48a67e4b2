//! From a folder to an archive: the same bytes of the same files, whenever and wherever.

use std::fs::{self, File, Metadata};
use std::io::{self, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};

use whole::Beside;
use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, DateTime, System};

use crate::plan::{Plan, State};
use crate::shadows::{self, Moved};
use crate::{Refused, Stopped, contents, read_back};

/// Fixed, so that the same files give the same bytes.
const LEVEL: i64 = 6;
/// Read and write for the owner, read for others; what it was on this computer concerns nobody.
const PERMISSIONS: u32 = 0o644;
/// From this size on the format needs longer numbers.
const LARGE: u64 = u32::MAX as u64;
/// So much of a file is compressed to see whether that is worth it.
const SAMPLE: usize = 256 << 10;
/// Also how much is handed to the compressor at once: what it makes of it may depend on that.
pub(crate) const PIECE: usize = 64 << 10;

/// What was made.
#[derive(Debug)]
pub struct Packed {
    pub files: usize,
    /// Of all files together.
    pub bytes: u64,
    /// Of the archive.
    pub size: u64,
    /// The archive had these bytes already.
    pub is_as_before: bool,
    /// Where the archive is that was there before.
    pub backup: Option<PathBuf>,
    /// Copies of the mod that are no longer where they were.
    pub moved: Vec<Moved>,
}

impl Plan {
    /// Packs the folder into an archive, which appears at once and whole, after it was read back and compared with
    /// the folder's files. An archive that was there is kept as a numbered backup; `shadows` are moved aside.
    ///
    /// # Errors
    /// Why there is no new archive. What was there before is there still.
    pub fn pack(&self, shadows: &[PathBuf]) -> Result<Packed, Stopped> {
        let shown = self.target.display();
        let cannot = |error: io::Error| {
            Stopped::Failed(format!(
                "{shown} cannot be made, and nothing was changed: {error}"
            ))
        };
        let place = Place::of(&self.target)?;
        let beside = Beside::file(&place.path).map_err(cannot)?;
        let file = beside.handle().map_err(cannot)?;
        let mut packed = self.write(file, &cannot)?;
        read_back::compare(self, file)?;
        if self.look()?.files != self.found.files {
            return Err(Stopped::Failed(format!(
                "Files in {} came, went or changed while they were packed, so nothing was written. Try again",
                self.folder.display()
            )));
        }
        packed.size = file.metadata().map_err(cannot)?.len();
        packed.moved = shadows::set_aside(shadows)?;
        match settle(beside, &place, &mut packed) {
            Ok(()) => Ok(packed),
            Err(error) => {
                shadows::bring_back(&packed.moved);
                Err(cannot(error))
            }
        }
    }

    fn write(&self, file: &File, cannot: &dyn Fn(io::Error) -> Stopped) -> Result<Packed, Stopped> {
        let mut archive = ZipWriter::new(BufWriter::new(file));
        let mut bytes = 0;
        for (name, state) in &self.found.files {
            let changed = || changed(name);
            let (mut from, about) = self.open(name)?;
            if State::from(&about) != *state {
                return Err(changed());
            }
            let mut piece = piece(&mut from, SAMPLE).map_err(|error| unreadable(name, &error))?;
            let options = SimpleFileOptions::default()
                .system(System::Unix)
                .unix_permissions(PERMISSIONS)
                .last_modified_time(DateTime::default())
                .large_file(state.size >= LARGE);
            let options = match is_worth_compressing(&piece) {
                true => options
                    .compression_method(CompressionMethod::Deflated)
                    .compression_level(Some(LEVEL)),
                false => options.compression_method(CompressionMethod::Stored),
            };
            let failed = |error: zip::result::ZipError| cannot(error.into());
            archive.start_file(name.as_str(), options).map_err(failed)?;
            let mut length = 0;
            while !piece.is_empty() {
                length += piece.len() as u64;
                if length > state.size {
                    return Err(changed());
                }
                for piece in piece.chunks(PIECE) {
                    archive.write_all(piece).map_err(cannot)?;
                }
                piece = self::piece(&mut from, PIECE).map_err(|error| unreadable(name, &error))?;
            }
            if length != state.size {
                return Err(changed());
            }
            bytes += length;
        }
        let out = archive.finish().map_err(|error| cannot(error.into()))?;
        out.into_inner()
            .map_err(|error| cannot(error.into_error()))?;
        Ok(Packed {
            files: self.found.files.len(),
            bytes,
            size: 0,
            is_as_before: false,
            backup: None,
            moved: Vec::new(),
        })
    }

    /// Opens a file of the folder.
    pub(crate) fn open(&self, name: &str) -> Result<(File, Metadata), Stopped> {
        let path = name
            .split('/')
            .fold(self.folder.clone(), |path, step| path.join(step));
        let opened = File::open(path).and_then(|file| {
            let about = file.metadata()?;
            Ok((file, about))
        });
        opened.map_err(|error| unreadable(name, &error))
    }
}

/// The archive takes its place.
fn settle(beside: Beside, place: &Place, packed: &mut Packed) -> io::Result<()> {
    match &place.before {
        Some(_) if is_same(beside.handle()?, &place.path)? => {
            packed.is_as_before = true;
            Ok(())
        }
        Some(before) => {
            beside.be_like(before)?;
            let backup = whole::back_up(&place.path)?;
            let taken = beside.take_place(&place.path);
            if taken.is_err() {
                // The archive has not gone anywhere, so this is one name too many.
                let _ = fs::remove_file(&backup);
            }
            packed.backup = Some(backup);
            taken
        }
        None => beside.take_free_place(&place.path),
    }
}

pub(crate) fn changed(name: &str) -> Stopped {
    Stopped::Refused(vec![Refused::one(
        name,
        "It was changed while it was packed. Try again.",
    )])
}

pub(crate) fn unreadable(name: &str, error: &io::Error) -> Stopped {
    Stopped::Refused(vec![Refused::one(
        name,
        format!("It cannot be read: {error}."),
    )])
}

/// The next bytes; fewer than asked for only at the end, however the system hands them out.
pub(crate) fn piece(from: &mut impl Read, length: usize) -> io::Result<Vec<u8>> {
    let mut piece = Vec::with_capacity(length);
    from.take(length as u64).read_to_end(&mut piece)?;
    Ok(piece)
}

/// Pictures, sounds and archives are compressed already.
fn is_worth_compressing(sample: &[u8]) -> bool {
    let mut small = ZipWriter::new(io::Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(LEVEL));
    let compressed = small
        .start_file("", options)
        .map_err(io::Error::from)
        .and_then(|()| small.write_all(sample))
        .and_then(|()| Ok(small.finish()?.into_inner().len()));
    // With the archive's own bytes it is a little more: what saves nothing worth mentioning is stored.
    compressed.is_ok_and(|length| length < sample.len())
}

/// Where the archive is to be.
pub(crate) struct Place {
    /// The file itself, should the target be a link to it.
    path: PathBuf,
    /// Of the archive that is there.
    before: Option<Metadata>,
}

impl Place {
    pub(crate) fn of(target: &Path) -> Result<Self, Stopped> {
        let shown = target.display();
        let refuse = |why: &str| Err(Stopped::Failed(format!("{shown} {why}")));
        if fs::symlink_metadata(target).is_err() {
            return Ok(Self {
                path: target.to_path_buf(),
                before: None,
            });
        }
        let found = fs::canonicalize(target).and_then(|path| Ok((fs::metadata(&path)?, path)));
        let Ok((about, path)) = found else {
            return refuse("is a link that leads nowhere. Remove it, or name another file");
        };
        if about.is_dir() {
            return refuse("is a folder. Name a file in it, or another one");
        }
        if !about.is_file() {
            return refuse("is no file. Name another one");
        }
        if about.permissions().readonly() {
            return refuse("is marked as read-only, so it is not replaced");
        }
        let head = File::open(&path).and_then(|mut file| piece(&mut file, 4));
        match head {
            Ok(head) if contents::is_archive(&head) => Ok(Self {
                path,
                before: Some(about),
            }),
            Ok(_) => refuse("is no archive, so it is not replaced. Name another file"),
            Err(error) => refuse(&format!("cannot be read: {error}")),
        }
    }
}

/// Whether a file has the same bytes as the one at `path`.
fn is_same(mut file: &File, path: &Path) -> io::Result<bool> {
    let mut other = File::open(path)?;
    file.rewind()?;
    loop {
        let (one, two) = (piece(&mut file, PIECE)?, piece(&mut other, PIECE)?);
        if one != two || one.is_empty() {
            return Ok(one == two);
        }
    }
}
