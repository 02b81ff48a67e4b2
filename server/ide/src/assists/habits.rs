//! How the library's machines write a construct: what a new one is given besides what it is for.

mod examples;
mod filling;

pub(crate) use examples::spot;

use super::site::Site;
use crate::writer::{Names, NewElement};
use dialect::{AliasRole, ControlKind, ControlRole, Leaf, Path, Rule, Step, StepKind};
use examples::examples;
use filling::Filling;
use learn::pattern::{Example, Pattern, Slot};

/// One machine's way is no habit.
const FEWEST: usize = 2;

/// The places of values among those that are bound in a control.
const ANIMATION: usize = 0;
const INPUT: usize = 1;
const SOUNDS: usize = 4;

/// What is usual in constructs of one role.
#[derive(Debug)]
pub(crate) struct Habits {
    examples: Vec<Example>,
    pattern: Pattern,
}

impl Habits {
    /// None: there are hardly any.
    fn of(examples: Vec<Example>) -> Option<Self> {
        (examples.len() >= FEWEST).then(|| Self {
            pattern: Pattern::of(&examples),
            examples,
        })
    }

    /// In controls of a role and kind. None: there is no library, or it hardly has such controls.
    pub(crate) fn of_controls(site: &Site<'_>, role: usize, kind: ControlKind) -> Option<Self> {
        let known = site.dialect.roles.controls.get(role)?;
        let found = examples(site, &known.at, &bound_paths(known), |machine, range| {
            let mut controls = machine.controls.iter();
            controls.any(|it| it.element == range && it.role == role && it.kind == Some(kind))
        });
        Self::of(found)
    }

    pub(crate) fn of_aliases(site: &Site<'_>, role: &AliasRole) -> Option<Self> {
        let bound = [Some(&role.name), Some(&role.path)];
        Self::of(examples(site, &role.at, &bound, |_, _| true))
    }

    /// How often the library's controls use an input.
    pub(crate) fn uses(&self, input: &str) -> usize {
        let is_it = |it: &&Example| it.bound[INPUT].as_deref() == Some(input);
        self.examples.iter().filter(is_it).count()
    }

    /// Whether most controls play a sound.
    pub(crate) fn plays_sounds(&self) -> bool {
        let plays = |it: &&Example| it.bound[SOUNDS].is_some();
        self.examples.iter().filter(plays).count() * 2 > self.examples.len()
    }

    /// Whether the library's constructs hardly ever say what a path leads to.
    pub(crate) fn leaves_out(&self, path: &Path) -> bool {
        let Some((steps, slot)) = plain(path) else {
            return false;
        };
        let known = self.pattern.value(&steps, &slot);
        known.is_none_or(|value| !self.pattern.is_usual(value.seen))
    }

    /// Writes into a control that has all that it is for what the library's controls have besides.
    /// `animation`: what it plays.
    pub(crate) fn fill_control(
        &self,
        site: &Site<'_>,
        role: &ControlRole,
        animation: Option<&str>,
        element: &mut NewElement,
        names: &mut Names,
    ) {
        let bound = bound_paths(role).into_iter();
        let mut bound: Vec<Option<String>> = bound
            .map(|path| element.get(path?).map(|value| value.into_owned()))
            .collect();
        if bound[ANIMATION].is_none() {
            bound[ANIMATION] = animation.map(str::to_owned);
        }
        let label = role.text.as_ref().and_then(plain);
        let mut filling = Filling {
            site,
            bound,
            label,
            leaves_places: true,
            names,
        };
        filling.fill(element, &self.pattern, &mut Vec::new());
    }

    /// The same for an alias, though without places to fill in: aliases are made on the way to something else.
    pub(crate) fn fill_alias(
        &self,
        site: &Site<'_>,
        role: &AliasRole,
        element: &mut NewElement,
        names: &mut Names,
    ) {
        let bound =
            [&role.name, &role.path].map(|path| element.get(path).map(|it| it.into_owned()));
        let mut filling = Filling {
            site,
            bound: bound.to_vec(),
            label: None,
            leaves_places: false,
            names,
        };
        filling.fill(element, &self.pattern, &mut Vec::new());
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
