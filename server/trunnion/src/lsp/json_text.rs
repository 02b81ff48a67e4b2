//! A string in JSON, read in pieces.

/// What was read of a string.
#[derive(Debug, PartialEq)]
pub(super) struct Piece {
    /// In bytes.
    pub(super) taken: usize,
    /// The closing quote comes next.
    pub(super) ended: bool,
}

/// Appends to `text` what `written` means, the next piece of a string behind its opening quote. An escape or a character
/// at the end that is not all there is left for the next piece. None, and `text` as it was, if something is in it that is
/// read the general way: characters by their number (which may be half of one), and what JSON does not allow.
///
/// `room`: to work in. With the same one for all pieces, its memory is taken once.
pub(super) fn read(written: &[u8], room: &mut Vec<u8>, text: &mut String) -> Option<Piece> {
    if room.len() < written.len() + 8 {
        room.resize(written.len() + 8, 0);
    }
    let (mut from, mut to) = (0, 0);
    let ended = loop {
        // What is copied behind the first byte that means something is written over.
        while let Some(bytes) = written[from..].first_chunk::<8>() {
            let plain = plain_at_start(u64::from_le_bytes(*bytes));
            room[to..to + 8].copy_from_slice(bytes);
            (from, to) = (from + plain, to + plain);
            if plain < 8 {
                break;
            }
        }
        let (byte, taken) = match written.get(from) {
            None => break false,
            Some(b'"') => break true,
            Some(b'\\') => match written.get(from + 1) {
                None => break false,
                Some(&byte) => (escaped(byte)?, 2),
            },
            Some(..0x20) => return None,
            Some(&byte) => (byte, 1),
        };
        room[to] = byte;
        (from, to) = (from + taken, to + 1);
    };
    let meant = match str::from_utf8(&room[..to]) {
        Ok(meant) => meant,
        Err(error) if error.error_len().is_none() && !ended => {
            from -= to - error.valid_up_to();
            str::from_utf8(&room[..error.valid_up_to()]).ok()?
        }
        Err(_) => return None,
    };
    text.push_str(meant);
    Some(Piece { taken: from, ended })
}

/// How a string means this text, without its quotes.
pub(super) fn written(text: &str) -> String {
    let mut written = serde_json::Value::from(text).to_string();
    written.pop();
    written.split_off(1)
}

/// How many of eight bytes, from the lowest on, come before the first quote, backslash or control character.
fn plain_at_start(bytes: u64) -> usize {
    const ONES: u64 = u64::MAX / 0xff;
    // The highest bit of each byte that is below, but for bytes after the first such one.
    let below = |bytes: u64, least: u8| bytes.wrapping_sub(ONES * u64::from(least)) & !bytes;
    let is = |byte: u8| below(bytes ^ (ONES * u64::from(byte)), 1);
    let found = (is(b'"') | is(b'\\') | below(bytes, 0x20)) & (ONES << 7);
    found.trailing_zeros() as usize / 8
}

/// What a backslash makes of the byte after it.
fn escaped(byte: u8) -> Option<u8> {
    Some(match byte {
        b'"' | b'\\' | b'/' => byte,
        b'n' => b'\n',
        b'r' => b'\r',
        b't' => b'\t',
        b'b' => 0x08,
        b'f' => 0x0c,
        _ => return None,
    })
}
