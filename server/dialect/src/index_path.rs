//! The notation of index paths: the chain of child positions from the scene's roots.

use std::fmt::Write as _;
use std::ops::Range;
use std::sync::Arc;

use crate::numbers::{range_in, trimmed};

/// How a dialect writes index paths.
///
/// With `separator` `/`, `first` 0 and nothing else, `0/2/1` is the second child of the
/// third child of the first root. With a root mark `#`, `after_root` `:`, `separator` `.`
/// and `first` 1 the same node is `#1:3.2`. Without `root_number` it is `#:3.2`: the first root needs no number, and
/// nothing below other roots has a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IndexPathNotation {
    /// Between positions. Never empty.
    pub separator: String,
    /// Between the root's position and the next; often the same as `separator`. Empty only without `root_number`.
    pub after_root: String,
    /// Whether a root alone is written with `after_root` behind it. Both are read.
    pub after_root_always: bool,
    /// The number of the first child.
    pub first: u32,
    /// In front of the whole path; often empty.
    pub root_mark: String,
    /// Whether the root's position is written.
    pub root_number: bool,
}

impl Default for IndexPathNotation {
    fn default() -> Self {
        Self {
            separator: String::from("/"),
            after_root: String::from("/"),
            after_root_always: false,
            first: 0,
            root_mark: String::new(),
            root_number: true,
        }
    }
}

/// What is wrong with the text of an index path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IndexPathFault {
    /// Bytes within the text.
    pub range: Range<usize>,
    /// What is wrong and what was expected.
    pub message: String,
}

impl IndexPathNotation {
    /// The same as [`Self::parse`] where nobody asks what is wrong, such as for a text that is more likely a name.
    pub fn read(&self, text: &str) -> Option<Arc<[u32]>> {
        let path = self.without_mark(trimmed(text))?;
        let begins = |text: &str| {
            text.bytes()
                .next()
                .is_some_and(|byte| byte.is_ascii_digit())
        };
        let below = || path.strip_prefix(self.after_root.as_str());
        let is_path = match self.root_number {
            true => begins(path),
            false => self.is_root(path) || begins(path) || below().is_some_and(begins),
        };
        if !is_path {
            return None;
        }
        // Nearly all are so short that they need no room besides that of the result.
        let mut short = [0; 16];
        let mut count = 0;
        self.each_position(text, |position| {
            if let Some(place) = short.get_mut(count) {
                *place = position;
            }
            count += 1;
        })
        .ok()?;
        match short.get(..count) {
            Some(positions) => Some(positions.into()),
            None => self.parse(text).ok().map(Arc::from),
        }
    }

