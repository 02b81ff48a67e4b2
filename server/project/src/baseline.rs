//! Baselines, as far as others than the check have to do with them: they lie in mods and are no part of these.

use std::path::Path;

use crate::files::Files;

/// In bytes. Enough to see what begins like a baseline.
const HEAD: u64 = 64;

/// Whether a file is a baseline that `trunnion check --write-baseline` wrote: its name says only that it is JSON.
pub fn is_baseline(files: &Files, path: &Path) -> bool {
    let ending = path.extension();
    ending.is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
        && files.read(path, HEAD).is_ok_and(|head| begins_one(&head))
}

fn begins_one(head: &[u8]) -> bool {
    let plain = head.iter().filter(|byte| !byte.is_ascii_whitespace());
    let plain: Vec<u8> = plain.copied().collect();
    let Some(version) = plain.strip_prefix(br#"{"format":"#) else {
        return false;
    };
    let digits = version.iter().take_while(|byte| byte.is_ascii_digit());
    version[digits.count()..].starts_with(br#","findings":["#)
}

#[cfg(test)]
mod tests {
    use super::begins_one;

    #[test]
    fn other_json_is_none() {
        assert!(begins_one(
            b"{\n  \"format\": 1,\n  \"findings\": [\n    {\"file\""
        ));
        assert!(begins_one(b"{\"format\":12,\"findings\":[]}"));
        for other in [
            "{\"format\": 1, \"nodes\": []}",
            "{\"findings\": []}",
            "{\"format\": 1}",
            "[]",
            "",
        ] {
            assert!(!begins_one(other.as_bytes()), "{other}");
        }
    }
}
