//! Is it well-formed XML? The parser knows; here its errors become findings.

use foldhash::HashSet;

use project::View;
use syntax::{FormCode, FormError, TextEdit, TextSize};

use super::site::Site;
use crate::{Finding, Fix, Severity, Trust, codes};

/// So many end tags are asked whether they are right and their start tags wrong.
const MOST_ASKED: usize = 500;

pub(super) fn check(view: &View) -> Vec<Finding> {
    let errors = view.tree().errors();
    let mut found: Vec<Finding> = errors.iter().map(finding).collect();
    let all = found.iter_mut().zip(errors);
    let unclosed = all.filter(|(_, error)| error.code == FormCode::UnclosedTag);
    for (found, error) in unclosed.take(MOST_ASKED) {
        if has_own_end(view, error) {
            found.fixes.iter_mut().for_each(leave_open);
        }
    }
    if let Some(site) = Site::of(view) {
        let all = found.iter_mut().zip(errors);
        let mismatched = all.filter(|(_, error)| error.code == FormCode::MismatchedEndTag);
        for (found, error) in mismatched.take(MOST_ASKED) {
            if let Some(start) = wrong_start(&site, error) {
                *found = start;
            }
        }
    }
    let unbound = errors.iter().filter(is(FormCode::UnboundPrefix));
    let unbound: HashSet<TextSize> = unbound.map(|error| error.range.end()).collect();
    if !unbound.is_empty() {
        let follows =
            |error| is(FormCode::MismatchedEndTag)(&error) && is_bare(view, error, &unbound);
        let mut follow = errors.iter().map(follows);
        found.retain(|_| !follow.next().unwrap_or_default());
    }
    found
}

fn is(code: FormCode) -> impl Fn(&&FormError) -> bool {
    move |error| error.code == code
}

/// Whether an end tag has the name of its start tag but for a prefix that nobody declares. `unbound`: the ends of the
/// names with such prefixes.
fn is_bare(view: &View, error: &FormError, unbound: &HashSet<TextSize>) -> bool {
    let element = view.tree().elements_at(error.range.start()).pop();
    element.is_some_and(|element| {
        let end = element.end_tag();
        unbound.contains(&element.name_range().end())
            && end.is_some_and(|end| end.name() == element.local_name())
    })
}

/// Whether an element whose start tag is not closed has an end tag all the same.
fn has_own_end(view: &View, error: &FormError) -> bool {
    let element = view.tree().elements_at(error.range.start()).pop();
    element.is_some_and(|element| {
        let end = element.end_tag();
        end.is_some_and(|end| end.name() == element.name())
    })
}

/// Has a tag end with `>` instead of `/>`.
fn leave_open(fix: &mut Fix) {
    for edit in fix.edits.iter_mut().filter(|edit| edit.insert == "/>") {
        edit.insert = ">".to_owned();
        fix.title = "Close it with `>`".to_owned();
    }
}

/// A start tag that is wrong where its end tag is right: what that says may stand there, and what the start tag says may not.
fn wrong_start(site: &Site<'_>, error: &FormError) -> Option<Finding> {
    let elements = site.tree().elements_at(error.range.start());
    let [around @ .., element] = &elements[..] else {
        return None;
    };
    let end = site.text(error.range);
    let meant = end.trim_start_matches("</").trim_end_matches('>').trim();
    let name = element.name();
    let local = meant.rsplit(':').next().unwrap_or(meant);
    let code = &codes::MISMATCHED_END_TAG;
    let message = match around.last() {
        None => {
            let root = &site.meaning.kind.root;
            (local == root && element.local_name() != root).then(|| {
                format!("A document of this kind starts with `<{meant}>`, as the end tag says, not with `<{name}>`.")
            })
        }
        Some(holder) => {
            let document = site.dialect.document_context(&site.meaning.kind);
            let context = around.iter().fold(document, |context, element| {
                site.dialect.element_context(context, element)
            });
            let declared = site.dialect.element(context).filter(|known| !known.open)?;
            let is_wrong =
                declared.child(local).is_some() && declared.child(element.local_name()).is_none();
            let holder = holder.name();
            is_wrong.then(|| {
                format!("`<{name}>` may not stand in `<{holder}>`, but `<{meant}>` may, and so says its end tag. Write `<{meant}>`.")
            })
        }
    };
    let found = code.at(element.name_range(), message?);
    Some(found.see(error.range, "its end tag").fix(Fix {
        title: format!("Write `<{meant}>`"),
        trust: Trust::Review,
        edits: vec![TextEdit::replace(element.name_range(), meant)],
    }))
}

fn finding(error: &FormError) -> Finding {
    let code = error.code.as_str();
    let severity = codes::find(code).map_or(Severity::Error, |code| code.severity);
    let mut finding = Finding::new(code, severity, error.range, sentence(&error.message));
    if let Some((range, message)) = &error.related {
        finding = finding.see(*range, &**message);
    }
    if let Some(fix) = &error.fix {
        finding = finding.fix(Fix {
            title: fix.title.clone(),
            // What was meant is a guess wherever text is taken away or put in.
            trust: Trust::Review,
            edits: fix.edits.clone(),
        });
    }
    finding
}

/// The parser leaves the last full stop out.
fn sentence(message: &str) -> String {
    let stop = if message.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    format!("{message}{stop}")
}
