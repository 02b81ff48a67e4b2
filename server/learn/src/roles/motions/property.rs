//! Which property a channel moves: told by where its values agree with how nodes rest.

use super::super::channels::Ends;
use super::super::columns::Column;
use super::super::hints::hints_at;
use super::super::measures::{Measures, Row};
use super::super::proposal::Proposal;
use super::super::shapes::Value;
use super::{Common, rows};
use dialect::{Kinded as _, Property};
use scene::Node;
use std::collections::BTreeMap;

/// More words are no list of properties or of ways to move.
pub(super) const MOST_WORDS: usize = 8;

/// One property, or several that a word tells apart.
pub(super) enum Moved {
    Always(Property),
    Said {
        column: usize,
        words: Vec<(Property, Vec<String>)>,
    },
}

impl Moved {
    /// What a row moves.
    pub(super) fn of(&self, row: usize, columns: &[Column<'_>]) -> Option<Property> {
        match self {
            Self::Always(property) => Some(*property),
            Self::Said { column, words } => {
                let own = columns[*column].word(row)?;
                let mut words = words.iter();
                let is_own = |(_, of): &&(Property, Vec<String>)| of.iter().any(|word| word == own);
                words.find(is_own).map(|(property, _)| *property)
            }
        }
    }
}

/// Votes for properties.
#[derive(Clone, Debug, Default)]
struct Votes(BTreeMap<&'static str, f64>);

impl Votes {
    fn add(&mut self, row: &Row<'_>, measures: &Measures) {
        for (property, weight) in row.votes(measures) {
            *self.0.entry(property.as_str()).or_default() += weight;
        }
    }

    /// The property with most votes, with how many, and how many speak for others.
    fn best(&self) -> Option<(Property, f64, f64)> {
        let (word, most) = self
            .0
            .iter()
            .max_by(|one, other| one.1.total_cmp(other.1))?;
        let property = Property::WORDS.iter().find(|(known, _)| known == word)?.1;
        let all: f64 = self.0.values().sum();
        Some((property, *most, all - most))
    }
}

/// Which property these ends are of. `called`: the channel's element.
pub(super) fn moved(
    ends: &Ends,
    called: &str,
    columns: &[Column<'_>],
    nodes: &[Option<&Node>],
    common: &Common,
    proposal: &mut Proposal,
) -> Moved {
    let rows: Vec<(usize, Row<'_>)> = rows(ends, nodes).collect();
    let mut all = Votes::default();
    rows.iter()
        .for_each(|(_, row)| all.add(row, &common.measures));
    let stray_at_all = all.best().map_or(f64::MAX, |(.., others)| others);
    let are_mixed = mixed(ends);
    // The word that tells properties apart: less speaks against its parts than against the whole.
    let mut best: Option<(f64, usize)> = None;
    for (at, column) in columns.iter().enumerate() {
        let Some(words) = column.words().filter(|_| column.share >= 0.9) else {
            continue;
        };
        let is_here = |(word, _): &&(String, usize)| {
            let mut rows = rows.iter();
            rows.any(|(row, _)| column.word(*row) == Some(word))
        };
        let here = words.iter().filter(is_here).count();
        if here < 2 || words.len() > MOST_WORDS || (are_mixed && !splits(ends, column)) {
            continue;
        }
        let mut stray = 0.0;
        for (word, _) in &words {
            let mut votes = Votes::default();
            let of_word = rows
                .iter()
                .filter(|(row, _)| column.word(*row) == Some(word));
            of_word.for_each(|(_, row)| votes.add(row, &common.measures));
            stray += votes.best().map_or(0.0, |(.., others)| others);
        }
        if best.is_none_or(|(known, _)| stray < known) {
            best = Some((stray, at));
        }
    }
    let is_needed = |stray: f64| are_mixed || stray * 2.0 + 2.0 < stray_at_all;
    if let Some((_, at)) = best.filter(|(stray, _)| *stray == 0.0 || is_needed(*stray))
        && (are_mixed || is_needed(best.map_or(0.0, |(stray, _)| stray)))
    {
        return said(at, &columns[at], ends, &rows, common, proposal);
    }
    let name = name(ends);
    let is_word = ends
        .values
        .iter()
        .flatten()
        .all(|[from, _]| matches!(from, Value::Word(_)));
    let is_factor = ends
        .values
        .iter()
        .flatten()
        .all(|[from, _]| matches!(from, Value::Number(_)));
    let property = match all.best() {
        _ if is_word => Property::Visibility,
        _ if is_factor => Property::Scale,
        Some((property, votes, others)) if votes > others => {
            proposal.reasons.push(format!(
                "{} of {} start or end where their node rests, taken as {}",
                votes.round(),
                rows.len(),
                property.as_str()
            ));
            property
        }
        _ => guessed(&name, called, ends, &common.measures, proposal),
    };
    Moved::Always(property)
}

/// What ends are called: their own element, where that is not the channel itself.
fn name(ends: &Ends) -> String {
    let own = ends
        .from
        .path
        .rsplit_once('/')
        .map(|(way, _)| way.to_owned());
    let list = ends.to.is_none().then(|| ends.from.path.clone());
    own.or(list).unwrap_or_default()
}

/// The property that a name's words hint at.
pub(super) fn hinted(name: &str) -> Option<Property> {
    let mut words = Property::WORDS.iter();
    let (_, property) = words.find(|(word, _)| hints_at(name, word))?;
    Some(*property)
}

/// Nothing goes farther, in metres.
const FARTHEST: f64 = 5.0;

/// Where scenes show nothing: from English, and from how values look.
fn guessed(
    name: &str,
    called: &str,
    ends: &Ends,
    measures: &Measures,
    proposal: &mut Proposal,
) -> Property {
    let is_whole = |[from, to]: &[Value; 2]| {
        [from, to]
            .iter()
            .all(|end| end.vector().is_some_and(|end| end == [1.0; 3]))
    };
    let vectors = ends.values.iter().flatten();
    let ones = vectors.clone().filter(|pair| is_one(pair)).count();
    let property = match hinted(name).or_else(|| hinted(called)) {
        Some(property) => property,
        None if ones * 2 > vectors.clone().count() && !vectors.clone().all(is_whole) => {
            Property::Scale
        }
        None if are_too_far(vectors.clone(), measures) => Property::Rotation,
        None => Property::Translation,
    };
    proposal.confidence -= 0.3;
    proposal.assumed.push(format!(
        "That {name} moves the {} is a guess.",
        property.as_str()
    ));
    property
}

/// Whether most values would be farther away than anything goes, in the unit that other motions are in.
fn are_too_far<'v>(
    pairs: impl Iterator<Item = &'v [Value; 2]> + Clone,
    measures: &Measures,
) -> bool {
    let Some((unit, _)) = &measures.length else {
        return false;
    };
    let is_too_far = |pair: &&[Value; 2]| {
        let numbers = pair.iter().filter_map(Value::vector).flatten();
        let mut far = numbers.map(|number| number.abs() * unit.to_base);
        far.any(|far| far > FARTHEST)
    };
    pairs.clone().filter(is_too_far).count() * 2 > pairs.count()
}

fn is_one(pair: &[Value; 2]) -> bool {
    pair.iter().any(|end| end.vector() == Some([1.0; 3]))
}

/// Whether some values are words and others are not.
fn mixed(ends: &Ends) -> bool {
    let words = ends
        .values
        .iter()
        .flatten()
        .filter(|[from, _]| matches!(from, Value::Word(_)))
        .count();
    let all = ends.values.iter().flatten().count();
    words > 0 && words * 50 > all && words < all
}

/// Whether each word of a column goes either with words or with others.
fn splits(ends: &Ends, column: &Column<'_>) -> bool {
    let mut seen: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for (at, pair) in ends.values.iter().enumerate() {
        if let (Some(word), Some([from, _])) = (column.word(at), pair) {
            let seen = seen.entry(word).or_default();
            match from {
                Value::Word(_) => seen.0 += 1,
                _ => seen.1 += 1,
            }
        }
    }
    seen.values()
        .all(|(words, others)| words.min(others) * 20 <= words + others)
}

/// Properties by the words of a column.
fn said(
    at: usize,
    column: &Column<'_>,
    ends: &Ends,
    rows: &[(usize, Row<'_>)],
    common: &Common,
    proposal: &mut Proposal,
) -> Moved {
    let mut found: Vec<(Property, Vec<String>)> = Vec::new();
    let mut open = Vec::new();
    let put =
        |found: &mut Vec<(Property, Vec<String>)>, property: Property, word: String| match found
            .iter_mut()
            .find(|(known, _)| *known == property)
        {
            Some((_, words)) => words.push(word),
            None => found.push((property, vec![word])),
        };
    for (word, _) in column.words().unwrap_or_default() {
        let is_of = |row: &usize| column.word(*row) == Some(word.as_str());
        let mut votes = Votes::default();
        let of_word = rows.iter().filter(|(row, _)| is_of(row));
        of_word
            .clone()
            .for_each(|(_, row)| votes.add(row, &common.measures));
        let own = ends.values.iter().enumerate().filter(|(row, _)| is_of(row));
        let mut own = own.filter_map(|(_, pair)| pair.as_ref()).peekable();
        // What goes with other motions only says nothing of this one.
        if own.peek().is_none() {
            continue;
        }
        if own.all(|[from, _]| matches!(from, Value::Word(_))) {
            proposal
                .reasons
                .push(format!("with \"{word}\" the values are answers"));
            put(&mut found, Property::Visibility, word);
            continue;
        }
        match votes.best() {
            Some((property, most, others)) if most > others => {
                let count = of_word.count();
                let most = most.round();
                proposal.reasons.push(format!(
                    "with \"{word}\" {most} of {count} start or end where their node rests, taken as {}",
                    property.as_str()
                ));
                put(&mut found, property, word);
            }
            _ => open.push(word),
        }
    }
    for word in open {
        let rest = [Property::Translation, Property::Rotation, Property::Scale];
        let hinted = rest
            .into_iter()
            .find(|property| hints_at(&word, property.as_str()));
        let free = rest
            .into_iter()
            .find(|property| found.iter().all(|(known, _)| known != property));
        if let Some(property) = hinted.or(free) {
            proposal.confidence -= 0.15;
            proposal
                .assumed
                .push(format!("\"{word}\" is taken for {}.", property.as_str()));
            put(&mut found, property, word);
        }
    }
    Moved::Said {
        column: at,
        words: found,
    }
}
