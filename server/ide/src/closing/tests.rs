use super::*;
use crate::fixture::Fixture;

/// The text after the character before the mark was typed.
fn typed(text: &str) -> String {
    let fixture = Fixture::house(text).at("a.xml");
    let view = fixture.view();
    let offset = fixture.offset();
    let character = view.text()[..usize::from(offset)]
        .chars()
        .next_back()
        .unwrap();
    let insert = closing(&view, offset, character).unwrap_or_default();
    text.replace("$0", &insert)
}

fn check(text: &str, after: &str) {
    assert_eq!(typed(text), after);
}

#[test]
fn a_bracket_brings_the_end_tag() {
    check("<a>$0", "<a></a>");
    check("<a><b c=\"1\">$0</a>", "<a><b c=\"1\"></b></a>");
    check("<a>\n  <b>$0\n  <c/>\n</a>", "<a>\n  <b></b>\n  <c/>\n</a>");
}

#[test]
fn an_element_that_is_closed_stays_as_it_is() {
    check("<a>$0</a>", "<a></a>");
    check("<a>$0text</a>", "<a>text</a>");
    check("<a/>$0", "<a/>");
    check("<a></a>$0", "<a></a>");
}

#[test]
fn an_outer_end_tag_is_not_taken_for_an_inner_one() {
    check("<a><a>$0</a>", "<a><a></a></a>");
    check("<a>\n  <a>$0\n</a>", "<a>\n  <a></a>\n</a>");
    check("<a>\n  <a>$0\n  </a>\n</a>", "<a>\n  <a>\n  </a>\n</a>");
}

#[test]
fn a_bracket_that_closes_no_tag_brings_nothing() {
    check("<a>x>$0</a>", "<a>x></a>");
    check("<a><!-- <b>$0 --></a>", "<a><!-- <b> --></a>");
    check("<a><![CDATA[<b>$0]]></a>", "<a><![CDATA[<b>]]></a>");
    check("<a b=\"c>$0\"/>", "<a b=\"c>\"/>");
    check("<?x <b>$0?><a/>", "<?x <b>?><a/>");
    check("<>$0", "<>");
}

#[test]
fn a_slash_brings_the_name() {
    check("<a><b></$0", "<a><b></b>");
    check("<a><b></$0</a>", "<a><b></b></a>");
    check("<a>\n  <b>\n  </$0\n</a>", "<a>\n  <b>\n  </b>\n</a>");
    check("<a>text</$0", "<a>text</a>");
}

#[test]
fn a_slash_where_nothing_is_open_brings_nothing() {
    check("<a><b></b></$0</a>", "<a><b></b></</a>");
    check("<a>\n  </$0\n</a>", "<a>\n  </\n</a>");
    check("<a/></$0", "<a/></");
    check("</$0", "</");
}

#[test]
fn a_slash_elsewhere_brings_nothing() {
    check("<a b=\"</$0\"/>", "<a b=\"</\"/>");
    check("<a><!-- </$0 --></a>", "<a><!-- </ --></a>");
    check("<a><![CDATA[</$0]]></a>", "<a><![CDATA[</]]></a>");
    check("<a><b></$0b></a>", "<a><b></b></a>");
    check("<a>1/$02</a>", "<a>1/2</a>");
    check("<a/$0", "<a/");
}

#[test]
fn an_outer_element_of_the_same_name_is_closed_once_each() {
    check("<a><a></$0</a>", "<a><a></a></a>");
}
