//! More candidates than are shown at once.

use super::*;

fn completed(fixture: &Fixture) -> (Vec<String>, bool) {
    let completion = complete(&fixture.view(), fixture.offset()).expect("there are proposals");
    let labels = completion.items.into_iter().map(|item| item.label);
    (labels.collect(), completion.is_incomplete)
}

/// Aliases `part.0` to `part.699`, each of them twice, and a body that asks for one.
fn aliases(typed: &str) -> Fixture {
    let alias = |number: u32| format!("<alias name=\"part.{number}\" path=\"0\"/>");
    let aliases: String = (0..700).map(|number| alias(number).repeat(2)).collect();
    Fixture::rig(&format!(
        "<aliases>{aliases}</aliases><bodies><body node=\"{typed}$0\"/></bodies>"
    ))
}

#[test]
fn of_many_names_the_first_are_shown_and_more_come_with_the_next_letter() {
    let (labels, is_incomplete) = completed(&aliases(""));
    let names: Vec<&String> = labels
        .iter()
        .filter(|label| label.starts_with("part"))
        .collect();
    assert!(is_incomplete);
    assert_eq!((names.len(), &**names[499]), (500, "part.499"));
}

#[test]
fn of_many_names_those_that_hold_what_is_typed_are_shown() {
    let (labels, is_incomplete) = completed(&aliases("T.69"));
    let expected: Vec<String> = std::iter::once(69)
        .chain(690..700)
        .map(|number| format!("part.{number}"))
        .collect();
    assert_eq!((labels, is_incomplete), (expected, false));
}

/// A root with so many nodes on it, and three more on the last of these.
fn nodes(count: usize, typed: &str) -> Fixture {
    let node = |number| format!("  n{number} 0 0 0\n");
    let nodes: String = (0..count).map(node).collect();
    let scene = format!("rig\n{nodes}    a 0 0 0\n    b 0 0 0\n    c 0 0 0\n");
    let body = format!("<bodies><body node=\"{typed}$0\"/></bodies>");
    Fixture::rig(&body).scene(&scene)
}

#[test]
fn of_many_nodes_those_below_the_typed_path_come_first() {
    let (labels, is_incomplete) = completed(&nodes(600, "0/599/"));
    assert_eq!(labels, ["0/599/0", "0/599/1", "0/599/2"]);
    assert!(!is_incomplete);
    let (labels, is_incomplete) = completed(&nodes(600, "0/"));
    assert_eq!((labels.len(), &*labels[499]), (500, "0/499"));
    assert!(is_incomplete);
}

#[test]
fn as_many_nodes_as_are_shown_are_complete() {
    let (labels, is_incomplete) = completed(&nodes(496, ""));
    assert_eq!((labels.len(), is_incomplete), (500, false));
    let (labels, is_incomplete) = completed(&nodes(497, ""));
    assert_eq!((labels.len(), is_incomplete), (500, true));
}

#[test]
fn of_many_nodes_those_called_so_are_found_wherever_they_are() {
    let (labels, is_incomplete) = completed(&nodes(600, "N57"));
    let expected: Vec<String> = std::iter::once(57)
        .chain(570..580)
        .map(|number| format!("0/{number}"))
        .collect();
    assert_eq!((labels, is_incomplete), (expected, false));
}
