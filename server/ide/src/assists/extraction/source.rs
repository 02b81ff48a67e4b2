//! The animation that channels are taken out of, and how they belong to it: they stand in it, or name it.

use crate::assists::{parts::Parts, site::Site};
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

    /// The edits that make the channels belong to the animation of another name.
    pub(super) fn renamed(
        &self,
        site: &Site<'v>,
        name: Option<&str>,
    ) -> Result<Vec<TextEdit>, String> {
        let counted = "these channels call their animation by its number, which a new one has not";
        let channels = self.channels.iter();
        let edits = channels.map(|(role, chain)| {
            let path = role.animation.as_ref();
            let (path, name) = path.zip(name).ok_or_else(|| counted.to_owned())?;
            let found = site.reader.value(chain, path);
            let is_shared =
                |found: &machine::Found<'_>| found.items(site.dialect, None).count() > 1;
            let is_counted = |found: &machine::Found<'_>| {
                matches!(found.value_type().item, ItemType::PositionOf { .. })
            };
            if found.as_ref().is_some_and(is_counted) {
                return Err(counted.to_owned());
            }
            if found.as_ref().is_some_and(is_shared) {
                return Err("one of these channels belongs to other animations as well".to_owned());
            }
            site.set_value(chain, path, name)
                .map_err(|error| error.to_string())
        });
        edits.collect()
    }
}
