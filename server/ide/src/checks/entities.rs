//! Values in which the document's own entities are named: what these stand for is not worked out, so nobody can say
//! whether such a value is right. (One that is not declared is a mistake of form.) But names that are given or used in
//! such values are known to others.

use foldhash::HashSet;
use machine::UseTarget;
use syntax::{Item, TextRange, escape};

use super::site::Site;
use crate::Finding;
use crate::codes;

/// So many are looked up one by one. Of more it is seen first whether any entity is named.
const FEW: usize = 50;

/// Documents are not read again for what their entities stand for if they are longer. Bytes.
const LONGEST: usize = 1 << 20;

/// The findings without those about such values, or about what only such values show.
pub(super) fn without(site: &Site<'_>, mut findings: Vec<Finding>) -> Vec<Finding> {
    let of_names = [
        &codes::UNKNOWN_NAME,
        &codes::UNUSED_ALIAS,
        &codes::UNREACHABLE_ANIMATION,
    ];
    let is_of_name = |finding: &Finding| of_names.iter().any(|code| code.name == finding.code);
    if findings.iter().any(is_of_name)
        && let Some(names) = names(site)
    {
        let is_shown =
            |finding: &Finding| is_of_name(finding) && names.contains(&*site.text(finding.range));
        findings.retain(|finding| !is_shown(finding));
    }
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
        &codes::UNUSED_ALIAS,
        &codes::UNREACHABLE_ANIMATION,
    ];
    let is_judged = |finding: &Finding| judged.iter().any(|code| code.name == finding.code);
    let may_be = || findings.len() <= FEW || site.view.text().contains('&');
    if findings.iter().any(is_judged) && may_be() {
        findings.retain(|finding| !(is_judged(finding) && is_unknown(site, finding.range)));
    }
    findings
}

/// The names that are given or used in values with entities in them. None: there are no entities.
fn names(site: &Site<'_>) -> Option<HashSet<String>> {
    let expanded = site
        .tree()
        .expanded()
        .filter(|text| text.len() <= LONGEST)?;
    let read = |tree: &syntax::Tree| machine::read(tree, site.dialect, &site.meaning.kind);
    let (written, meant) = (site.meaning.machine(), read(&syntax::parse(&expanded)));
    let given = |machine: &machine::Machine| -> Vec<String> {
        let given = machine.definitions.iter();
        given.map(|given| given.name.value.to_string()).collect()
    };
    let used = |machine: &machine::Machine| -> Vec<String> {
        let used = machine.uses.iter().filter_map(|used| match &used.target {
            UseTarget::Name { name, .. } => Some(name.to_string()),
            _ => None,
        });
        used.collect()
    };
    let mut names: HashSet<String> = given(&meant).into_iter().collect();
    for name in given(written) {
        names.remove(&name);
    }
    let known: HashSet<String> = used(written).into_iter().collect();
    let more = used(&meant).into_iter();
    names.extend(more.filter(|name| !known.contains(name)));
    Some(names)
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
