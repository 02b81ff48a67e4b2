//! What a new control is given that nobody asked for: what the dialect calls usual, and what others have.

use std::rc::Rc;

use super::super::habits::Habits;
use super::super::naming::humanised;
use super::{Wanted, Writing};
use dialect::{AttributeDecl, ControlKind, ItemType, Leaf, Path};

impl<'v> Writing<'_, 'v> {
    /// The machine's only sound, if the controls of others play one.
    pub(super) fn usual_sound(
        &mut self,
        path: &Path,
        declared: Option<&AttributeDecl>,
    ) -> Result<(), String> {
        let is_usual = self
            .habits
            .as_ref()
            .is_some_and(|habits| habits.plays_sounds());
        let [only] = self.site.machine.sounds.as_slice() else {
            return Ok(());
        };
        match (&only.name, declared.map(|declared| &declared.value.item)) {
            (Some(name), Some(ItemType::Reference(_))) if is_usual => {
                self.set_all(path, &[self.reference_to(path, &name.value)])
            }
            _ => Ok(()),
        }
    }

    /// What the dialect calls usual for controls of this role.
    pub(super) fn usual(&mut self) -> Result<(), String> {
        for (path, value) in &self.role.usual {
            if self.element.get(path).is_none() {
                self.set(path, value)?;
            }
        }
        Ok(())
    }

    /// Gain and rate as the dialect calls it usual, else as most other
    /// controls of the document have it; unless others do without.
    pub(super) fn habits(&mut self, kind: ControlKind) -> Result<(), String> {
        let gain = self.role.gain.as_ref();
        let gain = gain.filter(|_| kind == ControlKind::Analog);
        for path in [gain, self.role.rate.as_ref()].into_iter().flatten() {
            let others_do_without = |habits: &Rc<Habits>| habits.leaves_out(path);
            if self.element.get(path).is_some()
                || self.habits.as_ref().is_some_and(others_do_without)
            {
                continue;
            }
            let usual = self
                .declared(path)
                .and_then(|declared| declared.usual.clone());
            if let Some(value) = usual.or_else(|| self.most_common(path)) {
                self.set(path, &value)?;
            }
        }
        Ok(())
    }

    /// The attribute that says how strongly a control follows, where it says
    /// nothing: a button follows nothing, and nobody asked for it.
    pub(super) fn idle_gain(&self, kind: ControlKind) -> Option<&'v str> {
        let gain = self.role.gain.as_ref()?;
        let Leaf::Attribute(name) = gain.leaf() else {
            return None;
        };
        let is_wanted = kind == ControlKind::Analog
            || !gain.steps().is_empty()
            || self.declared(gain).is_none_or(|declared| declared.required)
            || self.role.usual.iter().any(|(path, _)| path == gain);
        (!is_wanted).then_some(name.as_str())
    }

    /// What most controls of the document say, as they write it.
    pub(super) fn most_common(&self, path: &Path) -> Option<String> {
        let mut seen: Vec<(String, usize)> = Vec::new();
        for chain in self.site.reader.elements(&[], &self.role.at) {
            let Some(found) = self.site.reader.value(&chain, path) else {
                continue;
            };
            match seen.iter_mut().find(|(value, _)| *value == found.text) {
                Some((_, count)) => *count += 1,
                None => seen.push((found.text.to_string(), 1)),
            }
        }
        seen.into_iter()
            .rev()
            .max_by_key(|(_, count)| *count)
            .map(|(value, _)| value)
    }

    pub(super) fn label(&mut self, wanted: &Wanted<'_>) -> Result<(), String> {
        let Some(path) = &self.role.text else {
            return Ok(());
        };
        let is_text = self
            .declared(path)
            .is_none_or(|declared| declared.value.item == ItemType::Text);
        let is_required = self
            .declared(path)
            .is_some_and(|declared| declared.required);
        let habits = self.habits.as_ref().filter(|_| !is_required);
        let others_do_without = habits.is_some_and(|habits| habits.leaves_out(path));
        if !is_text || others_do_without || self.element.get(path).is_some() {
            return Ok(());
        }
        self.set(path, &humanised(wanted.animation.unwrap_or(wanted.label)))
    }
}
