//! How the library's machines write a control: what a new one is given besides what it is for.

use super::site::Site;
use crate::{
    precedents,
    writer::{Names, NewAttribute, NewElement, NewItem},
};
use dialect::{
    AttributeDecl, ControlKind, ControlRole, ItemType, Leaf, Path, Rule, Step, StepKind,
};
use learn::pattern::{ChildPattern, Example, Form, Pattern, Slot, Term, Value, ValuePattern};
use learn::precedents::Spot;
use machine::{Machine, Outline, Reader};
use syntax::{Element, TextRange};

/// So many machines of the library are looked at: enough to see what is usual.
const MOST_MACHINES: usize = 100;

/// One machine's way is no habit.
const FEWEST_CONTROLS: usize = 2;

/// A control is not looked into any deeper.
const DEEPEST: usize = 8;

/// The place of the animation's name among the bound values.
const ANIMATION: usize = 0;

/// What is usual in controls of one role and kind.
#[derive(Debug)]
pub(crate) struct Habits {
    pattern: Pattern,
    /// How often each input is used.
    inputs: Vec<(String, usize)>,
    /// How many of the controls play sounds.
    with_sounds: usize,
    controls: usize,
}

impl Habits {
    /// None: there is no library, or it hardly has such controls.
    pub(crate) fn of(site: &Site<'_>, role: usize, kind: ControlKind) -> Option<Self> {
        let texts = spot(site, role)?.texts(MOST_MACHINES);
        let mut examples: Vec<Example> = Vec::new();
        let mut habits = Self {
            pattern: Pattern::default(),
            inputs: Vec::new(),
            with_sounds: 0,
            controls: 0,
        };
        for (_, text) in texts {
            habits.take(site, role, kind, &text, &mut examples);
        }
        if examples.len() < FEWEST_CONTROLS {
            return None;
        }
        habits.pattern = Pattern::of(&examples);
        Some(habits)
    }

    /// Adds the controls of one machine.
    fn take(
        &mut self,
        site: &Site<'_>,
        role_at: usize,
        kind: ControlKind,
        text: &str,
        examples: &mut Vec<Example>,
    ) {
        let Some(meaning) = &site.view.meaning else {
            return;
        };
        let Some(role) = site.dialect.roles.controls.get(role_at) else {
            return;
        };
        let tree = syntax::parse(text);
        let reader = Reader::new(&tree, site.dialect, &meaning.kind);
        let outline = Outline::read(&tree, site.dialect, &meaning.kind, None);
        let machine = outline.machine(site.dialect, &meaning.kind);
        let own =
            |control: &&machine::Control| control.role == role_at && control.kind == Some(kind);
        let chains = reader.elements(&[], &role.at);
        for control in machine.controls.iter().filter(own) {
            let is_it = |chain: &&machine::Chain<'_>| {
                chain
                    .last()
                    .is_some_and(|last| last.element.range() == control.element)
            };
            let Some(chain) = chains.iter().find(is_it) else {
                continue;
            };
            let Some(element) = chain.last().map(|last| last.element) else {
                continue;
            };
            let (mut bound, mut ranges) = (Vec::new(), Vec::new());
            for path in bound_paths(role) {
                let found = path.map_or_else(Vec::new, |path| reader.values(chain, path));
                bound.push(found.first().map(|first| first.text.to_string()));
                ranges.extend(found.iter().map(|found| found.range));
            }
            if let Some(input) = &control.input {
                match self
                    .inputs
                    .iter_mut()
                    .find(|(known, _)| *known == input.value)
                {
                    Some((_, count)) => *count += 1,
                    None => self.inputs.push((input.value.clone(), 1)),
                }
            }
            self.with_sounds += usize::from(!control.sounds.is_empty());
            self.controls += 1;
            let term = term(element, &ranges, &machine, DEEPEST);
            examples.push(Example { term, bound });
        }
    }

    /// How often the library uses an input.
    pub(crate) fn uses(&self, input: &str) -> usize {
        let mut known = self.inputs.iter();
        known
            .find(|(known, _)| known == input)
            .map_or(0, |(_, count)| *count)
    }

    /// Whether most controls play a sound.
    pub(crate) fn plays_sounds(&self) -> bool {
        self.with_sounds * 2 > self.controls
    }

    /// Whether the library's controls hardly ever say what a path leads to.
    pub(crate) fn leaves_out(&self, path: &Path) -> bool {
        let Some((steps, slot)) = plain(path) else {
            return false;
        };
        let known = self.pattern.value(&steps, &slot);
        known.is_none_or(|value| !self.pattern.is_usual(value.seen))
    }

    /// Writes into a control that has all that it is for what the library's controls have besides.
    /// `animation`: what it plays.
    pub(crate) fn fill(
        &self,
        site: &Site<'_>,
        role: &ControlRole,
        animation: Option<&str>,
        element: &mut NewElement,
        names: &mut Names,
    ) {
        let mut bound: Vec<Option<String>> = bound_paths(role)
            .into_iter()
            .map(|path| element.get(path?).map(|value| value.into_owned()))
            .collect();
        if bound[ANIMATION].is_none() {
            bound[ANIMATION] = animation.map(str::to_owned);
        }
        let label = role.text.as_ref().and_then(plain);
        Filling {
            site,
            bound,
            label,
            names,
        }
        .fill(element, &self.pattern, &mut Vec::new());
    }

    /// Takes out what the grammar's usual values brought in (`was` is the control before) though
    /// the library's controls do without.
    pub(crate) fn prune(&self, site: &Site<'_>, was: &NewElement, element: &mut NewElement) {
        let declared = site.dialect.element(element.context);
        element.attributes.retain(|attribute| {
            let is_required = declared
                .and_then(|declared| declared.attribute(&attribute.name))
                .is_none_or(|declared| declared.required);
            let known = self.pattern.value(&[], &Some(attribute.name.clone()));
            let is_usual = known.is_some_and(|value| self.pattern.is_usual(value.seen));
            is_required || is_usual || was.attribute(&attribute.name).is_some()
        });
    }
}

