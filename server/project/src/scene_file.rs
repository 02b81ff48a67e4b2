//! A scene's file, read.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use dialect::Dialect;
use scene::{Scene, SceneError, Skimmed};

use crate::config::Limits;
use crate::files::{About, Files, inside};

/// Of a larger file on the disk only that is read which a scene is read from, if there is a quick way to it; of one that
/// is larger still, also where there is none. In bytes.
const LARGE: u64 = 4 << 20;
const LARGE_TEXT: u64 = 32 << 20;

/// A scene file and what was read from it.
#[derive(Debug)]
pub struct SceneFile {
    pub path: PathBuf,
    pub scene: Scene,
    /// What could not be read of it, in whole sentences, with the line where the file is text. Not more than the first
    /// few dozen.
    pub notes: Vec<String>,
}

/// The error says what is wrong and where, in whole sentences.
pub(crate) type ReadScene = Result<Arc<SceneFile>, String>;

pub(crate) fn read(
    files: &Files,
    path: &Path,
    about: About,
    dialects: &[Arc<Dialect>],
    limits: Limits,
) -> ReadScene {
    let file = skim(files, path, about, limits.scene.bytes())
        .map_err(|error| format!("It cannot be read: {error}."))?;
    let name = path.file_name().and_then(|name| name.to_str());
    let tell = |error: &SceneError| placed(error, &file, path);
    let scene = file
        .scene(limits.nodes, name.unwrap_or_default(), dialects)
        .map_err(|error| tell(&error))?;
    Ok(Arc::new(SceneFile {
        path: path.to_path_buf(),
        notes: scene.notes.iter().map(tell).collect(),
        scene,
    }))
}

/// Reads the first `most` bytes of a file, or all of it, but for what no scene is read from.
///
/// # Errors
/// It cannot be read.
pub(crate) fn skim(files: &Files, path: &Path, about: About, most: u64) -> io::Result<Skimmed> {
    if about.size > LARGE && inside(path).is_none() {
        return Skimmed::of(File::open(path)?, most, LARGE_TEXT);
    }
    files.read_known(path, about, most).map(Skimmed::from)
}

/// What is wrong with a scene, with its line where the file is text.
fn placed(error: &SceneError, file: &Skimmed, path: &Path) -> String {
    let Some(offset) = error.offset else {
        return error.message.clone();
    };
    let bytes = file.bytes();
    // Places in UTF-16 are those of its text.
    let is_utf_16 = bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF");
    let text = is_utf_16
        .then(|| syntax::decode::bytes(bytes).ok())
        .flatten();
    let bytes = text.as_ref().map_or(bytes, String::as_bytes);
    let place = match file.is_whole() {
        true => line_and_column(bytes, offset),
        false => File::open(path).and_then(|file| line_and_column(file, offset)),
    };
    match place {
        Ok(Some((line, column))) => {
            format!("{} (Line {line}, column {column}.)", error.message)
        }
        _ => format!("{} (Byte {offset}.)", error.message),
    }
}

/// Both from 1. None if the file is no text, or is over before that byte.
fn line_and_column(file: impl Read, offset: usize) -> io::Result<Option<(usize, usize)>> {
    let mut before = BufReader::new(file.take(offset as u64));
    let (mut line, mut column, mut left) = (1, 1, offset);
    loop {
        let bytes = before.fill_buf()?;
        if bytes.is_empty() {
            return Ok((left == 0).then_some((line, column)));
        }
        if bytes.contains(&0) {
            return Ok(None);
        }
        let breaks = bytes.iter().filter(|byte| **byte == b'\n').count();
        let mut rest = bytes;
        if breaks > 0 {
            (line, column) = (line + breaks, 1);
            let last = bytes.iter().rposition(|byte| *byte == b'\n');
            rest = &bytes[last.map_or(0, |last| last + 1)..];
        }
        // A character begins with a byte that is not of the form 10xxxxxx.
        column += rest.iter().filter(|byte| **byte & 0xC0 != 0x80).count();
        let read = bytes.len();
        left -= read;
        before.consume(read);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_told_in_lines_where_the_file_is_text() {
        let text = "\u{FEFF}<a>\n <ü>é</b>";
        let offset = text.find("</b").unwrap();
        let told = |bytes: &[u8], offset| {
            let message = "Odd.".to_owned();
            let offset = Some(offset);
            placed(
                &SceneError { message, offset },
                &bytes.to_vec().into(),
                Path::new(""),
            )
        };
        let units = || text.encode_utf16();
        let little: Vec<u8> = units().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = units().flat_map(u16::to_be_bytes).collect();
        for bytes in [text.as_bytes(), &little, &big] {
            assert_eq!(told(bytes, offset), "Odd. (Line 2, column 6.)");
        }
        assert_eq!(told(&little[..7], 6), "Odd. (Byte 6.)", "half a character");
        assert_eq!(told(b"glTF\x02\0\0\0x", 8), "Odd. (Byte 8.)");
    }

    #[test]
    fn a_place_behind_what_was_left_out_is_told_in_lines_too() {
        let folder = crate::fixture::folder();
        let path = folder.path().join("quay.gltf");
        let text = format!("{{\"asset\": {{}},{}\n \"é\": x}}", "\n".repeat(1_000));
        std::fs::write(&path, text).unwrap();
        let file = Skimmed::of(File::open(&path).unwrap(), u64::MAX, 0).unwrap();
        assert!(!file.is_whole());
        let error = file.scene(1, "quay.gltf", &[]).unwrap_err();
        let told = placed(&error, &file, &path);
        assert!(told.ends_with("(Line 1002, column 7.)"), "{told}");
    }
}
