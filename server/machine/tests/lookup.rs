//! Single questions to an outline get the answers of the whole machine.

mod long;

use std::path::Path;

use dialect::Dialect;
use long::long_machine;
use machine::{Machine, Outline};
use syntax::{TextRange, TextSize};

fn yard() -> (Dialect, String) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus/dialects/yard");
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let dialect = Dialect::read(&read("yard.dialect.toml"), None).unwrap();
    (dialect, read("rigs/dorrik-9.rig.xml"))
}

fn compare(dialect: &Dialect, name: &str, text: &str) {
    let tree = syntax::parse(text);
    let root = tree.root().unwrap();
    let namespace = root.attribute("xmlns").map(|attribute| attribute.value());
    let root = (namespace.as_deref(), root.local_name());
    let kind = dialect.document_for(Some(root), name).unwrap();
    let outline = Outline::read(&tree, dialect, kind, None);
    let machine = machine::read(&tree, dialect, kind);
    assert!(!machine.definitions.is_empty() && !machine.uses.is_empty());
    at_every_place(&outline, &machine, text);
    by_name(&outline, &machine);
    by_element(&outline, &machine);
}

fn at_every_place(outline: &Outline, machine: &Machine, text: &str) {
    for offset in (0..=text.len()).filter(|offset| text.is_char_boundary(*offset)) {
        let at = TextSize::try_from(offset).unwrap();
        let is_here = |range: TextRange| range.contains_inclusive(at);
        let mut given = machine.definitions.iter();
        let given = given.find(|given| is_here(given.name.range));
        assert_eq!(outline.definition_at(at).as_ref(), given, "at {offset}");
        assert_eq!(
            outline.use_at(at).as_ref(),
            machine.use_at(at),
            "at {offset}"
        );
        let mut files = machine.files.iter();
        let file = files.find(|file| is_here(file.name.range));
        assert_eq!(outline.file_at(at).as_ref(), file, "at {offset}");
        let animations = machine.animations.iter();
        let channels = animations.flat_map(|animation| &animation.channels);
        let around = channels
            .filter(|channel| channel.element.contains(at))
            .max_by_key(|channel| channel.element.start());
        let range = TextRange::at(at, 1.into());
        assert_eq!(
            outline.channel_around(range).as_ref(),
            around.filter(|channel| channel.element.contains_range(range)),
            "at {offset}"
        );
    }
}

fn by_name(outline: &Outline, machine: &Machine) {
    for given in &machine.definitions {
        let kinds = [given.kind];
        let name = &given.name.value;
        let found = outline.definition(&kinds, name);
        assert_eq!(found.as_ref(), machine.definition(&kinds, name));
        assert_eq!(outline.alias(given).as_ref(), machine.alias(given));
        let all = machine.definitions.iter();
        let all: Vec<_> = all.filter(|one| one.name.value == *name).cloned().collect();
        assert_eq!(outline.definitions_called(name), all);
        let inside = machine.definitions.iter();
        let inside = inside.filter(|one| given.element.contains_range(one.name.range));
        let inside: Vec<_> = inside.cloned().collect();
        assert_eq!(outline.definitions_in(given.element), inside);
    }
    for animation in &machine.animations {
        let nodes = animation
            .channels
            .iter()
            .filter_map(|one| one.node.as_ref());
        for node in nodes {
            assert_eq!(outline.path_of(node).as_ref(), machine.path_of(node));
        }
    }
}

fn by_element(outline: &Outline, machine: &Machine) {
    for sound in &machine.sounds {
        assert_eq!(outline.sound(sound.element).as_ref(), Some(sound));
    }
    for control in &machine.controls {
        assert_eq!(outline.control(control.element).as_ref(), Some(control));
    }
    for (at, wheel) in machine.wheels.iter().enumerate() {
        assert_eq!(outline.wheel(wheel.element), Some((at, wheel.clone())));
    }
    for animation in &machine.animations {
        assert_eq!(
            outline.animation(animation.element).as_ref(),
            Some(animation)
        );
        for channel in &animation.channels {
            assert_eq!(outline.channel(channel.element).as_ref(), Some(channel));
        }
    }
    let root = TextRange::empty(0.into());
    assert_eq!(outline.control(root), None);
    assert_eq!(outline.animation(root), None);
}

#[test]
fn in_a_document_of_many_portions() {
    compare(&Dialect::house(), "long.machine.xml", &long_machine(90));
}

#[test]
fn where_names_stand_in_child_elements() {
    let (dialect, text) = yard();
    compare(&dialect, "dorrik-9.rig.xml", &text);
}
