//! A style in which all elements below the root have one name, and an attribute says what they are.

use super::{Machine, NESTED, Style, nested};
use std::fmt::Write as _;

pub(crate) const VAGUE: Style = Style {
    name: "elements that an attribute tells apart",
    write: vague,
    parts: &[
        ("scene quib file", "@hask"),
        ("alias quib/it[@as='nam'] name", "@da"),
        ("alias quib/it[@as='nam'] path", "text()"),
        ("wheel quib/it[@as='orb'] name", "@da"),
        ("wheel quib/it[@as='orb'] node", "@ul"),
        ("wheel quib/it[@as='orb'] radius", "@es"),
        ("wheel quib/it[@as='orb'] width", "@et"),
        ("sound quib/it[@as='hum'] name", "@da"),
        ("sound quib/it[@as='hum'] file", "@ix"),
        ("animation quib/it[@as='feat'] name", "@da"),
        ("channel quib/it[@as='feat']/it[@as='limn'] node", "@ul"),
        ("channel quib/it[@as='feat']/it[@as='limn'] window", "@tem"),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] property",
            "translation",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] from",
            "it[@as='sli']/@a",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] to",
            "it[@as='sli']/@b",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] property-2",
            "rotation",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] from-2",
            "it[@as='swa']/@a",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] to-2",
            "it[@as='swa']/@b",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] property-3",
            "scale",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] from-3",
            "it[@as='fet']/@a",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] to-3",
            "it[@as='fet']/@b",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] property-4",
            "visibility",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] from-4",
            "it[@as='pip']/@a",
        ),
        (
            "channel quib/it[@as='feat']/it[@as='limn'] to-4",
            "it[@as='pip']/@b",
        ),
        ("control quib/it[@as='feat']/it[@as='pull'] kind", "analog"),
        (
            "control quib/it[@as='feat']/it[@as='pull'] animation",
            "../@da",
        ),
        ("control quib/it[@as='feat']/it[@as='pull'] input", "@wit"),
        ("control quib/it[@as='feat']/it[@as='pull'] gain", "@vo"),
        ("control quib/it[@as='feat']/it[@as='pull'] sounds", "@hum"),
        (
            "control quib/it[@as='feat']/it[@as='pull'] wheels",
            "it[@as='orb']/@ref",
        ),
        ("control quib/it[@as='feat']/it[@as='pull'] text", "@say"),
        ("control quib/it[@as='feat']/it[@as='push'] kind", "digital"),
        (
            "control quib/it[@as='feat']/it[@as='push'] animation",
            "../@da",
        ),
        ("control quib/it[@as='feat']/it[@as='push'] input", "@wit"),
        ("control quib/it[@as='feat']/it[@as='push'] sounds", "@hum"),
        (
            "control quib/it[@as='feat']/it[@as='push'] wheels",
            "it[@as='orb']/@ref",
        ),
        ("control quib/it[@as='feat']/it[@as='push'] text", "@say"),
    ],
    ..NESTED
};

/// What the nested style writes, with the names of its elements in an attribute.
fn vague(machine: &Machine) -> String {
    let named = nested(machine);
    let document = roxmltree::Document::parse(&named).unwrap();
    let root = document.root_element();
    let mut out = String::new();
    let mut open: Vec<roxmltree::Node<'_, '_>> = Vec::new();
    for node in root.descendants() {
        while let Some(inner) = open.pop_if(|inner| node.parent() != Some(*inner)) {
            out += closed(inner, root);
        }
        if let Some(text) = node.text().filter(|_| node.is_text()) {
            out += text;
            continue;
        }
        match node == root {
            true => out += "<quib",
            false => write!(out, "<it as=\"{}\"", node.tag_name().name()).unwrap(),
        }
        for own in node.attributes() {
            let value = own.value().replace('>', "&gt;");
            write!(out, " {}=\"{value}\"", own.name()).unwrap();
        }
        out.push('>');
        open.push(node);
    }
    while let Some(inner) = open.pop() {
        out += closed(inner, root);
    }
    out
}

fn closed(node: roxmltree::Node<'_, '_>, root: roxmltree::Node<'_, '_>) -> &'static str {
    if node == root { "</quib>\n" } else { "</it>" }
}
