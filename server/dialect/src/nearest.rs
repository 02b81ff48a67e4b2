/// The candidate closest to `word`, if one is close enough to be what was meant.
///
/// "Close enough" grows with the length of the word: one slip in a short word, about a
/// third of the letters in a long one. Letter case is ignored. Ties go to the earlier
/// candidate.
pub fn nearest<'c, C: AsRef<str> + ?Sized + 'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c C>,
) -> Option<&'c str> {
    let folded: Vec<char> = word.to_lowercase().chars().take(LONGEST + 1).collect();
    if folded.is_empty() || folded.len() > LONGEST {
        return None;
    }
    let allowed = (folded.len() / 3).clamp(1, 4);
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let candidate = candidate.as_ref();
        let other: Vec<char> = candidate.to_lowercase().chars().take(LONGEST + 1).collect();
        if other.len().abs_diff(folded.len()) > allowed || other.is_empty() {
            continue;
        }
        let distance = edits(&folded, &other);
        // Replacing every letter is not a slip.
        let plausible = distance <= allowed && distance < folded.len().max(other.len());
        if plausible && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Words longer than this are not compared: the cost is quadratic.
const LONGEST: usize = 80;

/// Optimal string alignment distance: insertions, deletions, replacements and swaps of
/// neighbours, each counting one.
fn edits(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let differs = usize::from(a[i - 1] != b[j - 1]);
            let mut cost = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + differs);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                cost = cost.min(before[j - 2] + 1);
            }
            row[j] = cost;
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_the_word() {
        let words = ["channel", "control", "animation"];
        assert_eq!(nearest("chanel", words), Some("channel"));
        assert_eq!(nearest("contorl", words), Some("control"));
        assert_eq!(nearest("Animation", words), Some("animation"));
    }

    #[test]
    fn another_word_finds_nothing() {
        assert_eq!(nearest("boat", ["channel", "control"]), None);
        assert_eq!(nearest("a", ["b", "c"]), None);
        assert_eq!(nearest("", ["b"]), None);
    }

    #[test]
    fn the_closest_of_several_wins() {
        assert_eq!(nearest("wheal", ["heel", "wheel"]), Some("wheel"));
    }
}
