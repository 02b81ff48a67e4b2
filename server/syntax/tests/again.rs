//! Childless elements that come again right behind themselves, which are made once.

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
        let change = syntax::Change {
            range: syntax::TextRange::empty(u32::try_from(cut).expect("short").into()),
            inserted: 1.into(),
        };
        let edited = format!("{before} {after}");
        let again = tree.edited(&edited, change);
        assert_eq!(again.text(), edited);
        assert_eq!(again.errors(), syntax::parse(&edited).errors());
    }
}
