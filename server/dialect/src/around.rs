//! What stands around a name where it is referred to: `#mast`, `url(#mast)`, `mast.end`.

use std::ops::Range;

/// What stands before and after the name in a reference. Empty texts are nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Around {
    /// Stands before every name: what begins otherwise is no reference.
    pub before: String,
    /// Stands after every name: what ends otherwise is no reference.
    pub after: String,
    /// The name begins after the last of these, if there is one.
    pub begins_after: String,
    /// The name ends before the first of these, if there is one.
    pub ends_before: String,
}

impl Around {
    /// Whether there is nothing but the name.
    pub fn is_nothing(&self) -> bool {
        let parts = [
            &self.before,
            &self.after,
            &self.begins_after,
            &self.ends_before,
        ];
        parts.into_iter().all(String::is_empty)
    }

    /// Where the name is in a text; `None` if the text is no reference.
    pub(crate) fn name_in(&self, text: &str) -> Option<Range<usize>> {
        let inner = text.strip_prefix(self.before.as_str())?;
        let inner = inner.strip_suffix(self.after.as_str())?;
        let mut from = self.before.len();
        let mut to = from + inner.len();
        if !self.begins_after.is_empty()
            && let Some(at) = inner.rfind(self.begins_after.as_str())
        {
            from += at + self.begins_after.len();
        }
        if !self.ends_before.is_empty()
            && let Some(at) = text[from..to].find(self.ends_before.as_str())
        {
            to = from + at;
        }
        Some(from..to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cut_out() {
        let of = |before: &str, after: &str, begins_after: &str, ends_before: &str| Around {
            before: before.to_owned(),
            after: after.to_owned(),
            begins_after: begins_after.to_owned(),
            ends_before: ends_before.to_owned(),
        };
        for (around, text, name) in [
            (of("", "", "", ""), "mast", Some("mast")),
            (of("#", "", "", ""), "#mast", Some("mast")),
            (of("#", "", "", ""), "none", None),
            (of("url(#", ")", "", ""), "url(#mast)", Some("mast")),
            (of("(", ")", "", ""), "(", None),
            (of("", "", "", "."), "mast.end+1s", Some("mast")),
            (of("", "", "", "."), "mast", Some("mast")),
            (of("", "", "::", ""), "rig::crane::mast", Some("mast")),
            (of("$", "", "/", ":"), "$rig/mast:2", Some("mast")),
        ] {
            let found = around.name_in(text).map(|range| &text[range]);
            assert_eq!(found, name, "{around:?} in {text}");
        }
    }
}