/// The paths to what is known of a control before it is written.
fn bound_paths(role: &ControlRole) -> [Option<&Path>; 6] {
    let kind = match &role.kind {
        Rule::Fixed(_) => None,
        Rule::Read(rule) => Some(&rule.at),
    };
    [
        Some(&role.animation),
        Some(&role.input),
        role.node.as_ref(),
        role.wheels.as_ref(),
        role.sounds.as_ref(),
        kind,
    ]
}

/// A path that leads straight down: its steps and the slot at its end.
fn plain(path: &Path) -> Option<(Vec<&str>, Slot)> {
    let steps = path
        .steps()
        .iter()
        .filter(|step| step.kind != StepKind::Itself);
    let names = steps.map(step_name).collect::<Option<Vec<&str>>>()?;
    let slot = match path.leaf() {
        Leaf::Attribute(name) => Some(name.clone()),
        Leaf::Text | Leaf::Element => None,
    };
    (!path.is_absolute()).then_some((names, slot))
}

fn step_name(step: &Step) -> Option<&str> {
    match &step.kind {
        StepKind::Child(Some(name)) => Some(name),
        _ => None,
    }
}

/// An element as a term; `bound`: where the role reads. Animations in it are left out: they are
/// not written but moved.
fn term(element: Element<'_>, bound: &[TextRange], machine: &Machine, depth: usize) -> Term {
    let value = |text: String, range: TextRange| {
        let is_bound = bound.iter().any(|bound| range.contains_range(*bound));
        if is_bound {
            Value::Bound
        } else {
            Value::Text(text)
        }
    };
    let attributes = element.attributes().filter_map(|attribute| {
        let range = attribute.value_range()?;
        let is_ours = attribute.declared_prefix().is_none();
        let value = || value(attribute.value().into_owned(), range);
        is_ours.then(|| (Some(attribute.name().to_owned()), value()))
    });
    let mut values: Vec<(Slot, Value)> = attributes.collect();
    let children: Vec<Element<'_>> = element.children().collect();
    let text = element.text();
    if let (Some(range), false, true) = (
        element.content_range(),
        text.trim().is_empty(),
        children.is_empty(),
    ) {
        values.push((None, value(text.trim().to_owned(), range)));
    }
    let is_animation = |child: &&Element<'_>| {
        let mut animations = machine.animations.iter();
        animations.any(|animation| child.range().contains_range(animation.element))
    };
    let children = children
        .iter()
        .filter(|child| depth > 0 && !is_animation(child));
    Term {
        name: element.local_name().to_owned(),
        values,
        children: children
            .map(|child| term(*child, bound, machine, depth - 1))
            .collect(),
    }
}

/// A new control on its way to what is usual.
struct Filling<'f, 'v> {
    site: &'f Site<'v>,
    bound: Vec<Option<String>>,
    /// Where the player's label stands: where labels differ, it is written by other means.
    label: Option<(Vec<&'f str>, Slot)>,
    names: &'f mut Names,
}

impl Filling<'_, '_> {
    /// `trail`: the names from the control down to this element.
    fn fill(&mut self, element: &mut NewElement, pattern: &Pattern, trail: &mut Vec<String>) {
        element.habit = pattern.order();
        let usual = pattern
            .values
            .iter()
            .filter(|value| pattern.is_usual(value.seen));
        for value in usual {
            self.value(element, value, trail);
        }
        if trail.len() < DEEPEST {
            for child in &pattern.children {
                self.child(element, pattern, child, trail);
            }
        }
    }

