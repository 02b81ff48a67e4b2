//! Elements of one name that an attribute tells apart.

use super::*;
use dialect::Dialect;
use std::sync::Arc;

fn deck(body: &str) -> Fixture {
    let toml = r#"
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
attributes.sort = { type = "word", words = ["post", "rope"], required = true }
[element."item[@sort='rope']"]
attributes.sort = { type = "word", words = ["post", "rope"], required = true }
attributes.length = "number"
"#;
    let dialect = Arc::new(Dialect::read(toml, None).unwrap());
    Fixture::of(&format!("<deck>{body}</deck>"), vec![dialect])
}

#[test]
fn what_an_element_may_have_depends_on_its_sort() {
    assert_eq!(labels(&deck("<item $0/>")), ["sort"]);
    assert_eq!(labels(&deck("<item sort=\"rope\" $0/>")), ["length"]);
    assert_eq!(labels(&deck("<item $0 sort=\"rope\"/>")), ["length"]);
    assert_eq!(labels(&deck("<item sort=\"post\" $0/>")), [""; 0]);
    assert_eq!(labels(&deck("<item sort=\"$0\"/>")), ["post", "rope"]);
    assert_eq!(labels(&deck("<item sort=\"rope$0\"/>")), ["post", "rope"]);
}
