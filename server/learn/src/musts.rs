//! How many files must have something before it is believed that all must.
//!
//! That it is in all files that were seen may be so because it must be, or because those who wrote them happened to
//! want it. The more of the library's attributes are everywhere, the likelier is the first; if what may be left out is
//! there with any probability from 0 to 1 alike, then it is in all of `k` files with the probability 1 / (k + 1).

use crate::forms::Form;
use crate::rules::{ENOUGH, is_required};

/// Elements in fewer files show nothing about the library as a whole.
const SHOWN: u32 = 3;

/// More files than these are never asked for.
const MOST: u32 = 12;

/// In how many files something must have been seen.
#[derive(Copy, Clone, Debug)]
pub(crate) struct Musts {
    pub(crate) values: u32,
    pub(crate) children: u32,
}

impl Musts {
    /// `sure`: how sure it must be that something has to be there, from 0 to 1.
    pub(crate) fn of<'f>(forms: impl IntoIterator<Item = &'f Form>, sure: f64) -> Self {
        let (mut values, mut children) = (Share::default(), Share::default());
        for form in forms {
            let makeup = &form.makeup;
            if makeup.spread.files() < SHOWN || makeup.elements < ENOUGH {
                continue;
            }
            for (_, with) in makeup.attributes.iter() {
                values.add(is_required(*with, makeup.elements));
            }
            for (_, child) in makeup.children.iter() {
                children.add(is_required(child.parents, makeup.elements));
            }
        }
        Self {
            values: values.files(sure),
            children: children.files(sure),
        }
    }
}

/// Of how many things how many are always there.
#[derive(Copy, Clone, Debug, Default)]
struct Share {
    always: u32,
    all: u32,
}

impl Share {
    fn add(&mut self, always: bool) {
        self.always += u32::from(always);
        self.all += 1;
    }

    /// The least number of files that make it sure enough (Bayes).
    fn files(&self, sure: f64) -> u32 {
        let share = f64::from(self.always + 1) / f64::from(self.all + 2);
        let odds = sure / (1.0 - sure) * (1.0 - share) / share;
        ((odds - 1.0).ceil().max(1.0) as u32).min(MOST)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_more_is_left_out_the_more_files_are_asked_for() {
        let files = |always, all| Share { always, all }.files(0.75);
        assert_eq!(files(0, 0), 2, "nothing is known");
        assert_eq!(files(30, 40), 1);
        assert_eq!(files(20, 40), 2);
        assert_eq!(files(10, 40), 8);
        assert_eq!(files(0, 40), MOST);
        let share = Share {
            always: 20,
            all: 40,
        };
        let surer = [0.0, 0.5, 0.9, 1.0].map(|sure| share.files(sure));
        assert_eq!(surer, [1, 1, 9, MOST]);
    }
}
