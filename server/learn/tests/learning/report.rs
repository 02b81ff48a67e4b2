//! The report for other programs.

use crate::learnt::{corpus, reported};
use learn::Source;
use learn::report::TEXT;

#[test]
fn names_references_and_types_are_told_by_path() {
    let texts = (0..20).map(|number| {
        let (one, two) = (format!("mast{number}"), format!("boom{number}"));
        format!(
            "<rig><limb call='{one}'><bone/></limb><limb call='{two}' on='{one}'><bone/></limb>\
             <swing limb='{two}'><angle>{number}.5</angle></swing></rig>"
        )
    });
    let mut corpus = corpus(texts);
    let text =
        "<rig><limb call='a'><bone/></limb><swing limb='lost'><angle>1.5</angle></swing></rig>";
    let (file, member) = ("mods.zip".into(), Some("rigs/odd.xml".into()));
    assert!(corpus.add(Source { file, member }, text));
    let report = reported(&corpus);

    assert_eq!(report.kinds.len(), 1);
    let kind = &report.kinds[0];
    assert_eq!((kind.kind.as_str(), kind.scope), ("limb", "document"));
    assert_eq!(kind.defined_by.len(), 1);
    assert_eq!(kind.defined_by[0].path, "rig/limb");
    assert_eq!(kind.defined_by[0].attribute, "call");

    let attribute = |path: &str, name: &str| {
        let mut all = report.attributes.iter();
        all.find(|a| a.value.path == path && a.value.attribute == name)
            .unwrap()
    };
    let call = attribute("rig/limb", "call");
    assert_eq!((call.document.as_str(), call.value_type), ("rig", "name"));
    assert_eq!(call.defines.as_deref(), Some("limb"));
    assert!(call.required && call.refers.is_empty());
    assert_eq!(call.seen, 41);
    let on = attribute("rig/limb", "on");
    assert_eq!((on.value_type, on.required), ("reference", false));
    assert_eq!(on.refers, ["limb"]);
    let limb = attribute("rig/swing", "limb");
    assert!(limb.required);
    let lost: Vec<_> = limb
        .exceptions
        .iter()
        .map(|place| (place.file.as_str(), place.line, place.value.as_str()))
        .collect();
    assert_eq!(lost, [("mods.zip!/rigs/odd.xml", 1, "lost")]);
    assert_eq!(attribute("rig/swing/angle", TEXT).value_type, "number");
}
