use super::*;

/// Ferries, as files `0.xml`, `1.xml` …
fn library(texts: &[&str]) -> Precedents {
    let mut corpus = Corpus::default();
    for (at, text) in texts.iter().enumerate() {
        let (file, member) = (format!("{at}.xml").into(), None);
        assert!(corpus.add(Source { file, member }, text));
    }
    Precedents::of(corpus)
}

fn ferries() -> Precedents {
    library(&[
        "<ferry><ramp angle='12' rope='hemp'/><bell/></ferry>",
        "<ferry><ramp angle='12' rope='wire'><hinge/></ramp></ferry>",
        "<ferry>\n<ramp angle='12' rope='hemp'/>\n<ramp angle='15'/></ferry>",
        "<ferry><bell tone='a'/></ferry>",
        "<lighter><ramp angle='99'/></lighter>",
    ])
}

fn shown(habits: &[Habit<'_>]) -> Vec<(String, u32)> {
    let shown = |habit: &Habit<'_>| (habit.text.to_owned(), habit.machines);
    habits.iter().map(shown).collect()
}

fn pair(text: &str, machines: u32) -> (String, u32) {
    (text.to_owned(), machines)
}

#[test]
fn values_are_counted_in_machines_of_the_same_kind() {
    let library = ferries();
    let ramp = library.spot("", &["ferry", "ramp"], None).unwrap();
    assert_eq!(ramp.machines(), 3);
    let angle = ramp.values(Some("angle"));
    assert_eq!(angle.machines, 3);
    assert_eq!(shown(&angle.values), [pair("12", 3), pair("15", 1)]);
    assert_eq!(
        shown(&ramp.values(Some("rope")).values),
        [pair("hemp", 2), pair("wire", 1)]
    );
    assert_eq!(ramp.values(Some("paint")), Usual::default());
    assert_eq!(
        shown(&ramp.attributes()),
        [pair("angle", 3), pair("rope", 3)]
    );
    assert_eq!(shown(&ramp.children()), [pair("hinge", 1)]);
}

#[test]
fn what_the_library_does_not_have_has_no_precedent() {
    let library = ferries();
    for path in [
        &["ferry", "mast"][..],
        &["barge"],
        &["ferry", "bell", "ramp"],
        &[],
    ] {
        assert!(library.spot("", path, None).is_none(), "{path:?}");
    }
    assert!(
        library
            .spot("urn:other", &["ferry", "ramp"], None)
            .is_none()
    );
}

#[test]
fn the_file_that_asks_is_no_precedent() {
    let library = ferries();
    let without = library
        .spot("", &["ferry", "ramp"], Some(Path::new("2.xml")))
        .unwrap();
    assert_eq!(without.machines(), 2);
    assert_eq!(
        shown(&without.values(Some("angle")).values),
        [pair("12", 2)]
    );
}

#[test]
fn copies_count_once() {
    let text = "<ferry><ramp angle='12'/></ferry>";
    let library = library(&[text, text, "<ferry><ramp angle='13'/></ferry>"]);
    let ramp = library.spot("", &["ferry", "ramp"], None).unwrap();
    assert_eq!(ramp.machines(), 2);
}

#[test]
fn examples_are_different_and_the_closest_comes_first() {
    let library = ferries();
    let ramp = library.spot("", &["ferry", "ramp"], None).unwrap();
    let places = |like: &Like<'_>, most: usize| -> Vec<String> {
        let found = ramp.examples(like, most);
        let shown = found.iter().map(|example| {
            let file = example.source.file.display();
            format!("{file}:{} {}", example.line, example.alike)
        });
        shown.collect()
    };
    let with_hinge = Like {
        attributes: vec![("angle", "12".to_owned()), ("rope", String::new())],
        children: vec!["hinge"],
        ..Like::default()
    };
    assert_eq!(
        places(&with_hinge, 9),
        ["1.xml:0 1", "0.xml:0 2", "2.xml:2 1"]
    );
    // Of one shape, several are shown if they say something else.
    let other = library_of_ramps();
    let ramps = other.spot("", &["ferry", "ramp"], None).unwrap();
    let found = ramps.examples(&Like::default(), 9);
    let files: Vec<_> = found
        .iter()
        .map(|it| it.source.file.display().to_string())
        .collect();
    assert_eq!(files, ["0.xml", "2.xml"]);
    assert_eq!(places(&with_hinge, 1), ["1.xml:0 1"]);
    // In a machine with a bell, the one that has a bell is closer.
    let beside_a_bell = Like {
        attributes: vec![("angle", "12".to_owned()), ("rope", "hemp".to_owned())],
        siblings: vec!["ramp", "bell"],
        machine: vec![vec!["ferry"], vec!["ferry", "bell"], vec!["ferry", "ramp"]],
        ..Like::default()
    };
    assert_eq!(places(&beside_a_bell, 1), ["0.xml:0 2"]);
}

/// Three ramps of one shape, two of which say the same.
fn library_of_ramps() -> Precedents {
    library(&[
        "<ferry><ramp angle='12'/></ferry>",
        "<ferry><bell/><ramp angle='12'/></ferry>",
        "<ferry><ramp angle='13'/><ramp angle='14'/></ferry>",
    ])
}

#[test]
fn what_nests_without_end_is_found_at_any_depth() {
    let library = library(&["<a><b w='1'><b w='2'><c/></b></b></a>"]);
    let deep = library.spot("", &["a", "b", "b", "b", "b"], None).unwrap();
    assert_eq!(
        shown(&deep.values(Some("w")).values),
        [pair("1", 1), pair("2", 1)]
    );
    assert!(library.spot("", &["a", "b", "b", "b", "c"], None).is_some());
}

#[test]
fn a_document_comes_back_as_xml() {
    let text =
        "<ferry xmlns='urn:f' id='a&amp;b'><ramp>x &lt; y</ramp><n:bell xmlns:n='urn:n'/></ferry>";
    let library = library(&[text]);
    let ramp = library.spot("urn:f", &["ferry", "ramp"], None).unwrap();
    let [(_, xml)] = &ramp.texts(5)[..] else {
        panic!("one document")
    };
    assert_eq!(syntax::parse(xml).errors(), []);
    let mut corpus = Corpus::default();
    let (file, member) = ("0.xml".into(), None);
    assert!(corpus.add(Source { file, member }, xml));
    let names = |corpus: &Corpus| -> Vec<String> {
        let elements = corpus.documents[0].elements.iter();
        let shown = elements.map(|e| {
            let [space, name, text] = [e.namespace, e.name, e.text].map(|s| corpus.text(s));
            format!("{space} {name} {text}")
        });
        shown.collect()
    };
    assert_eq!(names(&corpus), names(&library.corpus));
}

#[test]
fn what_is_not_well_formed_is_nobody_s_example() {
    let broken = "<ferry><ramp angle='44'></ferry>";
    let ramps = |texts: &[&str]| {
        let library = library(texts);
        let ramp = library.spot("", &["ferry", "ramp"], None);
        ramp.map(|ramp| shown(&ramp.values(Some("angle")).values))
    };
    let sound = "<ferry><ramp angle='12'/></ferry>";
    assert_eq!(ramps(&[broken, sound]), Some(vec![pair("12", 1)]));
    assert_eq!(
        ramps(&[broken]),
        Some(vec![pair("44", 1)]),
        "better than none"
    );
}
