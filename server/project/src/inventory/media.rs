//! What pictures and recordings say of themselves in their first bytes.

/// So many bytes tell a picture or a recording from other files.
pub(super) const ENOUGH: u64 = 64;

/// A picture or a recording.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Media {
    Sound {
        /// Not compressed.
        is_plain: bool,
    },
    Image {
        /// Not compressed.
        is_plain: bool,
        /// Width and height, as far as the bytes that were read tell.
        pixels: Option<(u32, u32)>,
    },
}

/// What the first bytes of a file are of. The name matters only for pictures that do not say what they are.
pub(super) fn of(head: &[u8], name: &str) -> Option<Media> {
    let image = |is_plain, pixels| Some(Media::Image { is_plain, pixels });
    let sound = |is_plain| Some(Media::Sound { is_plain });
    match head {
        [b'R', b'I', b'F', b'F', _, _, _, _, kind @ ..] => match kind.get(..4)? {
            b"WAVE" => sound(is_plain_wave(head)),
            b"WEBP" => image(false, None),
            _ => None,
        },
        [b'F', b'O', b'R', b'M', _, _, _, _, kind @ ..] => match kind.get(..4)? {
            b"AIFF" => sound(true),
            b"AIFC" => sound(false),
            _ => None,
        },
        // The mark of a text in UTF-16, which might be that of a recording in layers that nobody uses.
        [0xff, 0xfe, ..] => None,
        [b'O', b'g', b'g', b'S', ..]
        | [b'f', b'L', b'a', b'C', ..]
        | [b'I', b'D', b'3', ..]
        | [0xff, 0xe2..=0xff, ..] => sound(false),
        [0x89, b'P', b'N', b'G', ..] => image(false, big(head, 16).zip(big(head, 20))),
        [0xff, 0xd8, 0xff, ..] => image(false, of_jpeg(head)),
        [b'G', b'I', b'F', b'8', ..] => image(false, None),
        [b'B', b'M', ..] if little(head, 14)? >= 12 => {
            let pixels = little(head, 18).zip(little(head, 22).map(u32::cast_signed));
            let pixels = pixels.map(|(width, height)| (width, height.unsigned_abs()));
            image(little(head, 30) == Some(0), pixels)
        }
        // The pixel format either names a compression (0x4 in its flags) or says how the bytes lie.
        [b'D', b'D', b'S', b' ', ..] => {
            let is_plain = little(head, 80)? & 0x4 == 0;
            image(is_plain, little(head, 16).zip(little(head, 12)))
        }
        [0xab, b'K', b'T', b'X', ..] => image(false, None),
        _ if name.to_lowercase().ends_with(".tga") => {
            let side = |at: usize| {
                Some(u32::from(u16::from_le_bytes([
                    *head.get(at)?,
                    *head.get(at + 1)?,
                ])))
            };
            image(matches!(head.get(2)?, 1..=3), side(12).zip(side(14)))
        }
        _ => None,
    }
}

/// Whether a WAVE file holds plain samples: whole numbers, fractions, or a kind that a further field tells.
fn is_plain_wave(head: &[u8]) -> bool {
    let mut at = 12;
    while let Some(length) = little(head, at + 4) {
        if head.get(at..at + 4) == Some(b"fmt ") {
            let format = little(head, at + 8).map(|format| format & 0xffff);
            return matches!(format, Some(1 | 3 | 0xfffe));
        }
        // Chunks begin at even places.
        let length = (length as usize).saturating_add(length as usize & 1);
        at = at.saturating_add(8).saturating_add(length);
    }
    false
}

/// Width and height stand in the first frame header (ITU-T T.81, B.2.2).
fn of_jpeg(head: &[u8]) -> Option<(u32, u32)> {
    let short = |at: usize| {
        Some(u32::from(u16::from_be_bytes([
            *head.get(at)?,
            *head.get(at + 1)?,
        ])))
    };
    let mut at = 2;
    loop {
        let kind = *head.get(at + 1)?;
        if *head.get(at)? != 0xff {
            return None;
        }
        match kind {
            0xff => at += 1,
            0xc0..=0xcf if ![0xc4, 0xc8, 0xcc].contains(&kind) => {
                return short(at + 7).zip(short(at + 5));
            }
            _ => at += 2 + short(at + 2)? as usize,
        }
    }
}

fn little(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn big(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(*bytes.get(at..)?.first_chunk()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn image(is_plain: bool, width: u32, height: u32) -> Option<Media> {
        let pixels = Some((width, height));
        Some(Media::Image { is_plain, pixels })
    }

    #[test]
    fn pictures_tell_their_size() {
        let png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x20\0\0\0\x10\0";
        assert_eq!(of(png, "a.png"), image(false, 8192, 4096));
        let jpeg = b"\xff\xd8\xff\xe0\0\x04ab\xff\xc4\0\x02\xff\xc2\0\x11\x08\x02\0\x01\0";
        assert_eq!(of(jpeg, "a.jpg"), image(false, 256, 512));
        let mut bmp = b"BM".to_vec();
        bmp.extend([0; 12]);
        bmp.extend(40_u32.to_le_bytes());
        bmp.extend(10_i32.to_le_bytes());
        bmp.extend((-20_i32).to_le_bytes());
        bmp.extend([1, 0, 24, 0, 0, 0, 0, 0]);
        assert_eq!(of(&bmp, "a.bmp"), image(true, 10, 20));
        let mut dds = vec![0; 128];
        dds[..4].copy_from_slice(b"DDS ");
        dds[12] = 7;
        dds[16] = 9;
        assert_eq!(of(&dds, ""), image(true, 9, 7));
        dds[80] = 4;
        assert_eq!(of(&dds, ""), image(false, 9, 7));
    }

    #[test]
    fn recordings_tell_whether_they_are_compressed() {
        let wave = |format: u8| {
            let mut wave = b"RIFF\0\0\0\0WAVEJUNK\x01\0\0\0x\0fmt \x10\0\0\0".to_vec();
            wave.extend([format, 0, 1, 0]);
            of(&wave, "a.wav")
        };
        assert_eq!(wave(1), Some(Media::Sound { is_plain: true }));
        assert_eq!(wave(2), Some(Media::Sound { is_plain: false }));
        assert_eq!(of(b"OggS", ""), Some(Media::Sound { is_plain: false }));
        assert_eq!(
            of(b"\xff\xfb\x90\0", ""),
            Some(Media::Sound { is_plain: false })
        );
    }

    #[test]
    fn what_is_cut_short_or_something_else_is_no_trouble() {
        for head in [
            &b"RIFF"[..],
            b"BM",
            b"\xff\xd8\xff",
            b"\x89PNG",
            b"DDS ",
            b"<a/>",
            b"",
            b"FORM\0\0\0\0",
        ] {
            let _ = of(head, "a.tga");
            assert!(!matches!(
                of(head, "a"),
                Some(Media::Image { is_plain: true, .. })
            ));
        }
        assert_eq!(of(b"<machine/>", "a.xml"), None);
        assert_eq!(of(b"\xff\xfe<\0m\0/\0>\0", "a.xml"), None);
        let endless = b"RIFF\0\0\0\0WAVEJUNK\xff\xff\xff\xff".repeat(3);
        assert_eq!(of(&endless, ""), Some(Media::Sound { is_plain: false }));
    }
}
