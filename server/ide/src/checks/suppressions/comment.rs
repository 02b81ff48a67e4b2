//! The words of a comment that speaks to Trunnion.

/// How such a comment begins.
pub(super) const ADDRESS: &str = "trunnion:";
const ACCEPT: &str = "accept";
const BECAUSE: &str = "because";

/// How it is written.
const EXAMPLE: &str = "`trunnion: accept jump because the mast drops on purpose`";

/// What a comment accepts, and why. There is at least one code, and a reason.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Comment<'t> {
    pub(super) codes: Vec<Word<'t>>,
    pub(super) reason: &'t str,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Word<'t> {
    /// Where it starts in the comment, in bytes.
    pub(super) at: usize,
    pub(super) text: &'t str,
}

/// Whether a comment, with its delimiters, is meant for Trunnion.
pub(super) fn is_addressed(comment: &str) -> bool {
    let body = comment.trim_start_matches("<!--").trim_start();
    body.starts_with(ADDRESS)
}

/// Reads a comment, with its delimiters, that is meant for Trunnion.
///
/// # Errors
/// What it lacks, as a sentence.
pub(super) fn read(comment: &str) -> Result<Comment<'_>, String> {
    let words = words(comment);
    // The first is `<!--`, perhaps with the address behind it.
    let mut words = words
        .skip_while(|word| !word.text.ends_with(ADDRESS))
        .skip(1);
    if words.next().map(|word| word.text) != Some(ACCEPT) {
        return Err(format!(
            "Trunnion understands comments such as {EXAMPLE} only."
        ));
    }
    let mut codes = Vec::new();
    for word in words {
        if word.text != BECAUSE {
            codes.push(word);
            continue;
        }
        let reason = comment[word.at + BECAUSE.len()..]
            .trim_end_matches("-->")
            .trim();
        if reason.is_empty() {
            return Err(format!(
                "It does not say why. Write the reason behind `{BECAUSE}`."
            ));
        }
        if codes.is_empty() {
            return Err(format!(
                "It does not say which code. Write it as in {EXAMPLE}."
            ));
        }
        return Ok(Comment { codes, reason });
    }
    Err(format!("It does not say why. Write it as in {EXAMPLE}."))
}

/// What stands between blanks and commas, without the end of the comment.
fn words(text: &str) -> impl Iterator<Item = Word<'_>> {
    let is_between = |character: char| character.is_whitespace() || character == ',';
    let mut at = 0;
    let pieces = text.trim_end_matches("-->").split_inclusive(is_between);
    let words = pieces.map(move |piece| {
        let word = Word {
            at,
            text: piece.trim_end_matches(is_between),
        };
        at += piece.len();
        word
    });
    words.filter(|word| !word.text.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(comment: &str) -> Result<Vec<&str>, String> {
        let words = read(comment)?.codes;
        assert!(
            words
                .iter()
                .all(|word| comment[word.at..].starts_with(word.text))
        );
        Ok(words.into_iter().map(|word| word.text).collect())
    }

    #[test]
    fn codes_stand_between_blanks_or_commas() {
        for comment in [
            "<!-- trunnion: accept jump, still-channel because it does -->",
            "<!--trunnion: accept jump still-channel because it does-->",
            "<!--\n  trunnion:\n  accept jump,still-channel\n  because it does\n-->",
        ] {
            assert_eq!(
                codes(comment).unwrap(),
                ["jump", "still-channel"],
                "{comment}"
            );
            assert_eq!(read(comment).unwrap().reason, "it does", "{comment}");
        }
    }

    #[test]
    fn without_a_code_or_a_reason_it_does_not_count() {
        for comment in [
            "<!-- trunnion: accept jump -->",
            "<!-- trunnion: accept jump because -->",
            "<!-- trunnion: accept because it does -->",
            "<!-- trunnion: jump because it does -->",
            "<!-- trunnion:accept jump because it does -->",
            "<!-- trunnion: -->",
            "<!-- trunnion:",
        ] {
            assert!(codes(comment).is_err(), "{comment}");
        }
    }

    #[test]
    fn other_comments_are_left_alone() {
        assert!(is_addressed("<!--trunnion: x-->"));
        assert!(!is_addressed("<!-- see trunnion: accept -->"));
        assert!(!is_addressed("<!-- Trunnion: the bearing -->"));
    }
}
