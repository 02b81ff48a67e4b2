//! The order in which references are looked for: within documents, in others that they bring in or that lie in the same
//! folder, and among places of the same sort.

use super::links::Links;
use super::looks::Looks;
use super::places::Place;
use super::references::{Readings, references};
use super::scopes::Scopes;
use super::{folders, kin, kinds};
use crate::survey::Survey;

/// What was found, per place.
pub(super) struct Found {
    pub readings: Readings,
    /// Whether its names lead to other documents.
    pub abroad: Vec<bool>,
}

pub(super) fn search(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    looks: &Looks,
    links: &Links,
) -> Found {
    let mut search = Search {
        survey,
        places,
        looks,
        links,
        readings: vec![None; places.len()],
        abroad: vec![false; places.len()],
    };
    let documents = Scopes::documents(survey.corpus.documents.len());
    search.fill(search.find(&documents, false));
    // What leads nowhere in its own document may lead to others that it brings in, or to others of the same folder.
    let folders = folders::levels(survey.corpus);
    for scopes in links.scopes().into_iter().chain(folders) {
        search.look_abroad(&scopes);
    }
    search.fill(search.find(&documents, true));
    search.fill(search.inherited());
    Found {
        readings: search.readings,
        abroad: search.abroad,
    }
}

/// What was found so far, and where to look.
struct Search<'s> {
    survey: &'s Survey<'s>,
    places: &'s [Place<'s>],
    looks: &'s Looks,
    links: &'s Links,
    readings: Readings,
    abroad: Vec<bool>,
}

impl Search<'_> {
    /// Readings of places that have none yet. `loose`: those that are just good enough, too.
    fn find(&self, scopes: &Scopes, loose: bool) -> Readings {
        let scopes = (scopes, self.links.lacking.as_slice());
        let (survey, places, looks) = (self.survey, self.places, self.looks);
        references(survey, places, looks, scopes, &self.readings, loose)
    }

    /// Readings of such places after those of their kin.
    fn inherited(&self) -> Readings {
        let gives = kinds::givers(self.places, &self.readings);
        let (survey, places, looks) = (self.survey, self.places, self.looks);
        let lacking = &self.links.lacking;
        kin::inherited(survey, places, looks, &self.readings, &gives, lacking)
    }

    /// Adds readings of places that have none.
    fn fill(&mut self, found: Readings) {
        for (reading, found) in self.readings.iter_mut().zip(found) {
            if reading.is_none() {
                *reading = found;
            }
        }
    }

    /// Looks in other documents, twice: places that turn out to refer to these give no names to their own document.
    fn look_abroad(&mut self, scopes: &Scopes) {
        for _ in 0..2 {
            let found = self.found_abroad(scopes);
            for (abroad, reading) in self.abroad.iter_mut().zip(&found) {
                *abroad |= reading.is_some();
            }
            let redirected = self.forget_redirected(&found);
            self.fill(found);
            if !redirected {
                break;
            }
        }
    }

    /// What refers to other documents beyond doubt, and gives no names unless to places like itself.
    fn found_abroad(&self, scopes: &Scopes) -> Readings {
        let places = self.places;
        let gives = kinds::givers(places, &self.readings);
        let mut found = self.find(scopes, false);
        for (at, reading) in found.iter_mut().enumerate() {
            reading.take_if(|reading| {
                let mut to = reading.to.iter().map(|to| &places[*to as usize]);
                !reading.reaches() || (gives[at] && !to.any(|to| places[at].is_like(to)))
            });
        }
        found
    }

    /// Forgets readings that lead to places of which it was found that they refer themselves, and tells whether there
    /// were any.
    fn forget_redirected(&mut self, found: &Readings) -> bool {
        let mut redirected = false;
        for (at, reading) in self.readings.iter_mut().enumerate() {
            let forgotten = reading.take_if(|reading| {
                let mut to = reading.to.iter();
                to.any(|to| found[*to as usize].is_some())
            });
            redirected |= forgotten.is_some();
            self.abroad[at] &= reading.is_some() || found[at].is_some();
        }
        redirected
    }
}
