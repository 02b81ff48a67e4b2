//! Elements of one name that an attribute tells apart.

use expect_test::expect;

use super::*;

const DECK: &str = r#"
[dialect]
name = "deck"
format = 1
[[document]]
name = "deck"
root = "deck"
[element.deck]
children = ["item*"]
[element.item]
open = true
attributes.sort = { type = "word", words = "sort", required = true }
[element."item[@sort='post']"]
attributes.sort = { type = "word", words = "sort", required = true }
attributes.name = { type = "name", of = "post", required = true }
[element."item[@sort='rope']"]
attributes.sort = { type = "word", words = "sort", required = true }
attributes.from = { type = "reference", of = "post", required = true }
attributes.length = "number"
[words]
sort = ["post", "rope"]
"#;

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
        error unknown-word at `roop`: `roop` is no known word for `sort`. It can be `post` or `rope`.
        error missing-attribute at `item`: `<item>` needs the attribute `sort`.
    "#]]
    .assert_eq(&said(&deck("<item sort=\"roop\" length=\"two\"/><item/>")));
}
