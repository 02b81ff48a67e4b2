/// The candidate closest to `word`, if one is close enough to be what was meant.
///
/// "Close enough" grows with the length of the word: one slip in a short word, about a
/// third of the letters in a long one. Letter case is ignored. Ties go to the earlier
/// candidate.
pub fn nearest<'c, C: AsRef<str> + ?Sized + 'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c C>,
) -> Option<&'c str> {
    let folded = folded(word);
    if folded.is_empty() || folded.len() > LONGEST {
        return None;
    }
    let allowed = (folded.len() / 3).clamp(1, 4);
    let mut best: Option<(usize, &str)> = None;
    let mut rows = Rows::default();
    let mut other = Vec::new();
    for candidate in candidates {
        let candidate = candidate.as_ref();
        fold(candidate, &mut other);
        if other.len().abs_diff(folded.len()) > allowed || other.is_empty() {
            continue;
        }
        // Replacing every letter is not a slip.
        let longest = folded.len().max(other.len());
        let closer = best.map_or(allowed, |(least, _)| least.saturating_sub(1));
        if let Some(distance) = rows.edits(&folded, &other, closer.min(longest - 1)) {
            best = Some((distance, candidate));
            if distance == 0 {
                break;
            }
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Words longer than this are not compared: the cost is quadratic.
const LONGEST: usize = 80;

fn folded(word: &str) -> Vec<char> {
    let mut letters = Vec::new();
    fold(word, &mut letters);
    letters
}

/// The letters of a word in lower case, and no more than it takes to see that it is too long.
fn fold(word: &str, letters: &mut Vec<char>) {
    letters.clear();
    let start = &word[..word.floor_char_boundary(4 * (LONGEST + 1))];
    if start.is_ascii() {
        let lower = start
            .bytes()
            .map(|byte| char::from(byte.to_ascii_lowercase()));
        letters.extend(lower.take(LONGEST + 1));
    } else {
        letters.extend(start.to_lowercase().chars().take(LONGEST + 1));
    }
}

/// The last rows of the table of distances between the beginnings of two words. Kept from word to word, so that none
/// allocates.
#[derive(Default)]
struct Rows {
    before: Vec<usize>,
    last: Vec<usize>,
    row: Vec<usize>,
}

impl Rows {
    /// Optimal string alignment distance: insertions, deletions, replacements and swaps of neighbours, each counting
    /// one. None if it is more than `most`.
    fn edits(&mut self, a: &[char], b: &[char], most: usize) -> Option<usize> {
        // Names of one document often begin or end alike, and there are thousands.
        let (a, b) = without_common_ends(a, b);
        self.edits_between(a, b, most)
    }

    fn edits_between(&mut self, a: &[char], b: &[char], most: usize) -> Option<usize> {
        let Self { before, last, row } = self;
        last.clear();
        last.extend(0..=b.len());
        let mut was_close = true;
        for i in 1..=a.len() {
            row.clear();
            row.push(i);
            for j in 1..=b.len() {
                let differs = usize::from(a[i - 1] != b[j - 1]);
                let mut cost = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + differs);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    cost = cost.min(before[j - 2] + 1);
                }
                row.push(cost);
            }
            // What follows is made from the last two rows and never less.
            let is_close = row.iter().any(|cost| *cost <= most);
            if !is_close && !was_close {
                return None;
            }
            was_close = is_close;
            std::mem::swap(before, last);
            std::mem::swap(last, row);
        }
        Some(last[b.len()]).filter(|distance| *distance <= most)
    }
}

/// Two words without what both begin and end with, which takes no edit.
fn without_common_ends<'w>(a: &'w [char], b: &'w [char]) -> (&'w [char], &'w [char]) {
    let start = a.iter().zip(b).take_while(|(a, b)| a == b).count();
    let (a, b) = (&a[start..], &b[start..]);
    let ends = a.iter().rev().zip(b.iter().rev());
    let end = ends.take_while(|(a, b)| a == b).count();
    (&a[..a.len() - end], &b[..b.len() - end])
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
    fn neither_stopping_early_nor_leaving_ends_out_changes_a_distance() {
        let mut seed = 5u64;
        let mut below = |below: u64| {
            seed = seed
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (seed >> 33) % below
        };
        let mut rows = super::Rows::default();
        for _ in 0..2000 {
            let mut word = || -> Vec<char> {
                let length = 1 + below(9);
                (0..length)
                    .map(|_| char::from(b'a' + below(3) as u8))
                    .collect()
            };
            let (a, b) = (word(), word());
            let distance = rows.edits_between(&a, &b, usize::MAX).unwrap();
            for most in 0..10 {
                let expected = Some(distance).filter(|distance| *distance <= most);
                assert_eq!(rows.edits(&a, &b, most), expected, "{a:?} {b:?} {most}");
            }
        }
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
