//! What is proposed where. Each line: label, detail, and what is written (`·`
//! marks a place to fill in, `|` the caret).

mod attributes;
mod elements;
mod half_typed;
mod lists;
mod many;
mod sorts;
mod undeclared;
mod values;

use super::*;
use crate::{fixture::Fixture, template::Piece};

fn proposals(fixture: &Fixture) -> Vec<String> {
    let view = fixture.view();
    let Some(completion) = complete(&view, fixture.offset()) else {
        return Vec::new();
    };
    assert!(completion.replace.contains_inclusive(fixture.offset()));
    let items = completion.items.iter();
    items
        .map(|item| format!("{} ({}) {}", item.label, item.detail, written(&item.insert)))
        .collect()
}

fn labels(fixture: &Fixture) -> Vec<String> {
    let view = fixture.view();
    let completion = complete(&view, fixture.offset());
    completion
        .into_iter()
        .flat_map(|completion| completion.items)
        .map(|item| item.label)
        .collect()
}

fn written(template: &Template) -> String {
    let pieces = template.pieces.iter().map(|piece| match piece {
        Piece::Text(text) => text.replace('\n', "⏎"),
        Piece::Stop(filled) => format!("·{filled}"),
        Piece::End => "|".to_owned(),
    });
    pieces.collect()
}

/// The document after the proposal with this label is taken.
fn taken(fixture: &Fixture, label: &str) -> String {
    let view = fixture.view();
    let completion = complete(&view, fixture.offset()).expect("there are proposals");
    let item = completion.items.iter().find(|item| item.label == label);
    let item = item.unwrap_or_else(|| panic!("{label} is not proposed"));
    let edit = syntax::TextEdit::replace(completion.replace, item.insert.plain());
    syntax::apply(view.text(), &[edit]).expect("the edit fits")
}

fn check(fixture: Fixture, expected: expect_test::Expect) {
    expected.assert_eq(&proposals(&fixture).join("\n"));
}
