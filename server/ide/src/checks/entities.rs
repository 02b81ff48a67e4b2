//! Values in which the document's own entities are named: what these stand for is not worked out, so nobody can say
//! whether such a value is right. (One that is not declared is a mistake of form.)

use syntax::{Item, TextRange, escape};

use super::site::Site;
use crate::Finding;
use crate::codes;

/// So many are looked up one by one. Of more it is seen first whether any entity is named.
const FEW: usize = 50;

/// The findings without those about such values.
pub(super) fn without(site: &Site<'_>, mut findings: Vec<Finding>) -> Vec<Finding> {
    let judged = [
        &codes::WRONG_TYPE,
        &codes::OUT_OF_RANGE,
        &codes::UNKNOWN_WORD,
        &codes::UNKNOWN_NAME,
        &codes::PATH_NOT_IN_SCENE,
        &codes::STALE_PATH,
        &codes::FILE_MISSING,
        &codes::FILE_CASE,
        &codes::WRONG_INPUT_KIND,
    ];
    let is_judged = |finding: &Finding| judged.iter().any(|code| code.name == finding.code);
    let may_be = || findings.len() <= FEW || site.view.text().contains('&');
    if findings.iter().any(is_judged) && may_be() {
        findings.retain(|finding| !(is_judged(finding) && is_unknown(site, finding.range)));
    }
    findings
}

/// Whether this is, or is part of, a value or text that names an entity.
fn is_unknown(site: &Site<'_>, range: TextRange) -> bool {
    let around = site.tree().elements_at(range.start());
    let Some(element) = around.last() else {
        return false;
    };
    if element.start_tag_range().contains_range(range) {
        let holds = |value: TextRange| value.contains_range(range);
        let mut attributes = element.attributes();
        let attribute = attributes.find(|attribute| attribute.value_range().is_some_and(holds));
        return attribute.is_some_and(|attribute| escape::names_entity(attribute.raw_value()));
    }
    let is_named = |item: Item<'_>| {
        matches!(item, Item::Reference(_)) && escape::names_entity(&site.text(item.range()))
    };
    element.items().any(is_named)
}
