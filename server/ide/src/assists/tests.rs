mod adjust;
mod aliases;
mod beside;
mod corpus;
mod dialects;
mod extract;
mod library;
mod marks;
mod missing_children;
mod nested;
mod repairs;
mod repath;
mod shapes;

use super::{Offer, make, offers};
use crate::fixture::Fixture;
use syntax::TextRange;

/// What is offered at the mark or between the two marks of a fixture.
fn offered(fixture: &Fixture) -> Vec<Offer> {
    offers(&fixture.view(), selection(fixture))
}

fn selection(fixture: &Fixture) -> TextRange {
    match fixture.marks() {
        [at] => TextRange::empty(*at),
        [from, to] => TextRange::new(*from, *to),
        marks => panic!("one or two marks are wanted, there are {}", marks.len()),
    }
}

fn titles(fixture: &Fixture) -> Vec<String> {
    let enabled = offered(fixture)
        .into_iter()
        .filter(|offer| offer.disabled.is_none());
    enabled.map(|offer| offer.title).collect()
}

/// The reason why an offer is not to be had.
fn reason(fixture: &Fixture, title: &str) -> String {
    let found = offered(fixture)
        .into_iter()
        .find(|offer| offer.title.starts_with(title));
    found
        .expect("it is offered")
        .disabled
        .expect("it is disabled")
}

/// The text after the first offer whose title starts like this.
fn text_after(fixture: &Fixture, title: &str) -> String {
    let view = fixture.view();
    let all = offered(fixture);
    let offer = all
        .iter()
        .find(|offer| offer.title.starts_with(title) && offer.disabled.is_none());
    let offer = offer.unwrap_or_else(|| panic!("`{title}` is offered; there is: {all:#?}"));
    let change = make(&view, &offer.key).unwrap_or_else(|reason| panic!("{title}: {reason}"));
    syntax::apply(view.text(), &change.edits).expect("the edits fit")
}

/// Only the lines that differ, as `-` and `+`, with `...` between.
fn difference(fixture: &Fixture, title: &str) -> String {
    let view = fixture.view();
    lines_that_differ(view.text(), &text_after(fixture, title))
}

fn lines_that_differ(before: &str, after: &str) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) =
        (before.split('\n').collect(), after.split('\n').collect());
    // The longest common subsequence, the plain way: the texts are short.
    let mut common = vec![vec![0_usize; new.len() + 1]; old.len() + 1];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            common[i][j] = if old[i] == new[j] {
                common[i + 1][j + 1] + 1
            } else {
                common[i + 1][j].max(common[i][j + 1])
            };
        }
    }
    let (mut i, mut j, mut out) = (0, 0, String::new());
    let mut skipped = false;
    while i < old.len() || j < new.len() {
        if i < old.len() && j < new.len() && old[i] == new[j] {
            skipped = true;
            i += 1;
            j += 1;
            continue;
        }
        if std::mem::take(&mut skipped) && !out.is_empty() {
            out.push_str("...\n");
        }
        let is_removed = j == new.len() || (i < old.len() && common[i + 1][j] >= common[i][j + 1]);
        let (mark, line) = if is_removed {
            ('-', old[i])
        } else {
            ('+', new[j])
        };
        if is_removed {
            i += 1
        } else {
            j += 1
        }
        out.push(mark);
        out.push_str(&line.replace('\r', "␍"));
        out.push('\n');
    }
    out
}
