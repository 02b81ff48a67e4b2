//! Words for shown and hidden, told by whether nodes are shown when nothing moves them.

use super::hints::hints_at;
use super::measures::Row;
use super::shapes::Value;
use dialect::Notation;
use std::collections::BTreeMap;

/// The words of a library for shown and hidden.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Answers {
    pub(super) yes: String,
    pub(super) no: String,
    /// How it was told.
    pub(super) told: Told,
}

#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Told {
    Scenes,
    English,
    Assumed,
}

impl Answers {
    /// The words that stand for shown and hidden; `None` if there are not two.
    pub(super) fn of(pairs: &[[Value; 2]], rows: &[Row<'_>], notation: &Notation) -> Option<Self> {
        let mut ends: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for pair in pairs {
            if let [Value::Word(from), Value::Word(to)] = pair {
                ends.entry(from).or_default().0 += 1;
                ends.entry(to).or_default().1 += 1;
            }
        }
        let mut words: Vec<(&str, (usize, usize))> = ends.into_iter().collect();
        words.sort_by_key(|(_, (from, to))| std::cmp::Reverse(from + to));
        let [(one, ones), (other, others)] = *words.get(..2)? else {
            return None;
        };
        let mut shown = 0_i64;
        for row in rows {
            if let [Value::Word(from), Value::Word(to)] = row.ends
                && from != to
            {
                let sign = if row.is_shown() { 1 } else { -1 };
                shown += if from == one { sign } else { 0 };
                shown -= if from == other { sign } else { 0 };
            }
        }
        // Where no scene says so, all nodes count as shown: a motion may well begin with hiding one then.
        let is_said = rows.iter().any(|row| row.node.rest.visible.is_some());
        let answers = |yes: &str, no: &str, told| {
            Some(Self {
                yes: yes.to_owned(),
                no: no.to_owned(),
                told,
            })
        };
        let is_yes =
            |word: &str| notation.yes.iter().any(|yes| yes == word) || hints_at(word, "yes");
        let is_no = |word: &str| notation.no.iter().any(|no| no == word) || hints_at(word, "no");
        match shown {
            2.. if is_said => answers(one, other, Told::Scenes),
            ..=-2 if is_said => answers(other, one, Told::Scenes),
            _ if is_yes(one) || is_no(other) => answers(one, other, Told::English),
            _ if is_yes(other) || is_no(one) => answers(other, one, Told::English),
            2.. => answers(one, other, Told::Assumed),
            ..=-2 => answers(other, one, Told::Assumed),
            _ if ones.1 * (others.0 + 1) >= others.1 * (ones.0 + 1) => {
                answers(one, other, Told::Assumed)
            }
            _ => answers(other, one, Told::Assumed),
        }
    }
}
