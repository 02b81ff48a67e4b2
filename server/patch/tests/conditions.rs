//! Elements that an attribute tells from thousands of others.

use patch::apply;

fn marked(document: &str, selector: &str) -> String {
    let patch = format!(r#"<diff><add sel="{selector}" type="@x">1</add></diff>"#);
    match apply(document, &patch) {
        Ok(after) => after,
        Err(refusal) => format!("{refusal:?}"),
    }
}

#[test]
fn the_value_is_found_however_it_is_written() {
    let document = "<r><p i='&#98;oom'/><q i='boom'/><p j='boom'>boom<p i='boom'/></p><p i='a&amp;b'/>boom</r>";
    let first = document.replacen("<p i='&#98;oom'", "<p i='&#98;oom' x='1'", 1);
    assert_eq!(marked(document, "r/p[@i='boom']"), first);
    let second = document.replace("<q i='boom'", "<q i='boom' x='1'");
    assert_eq!(marked(document, "r/q[@i='boom']"), second);
    let inner = document.replace("<p i='boom'", "<p i='boom' x='1'");
    assert_eq!(marked(document, "r/p/p[@i='boom']"), inner);
    let last = document.replace("<p i='a&amp;b'", "<p i='a&amp;b' x='1'");
    assert_eq!(marked(document, "r/p[@i='a&amp;b']"), last);
    assert_eq!(marked(document, "r/*[@i='boom'][2]"), second);
}

#[test]
fn two_that_have_the_value_are_one_too_many() {
    let document = "<r><p i='b'/><s><p i='b'/></s>\n<p i='&#x62;'/></r>";
    let refused = marked(document, "r/p[@i='b']");
    assert!(refused.contains("2 nodes (lines 1, 2)"), "{refused}");
    let none = marked(document, "r/p[@i='c']");
    assert!(none.contains("no such node"), "{none}");
}

#[test]
fn each_of_thousands_is_found_by_its_name() {
    let part = |number: usize, mark: &str| format!("<part id='p{number}'{mark}/>\n");
    let parts: String = (0..3_000).map(|number| part(number, "")).collect();
    let add = |number| format!("<add sel=\"rig/part[@id='p{number}']\" type='@x'>1</add>");
    let adds: String = (0..3_000).step_by(10).map(add).collect();
    let after = apply(
        &format!("<rig>{parts}</rig>"),
        &format!("<diff>{adds}</diff>"),
    );
    let mark = |number: usize| {
        if number.is_multiple_of(10) {
            " x='1'"
        } else {
            ""
        }
    };
    let expected: String = (0..3_000)
        .map(|number| part(number, mark(number)))
        .collect();
    assert!(after.is_ok_and(|after| after == format!("<rig>{expected}</rig>")));
}
