//! Elements of one name that an attribute tells apart.

use super::*;
use dialect::Dialect;
use std::sync::Arc;

fn deck(body: &str) -> Fixture {
    let toml = include_str!("../../../tests/deck.dialect.toml");
    let dialect = Arc::new(Dialect::read(toml, None).unwrap());
    Fixture::of(&format!("<deck>{body}</deck>"), vec![dialect])
}

#[test]
fn what_an_element_may_have_depends_on_its_sort() {
    assert_eq!(labels(&deck("<item $0/>")), ["sort"]);
    assert_eq!(
        labels(&deck("<item sort=\"rope\" $0/>")),
        ["from", "length"]
    );
    assert_eq!(
        labels(&deck("<item $0 sort=\"rope\"/>")),
        ["from", "length"]
    );
    assert_eq!(labels(&deck("<item sort=\"post\" $0/>")), ["name"]);
    assert_eq!(labels(&deck("<item sort=\"hand\" $0/>")), [""; 0]);
    let inner = "<item sort=\"crew\"><item sort=\"hand\" $0/></item>";
    assert_eq!(labels(&deck(inner)), ["grips"]);
    assert_eq!(
        labels(&deck("<item sort=\"$0\"/>")),
        ["post", "rope", "crew", "hand"]
    );
    assert_eq!(
        labels(&deck("<item sort=\"rope$0\"/>")),
        ["post", "rope", "crew", "hand"]
    );
}
