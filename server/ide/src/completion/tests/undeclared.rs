use super::*;
use expect_test::expect;

const DOCUMENT: &str = "<list><entry name=\"a\" at=\"1\"><note/></entry><entry name=\"b\">";

fn document(rest: &str) -> Fixture {
    Fixture::house(&format!("{DOCUMENT}{rest}")).at("list.xml")
}

#[test]
fn elements_that_such_elements_hold_elsewhere() {
    check(
        document("<$0</entry></list>"),
        expect!["note (used in this file) note>|</note>"],
    );
}

#[test]
fn attributes_that_such_elements_have_elsewhere() {
    check(
        document("</entry><entry $0/></list>"),
        expect![[r#"
        name (used in this file) name="·"|
        at (used in this file) at="·"|"#]],
    );
}

#[test]
fn values_that_such_attributes_have_elsewhere() {
    check(
        document("</entry><entry name=\"$0\"/></list>"),
        expect![[r#"
        a (used in this file) a
        b (used in this file) b"#]],
    );
}

#[test]
fn end_tags() {
    check(
        document("</$0"),
        expect![[r#"
        entry (end tag) entry>
        list (end tag) list>"#]],
    );
}

#[test]
fn a_hundred_thousand_names_are_not_compared_with_each_other() {
    let names: String = (0..100_000).map(|n| format!("<n{n}/>")).collect();
    let fixture = Fixture::house(&format!("<list>{names}<$0</list>")).at("list.xml");
    let started = std::time::Instant::now();
    let labels = labels(&fixture);
    let has = |name: &str| labels.iter().filter(|label| *label == name).count();
    assert_eq!((has("n0"), has("n99999")), (1, 1));
    // A second would do; to compare each with each takes minutes.
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}
