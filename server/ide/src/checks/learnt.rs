//! What is found against declarations that were only learnt from files: hints, with their evidence.

use dialect::{AttributeDecl, Dialect, ElementDecl, Learnt};

use super::site::Site;
use crate::codes::{self, Group};
use crate::{Finding, Severity, spot};

/// Names, files, scenes and motions are looked at wherever a declaration says that there is one. What is found in a
/// place whose declaration nobody takes for granted is a hint like all else.
pub(super) fn in_learnt_places(site: &Site<'_>, findings: Vec<Finding>) -> Vec<Finding> {
    // Some things about a mod are so whatever its dialect says.
    let of_any_mod = [
        &codes::ARCHIVE_SHADOWS_FOLDER,
        &codes::UNUSED_FILE,
        &codes::LEFTOVER_FILE,
        &codes::HEAVY_FILE,
    ];
    let is_about_grammar = |finding: &Finding| {
        let code = codes::find(finding.code);
        code.is_some_and(|code| !matches!(code.group, Group::Form | Group::Setup))
            && !of_any_mod.iter().any(|code| code.name == finding.code)
    };
    if !is_learnt(site.dialect) {
        return findings;
    }
    let findings = findings.into_iter().map(|finding| {
        match finding.severity != Severity::Hint && is_about_grammar(&finding) {
            true => in_place(site, finding),
            false => finding,
        }
    });
    findings.collect()
}

/// Whether anything in a dialect is not taken for granted.
fn is_learnt(dialect: &Dialect) -> bool {
    let mut elements = dialect.elements().iter();
    elements.any(|element| {
        let mut values = element.attributes.iter().chain(&element.text);
        !element.strict || values.any(|value| !value.strict)
    })
}

fn in_place(site: &Site<'_>, finding: Finding) -> Finding {
    let at = finding.range.start();
    if finding.range == site.root_name() {
        // A root of another name has no declaration of its own.
        let kind = &site.meaning.kind;
        let declared = site.dialect.element(site.dialect.root_context(kind));
        return match declared {
            Some(declared) => by_element(finding, declared),
            None => finding,
        };
    }
    if let Some(declared) = spot::value_at(site.view, at).and_then(|value| value.declared) {
        return by_value(finding, declared);
    }
    let path = site.tree().elements_at(at);
    let chain = spot::chain(site.view, &path);
    match chain.and_then(|chain| spot::declaration(site.view, &chain)) {
        Some(declared) => by_element(finding, declared),
        None => finding,
    }
}

/// A finding against what an element may hold.
pub(super) fn by_element(finding: Finding, declared: &ElementDecl) -> Finding {
    let evidence = declared.learnt.as_ref().map(|learnt| match learnt.seen {
        1 => " Learnt from a single one.".to_owned(),
        seen => format!(" Learnt from {seen} of them{}.", in_files(learnt)),
    });
    go_easy(finding, declared.strict, evidence)
}

/// A finding against what an attribute or a text may say.
pub(super) fn by_value(finding: Finding, declared: &AttributeDecl) -> Finding {
    let evidence = declared.learnt.as_ref().map(|learnt| match learnt.seen {
        1 => " Learnt from a single place.".to_owned(),
        seen => format!(" Learnt from {seen} places{}.", in_files(learnt)),
    });
    go_easy(finding, declared.strict, evidence)
}

/// A finding about an attribute that is missing. `strict`: whether anybody takes it for granted.
pub(super) fn by_presence(finding: Finding, declared: &AttributeDecl, strict: bool) -> Finding {
    let evidence = declared.learnt.as_ref().map(|learnt| match learnt.of {
        0 => format!(" All {} in the library have it.", learnt.seen),
        of => format!(" {} of {of} in the library have it.", learnt.seen),
    });
    go_easy(finding, strict, evidence)
}

fn in_files(learnt: &Learnt) -> String {
    match learnt.files {
        0 => String::new(),
        1 => " in one file".to_owned(),
        files => format!(" in {files} files"),
    }
}

/// Against a declaration that nobody takes for granted, nothing is more than a hint.
fn go_easy(mut finding: Finding, strict: bool, evidence: Option<String>) -> Finding {
    if !strict {
        finding.severity = Severity::Hint;
        finding.message.extend(evidence);
    }
    finding
}
