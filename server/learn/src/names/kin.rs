//! Places that show too little by themselves, beside others of the same attribute that refer.
//!
//! The same attribute of the same elements means the same wherever these stand. So a place with a handful of values is
//! believed to refer if many values of its kin do, and if more of its own lead there than do not. If most of its
//! kin do, and none of them gives names, it need not lead anywhere: the few values may be written in a way of their own,
//! or their targets be elsewhere.

use super::Form;
use super::index::Index;
use super::looks::Looks;
use super::places::{Family, Place};
use super::readings::Desk;
use super::references::Readings;
use super::scopes::Scopes;
use crate::survey::Survey;
use foldhash::{HashMap, HashMapExt as _, HashSet};

/// The least share of the values of a family that must be known to refer.
const KNOWN: f64 = 1.0 / 3.0;

/// The least share of a place's own values that must lead somewhere.
const OWN: f64 = 0.5;

/// The least share of the values of its kin that refer, for a place to be believed that shows nothing itself.
const SURE: f64 = 0.75;

/// And the least number of values that refer, and of their places.
const SURE_VALUES: usize = 10;
const SURE_PLACES: usize = 2;

/// A place with a greater share of the values of a family could show by itself that it refers.
const FEW: f64 = 0.25;

/// What is known of the places of one attribute, or text, of elements of one name.
#[derive(Default)]
struct Kin {
    /// Values of places that give no names.
    values: usize,
    referring: usize,
    referring_places: usize,
    giving: usize,
    /// In which forms they refer, with the families of the places that give the names.
    forms: Vec<(Form, HashSet<Family>)>,
}

/// Readings of places that have none yet and that give no names, after those of their kin.
pub(super) fn inherited(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    looks: &Looks,
    readings: &Readings,
    gives: &[bool],
    lacking: &[bool],
) -> Readings {
    let mut kins: HashMap<Family, Kin> = HashMap::new();
    for ((place, reading), gives) in places.iter().zip(readings).zip(gives) {
        let kin = kins.entry(family(place)).or_default();
        let values = place.slot.seen.len();
        if let Some(reading) = reading {
            kin.values += values;
            kin.referring += values;
            kin.referring_places += 1;
            let to = reading.to.iter().map(|to| family(&places[*to as usize]));
            kin.add(&reading.form, to);
        } else if *gives {
            kin.giving += values;
        } else {
            kin.values += values;
        }
    }
    let scopes = Scopes::documents(survey.corpus.documents.len());
    let index = Index::of(survey, places, gives, &scopes);
    let desk = Desk {
        survey,
        places,
        looks,
        index: &index,
        weak: &vec![false; places.len()],
        abroad: false,
        loose: true,
        scopes: &scopes,
        lacking,
        whole: false,
    };
    let givers: Vec<u32> = (0..places.len() as u32)
        .filter(|at| gives[*at as usize])
        .collect();
    // Per family with places that have no reading yet, the forms and the places that they lead to.
    let mut towards: HashMap<Family, Vec<(Form, Vec<u32>)>> = HashMap::new();
    let mut found: Readings = vec![None; places.len()];
    for at in 0..places.len() {
        let family = family(&places[at]);
        let kin = kins.get(&family).filter(|kin| kin.is_known());
        let (Some(kin), None, false) = (kin, &readings[at], gives[at]) else {
            continue;
        };
        let towards = towards
            .entry(family)
            .or_insert_with(|| kin.towards(places, &givers));
        let own = towards
            .iter()
            .filter_map(|(form, to)| desk.read_towards(&[at], form, to))
            .filter(|own| own.hits > 0 && own.fit() >= OWN && !own.numeric);
        found[at] = own.max_by(|one, other| one.score.total_cmp(&other.score));
        if found[at].is_none() && kin.is_sure_of(&places[at]) {
            found[at] = towards
                .first()
                .filter(|(_, to)| !to.is_empty())
                .map(|(form, to)| desk.presume(&[at], form, to));
        }
    }
    found
}

impl Kin {
    fn add(&mut self, form: &Form, to: impl Iterator<Item = Family>) {
        match self.forms.iter_mut().find(|(known, _)| known == form) {
            Some((_, known)) => known.extend(to),
            None => self.forms.push((form.clone(), to.collect())),
        }
    }

    /// Whether one of its places refers whatever it shows itself.
    fn is_sure_of(&self, place: &Place<'_>) -> bool {
        let own = place.slot.seen.len();
        self.giving == 0
            && self.referring >= SURE_VALUES
            && self.referring_places >= SURE_PLACES
            && self.referring as f64 >= SURE * (self.values - own) as f64
            && own as f64 <= FEW * self.referring as f64
            && place.worded.min(place.nameable) > OWN
    }

    /// Whether many of its values refer.
    fn is_known(&self) -> bool {
        self.referring > 0 && self.referring as f64 >= KNOWN * self.values as f64
    }

    /// The forms, each with the places that give names as those do that they lead to: in the same attribute of the same
    /// elements.
    fn towards(&self, places: &[Place<'_>], givers: &[u32]) -> Vec<(Form, Vec<u32>)> {
        let forms = self.forms.iter().map(|(form, families)| {
            let akin = givers
                .iter()
                .filter(|at| families.contains(&family(&places[**at as usize])));
            (form.clone(), akin.copied().collect())
        });
        forms.collect()
    }
}

fn family(place: &Place<'_>) -> Family {
    (place.at.group, Some(place.element), place.slot.attribute)
}
