//! Making parts adjustable by the player: an animation of their own, and a
//! control that plays it.

use std::sync::Arc;

use super::{
    after::{after, landings, mapped},
    carried::drop_wheels,
    carry_wheels::{carried, left_behind, words},
    control::{Home, Wanted, new_control, put_into},
    convert::{Converted, convert},
    extraction::{Copied, Source, extract},
    motion_word::motion_word,
    naming::{NameStyle, common},
    parts::{Parts, moved_paths, wheels_on},
    proof::{Claim, ControlClaim, Proof, prove},
    site::Site,
};
use crate::{
    Trust,
    name_places::keep,
    writer::{Insertion, Names, NewElement, Parent},
};
use dialect::{ControlKind, Kind, Property};
use machine::Control;
use syntax::{TextEdit, TextRange};

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Request {
    pub(crate) parts: Parts,
    /// None: take the channels out, and make no control.
    pub(crate) control: Option<ControlKind>,
    /// What the new animation is called; proposed if not said.
    pub(crate) name: Option<String>,
    /// The input of the control; the first free one if not said.
    pub(crate) input: Option<String>,
}

/// A planned change that has not been proven yet.
#[derive(Debug)]
pub(crate) struct Plan {
    pub(crate) edits: Vec<TextEdit>,
    /// The name of the animation that moves the parts then.
    pub(crate) name: Option<String>,
    pub(crate) input: Option<String>,
    pub(crate) trust: Trust,
    /// Where something is left to fill in, in the text after.
    pub(crate) places: Vec<TextRange>,
    /// The wheels that the control carries, by position.
    pub(crate) wheels: Vec<usize>,
    new_animation: Option<(usize, f64)>,
    control: Option<PlannedControl>,
}

/// The control that a plan makes, or makes of another one.
#[derive(Debug)]
struct PlannedControl {
    kind: ControlKind,
    at: ControlAt,
}

#[derive(Debug)]
enum ControlAt {
    /// In what this edit writes.
    Edit(usize),
    /// In the place of this control of the document.
    Of(usize),
}

impl Plan {
    /// Tries the change on paper.
    pub(crate) fn prove(&self, site: &Site<'_>, parts: &Parts) -> Result<Proof, String> {
        let landed = landings(&self.edits);
        let at = |edit: usize| landed.get(edit).copied().unwrap_or_default();
        let control = self.control.as_ref().map(|control| {
            let (within, replaces) = match control.at {
                ControlAt::Edit(edit) => (at(edit), None),
                ControlAt::Of(index) => {
                    let element = site
                        .machine
                        .controls
                        .get(index)
                        .map(|control| control.element)
                        .unwrap_or_default();
                    (mapped(&self.edits, element), Some(index))
                }
            };
            ControlClaim {
                within,
                kind: control.kind,
                input: self.input.as_deref(),
                wheels: &self.wheels,
                replaces,
            }
        });
        prove(
            site,
            &self.edits,
            &Claim {
                parts,
                new_animation: self
                    .new_animation
                    .map(|(edit, earlier)| (at(edit), earlier)),
                control,
                places: &self.places,
            },
        )
    }
}

/// Plans a change and tries it on paper. What the library's habits do not fit is done without them.
///
/// # Errors
/// Why it cannot be done, and whether that came out when it was tried.
pub(crate) fn proven(site: &Site<'_>, request: &Request) -> Result<(Plan, Proof), Refusal> {
    let attempt = || {
        let plan = plan(site, request).map_err(Refusal::Planned)?;
        let proof = plan.prove(site, &request.parts).map_err(Refusal::Tried)?;
        Ok((plan, proof))
    };
    let first = attempt();
    match first {
        Err(_) if site.leave_library() => attempt(),
        first => first,
    }
}

/// Why a change cannot be done.
#[derive(Debug)]
pub(crate) enum Refusal {
    Planned(String),
    /// It would not do what it should.
    Tried(String),
}

/// Where the word for a motion would give a name that is taken.
const OTHER_WORD: &str = "adjust";

