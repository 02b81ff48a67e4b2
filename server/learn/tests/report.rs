//! The report for other programs.

use learn::report::{Report, TEXT};
use learn::{Corpus, Settings, Source, Structure, Surroundings, Survey, names};

#[test]
fn names_references_and_types_are_told_by_path() {
    let mut corpus = Corpus::default();
    for number in 0..20 {
        let (one, two) = (format!("mast{number}"), format!("boom{number}"));
        let text = format!(
            "<rig><limb call='{one}'><bone/></limb><limb call='{two}' on='{one}'><bone/></limb>\
             <swing limb='{two}'><angle>{number}.5</angle></swing></rig>"
        );
        let (file, member) = (format!("{number}.xml").into(), None);
        assert!(corpus.add(Source { file, member }, &text));
    }
    let text =
        "<rig><limb call='a'><bone/></limb><swing limb='lost'><angle>1.5</angle></swing></rig>";
    let (file, member) = ("mods.zip".into(), Some("rigs/odd.xml".into()));
    assert!(corpus.add(Source { file, member }, text));
    let survey = Survey::of(&corpus);
    let found = names::infer(&survey, &names::Settings::default());
    let structure = Structure::of(
        &survey,
        &found,
        &Surroundings::default(),
        &Settings::default(),
    );
    let report = Report::of(&survey, &found, &structure);

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
