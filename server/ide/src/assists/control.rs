//! Writing a control for an animation.

mod usual;

use super::{
    carried::wheel_words, extraction::Source, habits::Habits, inputs, new_alias, site::Site,
};
use crate::node_paths::node_text;
use crate::writer::{
    Insertion, Names, NewElement, NewItem, Parent, Unwritable, declaration, parent_for,
};
use dialect::{
    AttributeDecl, Context, ControlKind, ControlRole, ItemType, Path, Rule, Step, StepKind,
};
use machine::Control;
use std::{cmp::Reverse, rc::Rc, sync::Arc};
use syntax::TextRange;

/// What a control is to do.
#[derive(Debug)]
pub(crate) struct Wanted<'w> {
    pub(crate) kind: ControlKind,
    /// What the animation is called; None where animations have no names.
    pub(crate) animation: Option<&'w str>,
    /// Which of the document's animations it will be.
    pub(crate) position: usize,
    /// The first free one if none is asked for.
    pub(crate) input: Option<&'w str>,
    /// The wheels that move along.
    pub(crate) wheels: &'w [usize],
    /// A control whose sounds it plays, too.
    pub(crate) like: Option<&'w Control>,
    /// The nodes that are moved.
    pub(crate) moved: &'w [Arc<[u32]>],
    /// What the player reads if there is nothing better.
    pub(crate) label: &'w str,
}

/// A control to be added.
#[derive(Debug)]
pub(crate) struct NewControl<'v> {
    pub(crate) element: NewElement,
    pub(crate) home: Home<'v>,
    pub(crate) input: Option<String>,
    /// The alias it needs.
    pub(crate) alias: Option<Insertion>,
}

/// Where a new control goes.
#[derive(Debug)]
pub(crate) enum Home<'v> {
    /// Into the document.
    Document(Parent<'v>),
    /// Into the animation it plays, which is new itself: by these steps.
    NewAnimation(&'v [Step]),
    /// Into the document, with the new animation it plays inside.
    AroundAnimation(Parent<'v>),
}

/// The role by which controls of a kind are written: one that can carry wheels if there are some, of these the one that
/// the document uses most, else the machines of the library, else the first of the dialect.
pub(crate) fn role_for<'v>(
    site: &Site<'v>,
    kind: ControlKind,
    has_wheels: bool,
) -> Option<(usize, &'v ControlRole)> {
    let roles = site.dialect.roles.controls.iter().enumerate();
    let fitting = roles.filter(|(_, role)| match &role.kind {
        Rule::Fixed(fixed) => *fixed == kind,
        Rule::Read(rule) => rule.word(kind).is_some(),
    });
    let uses = |at: usize| {
        let controls = site.machine.controls.iter();
        controls
            .filter(|control| control.role == at && control.kind == Some(kind))
            .count()
    };
    // Of equals the first: max_by_key would take the last.
    fitting.rev().max_by_key(|(at, role)| {
        let leaves_none = !has_wheels || role.wheels.is_some();
        (leaves_none, uses(*at), site.machines_with(*at))
    })
}

/// Plans a control.
pub(crate) fn new_control<'v>(
    site: &Site<'v>,
    source: &Source<'v>,
    new_animation: Option<&NewElement>,
    wanted: &Wanted<'_>,
    names: &mut Names,
) -> Result<NewControl<'v>, String> {
    let (number, role) = role_for(site, wanted.kind, !wanted.wheels.is_empty())
        .ok_or_else(|| format!("the dialect has no {} controls", wanted.kind.as_str()))?;
    let (home, element, contexts) =
        start(site, source, role, new_animation).map_err(|error| cannot(&error))?;
    // Where the animation stands in its control, the one is written around the other.
    let habits = match &home {
        Home::AroundAnimation(_) => None,
        _ => site.habits(number, wanted.kind),
    };
    let mut writing = Writing {
        site,
        role,
        contexts,
        element,
        habits: habits.clone(),
    };
    if let Rule::Read(rule) = &role.kind
        && let Some(word) = rule.word(wanted.kind)
    {
        writing.set(&rule.at, word)?;
    }
    writing.animation(wanted)?;
    let input = writing.input(wanted)?;
    let alias = writing.node(wanted, names)?;
    writing.wheels(wanted)?;
    writing.sounds(wanted)?;
    writing.usual()?;
    if let Some(habits) = &habits {
        habits.fill_control(site, role, wanted.animation, &mut writing.element, names);
    }
    writing.habits(wanted.kind)?;
    writing.label(wanted)?;
    let idle_gain = writing.idle_gain(wanted.kind);
    let idle_gain = idle_gain.filter(|_| habits.is_none());
    let mut element = writing.element;
    let name = wanted.animation.unwrap_or(wanted.label);
    let before = habits.is_some().then(|| element.clone());
    site.complete(&mut element, names, name);
    if let Some((habits, before)) = habits.zip(before) {
        habits.prune(site, &before, &mut element);
    }
    if let Some(gain) = idle_gain {
        element
            .attributes
            .retain(|attribute| attribute.name != gain);
    }
    Ok(NewControl {
        element,
        home,
        input,
        alias,
    })
}

