//! A machine with its scene, for commands that calculate.

use std::path::Path;

use dialect::Dialect;
use machine::{Control, Machine};
use motion::Rig;
use project::{SceneState, View};
use scene::Scene;

use super::definition::Failure;
use super::plain;

/// A definition of which machine and scene could be read.
#[derive(Debug)]
pub(crate) struct Subject<'v> {
    file: &'v Path,
    pub(crate) dialect: &'v Dialect,
    pub(crate) machine: &'v Machine,
    pub(crate) scene: &'v Scene,
}

impl<'v> Subject<'v> {
    /// # Errors
    /// No dialect fits, or there is no scene that can be read.
    pub(crate) fn of(file: &'v Path, view: &'v View) -> Result<Self, Failure> {
        let shown = plain::name(file);
        let Some(meaning) = &view.meaning else {
            return Err(Failure::broken(format!(
                "{shown}: no dialect fits this file. Name its dialect in trunnion.toml."
            )));
        };
        let machine = meaning.machine();
        let scene = match &meaning.scene {
            SceneState::Loaded(loaded) => &loaded.scene,
            SceneState::Unreadable { message, .. } => {
                return Err(Failure::broken(format!(
                    "{shown}: its scene cannot be read, so nothing can be calculated. {message}"
                )));
            }
            SceneState::NotThere(_) | SceneState::NotNamed => {
                let why = match &machine.scene {
                    Some(name) => format!("its scene `{}` is not there", name.value),
                    None => "it names no scene".to_owned(),
                };
                return Err(Failure::broken(format!(
                    "{shown}: {why}, so nothing can be calculated."
                )));
            }
        };
        Ok(Self {
            file,
            dialect: &meaning.dialect,
            machine,
            scene,
        })
    }

    pub(crate) fn rig(&self) -> Rig<'v> {
        Rig::new(self.scene, self.machine, &self.dialect.notation)
    }

    /// The control of this name: the animation it plays, or what the player reads. The only one if none is named.
    ///
    /// # Errors
    /// There is none, or several.
    pub(crate) fn control(&self, name: Option<&str>) -> Result<usize, Failure> {
        let controls = &self.machine.controls;
        let plays = |control: &Control, name: &str| {
            let played = control.animation.as_ref();
            played.is_some_and(|played| *played.value == *name)
        };
        let reads = |control: &Control, name: &str| {
            let text = control.text.as_ref();
            text.is_some_and(|text| *text.value == *name)
        };
        let all = || 0..controls.len();
        let found: Vec<usize> = match name {
            None => all().collect(),
            Some(name) => match all()
                .filter(|at| plays(&controls[*at], name))
                .collect::<Vec<_>>()
            {
                none if none.is_empty() => all().filter(|at| reads(&controls[*at], name)).collect(),
                found => found,
            },
        };
        let there: Vec<String> = all().map(|at| self.control_name(at)).collect();
        let there = match there.join(", ") {
            none if none.is_empty() => "This machine has no controls.".to_owned(),
            there => format!("There are: {there}."),
        };
        let why = match (&found[..], name) {
            ([one], _) => return Ok(*one),
            // Several ways to do the same.
            ([first, rest @ ..], Some(_))
                if rest.iter().all(|at| {
                    self.machine.controls[*at]
                        .animation
                        .as_ref()
                        .map(|name| &name.value)
                        == self.machine.controls[*first]
                            .animation
                            .as_ref()
                            .map(|name| &name.value)
                }) =>
            {
                return Ok(*first);
            }
            ([], Some(name)) => format!("there is no control `{name}`."),
            (_, Some(name)) => format!("several controls are called `{name}`."),
            (_, None) => "which control?".to_owned(),
        };
        let shown = plain::name(self.file);
        Err(Failure::broken(format!("{shown}: {why} {there}")))
    }

    /// What a control is called in a report.
    pub(crate) fn control_name(&self, control: usize) -> String {
        let played = self
            .machine
            .controls
            .get(control)
            .and_then(|control| control.animation.as_ref());
        played.map_or_else(
            || format!("control {}", control + 1),
            |name| name.value.to_string(),
        )
    }

    /// What an animation is called in a report.
    pub(crate) fn animation_name(&self, animation: usize) -> String {
        let name = self
            .machine
            .animations
            .get(animation)
            .and_then(|animation| animation.name.as_ref());
        name.map_or_else(
            || format!("animation {}", animation + 1),
            |name| name.value.to_string(),
        )
    }

    /// What a wheel is called in a report.
    pub(crate) fn wheel_name(&self, wheel: usize) -> String {
        let name = self
            .machine
            .wheels
            .get(wheel)
            .and_then(|wheel| wheel.label());
        name.map_or_else(|| format!("wheel {}", wheel + 1), str::to_owned)
    }
}
