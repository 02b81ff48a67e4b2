//! Every feature at every place of whole, cut and torn documents: no feature
//! may fail, and whatever it answers must fit the text.

use dialect::Dialect;
use ide::completion::{about, complete};
use ide::{closing, definition, folding, highlight, hover, linked_editing, links, references};
use ide::{rename, selection, symbols, workspace_symbols};
use project::{Document, SceneFile, Settings, View};
use scene::{NodeParts, Scene, SceneBuilder};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use syntax::{TextEdit, TextRange, TextSize};

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus")
}

fn read(file: &str) -> String {
    std::fs::read_to_string(corpus().join(file)).expect("the corpus has the file")
}

/// Three levels of three nodes each.
fn scene() -> Scene {
    let mut builder = SceneBuilder::new();
    for name in ["a", "b", "c"] {
        builder.open(NodeParts::named(name));
        for child in ["left", "", "ü"] {
            builder.open(NodeParts::named(child));
            for _ in 0..3 {
                builder.leaf(NodeParts::named("tip"));
            }
            builder.close();
        }
        builder.close();
    }
    builder.finish()
}

fn view(name: &str, text: String) -> View {
    let other = |file: &str| {
        Arc::new(Dialect::read(&read(file), None).expect("the dialects of the corpus are sound"))
    };
    let settings = Settings {
        dialects: vec![
            other("dialects/yard/yard.dialect.toml"),
            other("dialects/slip/slip.dialect.toml"),
            Dialect::house(),
        ],
        ..Settings::default()
    };
    let scene = Arc::new(SceneFile {
        path: PathBuf::from("scene.gltf"),
        scene: scene(),
        notes: Vec::new(),
    });
    let document = Document::new(PathBuf::from(name), Some(1), text);
    View::without_disk(
        document,
        settings,
        Some(scene),
        &["sounds/pump.ogg", "bram-6.gltf"],
    )
}

/// Asks everything at an offset and checks that the answers fit.
fn ask(view: &View, offset: TextSize) {
    let text = view.text();
    let fits = |range: TextRange| {
        assert!(
            text.get(std::ops::Range::<usize>::from(range)).is_some(),
            "{range:?}"
        )
    };
    if let Some(found) = hover::hover(view, offset) {
        fits(found.range);
        assert!(!found.text.markdown().is_empty() && !found.text.plain().is_empty());
    }
    for found in [
        definition::definition(view, offset),
        definition::node(view, offset),
    ]
    .into_iter()
    .flatten()
    {
        fits(found.origin);
        let here = found.targets.iter().filter(|target| target.path.is_none());
        here.for_each(|target| {
            fits(target.range);
            assert!(target.range.contains_range(target.name));
        });
    }
    let all = references::references(view, offset, true);
    all.iter().copied().for_each(fits);
    let used = references::references(view, offset, false);
    assert!(used.iter().all(|range| all.contains(range)));
    highlight::highlight(view, offset)
        .into_iter()
        .for_each(|light| fits(light.range));
    if let Ok(renaming) = rename::prepare(view, offset) {
        fits(renaming.range);
        if let Ok(renamed) = rename::rename(view, &[], offset, "brand \"new\" <&") {
            let [(_, edits)] = &renamed[..] else {
                panic!("one document: {renamed:?}");
            };
            assert!(!edits.is_empty());
            let after = syntax::apply(text, edits).expect("the edits fit");
            assert_ne!(after, text);
        }
    }
    if let Some(found) = complete(view, offset) {
        assert!(
            found.replace.contains_inclusive(offset),
            "{:?} {offset:?}",
            found.replace
        );
        fits(found.replace);
        for item in found.items.iter().take(3) {
            assert!(!item.label.is_empty());
            let edit = TextEdit::replace(found.replace, item.insert.plain());
            syntax::apply(text, &[edit]).expect("the edit fits");
            about(view, &item.about);
        }
    }
    linked_editing::linked_editing(view, offset)
        .into_iter()
        .flatten()
        .for_each(fits);
    for typed in ['>', '/'] {
        closing::closing(view, offset, typed);
    }
    let steps = selection::selections(view, offset);
    assert_eq!(steps.last(), Some(&TextRange::up_to(TextSize::of(text))));
    assert!(
        steps
            .windows(2)
            .all(|pair| pair[1].contains_range(pair[0]) && pair[0] != pair[1])
    );
    steps.into_iter().for_each(fits);
}