    fn value(&mut self, element: &mut NewElement, pattern: &ValuePattern, trail: &[String]) {
        let declared = self.site.dialect.element(element.context);
        let is_open = declared.is_none_or(|declared| declared.open);
        let (is_there, declared) = match &pattern.slot {
            Some(name) => (
                element.attribute(name).is_some(),
                declared.and_then(|declared| declared.attribute(name)),
            ),
            None => (
                !element.content.is_empty(),
                declared.and_then(|declared| declared.text.as_ref()),
            ),
        };
        if is_there || (declared.is_none() && !is_open) {
            return;
        }
        let (text, is_guess) = match &pattern.form {
            Form::Bound => return,
            Form::Usual(text) => (text.clone(), false),
            Form::Tied { to, before, after } => match self.bound.get(*to) {
                Some(Some(own)) => (format!("{before}{own}{after}"), false),
                _ => return,
            },
            Form::Differs(_) if self.is_label(trail, &pattern.slot) => return,
            Form::Differs(text) => (text.clone(), true),
        };
        // What the index did not keep is unknown.
        if text == learn::Corpus::LEFT_OUT {
            return;
        }
        let is_tied = matches!(pattern.form, Form::Tied { .. });
        let Some(text) = self.fitting(declared, text, is_tied) else {
            return;
        };
        match &pattern.slot {
            Some(name) => element.set_attribute(NewAttribute {
                is_guess,
                ..NewAttribute::new(name, text)
            }),
            None => element.set_text(text, is_guess),
        }
    }

    fn is_label(&self, trail: &[String], slot: &Slot) -> bool {
        let label = self.label.as_ref();
        label.is_some_and(|(steps, own)| steps.iter().eq(trail.iter()) && own == slot)
    }

    /// A value as it can stand on this machine. What others call their things says nothing here.
    fn fitting(
        &mut self,
        declared: Option<&AttributeDecl>,
        text: String,
        is_tied: bool,
    ) -> Option<String> {
        let Some(declared) = declared else {
            return Some(text);
        };
        match &declared.value.item {
            ItemType::NameOf(kind) => is_tied.then(|| self.names.take(kind, &text)),
            ItemType::Reference(kinds) => {
                let is_known = self.site.machine.definition(kinds, &text).is_some();
                let is_new = self.bound[ANIMATION].as_ref() == Some(&text);
                (is_known || is_new).then_some(text)
            }
            ItemType::Node { .. }
            | ItemType::IndexPath
            | ItemType::PositionOf { .. }
            | ItemType::Input(_)
            | ItemType::File { .. } => None,
            _ => {
                let problems = self.site.dialect.check_value(&declared.value, &text, None);
                problems.is_empty().then_some(text)
            }
        }
    }

    fn child(
        &mut self,
        element: &mut NewElement,
        around: &Pattern,
        child: &ChildPattern,
        trail: &mut Vec<String>,
    ) {
        let name = &child.pattern.name;
        trail.push(name.clone());
        let mut is_there = false;
        for item in &mut element.content {
            match item {
                NewItem::Element(own) if own.name == *name => {
                    is_there = true;
                    self.fill(own, &child.pattern, trail);
                }
                NewItem::Source { name: own, .. } => is_there |= own == name,
                _ => {}
            }
        }
        let declared = self.site.dialect.element(element.context);
        let may_be =
            declared.is_none_or(|declared| declared.open || declared.child(name).is_some());
        // What the role reads is there already if it is to be there.
        if !is_there && may_be && around.is_usual(child.seen) && !child.pattern.is_bound() {
            let mut new = NewElement::child_of(element, name, self.site.dialect);
            self.fill(&mut new, &child.pattern, trail);
            if self.is_whole(&new) {
                element.content.push(NewItem::Element(new));
            }
        }
        trail.pop();
    }

    /// Whether a new child has all that it must have, or it will be found without a guess.
    fn is_whole(&self, element: &NewElement) -> bool {
        let Some(declared) = self.site.dialect.element(element.context) else {
            return true;
        };
        let is_found = |declared: &AttributeDecl| {
            let is_name = matches!(declared.value.item, ItemType::NameOf(_));
            !declared.required || declared.usual.is_some() || declared.default.is_some() || is_name
        };
        let mut attributes = declared.attributes.iter();
        let text = declared.text.as_ref();
        attributes.all(|it| element.attribute(&it.name).is_some() || is_found(it))
            && text.is_none_or(|text| !element.content.is_empty() || is_found(text))
    }
}

/// Where the library has the controls of a role.
pub(crate) fn spot<'v>(site: &Site<'v>, role: usize) -> Option<Spot<'v>> {
    let role = site.dialect.roles.controls.get(role)?;
    let root = site.view.tree().root()?;
    // As far as the path says which elements it goes through.
    let names: Vec<&str> = role.at.steps().iter().map_while(step_name).collect();
    let path = match names.as_slice() {
        [] => vec![root.local_name()],
        names => names.to_vec(),
    };
    precedents::spot_of(site.view, &root, &path)
}