fn cannot(error: &Unwritable) -> String {
    format!("a control cannot be written: {error}")
}

/// An empty control, where it goes, and the contexts down to it.
fn start<'v>(
    site: &Site<'v>,
    source: &Source<'v>,
    role: &'v ControlRole,
    new_animation: Option<&NewElement>,
) -> Result<(Home<'v>, NewElement, Vec<Context>), Unwritable> {
    if let Some(animation) = new_animation
        && let Some(depth) = depth_in_control(site, source, role)
    {
        return around(site, source, role, animation, depth);
    }
    let inner = role
        .at
        .steps()
        .strip_prefix(source.role.at.steps())
        .filter(|inner| !inner.is_empty());
    let Some(inner) = inner else {
        let parent = parent_for(&site.reader, &[], role.at.steps())?;
        let (element, contexts) = (parent.element(site.dialect)?, parent.contexts(site.dialect));
        return Ok((Home::Document(parent), element, contexts));
    };
    if new_animation.is_none() {
        let parent = parent_for(&site.reader, &source.chain, inner)?;
        let (element, contexts) = (parent.element(site.dialect)?, parent.contexts(site.dialect));
        return Ok((Home::Document(parent), element, contexts));
    }
    let mut contexts: Vec<Context> = source.chain.iter().map(|at| at.context).collect();
    let mut around = NewElement::new(
        source.element.local_name(),
        contexts.last().copied().unwrap_or(Context::ELSEWHERE),
    );
    // The steps, walked in an empty animation, say what the control's element is.
    let element = around.descend(site.dialect, inner)?.clone();
    contexts.push(element.context);
    Ok((Home::NewAnimation(inner), element, contexts))
}

/// How many elements below its control the old animation stands, if the
/// control that plays it holds it and new controls are such elements, too.
fn depth_in_control(site: &Site<'_>, source: &Source<'_>, role: &ControlRole) -> Option<usize> {
    let above = source.chain.iter().rev().skip(1);
    let depth = 1 + above.into_iter().position(|at| {
        let mut controls = site.machine.controls.iter();
        controls.any(|control| {
            let plays_it = || {
                let played = site.played(control)?;
                Some(site.machine.animations.get(played)?.element == source.element.range())
            };
            control.element == at.element.range() && plays_it() == Some(true)
        })
    })?;
    let control = source.chain.iter().rev().nth(depth)?.element;
    let is_same = match &role.at.steps().last()?.kind {
        StepKind::Child(name) | StepKind::Descendant(name) => name
            .as_deref()
            .is_none_or(|name| name == control.local_name()),
        StepKind::Parent | StepKind::Itself => false,
    };
    is_same.then_some(depth)
}

