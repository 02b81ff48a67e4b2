//! The definitions of the corpus are what their dialects allow. They are read with
//! roxmltree, so that neither our parser nor our checks judge themselves.

use std::path::{Path, PathBuf};

use dialect::{Context, Dialect, ElementDecl, Order, Property};

fn corpus(below: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../corpus")
        .join(below)
}

/// Everything in a document that its dialect does not allow.
fn complaints(dialect: &Dialect, path: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(path).unwrap();
    let text = text.trim_start_matches('\u{feff}');
    let document = roxmltree::Document::parse(text).unwrap();
    let root = document.root_element();
    let name = root.tag_name();
    let kind = dialect
        .document_for(
            Some((name.namespace(), name.name())),
            &path.to_string_lossy(),
        )
        .unwrap_or_else(|| panic!("{} fits no document", path.display()));
    let mut complaints = Vec::new();
    walk(dialect, dialect.root_context(kind), root, &mut complaints);
    complaints
}

fn walk(dialect: &Dialect, context: Context, node: roxmltree::Node<'_, '_>, out: &mut Vec<String>) {
    let name = node.tag_name().name();
    let Some(element) = dialect.element(context) else {
        out.push(format!("<{name}> is not declared"));
        return;
    };
    attributes(dialect, element, node, out);
    let text: String = node.children().filter_map(|child| child.text()).collect();
    match &element.text {
        Some(declared) => {
            let found = dialect.check_value(&declared.value, text.trim(), moved_by(name));
            out.extend(
                found
                    .into_iter()
                    .map(|problem| format!("<{name}> {problem:?}")),
            );
        }
        None if text.trim().is_empty() || node.children().any(|child| child.is_element()) => {}
        None => out.push(format!("<{name}> holds text")),
    }
    let names: Vec<&str> = node
        .children()
        .filter(|child| child.is_element())
        .map(|child| child.tag_name().name())
        .collect();
    for rule in &element.children {
        let count = names.iter().filter(|child| **child == rule.name).count();
        if count < rule.min as usize || rule.max.is_some_and(|max| count > max as usize) {
            out.push(format!("<{name}> holds {count} of {}", rule.name));
        }
    }
    let places: Vec<Option<usize>> = names
        .iter()
        .map(|child| element.children.iter().position(|rule| rule.name == *child))
        .collect();
    if places.contains(&None) {
        out.push(format!("<{name}> holds something unknown: {names:?}"));
    }
    if element.order == Order::Listed && !places.is_sorted() {
        out.push(format!("<{name}> has its children out of order"));
    }
    for child in node.children().filter(|child| child.is_element()) {
        walk(
            dialect,
            dialect.child_context(context, child.tag_name().name()),
            child,
            out,
        );
    }
}

fn attributes(
    dialect: &Dialect,
    element: &ElementDecl,
    node: roxmltree::Node<'_, '_>,
    out: &mut Vec<String>,
) {
    let name = &element.name;
    let property = node.attribute("property").and_then(|word| {
        let property = [
            Property::Translation,
            Property::Rotation,
            Property::Scale,
            Property::Visibility,
        ];
        property
            .into_iter()
            .find(|property| property.as_str() == word)
    });
    for attribute in node.attributes() {
        let Some(declared) = element.attribute(attribute.name()) else {
            out.push(format!("<{name}> has {}", attribute.name()));
            continue;
        };
        let found = dialect.check_value(&declared.value, attribute.value(), property);
        out.extend(
            found
                .into_iter()
                .map(|problem| format!("<{name}> {problem:?}")),
        );
    }
    for declared in &element.attributes {
        if declared.required && node.attribute(declared.name.as_str()).is_none() {
            out.push(format!("<{name}> lacks {}", declared.name));
        }
    }
}

/// What the elements of the yard book and of the slipway cards move.
fn moved_by(element: &str) -> Option<Property> {
    match element {
        "shift" => Some(Property::Translation),
        "swing" => Some(Property::Rotation),
        "swell" => Some(Property::Scale),
        "slide" => Some(Property::Translation),
        "tilt" => Some(Property::Rotation),
        "show" | "cover" => Some(Property::Visibility),
        _ => None,
    }
}

#[test]
fn the_demo_mod_is_in_the_house_dialect() {
    let house = Dialect::house();
    for file in [
        "mod.xml",
        "machines/bram-6.machine.xml",
        "machines/ostrel-12.machine.xml",
        "machines/vennet-24.machine.xml",
        "machines/quarl-30/quarl-30.machine.xml",
    ] {
        let path = corpus("ternholt").join(file);
        assert_eq!(complaints(&house, &path), Vec::<String>::new(), "{file}");
    }
}

#[test]
fn the_yards_mod_is_in_the_dialect_of_the_yard() {
    let folder = corpus("dialects/yard");
    let toml = std::fs::read_to_string(folder.join("yard.dialect.toml")).unwrap();
    let yard = Dialect::read(&toml, None).unwrap();
    for file in ["load.xml", "rigs/dorrik-9.rig.xml"] {
        assert_eq!(
            complaints(&yard, &folder.join(file)),
            Vec::<String>::new(),
            "{file}"
        );
    }
}

#[test]
fn the_slipways_mod_is_in_the_dialect_of_the_slipway() {
    let folder = corpus("dialects/slip");
    let toml = std::fs::read_to_string(folder.join("slip.dialect.toml")).unwrap();
    let slip = Dialect::read(&toml, None).unwrap();
    for file in ["box.lst", "cards/fennor-4.card"] {
        assert_eq!(
            complaints(&slip, &folder.join(file)),
            Vec::<String>::new(),
            "{file}"
        );
    }
}

#[test]
fn a_document_of_another_dialect_is_not_taken() {
    let house = Dialect::house();
    let rig = corpus("dialects/yard/rigs/dorrik-9.rig.xml");
    assert_eq!(
        house.document_for(Some((None, "rig")), &rig.to_string_lossy()),
        None
    );
}
