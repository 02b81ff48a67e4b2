//! Values written so that an XML reader gives them back unchanged.
//!
//! Characters that XML 1.0 cannot hold at all (most control characters) stay as they are: no escape exists for them,
//! and the parser reports them where they end up.

use std::borrow::Cow;

/// `value` for use between two `quote` characters.
///
/// White space other than the blank is written as a character reference, else the reader would turn it into blanks
/// (XML 1.0, 3.3.3 "Attribute-Value Normalization").
pub fn attribute(value: &str, quote: char) -> Cow<'_, str> {
    escaped(value, |character| match character {
        '&' => Some("&amp;"),
        '<' => Some("&lt;"),
        '"' if quote == '"' => Some("&quot;"),
        '\'' if quote == '\'' => Some("&apos;"),
        '\t' => Some("&#9;"),
        '\n' => Some("&#10;"),
        '\r' => Some("&#13;"),
        _ => None,
    })
}

/// `value` for use as the text of an element.
///
/// `>` is escaped where it could end `]]>`, which may not stand in text: behind a `]`, and at the start, as what is
/// before is not known here. A carriage return is escaped because the reader would turn it into a line feed
/// (XML 1.0, 2.4 and 2.11).
pub fn text(value: &str) -> Cow<'_, str> {
    let mut before = ']';
    escaped(value, move |character| {
        let last = std::mem::replace(&mut before, character);
        match character {
            '&' => Some("&amp;"),
            '<' => Some("&lt;"),
            '>' if last == ']' => Some("&gt;"),
            '\r' => Some("&#13;"),
            _ => None,
        }
    })
}

/// What a piece of written text or value stands for: character references and the five predefined entities resolved,
/// line breaks as `\n`. References to other entities stay as they are.
pub fn resolved(written: &str) -> Cow<'_, str> {
    crate::reference::resolved(written)
}

/// What written character data stands for, CDATA sections included: as [`resolved`], but references in sections are none.
pub fn character_data(written: &str) -> Cow<'_, str> {
    if !written.contains("<![CDATA[") {
        return resolved(written);
    }
    let (mut value, mut rest) = (String::new(), written);
    while let Some((text, section)) = rest.split_once("<![CDATA[") {
        value.push_str(&resolved(text));
        let (inner, behind) = section.split_once("]]>").unwrap_or((section, ""));
        value.push_str(&plain_lines(inner));
        rest = behind;
    }
    value.push_str(&resolved(rest));
    value.into()
}

/// With each line break as a line feed, which is what a reader of XML makes of it (XML 1.0, 2.11).
pub fn plain_lines(text: &str) -> Cow<'_, str> {
    match text.contains('\r') {
        true => text.replace("\r\n", "\n").replace('\r', "\n").into(),
        false => text.into(),
    }
}

/// Whether a piece of written text or value has references in it that only the document's own declarations give a
/// meaning.
pub fn names_entity(written: &str) -> bool {
    crate::reference::names_entity(written)
}

/// `escape` sees the characters in their order.
fn escaped(value: &str, mut escape: impl FnMut(char) -> Option<&'static str>) -> Cow<'_, str> {
    let mut result: Option<String> = None;
    for (at, character) in value.char_indices() {
        let reference = escape(character);
        match (&mut result, reference) {
            (None, None) => {}
            (None, Some(reference)) => {
                let mut begun = String::with_capacity(value.len() + 16);
                begun.push_str(&value[..at]);
                begun.push_str(reference);
                result = Some(begun);
            }
            (Some(result), Some(reference)) => result.push_str(reference),
            (Some(result), None) => result.push(character),
        }
    }
    result.map_or(Cow::Borrowed(value), Cow::Owned)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn only_the_quote_in_use_is_escaped() {
        assert_eq!(attribute(r#"a"b'c"#, '"'), "a&quot;b'c");
        assert_eq!(attribute(r#"a"b'c"#, '\''), r#"a"b&apos;c"#);
    }

    #[test]
    fn markup_and_white_space_of_an_attribute() {
        assert_eq!(
            attribute("a&<>\t\n\r b", '"'),
            "a&amp;&lt;>&#9;&#10;&#13; b"
        );
    }

    #[test]
    fn markup_of_a_text() {
        assert_eq!(text("a&b<c]]>\r\n\t\"'"), "a&amp;b&lt;c]]&gt;&#13;\n\t\"'");
    }

    #[test]
    fn a_greater_than_sign_of_a_text_is_escaped_only_where_it_could_end_a_section() {
        assert_eq!(text("@2>1 => ]>"), "@2>1 => ]&gt;");
        assert_eq!(text(">1"), "&gt;1");
    }

    #[test]
    fn a_plain_value_is_borrowed() {
        assert!(matches!(attribute("plain ö", '"'), Cow::Borrowed(_)));
        assert!(matches!(text("plain ö"), Cow::Borrowed(_)));
    }

    fn resolved(escaped: &str) -> String {
        escaped
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&quot;", "\"")
            .replace("&apos;", "'")
            .replace("&#9;", "\t")
            .replace("&#10;", "\n")
            .replace("&#13;", "\r")
            .replace("&amp;", "&")
    }

    proptest! {
        #[test]
        fn resolving_gives_the_value_back(value in "[a&<>;#19ö\"' \t\n\r\\]]{0,20}") {
            for quote in ['"', '\''] {
                let written = attribute(&value, quote);
                prop_assert!(!written.contains(['<', '\t', '\n', '\r', quote]));
                prop_assert_eq!(resolved(&written), value.clone());
            }
            let written = text(&value);
            prop_assert!(!written.contains(['<', '\r']) && !written.contains("]]>"));
            prop_assert_eq!(resolved(&written), value);
        }
    }
}