/// An empty control behind the old one, with the new animation in it.
fn around<'v>(
    site: &Site<'v>,
    source: &Source<'v>,
    role: &'v ControlRole,
    animation: &NewElement,
    depth: usize,
) -> Result<(Home<'v>, NewElement, Vec<Context>), Unwritable> {
    let vague = || Unwritable::Vague(role.at.to_string());
    let split = source.chain.len().checked_sub(depth).ok_or_else(vague)?;
    let (outer, inner) = source.chain.split_at_checked(split).ok_or_else(vague)?;
    let (control, above) = outer.split_last().ok_or_else(vague)?;
    let parent = Parent::behind(above, control.element);
    let mut element = parent.element(site.dialect)?;
    if let Some(step) = role.at.steps().last() {
        element.satisfy(site.dialect, &step.predicates)?;
    }
    let between = inner.split_last().map_or(&[][..], |(_, between)| between);
    let mut content = animation.clone();
    for at in between.iter().rev() {
        let mut wrapper = NewElement::new(at.element.local_name(), at.context);
        wrapper.content.push(NewItem::Element(content));
        content = wrapper;
    }
    element.content.push(NewItem::Element(content));
    let contexts = parent.contexts(site.dialect);
    Ok((Home::AroundAnimation(parent), element, contexts))
}

/// Puts a control into a new animation, in the place of one that was made because animations must have one.
pub(crate) fn put_into(
    site: &Site<'_>,
    animation: &mut NewElement,
    steps: &[Step],
    control: NewElement,
) -> Result<(), String> {
    let (_, above) = steps
        .split_last()
        .ok_or_else(|| "a control cannot be written".to_owned())?;
    let around = animation
        .descend(site.dialect, above)
        .map_err(|error| cannot(&error))?;
    let is_made = |item: &&mut NewItem| match item {
        NewItem::Element(child) => child.name == control.name && !child.holds_moved(),
        NewItem::Text { .. } | NewItem::Source { .. } => false,
    };
    let made = around.content.iter_mut().find(is_made);
    match made {
        Some(made) => *made = NewItem::Element(control),
        None => around.content.push(NewItem::Element(control)),
    }
    Ok(())
}

/// A control that is being put together.
struct Writing<'w, 'v> {
    site: &'w Site<'v>,
    role: &'v ControlRole,
    contexts: Vec<Context>,
    element: NewElement,
    /// How others write such controls.
    habits: Option<Rc<Habits>>,
}