/// A name for the animation of some parts that nothing bears yet, unless there
/// are very many.
pub(crate) fn proposed_name(site: &Site<'_>, parts: &Parts, kind: &Kind, names: &Names) -> String {
    let style = NameStyle::of(site.machine, site.dialect, kind);
    let labels = parts.labels(site);
    let paths = parts.paths(site);
    let word = motion_word(site, parts);
    let shared = common(&labels.iter().map(String::as_str).collect::<Vec<_>>());
    let is_path = |name: &str| site.dialect.notation.index_path.looks_like(name);
    let base = if !shared.is_empty() && !is_path(shared) {
        shared.to_owned()
    } else {
        let above = shared_node(&paths).map(|path| site.node_label(path));
        above
            .or_else(|| labels.first().cloned())
            .filter(|name| !is_path(name))
            .unwrap_or_else(|| "part".to_owned())
    };
    // Names of the scene may be in another style; those of the document stay as they are.
    let is_own = site
        .machine
        .definitions
        .iter()
        .any(|definition| definition.name.value.contains(&base));
    let base = if is_own && keep(site.dialect, kind, &base) {
        base
    } else {
        style.join(super::naming::words(&base))
    };
    let mut proposed = [word, OTHER_WORD]
        .map(|word| style.with_word(&base, word))
        .into_iter();
    let first = proposed.next().unwrap_or_default();
    match names.is_free(kind, &first) {
        true => first,
        false => proposed
            .next()
            .filter(|other| names.is_free(kind, other))
            .unwrap_or(first),
    }
}

/// The node that all of some nodes hang on, or the first one's parent.
fn shared_node(paths: &[Arc<[u32]>]) -> Option<&[u32]> {
    let (first, others) = paths.split_first()?;
    let mut shared = first.len().saturating_sub(1);
    for path in others {
        shared = shared.min(
            first
                .iter()
                .zip(&**path)
                .take_while(|(a, b)| a == b)
                .count(),
        );
    }
    first.get(..shared).filter(|path| !path.is_empty())
}

/// The kind of control for some parts: an axis for what can stand half way, a
/// button for what can only be there or not.
pub(crate) fn usual_kind(site: &Site<'_>, parts: &Parts) -> ControlKind {
    let channels = parts.channels_of(site);
    let mut motions = channels.iter().flat_map(|channel| &channel.motions);
    let only_shows = motions.all(|motion| motion.property == Some(Property::Visibility));
    let has = |kind| super::control::role_for(site, kind, false).is_some();
    match only_shows {
        true if has(ControlKind::Digital) => ControlKind::Digital,
        false if !has(ControlKind::Analog) && has(ControlKind::Digital) => ControlKind::Digital,
        _ => ControlKind::Analog,
    }
}

/// Plans a change.
///
/// # Errors
/// Why it cannot be done.
pub(crate) fn plan(site: &Site<'_>, request: &Request) -> Result<Plan, String> {
    let parts = &request.parts;
    let animation = parts
        .animation_of(site)
        .ok_or("there is no such animation")?;
    is_well_formed(site, animation.element)?;
    let source = Source::of(site, parts)?;
    let players = site.players(parts.animation);
    let are_all = parts.are_all(site);
    if are_all && let Some(plan) = without_taking_out(site, request, &players)? {
        return Ok(plan);
    }
    let mut names = site.names(&source.role.kind);
    let mut change = Changing::default();
    let (name, position) = if are_all {
        let name = animation.name.as_ref();
        (name.map(|name| name.value.to_string()), parts.animation)
    } else {
        let wanted = wanted_name(site, request, &source.role.kind, &names)?;
        let copied = match request.control {
            Some(_) => Copied::Needed,
            None => Copied::All,
        };
        let taken = extract(site, parts, &source, &wanted, copied, &mut names)?;
        change.edits.extend(taken.edits);
        let position = position_of(site, &taken.parent);
        change.animation = Some((taken.element, taken.parent, taken.earlier));
        (taken.name, position)
    };
    let wheels = wheels_on(site, &moved_paths(site, &parts.channels_of(site)));
    let mut input = None;
    if let Some(kind) = request.control {
        let mut sounding = players.iter().filter(|player| !player.sounds.is_empty());
        let labels = parts.labels(site);
        let wanted = Wanted {
            kind,
            animation: name.as_deref(),
            position,
            input: request.input.as_deref(),
            wheels: &wheels,
            like: sounding.next().copied(),
            moved: &parts.paths(site),
            label: labels.first().map_or("", String::as_str),
        };
        let played = change.animation.as_ref().map(|(element, ..)| element);
        let new = new_control(site, &source, played, &wanted, &mut names)?;
        input = new.input.clone();
        change.add_control(site, new.element, new.home)?;
        change.alias = new.alias;
        if !are_all {
            change.edits.extend(freed(site, parts, &players, &wheels)?);
        }
    }
    let done = change.finish(site, &mut names)?;
    let control = request.control.zip(done.control);
    Ok(Plan {
        trust: match done.places.is_empty() {
            true => Trust::Review,
            false => Trust::Draft,
        },
        edits: done.edits,
        places: done.places,
        name,
        input,
        wheels,
        new_animation: done.animation,
        control: control.map(|(kind, edit)| PlannedControl {
            kind,
            at: ControlAt::Edit(edit),
        }),
    })
}

