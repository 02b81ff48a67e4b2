//! Reading definitions in the house dialect.

use dialect::{ControlKind, Dialect, Easing, EndValue, Property};
use machine::{Machine, NodeTarget, UseTarget, WheelTarget};

fn read(text: &str) -> Machine {
    let dialect = Dialect::house();
    let tree = syntax::parse(text);
    let kind = dialect
        .document_for(None, "a.machine.xml")
        .expect("the house dialect has machines");
    machine::read(&tree, &dialect, kind)
}

fn definition(body: &str) -> String {
    format!("<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\">{body}</machine>")
}

#[test]
fn the_parts_of_a_machine_are_found() {
    let text = definition(
        r#"<aliases><alias name="leg" path="0/1"/></aliases>
        <wheels><wheel id="w" node="leg" radius="0.5" width="0.3"/></wheels>
        <sounds><sound id="pump" file="pump.ogg"/></sounds>
        <animations><animation id="go" duration="3">
          <channel target="leg" property="translation" begin="1" end="2" from="0 0 0" to="1 2 -3.5" easing="smooth"/>
        </animation></animations>
        <controls><lever animation="go" input="pointer.x" gain="0.6" rate="2" text="Go">
          <carry wheel="w"/><cue sound="pump"/></lever></controls>"#,
    );
    let machine = read(&text);
    assert_eq!(&*machine.scene.as_ref().unwrap().value, "m.gltf");
    assert_eq!(&text[machine.scene.as_ref().unwrap().range], "m.gltf");
    assert_eq!(
        machine.aliases[0].path.as_ref().unwrap().target,
        NodeTarget::Path(dialect::NodePath::Positions([0, 1].into()))
    );
    assert_eq!(machine.wheels[0].radius, Some(0.5));
    let animation = &machine.animations[0];
    assert_eq!(animation.length(), 3.0);
    assert_eq!(animation.last_end(), 2.0);
    let channel = &animation.channels[0];
    assert_eq!(channel.easing, Easing::Smooth);
    let motion = &channel.motions[0];
    assert_eq!(motion.property, Some(Property::Translation));
    assert_eq!(motion.window.seconds(), Some((1.0, 2.0)));
    assert_eq!(
        motion.to.as_ref().unwrap().value,
        EndValue::Vector([1.0, 2.0, -3.5])
    );
    assert_eq!(&text[motion.to.as_ref().unwrap().range], "1 2 -3.5");
    let control = &machine.controls[0];
    assert_eq!(control.kind, Some(ControlKind::Analog));
    assert_eq!(control.wheels[0].target, WheelTarget::Name("w".into()));
    assert_eq!(machine.wheel(&control.wheels[0]), Some(0));
    assert_eq!(&*control.sounds[0].value, "pump");
}

#[test]
fn names_are_collected_with_what_they_lead_to() {
    let text = definition(
        r#"<aliases><alias name="leg" path="0/1"/></aliases>
        <lamps><lamp id="l" node="leg" kind="work"/></lamps>"#,
    );
    let machine = read(&text);
    let at = text.find("node=\"leg").unwrap() + 7;
    let symbol = machine.symbol_at(syntax::TextSize::new(at as u32)).unwrap();
    assert_eq!(symbol.name, "leg");
    let definition = machine
        .definition(std::slice::from_ref(&symbol.kind), "leg")
        .unwrap();
    assert_eq!(
        &text[definition.element],
        "<alias name=\"leg\" path=\"0/1\"/>"
    );
    let used = machine.use_at(symbol.range.start()).unwrap();
    assert_eq!(&text[used.range], "leg");
    assert!(
        machine
            .uses
            .iter()
            .any(|used| used.target == UseTarget::Path(dialect::NodePath::Positions([0, 1].into())))
    );
}

#[test]
fn a_prefixed_document_reads_the_same() {
    let plain = read(&definition(
        "<aliases><alias name=\"a\" path=\"0\"/></aliases>",
    ));
    let prefixed = read(
        "<m:machine xmlns:m=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\"><m:aliases><m:alias name=\"a\" path=\"0\"/></m:aliases></m:machine>",
    );
    assert_eq!(plain.aliases.len(), 1);
    assert_eq!(&*prefixed.aliases[0].name.as_ref().unwrap().value, "a");
}