impl<'v> Writing<'_, 'v> {
    fn declared(&self, path: &Path) -> Option<&'v AttributeDecl> {
        declaration(self.site.dialect, &self.contexts, path)
    }

    /// A name with what stands around it where this path leads.
    fn reference_to(&self, path: &Path, name: &str) -> String {
        match self.declared(path) {
            Some(declared) => declared.value.reference_to(name),
            None => name.to_owned(),
        }
    }

    fn set(&mut self, path: &Path, value: &str) -> Result<(), String> {
        self.element
            .set(self.site.dialect, path, value)
            .map_err(|error| cannot(&error))
    }

    fn animation(&mut self, wanted: &Wanted<'_>) -> Result<(), String> {
        let path = &self.role.animation;
        if wanted.animation.is_some() && self.element.get(path).as_deref() == wanted.animation {
            // The animation stands in the control.
            return Ok(());
        }
        let value = match self.declared(path).map(|declared| &declared.value.item) {
            Some(ItemType::PositionOf { first, .. }) => {
                Some((wanted.position + *first as usize).to_string())
            }
            Some(_) | None => wanted.animation.map(|name| self.reference_to(path, name)),
        };
        let written = match &value {
            Some(value) => self.element.set(self.site.dialect, path, value),
            None => Err(Unwritable::Outside),
        };
        match written {
            // The animation around the control gives its name.
            Err(Unwritable::Outside) if !path.is_absolute() && !path.steps().is_empty() => Ok(()),
            Err(Unwritable::Outside) => {
                Err("the animation has no name by which a control could play it".to_owned())
            }
            other => other.map_err(|error| cannot(&error)),
        }
    }

    fn input(&mut self, wanted: &Wanted<'_>) -> Result<Option<String>, String> {
        let path = &self.role.input;
        let declared = self.declared(path);
        let input = match wanted.input {
            Some(input) => {
                let problems = declared
                    .map(|declared| self.site.dialect.check_value(&declared.value, input, None));
                let is_listed = self.site.dialect.inputs.is_empty()
                    || self
                        .site
                        .dialect
                        .inputs
                        .of(wanted.kind)
                        .get(input)
                        .is_some();
                if problems.is_some_and(|problems| !problems.is_empty()) || !is_listed {
                    return Err(format!(
                        "`{input}` is not {} input of this dialect",
                        inputs::with_article(wanted.kind)
                    ));
                }
                if inputs::is_used(self.site, input) {
                    return Err(format!("the input `{input}` is in use on this machine"));
                }
                Some(input.to_owned())
            }
            // Without any listed the person has to say one.
            None if self.site.dialect.inputs.is_empty()
                && !matches!(declared.map(|it| &it.value.item), Some(ItemType::Word(_))) =>
            {
                None
            }
            None => {
                let mut free = inputs::free(self.site, wanted.kind, declared)?;
                if let Some(habits) = &self.habits {
                    free.sort_by_cached_key(|input| Reverse(habits.uses(input)));
                }
                free.into_iter().next()
            }
        };
        if let Some(input) = &input {
            self.set(path, input)?;
        }
        Ok(input)
    }

    /// The node that holds the parts, where the control asks for a node.
    fn node(
        &mut self,
        wanted: &Wanted<'_>,
        names: &mut Names,
    ) -> Result<Option<Insertion>, String> {
        let Some(path) = &self.role.node else {
            return Ok(None);
        };
        let declared = self.declared(path);
        let Some(node) = holder(wanted.moved) else {
            return Ok(None);
        };
        let item = declared.map(|declared| &declared.value.item);
        let (kinds, takes_names) = match item {
            Some(ItemType::Node {
                aliases, node_name, ..
            }) => (&aliases[..], *node_name),
            Some(ItemType::Reference(kinds)) => (&kinds[..], false),
            Some(ItemType::IndexPath) | None => (&[][..], false),
            Some(_) => {
                return Err(
                    "the control asks for a node in a way that is not understood".to_owned(),
                );
            }
        };
        let known = self.site.machine.aliases.iter().find_map(|alias| {
            let leads = alias.path.as_ref().and_then(|path| self.site.path_of(path));
            let leads = leads.as_deref() == Some(node);
            let name = alias.name.as_ref().filter(|_| leads)?;
            self.site
                .machine
                .definition(kinds, &name.value)
                .map(|_| name.value.clone())
        });
        if let Some(name) = known {
            self.set(path, &name)?;
            return Ok(None);
        }
        let text = node_text(self.site.dialect, self.site.scene, node, item);
        // Where its name in the scene may stand, a node needs no alias.
        let needs_alias = !(takes_names && text.is_some());
        if let Some(role) = self.site.alias_role(kinds).filter(|_| needs_alias) {
            let name = new_alias::suggested(self.site, &role.kind, node, names);
            let alias = new_alias::new_alias(self.site, role, &name, node, names)?;
            self.set(path, &name)?;
            return Ok(Some(alias));
        }
        let Some(text) = text else {
            return Err("the control asks for a name of the node that holds the parts, and the dialect has no way to give one".to_owned());
        };
        self.set(path, &text)?;
        Ok(None)
    }

    fn wheels(&mut self, wanted: &Wanted<'_>) -> Result<(), String> {
        let Some(path) = &self.role.wheels else {
            return Ok(());
        };
        if wanted.wheels.is_empty() {
            return Ok(());
        }
        let words = wheel_words(self.site, wanted.wheels, self.declared(path))?;
        self.set_all(path, &words)
    }

    /// Several values, as a list where the dialect has one.
    fn set_all(&mut self, path: &Path, values: &[String]) -> Result<(), String> {
        let joint = list_joint(self.site, &self.role.at, path);
        self.element
            .set_all(self.site.dialect, path, values, joint)
            .map_err(|error| cannot(&error))
    }

    fn sounds(&mut self, wanted: &Wanted<'_>) -> Result<(), String> {
        let Some(path) = &self.role.sounds else {
            return Ok(());
        };
        let declared = self.declared(path);
        let Some(like) = wanted.like.filter(|like| !like.sounds.is_empty()) else {
            return self.usual_sound(path, declared);
        };
        let theirs = self
            .site
            .dialect
            .roles
            .controls
            .get(like.role)
            .and_then(|role| role.sounds.as_ref());
        let chain = self
            .site
            .dialect
            .roles
            .controls
            .get(like.role)
            .and_then(|role| self.site.locate(&[], &role.at, like.element));
        let their_type = theirs.zip(chain).and_then(|(path, chain)| {
            self.site
                .reader
                .value(&chain, path)?
                .declared
                .map(|declared| &declared.value.item)
        });
        // The words of one control mean the same in another only if both name sounds the same way.
        if declared.map(|declared| &declared.value.item) != their_type {
            return Ok(());
        }
        // What is missing there already is not asked for once more.
        let is_known = |name: &str| match their_type {
            Some(ItemType::Reference(kinds)) => kinds.iter().any(|kind| self.site.has(kind, name)),
            _ => true,
        };
        let words = like.sounds.iter().map(|sound| sound.value.to_string());
        let words = words.filter(|word| is_known(word));
        let words: Vec<String> = words.map(|word| self.reference_to(path, &word)).collect();
        self.set_all(path, &words)
    }
}

