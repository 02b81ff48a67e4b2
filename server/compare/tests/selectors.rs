//! By what a patch finds elements: by names before all else, by places where nothing else tells them apart.

use compare::{Gives, Version};
use dialect::Dialect;

/// The operations of the patch with their paths. It gives the new version byte for byte.
fn selectors(old: &str, new: &str) -> Vec<String> {
    selectors_in(&Dialect::house(), old, new)
}

fn selectors_in(dialect: &Dialect, old: &str, new: &str) -> Vec<String> {
    let trees = [syntax::parse(old), syntax::parse(new)];
    let kind = &dialect.documents[0];
    let [one, other] = [(old, &trees[0]), (new, &trees[1])].map(|(text, tree)| Version {
        tree,
        text,
        meaning: Some((dialect, kind)),
    });
    let patch = compare::patch(&one, &other).unwrap();
    assert_eq!(patch.gives, Gives::Bytes, "{}", patch.text);
    assert_eq!(patch::apply(old, &patch.text).unwrap(), new);
    let tree = syntax::parse(&patch.text);
    let operations = tree.root().unwrap().children().map(|operation| {
        let selector = operation.attribute("sel").unwrap();
        format!("{} {}", operation.local_name(), selector.value())
    });
    operations.collect()
}

fn machine(inside: &str) -> String {
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\">{inside}</machine>"
    )
}

/// What finds a value that changed in one of these.
fn found(inside: &str, was: &str, is: &str) -> String {
    let old = machine(inside);
    let [path]: [String; 1] = selectors(&old, &old.replace(was, is)).try_into().unwrap();
    path
}

#[test]
fn a_name_says_which_one_even_where_there_is_one_only() {
    let alias = "<aliases><alias name=\"leg\" path=\"0/1\"/></aliases>";
    let path = "replace machine/aliases/alias[@name='leg']/@path";
    assert_eq!(found(alias, "0/1", "0/2"), path);
}

#[test]
fn what_is_alone_needs_no_condition() {
    let body = "<bodies><body node=\"0/1\" mass=\"20\"/></bodies>";
    assert_eq!(found(body, "20", "30"), "replace machine/bodies/body/@mass");
}

#[test]
fn what_it_refers_to_says_which_one() {
    let bodies =
        "<bodies><body node=\"0/1\" mass=\"20\"/><body node=\"0/2\" mass=\"25\"/></bodies>";
    let path = "replace machine/bodies/body[@node='0/2']/@mass";
    assert_eq!(found(bodies, "25", "30"), path);
}

#[test]
fn two_attributes_say_it_together_where_none_does_alone() {
    let channel = |target: &str, property: &str, to: &str| {
        format!(
            "<channel target=\"{target}\" property=\"{property}\" begin=\"0\" end=\"1\" from=\"0 0 0\" to=\"{to}\"/>"
        )
    };
    let channels: String = [
        channel("0", "rotation", "1 0 0"),
        channel("0", "translation", "2 0 0"),
        channel("0/1", "rotation", "1 0 0"),
        channel("0/1", "translation", "2 0 0"),
    ]
    .concat();
    let old = machine(&format!(
        "<animations><animation id=\"up\">{channels}</animation></animations>"
    ));
    let at = old.rfind("1 0 0").unwrap();
    let new = format!("{}5 0 0{}", &old[..at], &old[at + 5..]);
    let path = "replace machine/animations/animation[@id='up']/channel[@target='0/1'][@property='rotation']/@to";
    assert_eq!(selectors(&old, &new), [path]);
}

#[test]
fn where_nothing_differs_the_place_says_it() {
    let body = "<body node=\"0\" mass=\"20\"/>";
    let old = machine(&format!("<bodies>{body}{body}{body}</bodies>"));
    let new = machine(&format!("<bodies>{body}{body}</bodies>"));
    let [path]: [String; 1] = selectors(&old, &new).try_into().unwrap();
    assert_eq!(path, "remove machine/bodies/body[3]");
}

/// Before it has its turn, an element is as it was, and what stands before it, too.
#[test]
fn what_changes_is_found_by_what_it_was() {
    let wheel = |id: &str| format!("<wheel id=\"{id}\" node=\"0\" radius=\"1\" width=\"1\"/>");
    let old = machine(&format!(
        "<wheels>{}{}</wheels>",
        wheel("left"),
        wheel("right")
    ));
    let new = old.replace("\"right\"", "\"starboard\"");
    let path = "replace machine/wheels/wheel[@id='right']/@id";
    assert_eq!(selectors(&old, &new), [path]);
}

#[test]
fn a_name_may_stand_in_an_element() {
    let dialect = "[dialect]\nname = \"pier\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n\
        [element.rig]\nchildren = [\"noise*\"]\n[element.noise]\nchildren = [\"call\", \"tape\"]\n\
        [element.call]\ntext = { type = \"name\", of = \"noise\", required = true }\n[element.tape]\ntext = \"text\"\n";
    let dialect = Dialect::read(dialect, None).unwrap();
    let noise = |name: &str| format!("<noise><call>{name}</call><tape>x.ogg</tape></noise>");
    let old = format!("<rig>{}{}</rig>", noise("creak"), noise("hum"));
    let change = |old: &str| {
        let at = old.rfind("x.ogg").unwrap();
        format!("{}y.ogg{}", &old[..at], &old[at + 5..])
    };
    let path = "replace rig/noise[call='hum']/tape/text()[1]";
    assert_eq!(selectors_in(&dialect, &old, &change(&old)), [path]);
    // With the prefix that the document has for it.
    let old = old
        .replace("</", "</q:")
        .replace('<', "<q:")
        .replace("<q:/q:", "</q:");
    let old = old.replace("<q:rig>", "<q:rig xmlns:q='urn:q'>");
    let path = "replace q:rig/q:noise[q:call='hum']/q:tape/text()[1]";
    assert_eq!(selectors_in(&dialect, &old, &change(&old)), [path]);
}

#[test]
fn an_attribute_that_comes_is_added_alone() {
    let old = machine("<bodies><body node=\"0\" mass=\"20\"/></bodies>");
    let new = old.replace("\"20\"", "\"20\" centre=\"0 1 0\"");
    assert_eq!(selectors(&old, &new), ["add machine/bodies/body"]);
}
