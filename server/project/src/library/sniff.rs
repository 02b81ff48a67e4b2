//! What a file is, by its first bytes.

/// How many bytes are looked at.
pub(super) const HEAD: u64 = 512;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sniffed {
    Xml,
    /// Perhaps a glTF scene, as text or binary.
    Scene,
    Other,
}

pub(super) fn sniff(head: &[u8]) -> Sniffed {
    if head.starts_with(b"glTF") {
        return Sniffed::Scene;
    }
    let narrow = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    match narrow.trim_ascii_start() {
        [b'{', ..] => Sniffed::Scene,
        [b'<', next, ..] if may_follow(*next) => Sniffed::Xml,
        _ if is_wide_markup(head) => Sniffed::Xml,
        _ => Sniffed::Other,
    }
}

/// What comes after the first `<` of an XML document: `?`, `!` or a name.
fn may_follow(next: u8) -> bool {
    next == b'?' || next == b'!' || next == b'_' || next.is_ascii_alphabetic() || next >= 0x80
}

/// UTF-16 with its mark, whose first character besides white space is `<`.
fn is_wide_markup(head: &[u8]) -> bool {
    let read: fn([u8; 2]) -> u16 = match head {
        [0xFF, 0xFE, ..] => u16::from_le_bytes,
        [0xFE, 0xFF, ..] => u16::from_be_bytes,
        _ => return false,
    };
    let units = head[2..]
        .chunks_exact(2)
        .map(|pair| read([pair[0], pair[1]]));
    let blank = |unit: &u16| [0x09, 0x0A, 0x0D, 0x20].contains(unit);
    let mut units = units;
    units.find(|unit| !blank(unit)) == Some(u16::from(b'<'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_bytes_tell() {
        for xml in [
            &b"<raft/>"[..],
            b"\xEF\xBB\xBF\n <?xml version='1.0'?><raft/>",
            b"<!-- a raft --><raft/>",
            b"\xFF\xFE<\0r\0",
            b"\xFE\xFF\0\n\0<\0r",
        ] {
            assert_eq!(sniff(xml), Sniffed::Xml, "{xml:?}");
        }
        for other in [&b""[..], b"< 3", b"<", b"a<b>", b"\x89PNG", b"\xFF\xFEa\0"] {
            assert_eq!(sniff(other), Sniffed::Other, "{other:?}");
        }
        assert_eq!(sniff(b"glTF\x02\0\0\0"), Sniffed::Scene);
        assert_eq!(sniff(b"\n{\"asset\":{}}"), Sniffed::Scene);
    }
}
