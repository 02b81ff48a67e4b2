use std::path::Path;
use std::sync::Arc;

use dialect::Dialect;
use motion::Rig;
use project::{Disk, SettingsStore, View};

use super::*;
use crate::fixture::Fixture;

fn rig(view: &View) -> Rig<'_> {
    let dialect = view.dialect().expect("a dialect fits");
    Rig::new(
        view.scene().expect("there is a scene"),
        view.machine().expect("there is a machine"),
        &dialect.notation,
    )
}

/// A picture that every XML reader takes, and with text in text nodes only.
fn read(svg: &str) -> (Vec<String>, usize) {
    let tree = syntax::parse(svg);
    assert!(tree.errors().is_empty(), "{:?}\n{svg}", tree.errors());
    let mut texts = Vec::new();
    let mut curves = 0;
    let mut open = vec![tree.root().expect("there is a root")];
    while let Some(element) = open.pop() {
        for attribute in element.attributes() {
            let value = attribute.value();
            assert!(!attribute.name().starts_with("on"), "{}", attribute.name());
            assert!(!value.contains("NaN") && !value.contains("inf"), "{value}");
        }
        curves += usize::from(element.name() == "path");
        if element.name() == "text" {
            let range = element.content_range().expect("a text has content");
            texts.push(svg[std::ops::Range::<usize>::from(range)].trim().to_owned());
        }
        open.extend(element.children());
    }
    (texts, curves)
}

/// The demo's carrier, from the disk.
fn carrier() -> View {
    let file = "../../corpus/ternholt/machines/bram-6.machine.xml";
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    let text = std::fs::read_to_string(&path).expect("the demo is there");
    project::view_of(path, text, &Disk::default(), &SettingsStore::default())
}

fn both_ends(rig: &Rig<'_>, dialect: &Dialect, animation: usize) -> Result<Picture, String> {
    let [start, end] = [0.0, rig.length(animation)].map(|time| rig.pose(&[(animation, time)]));
    let ends = Ends {
        title: "both",
        poses: [("start", &start), ("end", &end)],
        moved: &rig.moved_nodes(animation),
    };
    outline(rig, dialect, &ends)
}

#[test]
fn the_curves_of_the_carrier() {
    let view = carrier();
    let rig = rig(&view);
    let dialect = view.dialect().expect("a dialect fits");
    let picture = curves(&rig, dialect, &[0, 1, 2]).expect("something moves");
    assert_eq!(picture, curves(&rig, dialect, &[0, 1, 2]).expect("again"));
    read(&picture.svg);
    expect_test::expect_file!["tests/carrier-curves.svg"].assert_eq(&picture.svg);
}

#[test]
fn the_outline_of_the_carrier() {
    let view = carrier();
    let picture = both_ends(&rig(&view), view.dialect().expect("a dialect fits"), 0);
    let picture = picture.expect("there is something to draw");
    let (texts, _) = read(&picture.svg);
    for dimension in ["track 2.6 m", "track 3.24 m", "width 3 m", "length 5.5 m"] {
        assert!(
            texts.iter().any(|text| text == dimension),
            "{dimension}: {texts:?}"
        );
    }
    expect_test::expect_file!["tests/carrier-outline.svg"].assert_eq(&picture.svg);
}

#[test]
fn names_are_only_ever_text() {
    let body = r#"<animations><animation id="&lt;/text>&lt;script>alert(1)&lt;/script>&quot; onload=&quot;x" duration="2">
<channel target="0/0" property="translation" begin="0" end="2" from="1 0 0" to="2 0 0"/>
</animation></animations>"#;
    let scene = "<b>&\"\u{202e}\u{7}]]> 0 0 0\n  \"><script> 1 0 0 box\n";
    let view = Fixture::rig(body).scene(scene).view();
    let rig = rig(&view);
    let house = Dialect::house();
    let title = curves(&rig, &house, &[0]).expect("something moves").svg;
    for svg in [
        title,
        both_ends(&rig, &house, 0).expect("there is a box").svg,
    ] {
        read(&svg);
        assert!(!svg.contains("<script"), "{svg}");
        assert!(!svg.contains('\u{202e}') && !svg.contains('\u{7}'));
    }
}

#[test]
fn many_channels_are_drawn_in_pages_and_too_many_are_said() {
    let channel = |at: usize| {
        format!(
            "<channel target=\"0/0\" property=\"translation\" begin=\"{at}\" end=\"{}\" from=\"1 0 0\" to=\"2 {at} 3\"/>",
            at + 1
        )
    };
    let animation = |id: usize| {
        let nodes = ["0/0", "0/1", "0/2", "0/2/0", "0/0/0", "0/1/0"];
        let channels: String = nodes
            .iter()
            .map(|node| channel(id).replace("0/0", node))
            .collect();
        format!("<animation id=\"a{id}\">{channels}</animation>")
    };
    let animations: String = (1..=40).map(animation).collect();
    let view = Fixture::rig(&format!("<animations>{animations}</animations>")).view();
    let rig = rig(&view);
    let house: Arc<Dialect> = Dialect::house();
    let one = curves(&rig, &house, &[0]).expect("something moves");
    let (texts, _) = read(&one.svg);
    assert!(
        texts.iter().any(|text| text.contains("(1 of 3)")),
        "{texts:?}"
    );
    assert_eq!(one.notes, Vec::<String>::new());
    let all: Vec<usize> = (0..40).collect();
    let all = curves(&rig, &house, &all).expect("something moves");
    assert_eq!(all.notes.len(), 1);
    assert!(all.notes[0].contains("of 720 curves"), "{:?}", all.notes);
    read(&all.svg);
}

#[test]
fn jumps_nothing_and_the_absurd_are_drawn_or_refused() {
    let body = r#"<animations><animation id="a" duration="4">
<channel target="0/0" property="visibility" begin="1" end="2" from="true" to="false"/>
<channel target="0/1" property="scale" begin="1" end="1" from="1e300 1 1" to="-1e300 1 1" easing="step"/>
<channel target="0/2" property="rotation" begin="0" end="0" from="5 5 5" to="5 5 5"/>
</animation><animation id="b" duration="0"><channel target="0/0" property="translation" begin="0" end="0" from="0 0 0" to="1 0 0"/></animation>
<animation id="c" duration="3"/></animations>"#;
    let view = Fixture::rig(body).view();
    let rig = rig(&view);
    let house = Dialect::house();
    for animation in [0, 1] {
        let picture = curves(&rig, &house, &[animation]).expect("something is driven");
        read(&picture.svg);
    }
    assert!(curves(&rig, &house, &[2]).is_err());
    assert!(curves(&rig, &house, &[]).is_err());
    let bare = Fixture::rig("").scene("rig\n").view();
    assert!(both_ends(&self::rig(&bare), &house, 0).is_err());
}
