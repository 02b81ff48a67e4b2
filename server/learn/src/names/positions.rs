//! Finds places that refer to things by their position in the document.
//!
//! A number says little: small ones fit anywhere. What speaks for a position is that numbers
//! keep within how many things there are, document by document, where they would not by chance;
//! that they come from all over the range; and that they are not the number of things itself.

use super::clues;
use super::forms::SEPARATORS;
use super::places::Place;
use super::reading::{LEAST_SCORE, Miss};
use super::{Form, Member};
use crate::contexts::ContextId;
use crate::survey::{Group, Survey};
use foldhash::{HashMap, HashMapExt as _, HashSet, HashSetExt as _};

/// A place whose numbers are positions of things.
#[derive(Debug)]
pub(super) struct Position {
    pub place: usize,
    pub group: usize,
    /// The elements that are counted.
    pub things: ContextId,
    pub form: Form,
    pub hits: usize,
    pub files: u32,
    pub misses: Vec<Miss>,
}

/// Most numbers of one value: longer lists are no choice of a few things.
const MOST_NUMBERS: usize = 64;

/// How likely a position is wrong by mistake.
const STRAY: f64 = 0.02;

/// So many times the least score a place must have to be believed by itself.
const ALONE: f64 = 3.0;

/// And in any case.
const BESIDE: f64 = 1.5;

/// The least number of different positions.
const DIFFERENT: usize = 3;

/// The least share of positions in the upper half of their document's range.
const UPPER: f64 = 0.2;

/// The greatest share of documents whose only number is the number of things.
const COUNTS: f64 = 0.7;

pub(super) fn positions(
    survey: &Survey<'_>,
    places: &[Place<'_>],
    open: &dyn Fn(usize) -> bool,
) -> Vec<Position> {
    let mut found = Vec::new();
    for (number, group) in survey.groups.iter().enumerate() {
        let mine = |at: &usize| places[*at].at.group == number && open(*at);
        let here: Vec<usize> = (0..places.len()).filter(mine).collect();
        if here.is_empty() {
            continue;
        }
        let counts = Counts::of(group);
        let mut tried = Vec::new();
        for at in here {
            let numbers = numbers(survey, &places[at]);
            let position = numbers.and_then(|n| counts.best(&places[at], &n));
            if let Some((score, mut position)) = position {
                position.place = at;
                tried.push((score, position));
            }
        }
        // Places that show too little by themselves are believed beside others with the same things, and those that are
        // called after the things.
        let mut together: HashMap<ContextId, f64> = HashMap::new();
        for (score, position) in &tried {
            *together.entry(position.things).or_default() += score;
        }
        let is_sure = |(score, position): &(f64, Position)| {
            let called = survey.corpus.text(group.contexts.name(position.things));
            *score >= ALONE * LEAST_SCORE
                || together[&position.things] >= 2.0 * ALONE * LEAST_SCORE
                || clues::is_called(&places[position.place].called, &called.to_lowercase())
        };
        let sure = tried.into_iter().filter(is_sure);
        found.extend(sure.map(|(_, position)| position));
    }
    found
}

/// The numbers at a place.
struct Numbers {
    separator: Option<String>,
    /// Each once per document.
    all: Vec<Number>,
}

struct Number {
    /// Index into the group's documents.
    document: u32,
    number: u32,
    /// Index into the slot's values.
    seen: usize,
}

/// A place's numbers, if all its values are whole numbers, or lists of them, and not all the
/// same.
fn numbers(survey: &Survey<'_>, place: &Place<'_>) -> Option<Numbers> {
    let text = |at: usize| survey.corpus.text(place.slot.seen[at].value);
    let all = 0..place.slot.seen.len();
    let whole = |text: &str| text.parse::<u32>().is_ok();
    let separator = all.clone().find(|at| !whole(text(*at))).map(|at| {
        let fits = |mark: &&&str| split(text(at), mark).all(whole);
        SEPARATORS.iter().find(fits)
    });
    let separator = match separator {
        None => None,
        Some(mark) => Some(*mark?),
    };
    let mut numbers = Vec::new();
    let mut known = HashSet::new();
    for at in all {
        let members: Vec<&str> = match separator {
            Some(mark) => split(text(at), mark).collect(),
            None => vec![text(at)],
        };
        if members.len() > MOST_NUMBERS {
            return None;
        }
        for member in members {
            let number = member.parse().ok()?;
            let document = place.slot.seen[at].document;
            if known.insert((document, number)) {
                numbers.push(Number {
                    document,
                    number,
                    seen: at,
                });
            }
        }
    }
    let separator = separator.map(str::to_owned);
    Some(Numbers {
        separator,
        all: numbers,
    })
}

fn split<'t>(text: &'t str, mark: &'t str) -> impl Iterator<Item = &'t str> {
    let blank = mark == " ";
    text.split(move |c: char| {
        if blank {
            c.is_whitespace()
        } else {
            mark.contains(c)
        }
    })
    .map(str::trim)
    .filter(move |member| !blank || !member.is_empty())
}

/// How many things there are.
struct Counts<'g> {
    group: &'g Group,
    /// Per context, per document.
    each: Vec<Vec<u32>>,
    /// Per context, in how many documents there are at least so many.
    least: Vec<Vec<u32>>,
}

