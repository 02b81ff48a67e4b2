//! Types, names and required attributes as published in machine-readable form.

use crate::known::{Fact, Known, Place, Type};
use acceptance::outside;
use roxmltree::{Document, Node};

fn fact(value_type: Option<Type>, required: bool) -> Fact {
    Fact {
        value_type,
        required: Some(required),
        ..Fact::default()
    }
}

/// The files that describe simulation descriptions: elements within elements, each with its type.
pub(crate) fn sdf() -> Known {
    let mut known = Known::default();
    let Some(folder) = outside::references("sdf/sdf/1.12") else {
        return known;
    };
    for file in outside::files_below(&folder, &[".sdf"]) {
        let text = std::fs::read_to_string(file).unwrap();
        let document = Document::parse(&text).unwrap();
        for node in document.descendants() {
            let owner = match node.tag_name().name() {
                "element" => Some(node),
                "attribute" => node.parent_element(),
                _ => None,
            };
            let (Some(owner), Some(word)) = (owner, node.attribute("type")) else {
                continue;
            };
            let elements = owner.ancestors().filter_map(|node| {
                let is_element = node.has_tag_name("element");
                node.attribute("name").filter(|_| is_element)
            });
            let mut path: Vec<&str> = elements.collect();
            path.reverse();
            let value_type = match word {
                "double" | "float" => Some(Type::Number),
                "int" | "unsigned int" => Some(Type::Integer),
                "bool" => Some(Type::Boolean),
                "vector2d" => Some(Type::Vector(2)),
                "vector3" => Some(Type::Vector(3)),
                "string" => Some(Type::Text),
                // Of several lengths.
                "pose" | "color" => Some(Type::Numbers),
                _ => None,
            };
            let attribute = node
                .has_tag_name("attribute")
                .then(|| node.attribute("name"))
                .flatten();
            let mut one = fact(value_type, node.attribute("required") == Some("1"));
            if attribute.is_none() {
                one.required = None;
            }
            known.add(Place::new(&path.join("/"), attribute), Some(one));
        }
    }
    known
}

/// The DTD of X3D.
pub(crate) fn x3d() -> Known {
    let mut known = Known::default();
    let Some(file) = outside::references("x3d-spec/x3d-3.3.dtd") else {
        return known;
    };
    let text = std::fs::read_to_string(file).unwrap();
    for list in text.split("<!ATTLIST ").skip(1) {
        let list = list.split('>').next().unwrap_or_default();
        let mut words = list.split_whitespace();
        let Some(element) = words.next() else {
            continue;
        };
        let words: Vec<&str> = words.collect();
        for pair in words.windows(3) {
            let [name, word, default] = pair else {
                continue;
            };
            let is_type = word.starts_with(['%', '('])
                || matches!(*word, "ID" | "IDREF" | "NMTOKEN" | "CDATA");
            if !is_type || name.starts_with(['%', '"', '#', '(']) {
                continue;
            }
            let value_type = match word.trim_matches(['%', ';']) {
                "SFFloat" | "SFDouble" | "SFTime" => Some(Type::Number),
                "SFInt32" => Some(Type::Integer),
                "SFBool" => Some(Type::Boolean),
                "SFVec2f" | "SFVec2d" => Some(Type::Vector(2)),
                "SFVec3f" | "SFVec3d" | "SFColor" => Some(Type::Vector(3)),
                "SFVec4f" | "SFRotation" | "SFColorRGBA" => Some(Type::Vector(4)),
                "SFString" | "MFString" | "ID" | "IDREF" | "NMTOKEN" | "CDATA" => Some(Type::Text),
                many if many.starts_with("MF") => Some(Type::Numbers),
                _ => None,
            };
            let mut one = fact(value_type, *default == "#REQUIRED");
            one.name = *word == "ID";
            if *word == "IDREF" {
                one.refers.push(Place::new("*", Some("DEF")));
            }
            known.add(Place::new(element, Some(name)), Some(one));
        }
    }
    known
}

/// The schema of COLLADA.
pub(crate) fn collada() -> Known {
    let mut known = Known::default();
    let Some(file) = outside::references("collada/collada/resources/schema-1.4.1.xml") else {
        return known;
    };
    let text = std::fs::read_to_string(file).unwrap();
    let document = Document::parse(&text).unwrap();
    let is = |node: &Node<'_, '_>, name: &str| node.tag_name().name() == name;
    for node in document.descendants().filter(|node| is(node, "attribute")) {
        let owner = node.ancestors().find(|node| {
            (is(node, "element") || is(node, "complexType")) && node.attribute("name").is_some()
        });
        let (Some(owner), Some(name)) = (owner, node.attribute("name")) else {
            continue;
        };
        let owner_name = owner.attribute("name").unwrap_or_default();
        let owners: Vec<&str> = match is(&owner, "element") {
            true => vec![owner_name],
            false => document
                .descendants()
                .filter(|node| is(node, "element") && node.attribute("type") == Some(owner_name))
                .filter_map(|node| node.attribute("name"))
                .collect(),
        };
        let word = node.attribute("type").unwrap_or_default();
        let value_type = match word.trim_start_matches("xs:") {
            "ID" | "NCName" | "anyURI" | "IDREF" | "string" | "token" | "NMTOKEN" => {
                Some(Type::Text)
            }
            "float" | "double" => Some(Type::Number),
            "uint" | "int" | "unsignedInt" | "unsignedLong" | "integer" => Some(Type::Integer),
            "boolean" | "bool" => Some(Type::Boolean),
            _ => None,
        };
        for owner in owners {
            let mut one = fact(value_type, node.attribute("use") == Some("required"));
            one.name = word == "xs:ID";
            known.add(Place::new(owner, Some(name)), Some(one));
        }
    }
    known
}