/// # Errors
/// The first mistake in the animation.
fn is_well_formed(site: &Site<'_>, animation: TextRange) -> Result<(), String> {
    let mut mistakes = site.view.tree().errors().iter();
    match mistakes.find(|mistake| mistake.range.intersect(animation).is_some()) {
        Some(mistake) => Err(format!(
            "the animation has a mistake in line {}, which has to be mended first",
            site.line(mistake.range.start())
        )),
        None => Ok(()),
    }
}

/// What the new animation is to be called.
///
/// # Errors
/// It may not be called what was asked for.
fn wanted_name(
    site: &Site<'_>,
    request: &Request,
    kind: &Kind,
    names: &Names,
) -> Result<String, String> {
    let Some(name) = &request.name else {
        return Ok(proposed_name(site, &request.parts, kind, names));
    };
    if name.trim() != name || name.is_empty() || name.contains(char::is_control) {
        return Err(format!("`{name}` cannot be a name"));
    }
    if !keep(site.dialect, kind, name) {
        return Err(format!(
            "`{name}` would be taken for something else where it is used, because of a mark or blank in it"
        ));
    }
    match names.is_free(kind, name) {
        true => Ok(name.clone()),
        false => Err(format!("there is already something called `{name}`")),
    }
}

/// Where the parts are all that an animation moves: the plan, if it takes no more than another kind of control. None: it
/// takes a control.
///
/// # Errors
/// There is nothing to be done.
fn without_taking_out(
    site: &Site<'_>,
    request: &Request,
    players: &[&Control],
) -> Result<Option<Plan>, String> {
    if request.name.is_some() {
        return Err("the animation has no other channels and keeps its name".to_owned());
    }
    let Some(kind) = request.control else {
        return Err(
            "the animation has no other channels: it is one of their own already".to_owned(),
        );
    };
    match players {
        [] => Ok(None),
        [player] if player.kind != Some(kind) => change_kind(site, player, kind, request).map(Some),
        _ => Err(already_played(site, kind, players)),
    }
}

fn already_played(site: &Site<'_>, kind: ControlKind, players: &[&Control]) -> String {
    let of_kind = players.iter().find(|control| control.kind == Some(kind));
    match of_kind.or(players.first()) {
        Some(control) if of_kind.is_some() => format!(
            "it is adjustable already, by {}",
            control_label(site, control)
        ),
        Some(control) => format!(
            "{} controls play it already, the first being {}",
            players.len(),
            control_label(site, control)
        ),
        None => "it is played already".to_owned(),
    }
}

/// `the <lever> on `stick.1.y` in line 49`
pub(crate) fn control_label(site: &Site<'_>, control: &Control) -> String {
    let name = site
        .view
        .tree()
        .elements_at(control.element.start())
        .pop()
        .map_or("control", |element| element.name());
    let input = control
        .input
        .as_ref()
        .map_or_else(String::new, |input| format!(" on `{}`", input.value));
    format!(
        "the <{name}>{input} in line {}",
        site.line(control.element.start())
    )
}

/// The only control of an animation becomes one of another kind.
fn change_kind(
    site: &Site<'_>,
    control: &Control,
    kind: ControlKind,
    request: &Request,
) -> Result<Plan, String> {
    let index = site
        .machine
        .controls
        .iter()
        .position(|known| known.element == control.element);
    let mut wheels = carried(site, control);
    let input = request.input.as_deref();
    let left = left_behind(site, control);
    let with_wheels = left.zip(index).and_then(|(left, index)| {
        let changed = carrying(site, control, index, kind, input, &left)?;
        wheels.extend(left);
        Some(changed)
    });
    let changed = match with_wheels {
        Some(changed) => changed,
        None => convert(site, control, kind, input)?,
    };
    wheels.sort_unstable();
    Ok(Plan {
        edits: changed.edits,
        name: control
            .animation
            .as_ref()
            .map(|name| name.value.to_string()),
        input: Some(changed.input),
        trust: Trust::Review,
        places: Vec::new(),
        wheels,
        new_animation: None,
        control: index.map(|index| PlannedControl {
            kind,
            at: ControlAt::Of(index),
        }),
    })
}

/// The same, and it carries the wheels that it left behind; `None` if it cannot. How words on wheels are written depends on
/// the control as it is, and how the control is changed on what stands in it, so one is done after the other.
fn carrying(
    site: &Site<'_>,
    control: &Control,
    index: usize,
    kind: ControlKind,
    input: Option<&str>,
    left: &[usize],
) -> Option<Converted> {
    let view = after(site.view, &[words(site, control, left).ok()?]).ok()?;
    let carrying = Site::of(&view)?;
    let there = carrying.machine.controls.get(index)?;
    let changed = convert(&carrying, there, kind, input).ok()?;
    let text = syntax::apply(carrying.text(), &changed.edits).ok()?;
    let range = control.element;
    let (before, behind) = (
        site.slice(TextRange::up_to(range.start())),
        site.text().get(usize::from(range.end())..)?,
    );
    // Nothing but the control itself may differ.
    let own = text.strip_prefix(before)?.strip_suffix(behind)?;
    Some(Converted {
        edits: vec![TextEdit::replace(range, own.to_owned())],
        input: changed.input,
    })
}

