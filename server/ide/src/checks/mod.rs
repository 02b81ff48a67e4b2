//! The checks: what is wrong with a document, one file per group of codes.
//!
//! One mistake gives one finding. What follows from a mistake that is reported already is left out: a part that could
//! not be read ([`unread`]) defines no names, so nothing that may stand in it is called unknown, missing or unused.

mod controls;
mod facts;
mod files;
mod form;
mod grammar;
mod mod_folder;
mod motion;
mod names;
mod scene;
mod settings;
mod suggest;
mod unread;
mod values;

use project::View;

use crate::Finding;

pub use settings::{settings, settings_at};

/// All that is wrong with a document, by place.
///
/// A document that no dialect fits gets form checks only. Takes time in proportion to the document.
pub fn run(view: &View) -> Vec<Finding> {
    let mut findings = form::check(&view.document.tree);
    if let Some(facts) = facts::Facts::of(view) {
        findings.extend(in_dialect(facts));
    }
    findings.sort_by(|a, b| {
        let place = |finding: &Finding| (finding.range.start(), finding.range.end(), finding.code);
        place(a)
            .cmp(&place(b))
            .then_with(|| a.message.cmp(&b.message))
    });
    findings
}

fn in_dialect(facts: facts::Facts<'_>) -> Vec<Finding> {
    let grammar = grammar::check(&facts);
    let mut findings = grammar.findings;
    // In a namespace that is not the dialect's, nothing more can be said.
    if grammar.is_foreign {
        return findings;
    }
    let faulty = findings.iter().map(|finding| finding.range).collect();
    let facts = facts.with(grammar.unread, faulty);
    let names = names::check(&facts);
    findings.extend(names.findings);
    findings.extend(scene::check(&facts));
    findings.extend(files::check(&facts));
    findings.extend(motion::check(&facts));
    findings.extend(controls::check(&facts, &names.used));
    findings.extend(mod_folder::check(&facts));
    findings
}

/// A value as a fix writes it: right between quotes of either kind, and as a text.
fn escaped(value: &str) -> String {
    syntax::escape::attribute(value, '"').replace('\'', "&apos;")
}

#[cfg(test)]
mod tests;
