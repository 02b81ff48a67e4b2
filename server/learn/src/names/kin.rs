//! Places that show too little by themselves, beside others of the same attribute that refer.
//!
//! The same attribute of the same elements means the same wherever these stand. So a place with a handful of values is
//! believed to refer if many values of its kin do, and if more of its own lead there than do not.

use super::index::Index;
use super::looks::Looks;
use super::places::{Family, Place};
use super::readings::{Desk, Reading};
use super::references::Readings;
use super::{Form, Settings};
use crate::survey::Survey;
use foldhash::{HashMap, HashMapExt as _};

/// The least share of the values of a family that must be known to refer.
const KNOWN: f64 = 1.0 / 3.0;

/// The least share of a place's own values that must lead somewhere.
const OWN: f64 = 0.5;

/// What is known of the places of one attribute, or text, of elements of one name.
#[derive(Default)]
struct Kin {
    values: usize,
    referring: usize,
    /// In which forms they refer, with the places that give the names.
    forms: Vec<(Form, Vec<u32>)>,
}

/// Readings of places that have none yet and that give no names, after those of their kin.
pub(super) fn inherited(
    survey: &Survey<'_>,
    settings: &Settings,
    places: &[Place<'_>],
    looks: &Looks,
    readings: &Readings,
    gives: &[bool],
) -> Readings {
    let mut kins: HashMap<Family, Kin> = HashMap::new();
    for ((place, reading), gives) in places.iter().zip(readings).zip(gives) {
        let kin = kins.entry(family(place)).or_default();
        let values = place.slot.seen.len();
        if let Some(reading) = reading {
            kin.values += values;
            kin.referring += values;
            kin.add(reading);
        } else if !gives {
            kin.values += values;
        }
    }
    let scope: Vec<u32> = (0..survey.corpus.documents.len() as u32).collect();
    let index = Index::of(survey, places, gives, &scope);
    let desk = Desk {
        survey,
        settings,
        places,
        looks,
        index: &index,
        weak: &vec![false; places.len()],
        abroad: false,
        loose: true,
        scope: &scope,
    };
    let open = |at: usize| readings[at].is_none() && !gives[at];
    let read = |at: usize| {
        let kin = kins.get(&family(&places[at])).filter(|_| open(at))?;
        if (kin.referring as f64) < KNOWN * kin.values as f64 {
            return None;
        }
        let own = kin.forms.iter().filter_map(|(form, to)| {
            let towards = akin(places, gives, to);
            desk.read_towards(&[at], form, &towards)
        });
        own.filter(|own| own.hits > 0 && own.fit() >= OWN && !own.numeric)
            .max_by(|one, other| one.score.total_cmp(&other.score))
    };
    (0..places.len()).map(read).collect()
}

impl Kin {
    fn add(&mut self, reading: &Reading) {
        match self
            .forms
            .iter_mut()
            .find(|(form, _)| *form == reading.form)
        {
            Some((_, to)) => to.extend(&reading.to),
            None => self.forms.push((reading.form.clone(), reading.to.clone())),
        }
    }
}

fn family(place: &Place<'_>) -> Family {
    (place.at.group, Some(place.element), place.slot.attribute)
}

/// The places that give names as some of these do: in the same attribute of the same elements.
fn akin(places: &[Place<'_>], gives: &[bool], to: &[u32]) -> Vec<u32> {
    let known: Vec<Family> = to.iter().map(|to| family(&places[*to as usize])).collect();
    let all = (0..places.len()).filter(|at| gives[*at] && known.contains(&family(&places[*at])));
    all.map(|at| at as u32).collect()
}