/// Which of the document's animations one behind this place is.
fn position_of(site: &Site<'_>, parent: &Parent<'_>) -> usize {
    let end = parent
        .sibling()
        .map_or(syntax::TextSize::new(u32::MAX), |sibling| {
            sibling.range().end()
        });
    site.machine
        .animations
        .iter()
        .filter(|animation| animation.element.end() <= end)
        .count()
}

/// Takes words on wheels out of the controls of the old animation: those on
/// wheels that do not move with it any more.
fn freed(
    site: &Site<'_>,
    parts: &Parts,
    players: &[&Control],
    wheels: &[usize],
) -> Result<Vec<TextEdit>, String> {
    let staying = wheels_on(site, &moved_paths(site, &parts.others_of(site)));
    let freed: Vec<usize> = wheels
        .iter()
        .filter(|wheel| !staying.contains(wheel))
        .copied()
        .collect();
    let mut edits = Vec::new();
    for player in players {
        edits.extend(drop_wheels(site, player, &freed)?);
    }
    Ok(edits)
}

/// A change as it comes together.
#[derive(Debug, Default)]
struct Changing<'v> {
    edits: Vec<TextEdit>,
    animation: Option<(NewElement, Parent<'v>, f64)>,
    control: Option<(NewElement, Parent<'v>)>,
    control_is_inside: bool,
    /// The control holds the new animation, which is earlier by these seconds.
    animation_inside: Option<f64>,
    alias: Option<Insertion>,
}

struct Changed {
    edits: Vec<TextEdit>,
    places: Vec<TextRange>,
    /// Which edit writes the animation, and by how many seconds it is earlier.
    animation: Option<(usize, f64)>,
    control: Option<usize>,
}

impl<'v> Changing<'v> {
    fn add_control(
        &mut self,
        site: &Site<'v>,
        element: NewElement,
        home: Home<'v>,
    ) -> Result<(), String> {
        match (home, &mut self.animation) {
            (Home::Document(parent), _) => self.control = Some((element, parent)),
            (Home::NewAnimation(steps), Some((animation, ..))) => {
                put_into(site, animation, steps, element)?;
                self.control_is_inside = true;
            }
            (Home::AroundAnimation(parent), Some((.., earlier))) => {
                self.animation_inside = Some(*earlier);
                self.animation = None;
                self.control = Some((element, parent));
            }
            (Home::NewAnimation(_) | Home::AroundAnimation(_), None) => {
                return Err("there is no new animation to put together with the control".to_owned());
            }
        }
        Ok(())
    }

    fn finish(self, site: &Site<'v>, names: &mut Names) -> Result<Changed, String> {
        let mut done = Changed {
            edits: self.edits,
            places: Vec::new(),
            animation: None,
            control: None,
        };
        let mut guesses: Vec<(usize, Vec<std::ops::Range<usize>>)> = Vec::new();
        let mut write = |done: &mut Changed, insertion: Insertion| {
            guesses.push((done.edits.len(), insertion.places));
            done.edits.push(insertion.edit);
            done.edits.len() - 1
        };
        let mut print = |element: NewElement, parent: &Parent<'_>| {
            site.insertion(parent, vec![element], names)
                .map_err(|error| error.to_string())
        };
        if let Some(alias) = self.alias {
            write(&mut done, alias);
        }
        if let Some((element, parent, earlier)) = self.animation {
            let insertion = print(element, &parent)?;
            done.animation = Some((write(&mut done, insertion), earlier));
        }
        if let Some((element, parent)) = self.control {
            let insertion = print(element, &parent)?;
            let edit = write(&mut done, insertion);
            done.control = Some(edit);
            if let Some(earlier) = self.animation_inside {
                done.animation = Some((edit, earlier));
            }
        } else if self.control_is_inside {
            done.control = done.animation.map(|(edit, _)| edit);
        }
        let landed = landings(&done.edits);
        for (edit, places) in guesses {
            let start = landed
                .get(edit)
                .map_or(syntax::TextSize::new(0), |range| range.start());
            done.places.extend(places.into_iter().filter_map(|place| {
                let inner = TextRange::new(
                    u32::try_from(place.start).ok()?.into(),
                    u32::try_from(place.end).ok()?.into(),
                );
                Some(inner + start)
            }));
        }
        Ok(done)
    }
}