    /// What stands behind the root mark. Most notations have none, and looking for an empty text was seen to take an eighth
    /// of a first look's time.
    fn without_mark<'t>(&self, text: &'t str) -> Option<&'t str> {
        match self.root_mark.as_str() {
            "" => Some(text),
            mark => text.strip_prefix(mark),
        }
    }

    /// Zero-based positions, at least one. White space around the path is ignored.
    ///
    /// # Errors
    /// It is no index path in this notation.
    pub fn parse(&self, text: &str) -> Result<Vec<u32>, IndexPathFault> {
        let mut positions = Vec::new();
        self.each_position(text, |position| positions.push(position))?;
        Ok(positions)
    }

    /// Whether a text is an index path.
    ///
    /// # Errors
    /// As of [`Self::parse`], without making the positions.
    pub fn check(&self, text: &str) -> Result<(), IndexPathFault> {
        self.each_position(text, |_| {})
    }

    fn each_position(&self, text: &str, mut each: impl FnMut(u32)) -> Result<(), IndexPathFault> {
        let Range { start, end } = match trimmed(text) {
            "" => text.len()..text.len(),
            inner => range_in(text, inner),
        };
        let mut at = start;
        if self.without_mark(&text[at..end]).is_none() {
            return Err(IndexPathFault {
                range: start..end,
                message: format!(
                    "an index path starts with `{}`, as in `{}`",
                    self.root_mark,
                    self.example()
                ),
            });
        }
        at += self.root_mark.len();
        let mut count = 0;
        if !self.root_number {
            each(0);
            count += 1;
            if self.is_root(&text[at..end]) {
                return Ok(());
            }
            if text[at..end].starts_with(&self.after_root) {
                at += self.after_root.len();
            }
        }
        loop {
            let digits = text[at..end].bytes().take_while(u8::is_ascii_digit).count();
            let number = at..at + digits;
            each(self.position(text, number.clone(), end)?);
            count += 1;
            at = number.end;
            let rest = &text[at..end];
            if rest.is_empty() {
                return Ok(());
            }
            let separator = match count {
                1 => &self.after_root,
                _ => &self.separator,
            };
            if !rest.starts_with(separator.as_str()) {
                let next = rest.chars().next().map_or(0, char::len_utf8);
                return Err(IndexPathFault {
                    range: at..at + next,
                    message: format!("expected `{separator}` here, as in `{}`", self.example()),
                });
            }
            at += separator.len();
            if at == end && count == 1 && self.root_may_end_open() {
                return Ok(());
            }
        }
    }

    /// Whether what stands behind the root mark adds nothing to it: where no number says so, the mark alone is the root.
    fn is_root(&self, rest: &str) -> bool {
        let is_open = rest == self.after_root && self.root_may_end_open();
        !self.root_mark.is_empty() && (rest.is_empty() || is_open)
    }

    /// A root alone may carry the mark that follows a root, if that mark is a mark of its own.
    fn root_may_end_open(&self) -> bool {
        self.after_root_always || self.after_root != self.separator
    }

    fn position(
        &self,
        text: &str,
        number: Range<usize>,
        end: usize,
    ) -> Result<u32, IndexPathFault> {
        if number.is_empty() {
            let next = text[number.start..end].chars().next();
            return Err(IndexPathFault {
                range: number.start..number.start + next.map_or(0, char::len_utf8),
                message: format!(
                    "a child's number is missing here, as in `{}`",
                    self.example()
                ),
            });
        }
        let written: u32 = text[number.clone()].parse().map_err(|_| IndexPathFault {
            range: number.clone(),
            message: String::from("this number is too large for a child's position"),
        })?;
        written
            .checked_sub(self.first)
            .ok_or_else(|| IndexPathFault {
                range: number,
                message: format!("children are counted from {}", self.first),
            })
    }

    /// The text for zero-based positions; None if the notation has none for this node.
    pub fn write(&self, positions: &[u32]) -> Option<String> {
        let has_text = match (self.root_number, positions) {
            (false, [0]) => !self.root_mark.is_empty(),
            (false, [root, ..]) => *root == 0,
            (_, []) => false,
            (true, _) => true,
        };
        has_text.then(|| self.joined(positions))
    }

    /// Whether a path may begin with this: there is nothing in it but numbers and marks.
    pub fn may_begin_with(&self, text: &str) -> bool {
        let is_mark = |c| {
            self.separator.contains(c) || self.after_root.contains(c) || self.root_mark.contains(c)
        };
        text.chars().all(|c| c.is_ascii_digit() || is_mark(c))
    }

    /// The text for zero-based positions, for people: where the notation has none, one that cannot be mistaken for the
    /// path to another node.
    pub fn label(&self, positions: &[u32]) -> String {
        if let Some(text) = self.write(positions) {
            return text;
        }
        let Some((root, below)) = positions.split_first() else {
            return self.root_mark.clone();
        };
        let root = u64::from(*root) + u64::from(self.first);
        match self.write(&[&[0], below].concat()) {
            Some(text) => format!("{text} of root {root}"),
            None => format!("root {root}"),
        }
    }

    fn joined(&self, positions: &[u32]) -> String {
        let mut text = self.root_mark.clone();
        for (depth, position) in positions.iter().enumerate() {
            match depth {
                0 => {}
                1 => text.push_str(&self.after_root),
                _ => text.push_str(&self.separator),
            }
            if depth > 0 || self.root_number {
                // A string can always be written to.
                let _ = write!(text, "{}", u64::from(*position) + u64::from(self.first));
            }
        }
        if positions.len() == 1 && self.after_root_always {
            text.push_str(&self.after_root);
        }
        text
    }

    /// Whether somebody who wrote this meant an index path, right or wrong, rather than a
    /// name: nothing but numbers and the marks of this notation, or an own root mark
    /// before a number.
    pub fn looks_like(&self, text: &str) -> bool {
        let text = trimmed(text);
        let body = self.without_mark(text);
        let marked = !self.root_mark.is_empty() && body.is_some();
        let body = body.unwrap_or(text);
        if marked && body.starts_with(|c: char| c.is_ascii_digit()) {
            return true;
        }
        self.may_begin_with(text) && body.bytes().any(|byte| byte.is_ascii_digit())
    }

    /// A path in this notation, for messages.
    pub fn example(&self) -> String {
        self.joined(&[0, 2, 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quay() -> IndexPathNotation {
        IndexPathNotation {
            separator: ".".into(),
            after_root: ":".into(),
            after_root_always: true,
            first: 1,
            root_mark: "#".into(),
            root_number: true,
        }
    }

    fn from_the_root(root_mark: &str, after_root: &str) -> IndexPathNotation {
        IndexPathNotation {
            root_mark: root_mark.into(),
            after_root: after_root.into(),
            root_number: false,
            ..IndexPathNotation::default()
        }
    }

    #[test]
    fn plain_paths_read_and_write() {
        let plain = IndexPathNotation::default();
        assert_eq!(plain.parse("0/2/1"), Ok(vec![0, 2, 1]));
        assert_eq!(plain.parse(" 0 "), Ok(vec![0]));
        assert_eq!(plain.write(&[0, 2, 1]), Some("0/2/1".into()));
    }

    #[test]
    fn marked_paths_read_and_write() {
        assert_eq!(quay().parse("#1:3.2"), Ok(vec![0, 2, 1]));
        assert_eq!(quay().write(&[0, 2, 1]), Some("#1:3.2".into()));
        assert_eq!(quay().parse("#1:"), Ok(vec![0]));
        assert_eq!(quay().parse("#1"), Ok(vec![0]));
        assert_eq!(quay().write(&[0]), Some("#1:".into()));
    }

    #[test]
    fn the_only_root_may_go_without_a_number() {
        let plain = from_the_root("", "");
        assert_eq!(plain.parse("2/1"), Ok(vec![0, 2, 1]));
        assert_eq!(plain.write(&[0, 2, 1]), Some("2/1".into()));
        let marked = from_the_root("~", "/");
        assert_eq!(marked.read("~/2/1"), Some([0, 2, 1].into()));
        assert_eq!(marked.read("~"), Some([0].into()));
        assert_eq!(marked.read("~2"), Some([0, 2].into()));
        assert_eq!(marked.read("~mast"), None);
        assert_eq!(marked.write(&[0]), Some("~".into()));
        assert_eq!(from_the_root("/", "").read("/2/1"), Some([0, 2, 1].into()));
        assert_eq!(from_the_root("/", "").write(&[0]), Some("/".into()));
    }

    #[test]
    fn what_has_no_path_without_the_roots_number_gets_none() {
        assert_eq!(from_the_root("", "").write(&[0]), None);
        assert_eq!(from_the_root("", "").read(""), None);
        assert_eq!(from_the_root("~", "/").write(&[1, 2]), None);
        assert_eq!(from_the_root("~", "/").label(&[1, 2]), "~/2 of root 1");
        assert_eq!(from_the_root("~", "/").label(&[0, 2]), "~/2");
        assert_eq!(from_the_root("", "").label(&[1]), "root 1");
    }

    #[test]
    fn faults_have_places() {
        let plain = IndexPathNotation::default();
        let place = |text| plain.parse(text).unwrap_err().range;
        assert_eq!(place(""), 0..0);
        assert_eq!(place("0//1"), 2..3);
        assert_eq!(place("0/1/"), 4..4);
        assert_eq!(place("0/a"), 2..3);
        assert_eq!(place("0.1"), 1..2);
        assert_eq!(place("0/99999999999"), 2..13);
        assert_eq!(quay().parse("1:3").unwrap_err().range, 0..3);
        assert_eq!(
            quay().parse("#1:0").unwrap_err().message,
            "children are counted from 1"
        );
        assert_eq!(quay().parse("#1:3:2").unwrap_err().range, 4..5);
    }

    #[test]
    fn names_do_not_look_like_paths() {
        let plain = IndexPathNotation::default();
        assert!(plain.looks_like("0/2"));
        assert!(plain.looks_like("0//2"));
        assert!(!plain.looks_like("leg.left"));
        assert!(!plain.looks_like("leg/2"));
        assert!(!plain.looks_like(""));
        assert!(!plain.looks_like("/"));
        assert!(quay().looks_like("#1;2"));
        assert!(quay().looks_like("1.2"));
        assert!(!quay().looks_like("#mast"));
    }
}
