//! Elements of one name that an attribute tells apart.

use expect_test::expect;

use super::*;

const DECK: &str = include_str!("../../../tests/deck.dialect.toml");

fn deck(body: &str) -> Fixture {
    let dialect = Arc::new(Dialect::read(DECK, None).unwrap());
    Fixture::of(&format!("<deck>{body}</deck>"), vec![dialect]).at("a.xml")
}

#[test]
fn each_sort_has_what_it_declares() {
    expect![""].assert_eq(&said(&deck(
        "<item sort=\"post\" name=\"a\"/><item sort=\"rope\" from=\"a\" length=\"2\"/>",
    )));
    expect![[r#"
        error unknown-attribute at `length`: `<item>` has no attribute `length`. It can have `sort` or `name`.
          review fix "Remove `length`": <deck><item sort="post" name="a"/><item sort="rope" from="b"/></deck>
        error unknown-name at `b`: No post is called `b`.
    "#]]
    .assert_eq(&said(&deck(
        "<item sort=\"post\" name=\"a\" length=\"2\"/><item sort=\"rope\" from=\"b\"/>",
    )));
}

#[test]
fn an_unknown_sort_is_one_mistake() {
    expect![[r#"
        error unknown-word at `roop`: `roop` is no known word for `sort`. It can be `post`, `rope`, `crew` or `hand`.
        error missing-attribute at `item`: `<item>` needs the attribute `sort`.
    "#]]
    .assert_eq(&said(&deck("<item sort=\"roop\" length=\"two\"/><item/>")));
}
