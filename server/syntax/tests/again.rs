//! What comes again right behind itself, which is made once: childless elements, white space.

use proptest::prelude::*;
use syntax::Item;

/// Nested so deep, and around that, elements have no place of their own in the tree any more.
const DEEP: usize = 500;

#[test]
fn what_is_wrong_in_an_element_is_wrong_each_time() {
    for element in [
        r#"<b x="1" y="2"/>"#,
        r#"<b x="1" x="2"/>"#,
        r#"<b x="&gone;"/>"#,
        r#"<b x="&amp;"/>"#,
        r#"<p:b x="1"/>"#,
        r#"<b p:x="1"/>"#,
        r#"<b xmlns:p="u"/>"#,
        r#"<b xmlns="u"/>"#,
        r#"<b x=1/>"#,
        r#"<b x="<"/>"#,
    ] {
        let errors = |count: usize| {
            let text = format!("<a>{}</a>", element.repeat(count));
            let tree = syntax::parse(&text);
            assert_eq!(tree.text(), text);
            let root = tree.root().expect("a root");
            assert_eq!(root.children().count(), count, "{text}");
            tree.errors().len()
        };
        assert_eq!(errors(3), 3 * errors(1), "{element}");
    }
}

#[test]
fn prefixes_count_where_an_element_stands() {
    let text = r#"<a><c xmlns:p="u"><p:b/></c><p:b/></a>"#;
    assert_eq!(syntax::parse(text).errors().len(), 1);
}

#[test]
fn each_stands_at_its_own_place_however_deep() {
    for depth in [1, DEEP - 1, DEEP, DEEP + 1, DEEP + 5] {
        let text = format!(
            "{}<b/><b/><b/>{}<b/><b/>",
            "<a>".repeat(depth),
            "</a>".repeat(depth)
        );
        let tree = syntax::parse(&text);
        assert_eq!(tree.text(), text);
        let cut = text.find("<b/>").expect("an element") + 2;
        let (before, after) = text.split_at(cut);
        let cut = u32::try_from(cut).expect("short").into();
        let edited = format!("{before} {after}");
        let again = tree.edited(&syntax::TextEdit::insert(cut, " "));
        assert_eq!(again.text(), edited);
        assert_eq!(again.errors(), syntax::parse(&edited).errors());
    }
}

/// What stands in a list, and what each kind of it is.
const ITEMS: &[(&str, char)] = &[
    ("<b/>", 'e'),
    ("<b />", 'e'),
    ("<b x='1'/>", 'e'),
    ("<b></b>", 'e'),
    ("<c>\n  </c>", 'e'),
    ("\n  ", 't'),
    ("\n  ", 't'),
    ("\n", 't'),
    ("\r\n\t", 't'),
    ("t", 't'),
    ("]", 't'),
    ("&amp;", 'r'),
    ("<!--\n  -->", 'c'),
    ("<![CDATA[\n  ]]>", 'd'),
];

proptest! {
    #[test]
    fn each_of_a_list_is_what_it_is_wherever_it_stands(
        items in prop::collection::vec(prop::sample::select(ITEMS), 0..40),
    ) {
        let content: String = items.iter().map(|(text, _)| *text).collect();
        let text = format!("<a>{content}</a>");
        let mut expected: Vec<(String, char)> = Vec::new();
        for (text, kind) in items {
            match expected.last_mut() {
                Some((before, 't')) if kind == 't' => before.push_str(text),
                _ => expected.push((text.to_owned(), kind)),
            }
        }
        let tree = syntax::parse(&text);
        prop_assert!(tree.errors().is_empty());
        let kind = |item: &Item<'_>| match item {
            Item::Element(_) => 'e',
            Item::Text(_) => 't',
            Item::Reference(_) => 'r',
            Item::Comment(_) => 'c',
            Item::CData(_) => 'd',
            _ => '?',
        };
        let root = tree.root().expect("a root");
        let found = root.items().map(|item| (text[item.range()].to_owned(), kind(&item)));
        prop_assert_eq!(found.collect::<Vec<_>>(), expected);
        prop_assert_eq!(tree.text(), text);
    }
}

#[test]
fn white_space_that_came_before_is_none_of_the_text_that_begins_with_it() {
    let text = "<a>\n <b/>\n t<b/>\n &amp;<b/>\n ]]><b/>\n </a>\n <c/>\n t\n <d/>";
    let tree = syntax::parse(text);
    let root = tree.root().expect("a root");
    assert_eq!(root.text(), "\n \n t\n &\n ]]>\n ");
    let places = tree.errors().iter().map(|error| &text[error.range]);
    assert_eq!(places.collect::<Vec<_>>(), ["]]>", "<c"]);
}
