//! What words of everyday English hint at. The words are in `hints.txt`.

const HINTS: &str = include_str!("hints.txt");

/// Whether a name hints at something.
pub(crate) fn hints_at(name: &str, meaning: &str) -> bool {
    let lines = HINTS.lines().filter(|line| !line.starts_with('#'));
    let mut starts = lines
        .filter_map(|line| line.split_once(':'))
        .filter(|(known, _)| *known == meaning)
        .flat_map(|(_, starts)| starts.split_whitespace());
    let parts = parts(name);
    // Short hints are whole words: `to` is not the beginning of `tow`.
    starts.any(|start| {
        let fits = |part: &String| match start.len() < 4 {
            true => part == start,
            false => part.starts_with(start),
        };
        parts.iter().any(fits)
    })
}

/// `legSpread.x` is `leg`, `spread` and `x`.
pub(super) fn parts(name: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut was_small = false;
    for c in name.chars() {
        if !c.is_alphanumeric() || (c.is_uppercase() && was_small) {
            parts.push(String::new());
        }
        was_small = c.is_lowercase();
        if let (true, Some(part)) = (c.is_alphanumeric(), parts.last_mut()) {
            part.extend(c.to_lowercase());
        }
    }
    parts.retain(|part| !part.is_empty());
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hints_are_parts_of_names() {
        assert!(hints_at("moveTo", "translation"));
        assert!(hints_at("@begin-at", "begin"));
        assert!(!hints_at("tow", "to"));
        assert!(!hints_at("knorr", "translation"));
    }
}
