//! What elements of one sort hold: from counts to what may and must be, and to the types of their values.

use super::{ElementForm, Kept, ValueForm};
use crate::colours;
use crate::content::Makeup;
use crate::forms::{Form, Place};
use crate::musts::Musts;
use crate::names::SlotRef;
use crate::rules::{self, Slips};
use crate::survey::Survey;
use crate::symbols::Symbol;
use crate::told::Told;
use crate::types::Look;
use crate::usual::{frequent, usual};
use crate::values::{Tally, Values};
use dialect::{ItemType, Kind};
use foldhash::{HashMap, HashMapExt as _, HashSet};

/// What tells what elements hold.
pub(super) struct Evidence<'e> {
    pub(super) survey: &'e Survey<'e>,
    pub(super) look: &'e Look<'e>,
    pub(super) told: &'e Told<'e>,
    pub(super) musts: &'e Musts,
}

impl Evidence<'_> {
    /// Forms with their keys as elements, in the order in which they are met from the roots down.
    pub(super) fn elements(&self, forms: Vec<(Form, Vec<String>)>) -> Vec<ElementForm> {
        let forms = forms.into_iter();
        let mut elements: Vec<ElementForm> =
            forms.map(|(form, keys)| self.element(form, keys)).collect();
        elements.sort_by_key(|element| element.places.iter().min().copied());
        self.forget_unnamed(&mut elements);
        elements
    }

    fn element(&self, form: Form, keys: Vec<String>) -> ElementForm {
        let makeup = &form.makeup;
        let mut slots = self.slots(&form.places);
        // A text in a few of many elements that have children is a stray one.
        let is_stray = makeup.children.len() > 0 && makeup.texts <= rules::slips(makeup.elements);
        let text = (makeup.texts > 0 && !is_stray).then_some((None, makeup.texts));
        // Attributes with a prefix are other people's notes.
        let is_own = |(name, _): &(Symbol, _)| !self.look.corpus.text(*name).contains(':');
        let attributes = makeup.attributes.iter().filter(is_own);
        let attributes = attributes.map(|(name, with)| (Some(name), *with));
        let values = text.into_iter().chain(attributes);
        let values = values.map(|(attribute, with)| {
            let slots = slots.remove(&attribute).unwrap_or_default();
            self.value(makeup, attribute, slots, with)
        });
        let values = values.collect();
        ElementForm {
            name: form.name,
            keys,
            seen: Tally {
                places: makeup.elements,
                files: makeup.files,
            },
            foreign: makeup.foreign,
            examples: makeup.places.clone(),
            exceptions: Vec::new(),
            content: rules::content(makeup, self.musts, Slips::Few),
            // As long as nothing is known of exceptions, in case there are any.
            kept: Some(Kept {
                content: rules::content(makeup, self.musts, Slips::None),
                text: false,
            }),
            values,
            places: form.places,
        }
    }

    /// Where each attribute, and the text, stands in elements at these places.
    fn slots(&self, places: &[Place]) -> HashMap<Option<Symbol>, Vec<SlotRef>> {
        let mut slots: HashMap<Option<Symbol>, Vec<SlotRef>> = HashMap::new();
        for Place { group, context } in places {
            let known = &self.survey.groups[*group];
            for slot in known.slot_range(*context) {
                let attribute = known.slots[slot].attribute;
                slots.entry(attribute).or_default().push(SlotRef {
                    group: *group,
                    slot,
                });
            }
        }
        slots
    }

    /// `with`: how many of the elements have the value.
    fn value(
        &self,
        makeup: &Makeup,
        attribute: Option<Symbol>,
        slots: Vec<SlotRef>,
        with: u32,
    ) -> ValueForm {
        let look = self.look;
        let of = makeup.elements;
        let values = self.values(&slots);
        let naming = self.told.value_type(&slots);
        let is_naming = naming.is_some();
        let colour = || colours::told(look, self.survey, *slots.first()?, &values);
        let value_type = naming.or_else(colour);
        let value_type = value_type.unwrap_or_else(|| look.value_type(&values));
        let frequent = frequent(&values, look.corpus).filter(|_| !is_naming);
        let usual = usual(&values);
        let asks = self
            .musts
            .ask_for_value(makeup.spread.files(), usual.is_some());
        let is_of_type = |usual: &Symbol| {
            let text = look.corpus.text(*usual);
            let mistakes = look.habits.dialect.check_value(&value_type, text, None);
            mistakes.is_empty()
        };
        ValueForm {
            attribute,
            observed: look.observed(&value_type, &values),
            required: rules::is_required(with, of) && asks,
            seen: values.all,
            of,
            values: frequent.unwrap_or_default(),
            usual: usual.filter(|usual| !is_naming && is_of_type(usual)),
            exceptions: Vec::new(),
            besides: None,
            value_type,
            slots,
        }
    }

    fn values(&self, slots: &[SlotRef]) -> Values {
        let survey = self.survey;
        let slots = slots.iter();
        Values::of(slots.map(|slot| (&survey.groups[slot.group], slot.of(survey))))
    }

    /// Values that refer to kinds that nothing gives names to after all are told by themselves.
    fn forget_unnamed(&self, elements: &mut [ElementForm]) {
        let values = elements.iter().flat_map(|element| &element.values);
        let named: HashSet<Kind> = values
            .filter_map(|value| match &value.value_type.item {
                ItemType::NameOf(kind) => Some(*kind),
                _ => None,
            })
            .collect();
        let only_named = |kinds: &[Kind]| -> Vec<Kind> {
            let kinds = kinds.iter().filter(|kind| named.contains(*kind));
            kinds.cloned().collect()
        };
        for value in elements.iter_mut().flat_map(|element| &mut element.values) {
            let is_unnamed = match &mut value.value_type.item {
                ItemType::Reference(kinds) => {
                    *kinds = only_named(kinds).into();
                    kinds.is_empty()
                }
                ItemType::Node {
                    aliases,
                    index_path,
                    node_name,
                } => {
                    *aliases = only_named(aliases).into();
                    aliases.is_empty() && !*index_path && !*node_name
                }
                // What plays a role can be counted without names.
                ItemType::PositionOf { kind, .. } => {
                    let mut slots = value.slots.iter();
                    !named.contains(kind) && !slots.any(|slot| self.told.plays(slot))
                }
                _ => false,
            };
            if is_unnamed {
                value.value_type = self.look.value_type(&self.values(&value.slots));
            }
        }
    }
}