impl<'g> Counts<'g> {
    fn of(group: &'g Group) -> Self {
        let documents = group.documents.len();
        let mut each = vec![Vec::new(); group.contexts.len()];
        for context in group.contexts.all() {
            // What comes at most once is not counted.
            if group.count[context.index()] as usize > documents / 4 {
                each[context.index()] = vec![0; documents];
            }
        }
        for (document, contexts) in group.elements.iter().enumerate() {
            for context in contexts {
                if let Some(count) = each[context.index()].get_mut(document) {
                    *count += 1;
                }
            }
        }
        let mut least = Vec::new();
        for counts in &mut each {
            let most = counts.iter().max().copied().unwrap_or(0);
            let mut histogram = vec![0; most as usize + 2];
            for count in counts.iter() {
                histogram[*count as usize] += 1;
            }
            for at in (0..most as usize).rev() {
                histogram[at] += histogram[at + 1];
            }
            if most < 2 {
                counts.clear();
            }
            least.push(histogram);
        }
        Self { group, each, least }
    }

    /// The things whose positions the numbers are most likely to be.
    fn best(&self, place: &Place<'_>, numbers: &Numbers) -> Option<(f64, Position)> {
        let different: HashSet<u32> = numbers.all.iter().map(|n| n.number).collect();
        if different.len() < DIFFERENT {
            return None;
        }
        let first = u32::from(!different.contains(&0));
        let mut best: Option<(f64, ContextId)> = None;
        for context in self.group.contexts.all() {
            let around = self.group.contexts.chain(Some(place.slot.context));
            if self.each[context.index()].is_empty() || around.into_iter().any(|c| c == context) {
                continue;
            }
            let Some(score) = self.score(context, numbers, first) else {
                continue;
            };
            if best.is_none_or(|(than, _)| score > than) {
                best = Some((score, context));
            }
        }
        let (score, things) = best?;
        if score < BESIDE * LEAST_SCORE {
            return None;
        }
        let within =
            |n: &&Number| n.number < first + self.each[things.index()][n.document as usize];
        let hits = numbers.all.iter().filter(within);
        let files: HashSet<u32> = hits.clone().map(|n| n.document).collect();
        let misses = numbers.all.iter().filter(|n| !within(n)).map(|n| {
            let seen = &place.slot.seen[n.seen];
            Miss {
                document: place.document(seen),
                line: seen.line,
                value: seen.value,
            }
        });
        let position = Position {
            place: 0,
            group: place.at.group,
            things,
            form: Form {
                separator: numbers.separator.clone(),
                member: Member::Position { first },
            },
            hits: hits.count(),
            files: files.len() as u32,
            misses: misses.collect(),
        };
        Some((score, position))
    }

    fn score(&self, context: ContextId, numbers: &Numbers, first: u32) -> Option<f64> {
        let (each, least) = (&self.each[context.index()], &self.least[context.index()]);
        let documents = each.len() as f64;
        let allowed = numbers.all.len() / 20;
        let (mut score, mut misses, mut upper) = (0.0, 0, 0);
        let (mut files, mut counts) = (0_usize, 0_usize);
        for document in numbers.all.chunk_by(|a, b| a.document == b.document) {
            let count = each[document[0].document as usize];
            files += 1;
            counts += usize::from(document.len() == 1 && document[0].number == count);
            for number in document {
                let place = number.number - first;
                if place >= count {
                    misses += 1;
                    score += libm::log(STRAY);
                    if misses > allowed {
                        return None;
                    }
                    continue;
                }
                // Documents that have so many, but this one.
                let others = least
                    .get(place as usize + 1)
                    .map_or(0, |n| n.saturating_sub(1));
                let chance = (f64::from(others) + 0.5) / documents.max(1.0);
                score += libm::log((1.0 - STRAY) / chance.min(0.99)).max(0.0) / 2.0;
                upper += usize::from(2 * place + 1 >= count);
            }
        }
        let spread = upper as f64 >= UPPER * numbers.all.len() as f64;
        let counting = counts as f64 > COUNTS * files as f64;
        (spread && !counting).then_some(score)
    }
}
