//! Writing a text anew, in the encoding that it had: all of it or nothing (`whole` sees to that).

use std::fs;
use std::io;
use std::path::Path;

pub(crate) use whole::Replaced;

use super::definition::Failure;
use super::plain;

/// What a file holds that is to be written anew; None if there is nothing.
///
/// # Errors
/// It cannot be read, or is no file: a device or a pipe may have no end.
pub(crate) fn there(file: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::metadata(file) {
        Ok(about) if about.is_file() => fs::read(file).map(Some),
        Ok(_) => Err(io::Error::new(io::ErrorKind::InvalidInput, "it is no file")),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// Puts `text` in the place of what is [`there`], or makes the file.
///
/// # Errors
/// As of [`replace`] and [`create`].
pub(crate) fn put(file: &Path, old: Option<&[u8]>, text: &str) -> io::Result<Replaced> {
    match old {
        Some(old) => replace(file, old, text),
        None => create(file, text).map(|()| Replaced::Done),
    }
}

/// Puts `text` in the place of a file that held `old`, in the encoding of `old`. A link stays a
/// link, and permissions stay as they are.
///
/// # Errors
/// What stood in the way; the file is then as it was.
pub(crate) fn replace(file: &Path, old: &[u8], text: &str) -> io::Result<Replaced> {
    if project::inside(file).is_some() {
        return Err(io::Error::new(
            io::ErrorKind::Unsupported,
            "it is in an archive, and nothing is written into archives. Unpack it first (trunnion unpack)",
        ));
    }
    whole::replace(file, old, &encoded(old, text)?)
}

/// Changes a command's file, which was read as `old`, if `--write` was given (`is_wanted`). Says what was done.
///
/// # Errors
/// Why it is as it was.
pub(crate) fn in_place(
    file: &Path,
    old: &[u8],
    text: &str,
    is_wanted: bool,
) -> Result<String, Failure> {
    if !is_wanted {
        return Ok("Nothing was written; --write does that.\n".to_owned());
    }
    let shown = plain::name(file);
    match replace(file, old, text) {
        Ok(Replaced::Done) => Ok(format!("Written to {shown}.\n")),
        Ok(Replaced::ChangedMeanwhile) => Err(Failure::refused(format!(
            "{shown} was changed by somebody else in the meantime, so nothing was written. Try again."
        ))),
        Err(reason) => Err(Failure::broken(format!(
            "{shown} cannot be written, and is as it was: {reason}."
        ))),
    }
}

/// Makes a file that is not there yet: all of it or nothing.
///
/// # Errors
/// What stood in the way; that it is there by now is one. Nothing is left behind then.
pub(crate) fn create(file: &Path, text: &str) -> io::Result<()> {
    create_like(file, b"", text)
}

/// Makes a file like `create`, in the encoding of a file that holds `old`.
///
/// # Errors
/// As of `create`.
pub(crate) fn create_like(file: &Path, old: &[u8], text: &str) -> io::Result<()> {
    whole::create(file, &encoded(old, text)?)
}

/// The text as the old bytes were encoded: UTF-16 if they were, else UTF-8.
///
/// # Errors
/// Nobody could read it: its XML declaration says that it is something else, which did no harm while all was ASCII.
pub(crate) fn encoded(old: &[u8], text: &str) -> io::Result<Vec<u8>> {
    let utf_16 = |to_bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(to_bytes).collect();
    let bytes = match old {
        [0xff, 0xfe, ..] => with_mark(utf_16(u16::to_le_bytes), &[0xff, 0xfe]),
        [0xfe, 0xff, ..] => with_mark(utf_16(u16::to_be_bytes), &[0xfe, 0xff]),
        _ => text.as_bytes().to_vec(),
    };
    match text.is_ascii() || syntax::decode::bytes(&bytes).is_ok() {
        true => Ok(bytes),
        false => Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "it would hold letters that are not written so in the encoding of its XML declaration. Write encoding=\"UTF-8\" there first",
        )),
    }
}

fn with_mark(bytes: Vec<u8>, mark: &[u8]) -> Vec<u8> {
    if bytes.starts_with(mark) {
        return bytes;
    }
    [mark, &bytes].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_come_back_in_their_encoding() {
        for old in [
            &b"<a/>"[..],
            b"\xef\xbb\xbf<a/>",
            b"\xff\xfe<\0a\0/\0>\0",
            b"\xfe\xff\0<\0a\0/\0>",
        ] {
            let text = syntax::decode::bytes(old).expect("it can be read");
            assert_eq!(encoded(old, &text).unwrap(), old);
        }
    }

    #[test]
    fn what_nobody_could_read_is_not_written() {
        let latin = "<?xml version='1.0' encoding='ISO-8859-1'?><a/>";
        assert!(encoded(latin.as_bytes(), latin).is_ok());
        let wider = latin.replace("<a/>", "<ä/>");
        assert!(encoded(latin.as_bytes(), &wider).is_err());
        // A byte order mark decides alone.
        assert!(encoded(b"\xff\xfe", &wider).is_ok());
        assert!(encoded(b"", &format!("\u{feff}{wider}")).is_ok());
        assert!(encoded(b"", "größe").is_ok());
    }
}
