//! Reading a definition in a dialect that shares no word, notation or unit with the house.

use std::path::{Path, PathBuf};

use dialect::{ControlKind, Dialect, EndValue, Kind, Property};
use machine::{Machine, UseTarget};

fn yard() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/dialects/yard")
}

fn read_file(name: &str) -> String {
    std::fs::read_to_string(yard().join(name)).unwrap()
}

fn read(name: &str, text: &str) -> Machine {
    let dialect = Dialect::read(&read_file("yard.dialect.toml"), None).unwrap();
    let tree = syntax::parse(text);
    let root = tree.root().unwrap();
    let kind = dialect
        .document_for(Some((None, root.local_name())), name)
        .unwrap();
    machine::read(&tree, &dialect, kind)
}

#[test]
fn a_name_in_a_child_element_names_the_element_that_plays_the_role() {
    let text = read_file("rigs/dorrik-9.rig.xml");
    let machine = read("dorrik-9.rig.xml", &text);
    let unfold = &machine.animations[0];
    let mast = unfold.channels[0].node.as_ref().unwrap();
    assert_eq!(&*mast.text, "mast");
    assert_eq!(machine.path_of(mast), Some(&at(&[0, 0, 0])));
    assert_eq!(machine.index().path_of(mast), Some(&at(&[0, 0, 0])));
    let definition = machine
        .definition(&[Kind::new("stroke")], "unfold")
        .unwrap();
    assert_eq!(definition.element, unfold.element);
}

/// Where the two times of a span stand that is written so.
fn times(span: &str) -> Vec<String> {
    let plain = "<span>2000 .. 4000</span>";
    let text = read_file("rigs/dorrik-9.rig.xml");
    let text = text.replacen(plain, &format!("<span>{span}</span>"), 1);
    let machine = read("dorrik-9.rig.xml", &text);
    let window = &machine.animations[0].channels[1].motions[0].window;
    assert_eq!(window.seconds(), Some((2.0, 4.0)), "{span}");
    let times = [&window.begin, &window.end].map(|time| time.as_ref().unwrap().range);
    times.map(|range| text[range].to_owned()).into()
}

#[test]
fn members_of_a_list_are_told_apart_among_references_and_comments() {
    let plain = ["2000", "4000"];
    assert_eq!(times("2000 .. 4000"), plain);
    assert_eq!(times("<!-- ü -->2000<!-- .. -->..\r\n4000 <!---->"), plain);
    assert_eq!(times("2000 &#46;. 4000"), plain);
    assert_eq!(
        times("&#32;2&#48;00..&#x34;000&#32;"),
        ["2&#48;00", "&#x34;000"]
    );
    // What is written there would be read in another way, or is too long to be looked for.
    let long = format!("2&#{}48;00 .. 4000", "0".repeat(40));
    for odd in ["<![CDATA[2000]]> .. 4000", "20<?a?>00 .. 4000", &long] {
        assert_eq!(times(odd), [odd, odd]);
    }
}

#[test]
fn wheels_without_names_are_counted() {
    let text = read_file("rigs/dorrik-9.rig.xml");
    let machine = read("dorrik-9.rig.xml", &text);
    let wheels: Vec<_> = machine.counted(&Kind::new("wheel")).collect();
    assert_eq!(
        wheels,
        machine
            .wheels
            .iter()
            .map(|wheel| wheel.element)
            .collect::<Vec<_>>()
    );
    let carried: Vec<_> = machine.controls[0]
        .wheels
        .iter()
        .map(|word| machine.wheel(word))
        .collect();
    assert_eq!(carried, [Some(2), Some(3)]);
    let by_position = machine
        .uses
        .iter()
        .filter(|used| matches!(used.target, UseTarget::Position { .. }));
    assert_eq!(by_position.count(), 2);
}

#[test]
fn one_channel_moves_several_properties_in_base_units() {
    let text = read_file("rigs/dorrik-9.rig.xml");
    let machine = read("dorrik-9.rig.xml", &text);
    let channel = &machine.animations[0].channels[0];
    let properties: Vec<_> = channel
        .motions
        .iter()
        .map(|motion| motion.property)
        .collect();
    assert_eq!(
        properties,
        [Some(Property::Translation), Some(Property::Rotation)]
    );
    assert_eq!(channel.motions[0].window.seconds(), Some((0.0, 2.0)));
    let to = channel.motions[0].to.as_ref().unwrap();
    assert_eq!(to.value, EndValue::Vector([0.0, 1.65, 0.3]));
    assert_eq!(&text[to.range], "0;165;30");
    let Some(EndValue::Vector([x, ..])) = channel.motions[1].from.as_ref().map(|end| end.value)
    else {
        panic!("no angles");
    };
    assert!((x - 0.35_f64.to_degrees()).abs() < 1e-12);
}

#[test]
fn kinds_of_controls_and_manifests_are_read_from_texts() {
    let machine = read("dorrik-9.rig.xml", &read_file("rigs/dorrik-9.rig.xml"));
    let kinds: Vec<_> = machine
        .controls
        .iter()
        .map(|control| control.kind)
        .collect();
    assert_eq!(
        kinds,
        [Some(ControlKind::Digital), Some(ControlKind::Analog)]
    );
    let load = read("load.xml", &read_file("load.xml"));
    assert!(load.is_manifest);
    assert_eq!(&*load.listings[0].value, "rigs\\dorrik-9.rig.xml");
}

#[test]
fn an_alias_whose_name_is_an_element_leads_to_its_path() {
    let text = "<rig><handles><handle><call>mast</call><spot>#1:2</spot></handle></handles>
        <rollers><roller><spot>mast</spot></roller></rollers></rig>";
    let machine = read("a.rig.xml", text);
    let node = machine.wheels[0].node.as_ref().unwrap();
    assert_eq!(machine.path_of(node), Some(&at(&[0, 1])));
}

fn at(positions: &[u32]) -> dialect::NodePath {
    dialect::NodePath::Positions(positions.into())
}
