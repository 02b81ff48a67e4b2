//! Looks at text eight bytes at a time: for what stands in the middle of tags that is quicker than a byte at a time,
//! and than a search that first gets ready for long texts.

const ONES: u64 = u64::MAX / 255;
const LOW_BITS: u64 = 0x7F * ONES;
const HIGH_BITS: u64 = 0x80 * ONES;

/// Where the next `=` stands at or behind `at`.
#[inline(always)]
pub(crate) fn find_equals(bytes: &[u8], at: usize) -> Option<usize> {
    find(bytes, at, |low| differing(low, b'='))
}

/// Where a run in a value in which all stands for itself ends, at or behind `at`: at the `quote` around the value, `<`,
/// `&`, or a control character such as a line break.
#[inline(always)]
pub(crate) fn find_value_stop(bytes: &[u8], at: usize, quote: u8) -> Option<usize> {
    // `&` and either quote differ in one bit. Where that is set, both are the same.
    let one_bit = quote ^ b'&';
    find(bytes, at, |low| {
        let quotes_and_ampersands = low | each(one_bit);
        // Adding so much makes the highest bit of all but the control characters.
        let are_no_controls = low + each(0x80 - b' ');
        differing(quotes_and_ampersands, quote | one_bit) & differing(low, b'<') & are_no_controls
    })
}

/// Whether a text may hold characters that may not stand in XML: it holds control characters other than white space, or what
/// noncharacters begin with in UTF-8 (0xEF), as others do that few texts hold.
pub fn may_hold_forbidden(text: &str) -> bool {
    is_any_odd(text.as_bytes())
}

fn is_any_odd(bytes: &[u8]) -> bool {
    let (words, rest) = bytes.as_chunks();
    // Without any way out: the compiler makes a loop of it that takes each byte once.
    let among = words
        .iter()
        .fold(0, |found, word| found | odd(u64::from_le_bytes(*word)));
    (among | rest.iter().fold(0, |found, byte| found | odd(each(*byte)))) != 0
}

/// The highest bit is set in those of eight bytes that [`may_hold_forbidden`] looks for.
#[inline(always)]
const fn odd(word: u64) -> u64 {
    let low = word & LOW_BITS;
    let is_no_control = (low + each(0x80 - b' ')) | word;
    let is_not_white = differing(low, b'\t') & differing(low, b'\n') & differing(low, b'\r');
    let is_not_ef = differing(low, 0xEF & 0x7F);
    ((is_not_white & !is_no_control) | (word & !is_not_ef)) & HIGH_BITS
}

/// Where the first byte stands at or behind `at` that is ASCII and for which `passes` leaves the highest bit unset. It
/// gets eight bytes without their highest bits.
#[inline(always)]
fn find(bytes: &[u8], mut at: usize, passes: impl Fn(u64) -> u64) -> Option<usize> {
    loop {
        let rest = bytes.get(at..)?;
        let word = match rest.first_chunk() {
            Some(word) => u64::from_le_bytes(*word),
            None => last_word(bytes, rest.len()),
        };
        let passed = (passes(word & LOW_BITS) | word) & HIGH_BITS;
        if passed != HIGH_BITS {
            let stops = passed ^ HIGH_BITS;
            at += (stops.trailing_zeros() / 8) as usize;
            // What stands behind the end is no find.
            return (at < bytes.len()).then_some(at);
        }
        at += 8;
    }
}

/// The highest bit is set in those of eight bytes below 128 that are not `byte`.
#[inline(always)]
const fn differing(low: u64, byte: u8) -> u64 {
    (low ^ each(byte)) + LOW_BITS
}

#[inline(always)]
const fn each(byte: u8) -> u64 {
    ONES * byte as u64
}

/// The last bytes, fewer than eight, the first one lowest; zeros behind the end.
#[inline(never)]
fn last_word(bytes: &[u8], len: usize) -> u64 {
    let higher = |word, byte: &u8| word << 8 | u64::from(*byte);
    match bytes.last_chunk() {
        _ if len == 0 => 0,
        Some(last) => u64::from_le_bytes(*last) >> (64 - 8 * len),
        None => bytes[bytes.len() - len..].iter().rev().fold(0, higher),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// What a look at each byte finds.
    fn slowly(bytes: &[u8], at: usize, stops: impl Fn(u8) -> bool) -> Option<usize> {
        (at..bytes.len()).find(|at| stops(bytes[*at]))
    }

    fn check(bytes: &[u8]) {
        for at in 0..=bytes.len() {
            let equals = slowly(bytes, at, |byte| byte == b'=');
            assert_eq!(find_equals(bytes, at), equals, "{bytes:?} {at}");
            for quote in [b'"', b'\''] {
                let is_stop = |byte| byte == quote || byte == b'<' || byte == b'&' || byte < b' ';
                let stop = slowly(bytes, at, is_stop);
                let found = find_value_stop(bytes, at, quote);
                assert_eq!(found, stop, "{bytes:?} {at} {quote}");
            }
            let is_odd = |byte| byte == 0xEF || byte < b' ' && !b"\t\n\r".contains(&byte);
            let odd = slowly(bytes, at, is_odd).is_some();
            assert_eq!(is_any_odd(&bytes[at..]), odd, "{bytes:?} {at}");
        }
    }

    #[test]
    fn each_byte_is_told_from_each_other_in_each_place() {
        for byte in 0..=255 {
            for neighbour in [b'a', byte, byte.wrapping_add(1), 0xFF, 0] {
                for place in 0..10 {
                    let mut bytes = [neighbour; 10];
                    bytes[place] = byte;
                    check(&bytes);
                }
            }
        }
    }

    proptest! {
        #[test]
        fn words_find_what_bytes_find(bytes in prop::collection::vec(any::<u8>(), 0..40)) {
            check(&bytes);
        }

        #[test]
        fn what_stands_far_off_is_found(
            values in prop::collection::vec("[ a-z0-9.é]{0,20}", 0..6),
            stop in prop::sample::select(b"\"'<&=\t\n\x01".as_slice()),
        ) {
            check(values.join(&*char::from(stop).to_string()).as_bytes());
        }
    }
}
