//! Any text has a tree that holds it, and every view and every place of it can be asked for.

use proptest::prelude::*;
use syntax::{Item, Items, TextRange, TextSize, Tree};

/// Pieces that markup is made of, and some that break it.
const PIECES: &[&str] = &[
    "<",
    ">",
    "/",
    "=",
    "\"",
    "'",
    "&",
    ";",
    "!",
    "?",
    "-",
    "--",
    "[",
    "]",
    "]]>",
    " ",
    "\n",
    "\r\n",
    "\r",
    "\t",
    "  ",
    "a",
    "b",
    "alias",
    "x:y",
    "é",
    "😀",
    "\u{FEFF}",
    "\u{1}",
    "\u{FFFE}",
    "<a",
    "</a",
    "</a>",
    "<a>",
    "<b>",
    "</b>",
    "<b/>",
    "<a x=\"1\"",
    " x=\"1\"",
    " x='2'",
    " y=",
    "<!--",
    "-->",
    "<!-- c -->",
    "<![CDATA[",
    "<![CDATA[t]]>",
    "<?",
    "<?p q?>",
    "<?xml version=\"1.0\"?>",
    "<!DOCTYPE a",
    "<!DOCTYPE a [",
    "<!ENTITY e \"t\">",
    "]>",
    "&amp;",
    "&e;",
    "&#65;",
    "&#x;",
    "xmlns=\"u\"",
    " xmlns:x=\"u\"",
    "\n  <a>",
    "\n    <b>",
    "\n  </a>",
    "\n</b>",
    "“",
    "text",
];

fn soup() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(PIECES), 0..40).prop_map(|pieces| pieces.concat())
}

fn check_range(text: &str, range: TextRange) {
    assert!(
        text.get(std::ops::Range::<usize>::from(range)).is_some(),
        "{range:?} of {text:?}"
    );
}

fn check(text: &str) {
    let tree = syntax::parse(text);
    assert_eq!(tree.text(), text);
    assert_eq!(usize::from(syntax::Source::text_len(&tree)), text.len());
    check_views(&tree, text);
    check_errors(&tree, text);
    for offset in (0..=text.len()).filter(|&at| text.is_char_boundary(at)) {
        let offset = TextSize::new(offset as u32);
        tree.place_at(offset);
        for element in tree.elements_at(offset) {
            assert!(element.range().contains_inclusive(offset));
        }
    }
}

fn check_errors(tree: &Tree, text: &str) {
    assert!(tree.errors().is_sorted_by_key(|error| error.range.start()));
    for error in tree.errors() {
        check_range(text, error.range);
        assert!(!error.message.is_empty());
        if let Some((range, _)) = &error.related {
            check_range(text, *range);
        }
        if let Some(fix) = &error.fix {
            syntax::apply(text, &fix.edits).expect("a fix fits the text");
        }
    }
}

fn check_views(tree: &Tree, text: &str) {
    let mut open: Vec<(Items<'_>, TextSize)> = vec![(tree.top_level(), TextSize::new(0))];
    while let Some((items, at)) = open.last_mut() {
        let Some(item) = items.next() else {
            open.pop();
            continue;
        };
        assert_eq!(
            item.range().start(),
            *at,
            "no gap between items of {text:?}"
        );
        *at = item.range().end();
        if let Some(token) = item.token() {
            assert_eq!(token.text(), &text[token.range()]);
        }
        if let Item::Element(element) = item {
            assert_eq!(element.name(), &text[element.name_range()]);
            check_range(text, element.start_tag_range());
            let mut last = element.name_range().end();
            for attribute in element.attributes() {
                assert!(attribute.range().start() >= last);
                last = attribute.range().end();
                assert_eq!(attribute.name(), &text[attribute.name_range()]);
                if let Some(value) = attribute.value_range() {
                    assert_eq!(attribute.raw_value(), &text[value]);
                    assert!(attribute.range().contains_range(value));
                }
                attribute.value();
            }
            if let Some(end_tag) = element.end_tag() {
                assert_eq!(end_tag.name(), &text[end_tag.name_range()]);
                assert_eq!(end_tag.range().end(), element.range().end());
            }
            let path = tree
                .element_with_range(element.range())
                .expect("an element is found by its range");
            assert!(path.contains(&element));
            element.text();
            if let Some(range) = element.text_range() {
                check_range(text, range);
            }
            let content = element.content_range();
            open.push((
                element.items(),
                content.map_or(element.range().end(), TextRange::start),
            ));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, ..ProptestConfig::default() })]

    #[test]
    fn any_text(text in any::<String>()) {
        check(&text);
    }

    #[test]
    fn any_markup(text in soup()) {
        check(&text);
    }
}