/// What stands between the members of a list where elements of a role have
/// one already.
pub(crate) fn list_joint<'v>(site: &Site<'v>, at: &Path, path: &Path) -> Option<&'v str> {
    let elements = site.reader.elements(&[], at);
    elements.iter().find_map(|chain| {
        let found = site.reader.value(chain, path)?;
        let [first, second, ..] = found.members()[..] else {
            return None;
        };
        let between = first.end() < second.start();
        between.then(|| site.slice(TextRange::new(first.end(), second.start())))
    })
}

/// The index path of the deepest node that holds all of some nodes below it;
/// for a root node itself.
fn holder<N: AsRef<[u32]>>(nodes: &[N]) -> Option<&[u32]> {
    let (first, others) = nodes.split_first()?;
    let first = first.as_ref();
    let mut shared = first.len().saturating_sub(1);
    for node in others {
        let node = node.as_ref();
        let common = first.iter().zip(node).take_while(|(a, b)| a == b).count();
        shared = shared.min(common).min(node.len().saturating_sub(1));
    }
    match shared {
        0 if others.is_empty() => Some(first),
        0 => None,
        _ => first.get(..shared),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_holder_is_above_all_parts() {
        assert_eq!(
            holder::<&[u32]>(&[&[0, 0, 0], &[0, 0, 1]]),
            Some(&[0, 0][..])
        );
        assert_eq!(holder::<&[u32]>(&[&[0, 0], &[0, 0, 1]]), Some(&[0][..]));
        assert_eq!(holder::<&[u32]>(&[&[0, 3, 1]]), Some(&[0, 3][..]));
        assert_eq!(holder::<&[u32]>(&[&[2]]), Some(&[2][..]));
        assert_eq!(holder::<&[u32]>(&[&[0, 1], &[1, 1]]), None);
        assert_eq!(holder::<&[u32]>(&[]), None);
    }
}
