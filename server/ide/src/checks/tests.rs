//! One behaviour, one test, and the case where it must not apply. The pages' examples are tested in `tests/pages.rs`,
//! whole files with faults in the corpus.

mod conformity;
mod consequences;
mod controls;
mod dialects;
mod entities;
mod files;
mod form;
mod grammar;
mod keyframes;
mod large;
mod motion;
mod names;
mod prefixes;
mod scene;
mod sorts;
mod strays;
mod suppressions;

use std::sync::Arc;

use dialect::Dialect;
use expect_test::Expect;
use project::View;

use crate::Trust;
use crate::fixture::Fixture;

/// What the checks say of a machine with this body, and of which part of the text.
fn check(body: &str, expected: Expect) {
    expected.assert_eq(&said(&rig(body)));
}

/// What the checks say at warning level and above.
fn check_serious(body: &str, expected: Expect) {
    let said = said(&rig(body));
    let is_serious = |line: &&str| line.starts_with("error") || line.starts_with("warning");
    let serious: Vec<&str> = said.lines().filter(is_serious).collect();
    expected.assert_eq(&serious.join("\n"));
}

/// A machine with this body, all of whose files are there.
fn rig(body: &str) -> Fixture {
    Fixture::rig(body).file("rig.gltf").file("pump.ogg")
}

/// A document of a small dialect that these tests make up.
fn in_dialect(toml: &str, text: &str) -> Fixture {
    let dialect = Dialect::read(toml, None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    Fixture::of(text, vec![Arc::new(dialect)]).at("x.xml")
}

/// Each finding in a line, then what belongs to it.
fn said(fixture: &Fixture) -> String {
    said_of(&fixture.view())
}

fn said_of(view: &View) -> String {
    let text = view.text();
    let mut said = String::new();
    for finding in super::run(view) {
        said.push_str(&format!(
            "{} {} at `{}`: {}\n",
            finding.severity.as_str(),
            finding.code,
            &text[finding.range],
            finding.message
        ));
        for related in &finding.related {
            said.push_str(&format!(
                "  see `{}`: {}\n",
                &text[related.range], related.message
            ));
        }
        for fix in &finding.fixes {
            let fixed = syntax::apply(text, &fix.edits).unwrap();
            let line = changed_line(text, &fixed);
            let trust = match fix.trust {
                Trust::Safe => "safe",
                Trust::Review => "review",
                Trust::Draft => "draft",
            };
            said.push_str(&format!("  {trust} fix \"{}\": {line}\n", fix.title));
        }
    }
    said
}

/// The first line that a fix makes different.
fn changed_line(before: &str, after: &str) -> String {
    let changed = before
        .lines()
        .zip(after.lines())
        .find(|(before, after)| before != after);
    changed.map_or_else(
        || "(lines)".to_owned(),
        |(_, after)| after.trim().to_owned(),
    )
}
