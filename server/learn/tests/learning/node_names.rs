//! Nodes asked for by their names in the scene, and names that only happen to be those of nodes.

use crate::learnt::{learnt_from, source};
use dialect::{Context, Dialect, ItemType};
use learn::{Corpus, Surroundings};

const PARTS: [&str; 6] = ["hull", "mast", "jib", "hook", "arm.port", "arm.starboard"];

/// What is learnt from eight cranes, each with a scene in which the parts hang in a row, on a root of the crane's own name.
fn learnt(crane: impl Fn(usize) -> String) -> Dialect {
    let (mut corpus, mut scenes) = (Corpus::default(), Vec::new());
    for n in 0..8 {
        let nodes: Vec<String> = std::iter::once(format!("crane {n}"))
            .chain(PARTS.map(str::to_owned))
            .enumerate()
            .map(|(at, name)| match at < PARTS.len() {
                true => format!(r#"{{"name": "{name}", "children": [{}]}}"#, at + 1),
                false => format!(r#"{{"name": "{name}"}}"#),
            })
            .collect();
        let json = format!(
            r#"{{"asset": {{"version": "2.0"}}, "scenes": [{{"nodes": [0]}}], "nodes": [{}]}}"#,
            nodes.join(",")
        );
        let scene = scene::read(json.as_bytes(), "", &[]).expect("the scene is well made");
        scenes.push((source(format!("lib/{n}/shape.gltf")), scene));
        let text = format!("<crane shape='shape.gltf'>{}</crane>", crane(n));
        assert!(
            corpus.add(source(format!("lib/{n}/crane.xml")), &text),
            "{text}"
        );
    }
    let around = Surroundings::new(&corpus, &[], scenes);
    learnt_from(&corpus, &around)
}

fn item<'d>(dialect: &'d Dialect, element: &str, attribute: &str) -> &'d ItemType {
    let crane = dialect.child_context(Context::DOCUMENT, "crane");
    let context = element
        .split('/')
        .fold(crane, |context, name| dialect.child_context(context, name));
    let element = dialect.element(context).expect("it is declared");
    &element
        .attribute(attribute)
        .expect("it is declared")
        .value
        .item
}

fn is_node_name(item: &ItemType) -> bool {
    matches!(
        item,
        ItemType::Node { aliases, index_path: false, node_name: true } if aliases.is_empty()
    )
}

/// An element for each part.
fn each(write: impl Fn(usize, &str) -> String) -> String {
    let parts = PARTS.iter().enumerate();
    parts.map(|(at, part)| write(at, part)).collect()
}

#[test]
fn values_that_lead_to_nodes_are_their_names() {
    let dialect = learnt(|n| {
        let swings = each(|at, part| format!("<swing of='{part}' by='{}'/>", at * n));
        // One winch each: too few to tell, but for its attribute's name.
        format!(
            "{swings}<winch of='hook' sort='{}'/>",
            ["hull", "mast"][n % 2]
        )
    });
    assert!(is_node_name(item(&dialect, "swing", "of")));
    assert!(is_node_name(item(&dialect, "winch", "of")));
    // Two words that nodes have as well are no more than words.
    assert!(!is_node_name(item(&dialect, "winch", "sort")));
    assert_eq!(dialect.notation.node_names.separator, None);
}

#[test]
fn chains_of_names_have_a_separator_and_may_start_anywhere() {
    let dialect = learnt(|n| {
        each(|at, part| {
            let above = PARTS.get(at.wrapping_sub(1)).copied();
            let root = format!("crane {n}");
            format!("<swing of='{}|{part}'/>", above.unwrap_or(&root))
        })
    });
    assert!(is_node_name(item(&dialect, "swing", "of")));
    let names = &dialect.notation.node_names;
    assert_eq!(
        (names.separator.as_deref(), names.from_root),
        (Some("|"), false)
    );
}

#[test]
fn names_that_the_document_gives_stay_its_own() {
    // Animations that are called as the nodes which they move, and aliases beside index paths.
    let dialect = learnt(|_| {
        let feats = each(|at, part| {
            format!(
                "<feat id='{part}'><go node='{part}' far='{at}'/><go node='hull' far='1'/></feat>"
            )
        });
        feats + &each(|at, part| format!("<hand feat='{part}' key='k{at}'/>"))
    });
    assert!(is_node_name(item(&dialect, "feat/go", "node")));
    assert!(matches!(item(&dialect, "feat", "id"), ItemType::NameOf(_)));
    assert!(matches!(
        item(&dialect, "hand", "feat"),
        ItemType::Reference(_)
    ));
    let dialect = learnt(|_| {
        let path = |at: usize| vec!["0"; at + 2].join("/");
        let aliases = each(|at, part| format!("<alias name='{part}' path='{}'/>", path(at)));
        aliases
            + &each(|at, part| format!("<go node='{part}' far='{at}'/><go node='hull' far='7'/>"))
    });
    assert!(matches!(
        item(&dialect, "alias", "name"),
        ItemType::NameOf(_)
    ));
    assert!(!is_node_name(item(&dialect, "go", "node")));
}
