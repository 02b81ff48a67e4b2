//! Makes a control of one kind into one of another where it stands: its
//! element's name or the word for its kind, and its input. What stands in it
//! stays.

use super::{control::role_for, inputs, site::Site};
use crate::writer::{declaration, new_attribute};
use dialect::{ControlKind, ControlRole, Path, Predicate, Rule, StepKind};
use machine::{Chain, Control};
use syntax::{Element, TextEdit};

/// A control changed in its place.
#[derive(Debug)]
pub(crate) struct Converted {
    pub(crate) edits: Vec<TextEdit>,
    pub(crate) input: String,
}

/// Plans the change.
///
/// # Errors
/// Why the control cannot be changed.
pub(crate) fn convert(
    site: &Site<'_>,
    control: &Control,
    kind: ControlKind,
    input: Option<&str>,
) -> Result<Converted, String> {
    let lost = || "its control cannot be found again".to_owned();
    let old = site
        .dialect
        .roles
        .controls
        .get(control.role)
        .ok_or_else(lost)?;
    let chain = site
        .locate(&[], &old.at, control.element)
        .ok_or_else(lost)?;
    let element = chain.last().ok_or_else(lost)?.element;
    let mut edits = Vec::new();
    let new = match &old.kind {
        Rule::Read(rule) => {
            let word = rule
                .word(kind)
                .ok_or_else(|| format!("the dialect has no {} controls", kind.as_str()))?;
            edits.push(set(site, &chain, &rule.at, word)?);
            old
        }
        Rule::Fixed(_) => {
            let (_, new) = role_for(site, kind, !control.wheels.is_empty())
                .ok_or_else(|| format!("the dialect has no {} controls", kind.as_str()))?;
            let name = other_name(old, new).ok_or_else(|| {
                format!("<{}> already plays it, and what the dialect has for {} control is written differently", element.name(), inputs::with_article(kind))
            })?;
            fits_as(site, &chain, name)?;
            edits.extend(renamed(element, name));
            edits.extend(wanted_attributes(site, &chain, new, name));
            new
        }
    };
    let mut contexts: Vec<_> = chain.iter().map(|at| at.context).collect();
    if let (Some(own), Some((name, conditions))) = (contexts.pop(), last_name(&new.at)) {
        contexts.push(contexts.last().map_or(own, |above| {
            site.dialect.context_where(*above, name, conditions)
        }));
    }
    let declared = declaration(site.dialect, &contexts, &new.input);
    let input = match input {
        Some(asked) => {
            if inputs::is_used(site, asked) {
                return Err(format!("the input `{asked}` is in use on this machine"));
            }
            asked.to_owned()
        }
        None => inputs::free(site, kind, declared)?
            .into_iter()
            .next()
            .unwrap_or_default(),
    };
    edits.push(set(site, &chain, &new.input, &input)?);
    Ok(Converted { edits, input })
}

fn set(site: &Site<'_>, chain: &Chain<'_>, path: &Path, value: &str) -> Result<TextEdit, String> {
    site.set_value(chain, path, value)
        .map_err(|error| error.to_string())
}

/// The name by which elements of the new role differ from those of the old, if
/// that is all the difference there is.
fn other_name<'r>(old: &ControlRole, new: &'r ControlRole) -> Option<&'r str> {
    let (_, above_old) = old.at.steps().split_last()?;
    let (last, above_new) = new.at.steps().split_last()?;
    let same = |old: &Option<Path>, new: &Option<Path>| old.is_none() || old == new;
    let alike = above_old == above_new
        && last.predicates.is_empty()
        && old.animation == new.animation
        && old.input == new.input
        && same(&old.rate, &new.rate)
        && same(&old.node, &new.node)
        && same(&old.wheels, &new.wheels)
        && same(&old.sounds, &new.sounds)
        && same(&old.text, &new.text);
    match &last.kind {
        StepKind::Child(Some(name)) if alike => Some(name),
        _ => None,
    }
}

fn last_name(at: &Path) -> Option<(&str, &[Predicate])> {
    at.steps().iter().rev().find_map(|step| match &step.kind {
        StepKind::Child(name) | StepKind::Descendant(name) => {
            Some((name.as_deref()?, step.predicates.as_slice()))
        }
        _ => None,
    })
}

/// Refuses where the element holds what the new one may not.
fn fits_as(site: &Site<'_>, chain: &Chain<'_>, name: &str) -> Result<(), String> {
    let [.., above, own] = chain.as_slice() else {
        return Ok(());
    };
    let Some(declared) = site
        .dialect
        .element(site.dialect.child_context(above.context, name))
    else {
        return Ok(());
    };
    let known = |attribute: &str| declared.open || declared.attribute(attribute).is_some();
    let is_note = |attribute: &syntax::Attribute<'_>| {
        attribute.prefix().is_some() || attribute.name() == "xmlns"
    };
    if let Some(attribute) = own
        .element
        .attributes()
        .find(|attribute| !is_note(attribute) && !known(attribute.name()))
    {
        return Err(format!(
            "<{}> has the attribute `{}`, which <{name}> has not",
            own.element.name(),
            attribute.name()
        ));
    }
    let child = own
        .element
        .children()
        .find(|child| !declared.open && declared.child(child.local_name()).is_none());
    match child {
        Some(child) => Err(format!(
            "<{}> holds <{}>, which <{name}> may not",
            own.element.name(),
            child.name()
        )),
        None => Ok(()),
    }
}

fn renamed(element: Element<'_>, name: &str) -> Vec<TextEdit> {
    let written = match element.prefix() {
        Some(prefix) => format!("{prefix}:{name}"),
        None => name.to_owned(),
    };
    let end = element.end_tag().map(|tag| tag.name_range());
    [Some(element.name_range()), end]
        .into_iter()
        .flatten()
        .map(|range| TextEdit::replace(range, written.clone()))
        .collect()
}

/// Attributes that the new element wants and the old one lacks: what it must
/// have, and how strongly it follows.
fn wanted_attributes(
    site: &Site<'_>,
    chain: &Chain<'_>,
    new: &ControlRole,
    name: &str,
) -> Vec<TextEdit> {
    let [.., above, own] = chain.as_slice() else {
        return Vec::new();
    };
    let Some(declared) = site
        .dialect
        .element(site.dialect.child_context(above.context, name))
    else {
        return Vec::new();
    };
    let is_habit = |attribute: &str| {
        let paths = [&new.gain, &new.rate].into_iter().flatten();
        let own_attribute = |path: &&Path| {
            path.steps().is_empty()
                && *path.leaf() == dialect::Leaf::Attribute(attribute.to_owned())
        };
        paths.into_iter().any(|path| own_attribute(&path))
    };
    let usual = |attribute: &str| {
        let by_role = new.usual.iter().find(|(path, _)| {
            path.steps().is_empty()
                && *path.leaf() == dialect::Leaf::Attribute(attribute.to_owned())
        });
        by_role.map(|(_, value)| value.clone())
    };
    let missing = declared
        .attributes
        .iter()
        .filter(|attribute| own.element.attribute(&attribute.name).is_none());
    missing
        .filter_map(|attribute| {
            let value = usual(&attribute.name).or_else(|| {
                let wanted = attribute.required || is_habit(&attribute.name);
                let known = attribute
                    .usual
                    .clone()
                    .or_else(|| attribute.default.clone());
                known.filter(|_| wanted)
            })?;
            Some(new_attribute(
                site.text(),
                &own.element,
                &attribute.name,
                &value,
                &site.style,
                Some(declared),
            ))
        })
        .collect()
}
