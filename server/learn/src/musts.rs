//! How many files must have something before it is believed that all must.
//!
//! That it is in all files that were seen may be so because it must be, or because those who wrote them happened to
//! want it. The more of the library's attributes must be everywhere, the likelier is the first; if what may be left out is
//! there with any probability from 0 to 1 alike, then it is in all of `k` files with the probability 1 / (k + 1). How
//! many must be everywhere is not counted, since some are there by chance: it is estimated together with which they
//! are (expectation and maximisation).

use crate::forms::Form;
use crate::rules::{ENOUGH, is_required};

/// Elements in fewer files show nothing about the library as a whole.
const SHOWN: u32 = 3;

/// More files than these are never asked for.
const MOST: u32 = 12;

/// By so much less likely something must be there if half of its values or more are the same: that may be what stands
/// there where nothing is written, and what one program or another always writes out.
const USUAL: f64 = 0.5;

/// How sure it must be that something has to be there, and how likely that is of anything.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Musts {
    sure: f64,
    values: f64,
    children: f64,
}

impl Musts {
    /// `sure`: how sure it must be that something has to be there, from 0 to 1.
    pub(crate) fn of<'f>(forms: impl IntoIterator<Item = &'f Form>, sure: f64) -> Self {
        let (mut values, mut children) = (Share::default(), Share::default());
        for form in forms {
            let makeup = &form.makeup;
            let files = makeup.spread.files();
            if files < SHOWN || makeup.elements < ENOUGH {
                continue;
            }
            for (_, with) in makeup.attributes.iter() {
                values.add(is_required(*with, makeup.elements), files);
            }
            for (_, child) in makeup.children.iter() {
                children.add(is_required(child.parents, makeup.elements), files);
            }
        }
        Self {
            sure,
            values: values.of_musts(),
            children: children.of_musts(),
        }
    }

    /// Whether so many files show that a value which they all have must be there. `has_usual`: whether half of the
    /// values or more are the same.
    pub(crate) fn ask_for_value(&self, files: u32, has_usual: bool) -> bool {
        let doubt = if has_usual { USUAL } else { 1.0 };
        files >= files_for(self.sure, self.values, doubt)
    }

    /// The same of a child.
    pub(crate) fn ask_for_child(&self, files: u32) -> bool {
        files >= files_for(self.sure, self.children, 1.0)
    }
}

/// The least number of files that make it sure enough (Bayes). `share`: of all things, how many must be there; `doubt`:
/// a factor to the odds.
fn files_for(sure: f64, share: f64, doubt: f64) -> u32 {
    let odds = sure / (1.0 - sure) * (1.0 - share) / share / doubt;
    ((odds - 1.0).ceil().max(1.0) as u32).min(MOST)
}

/// Of how many things how many are always there.
#[derive(Clone, Debug, Default)]
struct Share {
    /// By the number of files that they are in: things that are in all of these.
    always: [u32; MOST as usize + 1],
    all: u32,
}

/// Rounds of estimation: each changes the share less than the one before.
const ROUNDS: usize = 50;

impl Share {
    fn add(&mut self, always: bool, files: u32) {
        if always {
            self.always[files.min(MOST) as usize] += 1;
        }
        self.all += 1;
    }

    /// The share of things that must be there, between 0 and 1 and neither of them.
    fn of_musts(&self) -> f64 {
        let share = |musts: f64| (musts + 1.0) / (f64::from(self.all) + 2.0);
        let mut now = share(self.always.iter().map(|count| f64::from(*count)).sum());
        for _ in 0..ROUNDS {
            let musts = self.always.iter().enumerate().map(|(files, count)| {
                let by_chance = (1.0 - now) / (files as f64 + 1.0);
                f64::from(*count) * now / (now + by_chance)
            });
            now = share(musts.sum());
        }
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(always: u32, all: u32, files: u32) -> Share {
        let mut share = Share::default();
        for at in 0..all {
            share.add(at < always, files);
        }
        share
    }

    #[test]
    fn the_more_is_left_out_the_more_files_are_asked_for() {
        let files = |always, all| files_for(0.75, share(always, all, 12).of_musts(), 1.0);
        assert_eq!(files(0, 0), 2, "nothing is known");
        assert_eq!(files(32, 40), 1);
        assert_eq!(files(20, 40), 3);
        assert_eq!(files(10, 40), 11);
        assert_eq!(files(0, 40), MOST);
        let half = share(20, 40, 12).of_musts();
        let surer = [0.0, 0.5, 0.9, 1.0].map(|sure| files_for(sure, half, 1.0));
        assert_eq!(surer, [1, 1, 10, MOST]);
    }

    #[test]
    fn what_a_few_files_have_need_not_be_a_must() {
        let [few, many] = [3, 12].map(|files| share(20, 40, files).of_musts());
        assert!(few < 0.4 && many > 0.45, "{few} {many}");
    }

    #[test]
    fn values_that_are_mostly_the_same_ask_for_more_files() {
        let musts = Musts {
            sure: 0.75,
            values: 0.5,
            children: 0.5,
        };
        let least = |has_usual| (1..).find(|files| musts.ask_for_value(*files, has_usual));
        assert_eq!((least(false), least(true)), (Some(2), Some(5)));
    }
}
