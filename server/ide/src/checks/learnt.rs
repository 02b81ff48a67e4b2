//! What is found against declarations that were only learnt from files: hints, with their evidence.

use dialect::{AttributeDecl, ElementDecl, Learnt};

use crate::{Finding, Severity};

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
