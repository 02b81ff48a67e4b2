//! What nearly all documents keep is learnt with what all of them keep.

use crate::learnt::learnt;
use dialect::{Dialect, ElementDecl, Order};

fn declared<'d>(dialect: &'d Dialect, key: &str) -> &'d ElementDecl {
    let element = dialect.elements().iter().find(|one| one.key == key);
    element.expect("it is declared")
}

/// Forty sluices, each with a gate before its pump. One has the pump first, one has two gates, one is deeper than a
/// number can say, and two share a name.
#[test]
fn what_has_exceptions_is_told_with_what_all_keep() {
    let texts: Vec<String> = (0..40)
        .map(|at| {
            let (mut gates, mut depth, mut name) = (1, at.to_string(), format!("s{at}"));
            match at {
                3 => gates = 2,
                5 => depth = "abyss".to_owned(),
                7 => name = "s8".to_owned(),
                _ => {}
            }
            let gates = "<gate/>".repeat(gates);
            let parts = match at {
                9 => format!("<pump/>{gates}<call/>"),
                _ => format!("{gates}<pump/><call/>"),
            };
            let other = format!("<sluice name=\"{name}\" depth=\"{depth}\">{parts}</sluice>");
            format!("<canal><sluice name=\"s8\" depth=\"2\"><gate/><pump/><call/></sluice>{other}</canal>")
        })
        .collect();
    let dialect = learnt(&texts);
    let sluice = declared(&dialect, "sluice");
    assert_eq!(sluice.order, Order::Listed);
    let record = sluice.learnt.as_ref().expect("it was learnt");
    assert_eq!(record.exceptions, ["9.xml:1"]);
    let kept = record.kept.as_ref().expect("all keep something");
    let counts: Vec<(&str, u32, Option<u32>)> = kept
        .children
        .iter()
        .map(|rule| (rule.name.as_str(), rule.min, rule.max))
        .collect();
    assert_eq!(
        counts,
        [
            ("gate", 1, None),
            ("pump", 1, Some(1)),
            ("call", 1, Some(1))
        ]
    );
    assert_eq!((kept.order, kept.text), (Order::Any, false));
    let besides = |name: &str| {
        let record = sluice
            .attribute(name)
            .and_then(|value| value.learnt.as_ref());
        record.expect("it was learnt").besides.clone()
    };
    assert_eq!(besides("depth"), Some(vec!["abyss".to_owned()]));
    assert_eq!(
        declared(&dialect, "canal")
            .learnt
            .as_ref()
            .and_then(|record| record.kept.as_ref()),
        None
    );
}

#[test]
fn elements_of_other_namespaces_are_counted() {
    let texts: Vec<String> = (0..12)
        .map(|at| {
            let other = ["", "<x:tag xmlns:x=\"urn:x\"><x:deep/></x:tag>"][at % 2];
            format!("<canal><sluice depth=\"{at}\">{other}<gate/></sluice></canal>")
        })
        .collect();
    let dialect = learnt(&texts);
    let foreign = |key: &str| {
        let record = declared(&dialect, key).learnt.as_ref();
        record.expect("it was learnt").foreign
    };
    assert_eq!(["canal", "sluice", "gate"].map(foreign), [0, 6, 0]);
}
