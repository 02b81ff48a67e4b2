//! The animation that channels are taken out of, and how they belong to it: they stand in it, or name it.

use crate::assists::{parts::Parts, site::Site};
use crate::writer::Lines;
use dialect::{AnimationRole, ChannelRole, ItemType};
use foldhash::HashMap;
use machine::Chain;
use syntax::{Element, TextEdit, TextRange};

/// The animation that channels belong to.
#[derive(Debug)]
pub(crate) struct Source<'v> {
    pub(crate) role: &'v AnimationRole,
    pub(crate) chain: Chain<'v>,
    pub(crate) element: Element<'v>,
    pub(super) channels: Vec<(&'v ChannelRole, Chain<'v>)>,
}

impl<'v> Source<'v> {
    pub(crate) fn of(site: &Site<'v>, parts: &Parts) -> Result<Self, String> {
        let lost = || "these channels cannot be found again in the document".to_owned();
        let animation = parts.animation_of(site).ok_or_else(lost)?;
        let roles = &site.dialect.roles;
        let (role, chain) = roles
            .animations
            .iter()
            .find_map(|role| Some((role, site.locate(&[], &role.at, animation.element)?)))
            .ok_or_else(lost)?;
        // There may be thousands of them: all that play the roles are looked up once.
        let playing = roles.channels.iter().map(|role| {
            let from = match role.animation {
                Some(_) => &[],
                None => &chain[..],
            };
            let found = site.reader.elements(from, &role.at).into_iter();
            let by_place = found.filter_map(|chain| Some((chain.last()?.element.range(), chain)));
            (role, by_place.collect())
        });
        let playing: Vec<(&ChannelRole, HashMap<TextRange, Chain<'v>>)> = playing.collect();
        let channels = parts
            .channels_of(site)
            .iter()
            .map(|channel| {
                let found = playing.iter().find_map(|(role, known)| {
                    let chain = known.get(&channel.element)?;
                    Some((*role, chain.clone()))
                });
                found.ok_or_else(lost)
            })
            .collect::<Result<Vec<_>, String>>()?;
        let element = chain.last().ok_or_else(lost)?.element;
        Ok(Self {
            role,
            chain,
            element,
            channels,
        })
    }

    /// Whether the channels stand elsewhere and name the animation.
    pub(super) fn is_beside(&self) -> Result<bool, String> {
        let beside = self.channels.iter();
        let beside = beside.filter(|(role, _)| role.animation.is_some()).count();
        match beside {
            0 => Ok(false),
            all if all == self.channels.len() => Ok(true),
            _ => Err(
                "some of these channels stand in their animation and others beside it".to_owned(),
            ),
        }
    }

    /// The edits that make the channels belong to the animation of another name, `moved` those that move their times. A
    /// channel that belongs to other animations as well stays theirs: this one gets a copy, if its times are moved.
    pub(super) fn renamed(
        &self,
        site: &Site<'v>,
        old: Option<&str>,
        name: Option<&str>,
        moved: &[TextEdit],
    ) -> Result<Vec<TextEdit>, String> {
        let counted = "these channels call their animation by its number, which a new one has not";
        let mut edits = Vec::new();
        for (role, chain) in &self.channels {
            let path = role.animation.as_ref();
            let (path, name) = path.zip(name).ok_or_else(|| counted.to_owned())?;
            let found = site.reader.value(chain, path);
            let value_type = found.as_ref().map(machine::Found::value_type);
            if value_type.is_some_and(|it| matches!(it.item, ItemType::PositionOf { .. })) {
                return Err(counted.to_owned());
            }
            let set = |value: &str| {
                let edit = site.set_value(chain, path, value);
                edit.map_err(|error| error.to_string())
            };
            let element = chain.last().map(|at| at.element.range());
            let element = element.unwrap_or_default();
            let inside = moved.iter();
            let inside = inside.filter(|edit| element.contains_range(edit.range));
            let mut own: Vec<TextEdit> = inside.cloned().collect();
            let (Some(value_type), Some(found), Some(old)) = (value_type, &found, old) else {
                return Err("these channels do not say what they belong to".to_owned());
            };
            // Each member as it is, and what it becomes if it calls the old animation.
            let members = value_type.members(&found.text);
            let members = members.map(|member| &found.text[member]);
            let members: Vec<(&str, Option<String>)> = members
                .map(|member| (member, value_type.redirected(member, old, name)))
                .collect();
            let mark = value_type
                .list
                .as_ref()
                .map(|list| list.separator.written());
            let mark = mark.unwrap_or_default();
            if own.is_empty() || members.len() == 1 {
                let renamed = members.into_iter();
                let renamed = renamed.map(|(member, new)| new.unwrap_or_else(|| member.to_owned()));
                own.push(set(&renamed.collect::<Vec<_>>().join(mark))?);
                edits.extend(own);
                continue;
            }
            let new: Vec<&str> = members
                .iter()
                .filter_map(|(_, new)| new.as_deref())
                .collect();
            own.push(set(&new.join(mark))?);
            let others = members.iter().filter(|(_, new)| new.is_none());
            let others: Vec<&str> = others.map(|(member, _)| *member).collect();
            edits.push(set(&others.join(mark))?);
            edits.push(copied(site, element, &own)?);
        }
        Ok(edits)
    }
}

/// A copy of an element, with these edits, behind it.
fn copied(site: &Site<'_>, element: TextRange, edits: &[TextEdit]) -> Result<TextEdit, String> {
    let moved = |edit: &TextEdit| TextEdit::replace(edit.range - element.start(), &*edit.insert);
    let edits: Vec<TextEdit> = edits.iter().map(moved).collect();
    let copy = syntax::apply(site.slice(element), &edits).map_err(|error| error.to_string())?;
    let line = match Lines::new(site.text()).indent(element.start()) {
        Some(indent) => format!("{}{indent}", site.style.newline),
        None => String::new(),
    };
    Ok(TextEdit::insert(element.end(), line + &copy))
}
