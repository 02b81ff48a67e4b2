//! Elements of one name that an attribute tells apart, from the library to the dialect and the report.

use crate::learnt::{corpus, learnt_from, reported};
use dialect::Dialect;
use learn::{Corpus, Surroundings};

/// `is`: the attribute that tells elements apart.
fn library(is: &str) -> Corpus {
    let texts = (0..12).map(|number| {
        format!(
            "<deck xmlns:v='urn:v'><part {is}='post' called='mast{number}' high='{number}.5'/>\
             <part {is}='post' called='stay{number}' high='1.5'/>\
             <part {is}='rope' from='mast{number}' to='stay{number}'/><part {is}='rope' from='stay{number}' to='mast{number}'/>\
             <part {is}='crew'><part {is}='hand' grips='mast{number}'/></part></deck>"
        )
    });
    let mut corpus = corpus(texts);
    corpus.tell_sorts_apart();
    corpus
}

fn learnt(corpus: &Corpus) -> Dialect {
    learnt_from(corpus, &Surroundings::default())
}

#[test]
fn the_attribute_may_have_a_prefix() {
    let corpus = library("v:is");
    let dialect = learnt(&corpus);
    let keys = dialect.elements().iter().map(|one| one.key.as_str());
    let expected = [
        "deck",
        "part[@v:is='post']",
        "part[@v:is='rope']",
        "part[@v:is='crew']",
        "part[@v:is='hand']",
        "part",
    ];
    assert_eq!(keys.collect::<Vec<_>>(), expected);
    let rope = syntax::parse("<part v:is='rope'/>");
    let rope = rope.root().unwrap();
    let deck = dialect.root_context(&dialect.documents[0]);
    let declared = dialect.element(dialect.element_context(deck, &rope));
    assert_eq!(declared.unwrap().key, "part[@v:is='rope']");
}

#[test]
fn an_unknown_sort_is_not_bound_by_the_few_elements_without_one() {
    let texts = (0..12).map(|number| {
        let slip = if number % 4 == 0 {
            "<part high='2'/>"
        } else {
            ""
        };
        format!(
            "<deck><part is='post' high='{number}'/><part is='post' high='1'/>\
             <part is='rope' far='{number}'/><part is='rope' far='1'/><part is='rope' far='2'/>\
             <part is='rope' far='3'/>{slip}</deck>"
        )
    });
    let mut corpus = corpus(texts);
    corpus.tell_sorts_apart();
    let dialect = learnt(&corpus);
    let mut all = dialect.elements().iter();
    let part = all.find(|one| one.key == "part").unwrap();
    let attributes = part.attributes.iter();
    let attributes: Vec<(&str, bool)> = attributes
        .map(|own| (own.name.as_str(), own.required))
        .collect();
    assert_eq!(attributes, [("is", false), ("high", false)]);
    assert!(part.open);
}

#[test]
fn each_sort_is_declared_by_itself_and_the_report_keeps_to_what_documents_write() {
    let corpus = library("is");
    let dialect = learnt(&corpus);
    let shown: Vec<String> = dialect
        .elements()
        .iter()
        .map(|element| {
            let names: Vec<&str> = element
                .attributes
                .iter()
                .map(|own| own.name.as_str())
                .collect();
            format!(
                "{} {}{}",
                element.key,
                names.join(" "),
                if element.open { " …" } else { "" }
            )
        })
        .collect();
    assert_eq!(
        shown,
        [
            "deck ",
            "part[@is='post'] is called high",
            "part[@is='rope'] is from to",
            "part[@is='crew'] is",
            "part[@is='hand'] is grips",
            "part is …",
        ]
    );

    let report = reported(&corpus);
    let attribute = |path: &str, name: &str| {
        let mut all = report.attributes.iter();
        all.find(|one| one.value.path == path && one.value.attribute == name)
            .unwrap()
    };
    let called = attribute("deck/part", "called");
    assert_eq!(called.defines.as_deref(), Some("post"));
    // Ropes have no name.
    assert!(!called.required);
    assert!(attribute("deck/part", "is").required);
    assert_eq!(attribute("deck/part", "is").value_type, "word");
    assert_eq!(attribute("deck/part", "to").refers, ["post"]);
    assert!(attribute("deck/part/part", "grips").required);
}