/// Prefixes that the root declares are known beforehand; what is nearer to an element counts all the same.
#[test]
fn a_prefix_means_what_is_declared_nearest() {
    let alias = |name: &str, more: &str| format!("<{name}{more} name=\"a\" path=\"0\"/>");
    let read = |root: &str, aliases: &str, alias: &str| {
        read(&format!(
            "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\"{root}><aliases{aliases}>{alias}</aliases></machine>"
        ))
    };
    const OURS: &str = " xmlns:p=\"urn:trunnion:machine:1\"";
    const OTHER: &str = " xmlns:p=\"urn:other\"";
    for (root, aliases, own, is_ours) in [
        (OURS, "", "", true),
        (OTHER, "", "", false),
        ("", "", "", false),
        (OTHER, OURS, "", true),
        (OURS, OTHER, "", false),
        (OTHER, OTHER, OURS, true),
        (OURS, OURS, OTHER, false),
    ] {
        let count = read(root, aliases, &alias("p:alias", own)).aliases.len();
        assert_eq!(count == 1, is_ours, "{root} {aliases} {own}");
    }
    // Of two declarations of one prefix, which is a mistake, the first counts, at the root as elsewhere.
    for (first, second) in [(OURS, OTHER), (OTHER, OURS)] {
        let twice = format!("{first}{second}");
        let at_root = read(&twice, "", &alias("p:alias", ""));
        let below = read("", &twice, &alias("p:alias", ""));
        assert_eq!(at_root.aliases.len() == 1, first == OURS);
        assert_eq!(below.aliases.len() == 1, first == OURS);
    }
}

#[test]
fn foreign_elements_mean_nothing() {
    let machine = read(&definition(
        "<aliases><alias xmlns=\"urn:other\" name=\"a\" path=\"0\"/><alias name=\"b\" path=\"1\"/></aliases>",
    ));
    let names: Vec<_> = machine
        .aliases
        .iter()
        .filter_map(|alias| alias.name.as_ref())
        .collect();
    assert_eq!(names.len(), 1);
    assert_eq!(&*names[0].value, "b");
}

#[test]
fn what_is_broken_is_absent_and_the_rest_is_there() {
    let text = definition(
        "<animations><animation id=\"go\"><channel target=\"a\" begin=\"x\" end=\"2\" property=\"translation\" from=\"1 2\" to=\"1 2 3\"/>\
         <channel</animation><animation id=\"next\"/></animations>",
    );
    let machine = read(&text);
    let motion = &machine.animations[0].channels[0].motions[0];
    assert_eq!(motion.window.begin, None);
    assert_eq!(motion.window.end.as_ref().unwrap().value, 2.0);
    assert_eq!(motion.from, None);
    assert!(motion.to.is_some());
    assert_eq!(&*machine.animations[1].name.as_ref().unwrap().value, "next");
}

#[test]
fn references_in_values_are_resolved_and_keep_a_range() {
    let text = definition("<aliases><alias name=\"a&amp;b\" path=\"0\"/></aliases>");
    let machine = read(&text);
    let name = machine.aliases[0].name.as_ref().unwrap();
    assert_eq!(&*name.value, "a&b");
    assert_eq!(&text[name.range], "a&amp;b");
}

/// A dialect may say how long a motion lasts instead of when it ends.
#[test]
fn a_duration_stands_for_the_end() {
    let words = Dialect::house_source().replacen("end = \"@end\"", "duration = \"@end\"", 1);
    let dialect = Dialect::read(&words, None).expect("the dialect is sound");
    let text = definition(
        r#"<animations><animation id="go">
          <channel target="0" property="scale" begin="1.5" end="2" from="1 1 1" to="1 2 1"/>
          <channel target="0" property="scale" end="2" from="1 1 1" to="1 2 1"/>
        </animation></animations>"#,
    );
    let kind = dialect.document_for(None, "a.machine.xml").unwrap();
    let machine = machine::read(&syntax::parse(&text), &dialect, kind);
    let animation = &machine.animations[0];
    let window = &animation.channels[0].motions[0].window;
    assert_eq!(window.seconds(), Some((1.5, 3.5)));
    assert!(window.lasts);
    assert_eq!(&text[window.end.as_ref().unwrap().range], "2");
    assert_eq!(animation.length(), 3.5);
    assert_eq!(animation.channels[1].motions[0].window.seconds(), None);
}
