//! Inputs that a machine does not use yet.

use super::site::Site;
use dialect::{AttributeDecl, ControlKind, ItemType};
use machine::UseTarget;

/// The inputs for one kind of control that nothing in the document uses: the
/// usual one first, then in the order of the dialect. `declared`: where the
/// input is written.
///
/// # Errors
/// When there is none, and why.
pub(crate) fn free(
    site: &Site<'_>,
    kind: ControlKind,
    declared: Option<&AttributeDecl>,
) -> Result<Vec<String>, String> {
    let all: Vec<&str> = match declared.map(|declared| &declared.value.item) {
        Some(ItemType::Word(list)) => list.texts().collect(),
        _ => site.dialect.inputs.of(kind).texts().collect(),
    };
    if all.is_empty() {
        return Err(format!("the dialect lists no {} inputs", kind.as_str()));
    }
    let mut free: Vec<String> = all
        .iter()
        .filter(|input| !is_used(site, input))
        .map(|input| (*input).to_owned())
        .collect();
    let usual = declared.and_then(|declared| declared.usual.as_ref());
    free.sort_by_key(|input| Some(input) != usual);
    match (free.is_empty(), all.as_slice()) {
        (false, _) => Ok(free),
        (true, [only]) => Err(format!(
            "the only {} input, `{only}`, is in use on this machine",
            kind.as_str()
        )),
        (true, _) => Err(format!(
            "all {} {} inputs are in use on this machine",
            all.len(),
            kind.as_str()
        )),
    }
}

pub(crate) fn is_used(site: &Site<'_>, input: &str) -> bool {
    let as_input = site
        .machine
        .uses
        .iter()
        .any(|used| matches!(&used.target, UseTarget::Input { word, .. } if **word == *input));
    let by_control = || {
        let inputs = site
            .machine
            .controls
            .iter()
            .filter_map(|control| control.input.as_ref());
        inputs.into_iter().any(|used| *used.value == *input)
    };
    as_input || by_control()
}

/// "an analog", "a digital".
pub(crate) fn with_article(kind: ControlKind) -> &'static str {
    match kind {
        ControlKind::Analog => "an analog",
        ControlKind::Digital => "a digital",
    }
}
