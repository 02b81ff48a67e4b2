use super::*;
use crate::fixture::Fixture;
use expect_test::{Expect, expect};
use syntax::Encoding;

/// Each fold with its lines, counted from one, and what goes.
fn check(text: &str, expected: Expect) {
    let view = Fixture::house(text).view();
    let folds = folds(&view).into_iter().map(|fold| {
        let line = |at| {
            view.document
                .lines
                .position(view.text(), at, Encoding::Utf8)
                .line
        };
        let (start, end) = (line(fold.range.start()), line(fold.range.end()));
        format!(
            "{:?} {}-{} {:?}",
            fold.kind,
            start + 1,
            end + 1,
            &view.text()[fold.range]
        )
    });
    expected.assert_eq(&folds.collect::<Vec<_>>().join("\n"));
}

#[test]
fn elements_fold_up_to_their_end_tag() {
    check(
        "<a>\n  <b>\n    <c/>\n  </b>\n</a>\n",
        expect![[r#"
        Content 1-4 "\n  <b>\n    <c/>\n  </b>"
        Content 2-3 "\n    <c/>""#]],
    );
}

#[test]
fn an_end_tag_behind_text_goes_with_it() {
    check("<a>\n  text</a>", expect![[r#"Content 1-2 "\n  text""#]]);
}

#[test]
fn attributes_over_several_lines_fold() {
    check(
        "<a\n  b=\"1\"\n  c=\"2\"/>",
        expect![[r#"Content 1-3 "\n  b=\"1\"\n  c=\"2\"/>""#]],
    );
    check(
        "<a\n  b=\"1\">\n  <c/>\n</a>",
        expect![[r#"Content 1-3 "\n  b=\"1\">\n  <c/>""#]],
    );
}

#[test]
fn comments_and_sections_of_text_fold() {
    check(
        "<!-- one\n two -->\n<a><![CDATA[\n  x\n]]></a>",
        expect![[r#"
            Comment 1-2 "\n two -->"
            Content 3-5 "\n  x\n]]>""#]],
    );
}

#[test]
fn the_prolog_folds_as_one() {
    check(
        "<?xml version=\"1.0\"?>\n<!DOCTYPE a>\n<?style x?>\n<a/>",
        expect![[r#"Prolog 1-3 "\n<!DOCTYPE a>\n<?style x?>""#]],
    );
}

#[test]
fn what_stands_in_one_line_does_not_fold() {
    check(
        "<?xml version=\"1.0\"?><a><b>text</b><!-- c --></a>",
        expect![[""]],
    );
}

#[test]
fn an_unclosed_element_folds_to_its_end() {
    check("<a>\n  <b>\n", expect![[r#"Content 1-2 "\n  <b>""#]]);
}

#[test]
fn line_ends_of_all_kinds_count() {
    check(
        "<a>\r\n  <b/>\r\n</a>",
        expect![[r#"Content 1-2 "\r\n  <b/>""#]],
    );
    check("<a>\r  <b/>\r</a>", expect![[r#"Content 1-2 "\r  <b/>""#]]);
}