fn ask_all(view: &View) {
    folding::folds(view);
    links::links(view);
    let whole = TextRange::up_to(TextSize::of(view.text()));
    for hint in ide::inlay::hints(view, whole) {
        assert!(view.text().is_char_boundary(hint.at.into()) && !hint.label.is_empty());
    }
    for lens in ide::lens::lenses(view) {
        assert!(whole.contains_range(lens.range));
    }
    workspace_symbols::workspace_symbols(view, "a");
    let mut open = symbols::symbols(view);
    while let Some(symbol) = open.pop() {
        assert!(symbol.range.contains_range(symbol.name_range) && !symbol.name.is_empty());
        open.extend(symbol.children);
    }
}

/// Every `step`th place between two characters.
fn places(text: &str, step: usize) -> impl Iterator<Item = TextSize> {
    let all = text.char_indices().map(|(at, _)| at).chain([text.len()]);
    all.step_by(step)
        .filter_map(|at| TextSize::try_from(at).ok())
}

fn check(name: &str, text: String, step: usize) {
    let view = view(name, text);
    ask_all(&view);
    places(view.text(), step).for_each(|offset| ask(&view, offset));
}

const DOCUMENTS: [&str; 6] = [
    "ternholt/machines/bram-6.machine.xml",
    "ternholt/machines/vennet-24.machine.xml",
    "ternholt/mod.xml",
    "dialects/yard/rigs/dorrik-9.rig.xml",
    "dialects/yard/load.xml",
    "dialects/slip/cards/fennor-4.card",
];

#[test]
fn whole_documents() {
    for file in DOCUMENTS {
        check(file, read(file), 1);
    }
}

#[test]
fn documents_cut_anywhere() {
    for file in DOCUMENTS {
        let text = read(file);
        for end in places(&text, 97) {
            let view = view(file, text[..usize::from(end)].to_owned());
            ask_all(&view);
            let near = places(view.text(), 1).filter(|place| *place + TextSize::new(9) > end);
            near.for_each(|offset| ask(&view, offset));
        }
    }
}

/// Takes out and doubles stretches, and strews in characters that mean something.
fn torn(text: &str, seed: u64) -> String {
    let mut state = seed;
    let mut next = move |below: usize| {
        // Knuth's MMIX generator.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap_or(0) % below.max(1)
    };
    let mut characters: Vec<char> = text.chars().collect();
    for _ in 0..12 {
        let at = next(characters.len());
        match next(3) {
            0 => drop(characters.drain(at..(at + next(40)).min(characters.len()))),
            1 => {
                let copy = characters[at..(at + next(40)).min(characters.len())].to_vec();
                characters.splice(at..at, copy);
            }
            _ => {
                let marks: Vec<char> = "<>\"'&/=]!?;|,.ü\n".chars().collect();
                characters.insert(at, marks[next(marks.len())]);
            }
        }
    }
    characters.into_iter().collect()
}

#[test]
fn torn_documents() {
    for file in DOCUMENTS {
        let text = read(file);
        for seed in 0..8 {
            check(file, torn(&text, seed), 13);
        }
    }
}

#[test]
fn documents_nested_without_end() {
    let deep = format!("<rig>{}", "<move>".repeat(3000));
    let view = view("deep.rig.xml", deep);
    ask_all(&view);
    for offset in [0, 4, 5, 600, 9000, 18_000] {
        ask(&view, TextSize::new(offset));
    }
}
