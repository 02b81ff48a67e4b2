//! What a document's own entities stand for.

use syntax::parse;

/// A document with these declarations and this body, and what it says with their texts.
fn expanded(subset: &str, body: &str) -> Option<String> {
    let head = format!("<!DOCTYPE a [{subset}]>");
    let text = parse(&format!("{head}{body}")).expanded()?;
    Some(text.strip_prefix(&head).expect("the head stays").to_owned())
}

#[test]
fn plain_texts_take_the_place_of_references() {
    let subset = "<!ENTITY part '0/1'><!ENTITY said 'a \"b\"'>";
    assert_eq!(
        expanded(
            subset,
            "<a n=\"&part;\" m='&part;/&said;'>&part;&amp;&lt;<b>x &said;</b></a>"
        )
        .unwrap(),
        "<a n=\"0/1\" m='0/1/a &quot;b&quot;'>0/1&amp;&lt;<b>x a &quot;b&quot;</b></a>"
    );
    // Where it is no reference it stays.
    let body = "<a><!-- &part; --><![CDATA[&part;]]><?x &part;?>&amp;part; &part &other;</a>";
    assert_eq!(expanded(subset, body).unwrap(), body);
}

#[test]
fn others_stay_as_they_are() {
    let body = "<a n='&x;'>&x;</a>";
    for subset in [
        "<!ENTITY x '<b/>'><!ENTITY y 'y'>",
        "<!ENTITY x '&y;'><!ENTITY y 'y'>",
        "<!ENTITY x SYSTEM 'x.xml'><!ENTITY y 'y'>",
        "<!ENTITY % x 'x'><!ENTITY y 'y'>",
    ] {
        assert_eq!(expanded(subset, body).unwrap(), body, "{subset}");
    }
    let long = "x".repeat(2000);
    assert_eq!(expanded(&format!("<!ENTITY x '{long}'>"), body), None);
    assert_eq!(expanded("", body), None);
    assert_eq!(parse(body).expanded(), None);
}

/// However often it is named, the text does not grow without bounds.
#[test]
fn texts_that_are_named_too_often_are_not_put_in() {
    let subset = format!("<!ENTITY x '{}'>", "y".repeat(900));
    let body = |times: usize| format!("<a>{}</a>", "&x;".repeat(times));
    assert_eq!(expanded(&subset, &body(10)).unwrap().len(), 7 + 9000);
    assert_eq!(expanded(&subset, &body(1000)), None);
}
