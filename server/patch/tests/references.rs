//! The RFC's own examples and a regression set of another implementation, from the folder of outside references.

#![allow(clippy::print_stdout)]

use std::path::PathBuf;

use patch::Refusal;
use syntax::{Element, Item, namespaces::Scope};

fn reference(path: &str) -> Option<String> {
    let all = std::env::var_os("TRUNNION_REFERENCES").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/references"),
        PathBuf::from,
    );
    let text = std::fs::read_to_string(all.join(path)).ok();
    if text.is_none() {
        println!("SKIPPED: {path} (set TRUNNION_REFERENCES)");
    }
    text
}

/// Everything that a reader of XML sees, one thing a line; names with their namespaces.
fn seen(text: &str) -> Vec<String> {
    let tree = syntax::parse(text);
    assert!(tree.errors().is_empty(), "{:?}\n{text}", tree.errors());
    let (mut lines, mut run) = (Vec::new(), String::new());
    let mut open = vec![(tree.top_level(), Scope::root())];
    while let Some((items, scope)) = open.last_mut() {
        let item = items.next();
        if let Some(Item::Text(token) | Item::Reference(token)) = &item {
            run.push_str(&syntax::escape::resolved(token.text()));
            continue;
        }
        if !run.is_empty() {
            lines.push(format!("text {run:?}"));
            run.clear();
        }
        match item {
            None => {
                open.pop();
                lines.push("end".to_owned());
            }
            Some(Item::Element(element)) => {
                let scope = scope.enter(&element);
                lines.push(start(element, &scope));
                open.push((element.items(), scope));
            }
            Some(other) => lines.extend(other.token().map(|token| token.text().to_owned())),
        }
    }
    lines
}

fn start(element: Element<'_>, scope: &Scope<'_>) -> String {
    let namespace = |prefix| scope.resolve(prefix).unwrap_or_default().into_owned();
    let mut attributes: Vec<String> = element
        .attributes()
        .map(|one| {
            let of = one.prefix().map(|prefix| namespace(Some(prefix)));
            format!(
                "{{{}}}{}={:?}",
                of.unwrap_or_default(),
                one.local_name(),
                one.value()
            )
        })
        .collect();
    attributes.sort();
    let (of, name) = (namespace(element.prefix()), element.local_name());
    format!("{{{of}}}{name} {}", attributes.join(" "))
}

#[test]
fn the_18_examples_of_the_rfc() {
    let Some(text) = reference("rfc5261-appendix-a/examples.xml") else {
        return;
    };
    let tree = syntax::parse(&text);
    let (mut same_bytes, mut same_tree) = (Vec::new(), Vec::new());
    for example in tree.root().unwrap().children() {
        let id = example.attribute("id").unwrap().value();
        let part = |name: &str| {
            let found = example.children().find(|part| part.name() == name);
            found.unwrap().text().into_owned()
        };
        let result = patch::apply(&part("target"), &part("diff"))
            .unwrap_or_else(|refusal| panic!("{id}: {refusal:?}"));
        if result == part("result") {
            same_bytes.push(id.clone());
            continue;
        }
        if id == "A.16" {
            // Printed with other white space than its operation, which has no `ws`, can leave.
            let bare = |text: &str| text.split_whitespace().collect::<String>();
            assert_eq!(bare(&result), bare(&part("result")), "{id}");
        } else {
            assert_eq!(seen(&result), seen(&part("result")), "{id}\n{result}");
        }
        same_tree.push(id.clone());
    }
    println!(
        "RFC 5261, appendix A: {} byte for byte, {} as equal trees ({same_tree:?}) of 18",
        same_bytes.len(),
        same_tree.len()
    );
    assert_eq!(same_bytes.len() + same_tree.len(), 18);
    assert!(same_bytes.len() >= 16, "{same_tree:?}");
}

/// The extension `msel`, which changes many nodes at once, is not in the RFC.
const NOT_IN_THE_RFC: [&str; 3] = [
    "Append multiple elements",
    "Replace multiple attribute values",
    "Replace multiple elements",
];

#[test]
fn the_regression_set() {
    let Some(text) = reference("rfc5261-regression/regression-test.xml") else {
        return;
    };
    let tree = syntax::parse(&text);
    let (mut right, mut wrong, mut left_out) = (0, Vec::new(), 0);
    for case in tree.root().unwrap().children() {
        let name = case.attribute("desc").unwrap().value();
        let part = |name: &str| case.children().find(|part| part.name() == name).unwrap();
        let inner = |part: Element<'_>| {
            let range = part.content_range().unwrap_or_default();
            text[std::ops::Range::<usize>::from(range)]
                .trim()
                .to_owned()
        };
        let diff = &text[std::ops::Range::<usize>::from(part("diff").range())];
        let got = patch::apply(&inner(part("target")), diff);
        if NOT_IN_THE_RFC.contains(&&*name) {
            assert!(got.is_err(), "{name}");
            left_out += 1;
            continue;
        }
        let fits = match (part("result").attribute("error"), &got) {
            (Some(code), Err(Refusal::Patch(problem))) => {
                problem.code.name() == code.value().to_lowercase().replace('_', "-")
            }
            (None, Ok(result)) => seen(result) == seen(&inner(part("result"))),
            _ => false,
        };
        match fits {
            true => right += 1,
            false => wrong.push(format!("{name}: {got:?}")),
        }
    }
    println!("regression set: {right} right, {left_out} left out (`msel` is no part of the RFC)");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!((right, left_out), (37, 3));
}
