//! Values without another one: what they move, and whether they say where it goes or by how much. They seldom agree with
//! how nodes rest, so words and how large they are count for more.

use super::super::channels::Ends;
use super::super::columns::Column;
use super::super::hints::hints_at;
use super::super::measures::{Measures, Row, are_angles};
use super::super::proposal::{Proposal, word};
use super::super::shapes::Value;
use super::property::{MOST_WORDS, Moved, hinted};
use super::rows;
use dialect::Property;
use glam::DVec3;
use scene::Node;

/// What such values move, and whether they are changes. `called`: the channel's element.
pub(super) fn moved(
    ends: &Ends,
    called: &str,
    columns: &[Column<'_>],
    nodes: &[Option<&Node>],
    measures: &Measures,
    proposal: &mut Proposal,
) -> (Moved, bool) {
    let name = ends.from.path.as_str();
    let moved = told(ends, called, columns, proposal);
    proposal.confidence -= 0.15;
    let is_shift = |row: usize| moved.of(row, columns) == Some(Property::Translation);
    let unit = measures
        .length
        .as_ref()
        .map_or(1.0, |(unit, _)| unit.to_base);
    let shifts = rows(ends, nodes).filter(|(row, _)| is_shift(*row));
    let (mut there, mut changes) = (0, 0);
    for (_, row) in shifts {
        match agrees(&row, unit) {
            Some(true) => there += 1,
            Some(false) => changes += 1,
            None => {}
        }
    }
    let is_change = match there + changes {
        0 => {
            let is_change = !hints_at(name, word::TO);
            proposal.assumed.push(match is_change {
                true => format!("{name} is taken for a change."),
                false => format!("{name} is taken for where it goes."),
            });
            is_change
        }
        _ => {
            proposal.reasons.push(match changes > there {
                true => format!(
                    "{name} is nought in {changes} places along axes along which the node does not rest at nought, so it is a change"
                ),
                false => format!(
                    "{name} keeps a number of where its node rests in {there} places, so it says where that goes"
                ),
            });
            changes > there
        }
    };
    (moved, is_change)
}

/// What values move that seldom agree with how nodes rest: by words, and by how large they are.
pub(super) fn told(
    ends: &Ends,
    called: &str,
    columns: &[Column<'_>],
    proposal: &mut Proposal,
) -> Moved {
    let name = ends.from.path.as_str();
    let all: Vec<usize> = (0..ends.values.len()).collect();
    match by_words(ends, columns) {
        Some((column, words)) => {
            let mut found: Vec<(Property, Vec<String>)> = Vec::new();
            for (word, property, why) in words {
                proposal.assumed.push(format!(
                    "\"{word}\" is taken for {}, by {why}.",
                    property.as_str()
                ));
                match found.iter_mut().find(|(known, _)| *known == property) {
                    Some((_, words)) => words.push(word),
                    None => found.push((property, vec![word])),
                }
            }
            Moved::Said {
                column,
                words: found,
            }
        }
        None => {
            let (property, why) = property(&[name, called], &vectors(ends, &all));
            proposal.assumed.push(format!(
                "{name} is taken for {}, by {why}.",
                property.as_str()
            ));
            Moved::Always(property)
        }
    }
}

/// Whether a value keeps some number of where its node rests; or else has nought there. None: neither.
fn agrees(row: &Row<'_>, unit: f64) -> Option<bool> {
    let value = row.ends[0].vector()?;
    let rest = (row.node.rest.translation / unit).to_array();
    let far = value
        .iter()
        .zip(rest)
        .filter(|(_, rest)| rest.abs() * unit > 1e-3);
    let far: Vec<(f64, f64)> = far.map(|(value, rest)| (*value, rest)).collect();
    let same = |(value, rest): &(f64, f64)| (value - rest).abs() <= 0.004 * rest.abs();
    if far.iter().any(same) {
        return Some(true);
    }
    far.iter().any(|(value, _)| *value == 0.0).then_some(false)
}

fn vectors(ends: &Ends, rows: &[usize]) -> Vec<DVec3> {
    let values = rows.iter().filter_map(|row| ends.values[*row].as_ref());
    let said = |vector: [f64; 3]| vector.map(|number| if number.is_nan() { 0.0 } else { number });
    let farther = |[one, other]: &[Value; 2]| {
        let [one, other] = [one, other].map(|value| Some(DVec3::from(said(value.vector()?))));
        let (one, other) = (one?, other?);
        Some(if one.abs().max_element() > other.abs().max_element() {
            one
        } else {
            other
        })
    };
    values.filter_map(farther).collect()
}

/// What a word means, and how that was told.
type Told = (String, Property, &'static str);

/// A column whose words tell properties apart, and what each means and why.
fn by_words(ends: &Ends, columns: &[Column<'_>]) -> Option<(usize, Vec<Told>)> {
    let mut best: Option<(usize, usize, Vec<Told>)> = None;
    for (at, column) in columns.iter().enumerate() {
        let words = column.words().filter(|_| column.share >= 0.9);
        let Some(words) = words.filter(|words| (2..=MOST_WORDS).contains(&words.len())) else {
            continue;
        };
        let by_word = words.into_iter().filter_map(|(word, _)| {
            let rows = ends.values.iter().enumerate();
            let rows =
                rows.filter(|(row, ends)| ends.is_some() && column.word(*row) == Some(&word));
            let of_word: Vec<usize> = rows.map(|(row, _)| row).collect();
            (!of_word.is_empty()).then(|| (word, vectors(ends, &of_word)))
        });
        let by_word: Vec<(String, Vec<DVec3>)> = by_word.collect();
        let sizes = by_word.iter().map(|(_, vectors)| usual_size(vectors));
        let least = sizes.filter(|size| *size > 0.0).fold(f64::MAX, f64::min);
        let told = by_word.into_iter().map(|(word, vectors)| {
            if vectors.is_empty() {
                return (word, Property::Visibility, "its values being words");
            }
            let size = usual_size(&vectors);
            match property(&[&word], &vectors) {
                // Nothing goes ten times as far as other things, and more than five metres.
                (Property::Translation, HOW_LARGE) if size > 10.0 * least && size > 5.0 => {
                    (word, Property::Rotation, "how large it is beside others")
                }
                (property, why) => (word, property, why),
            }
        });
        let told: Vec<Told> = told.collect();
        let different = told.iter().any(|(_, property, _)| *property != told[0].1);
        let hinted = told.iter().filter(|(.., why)| *why == BY_WORD).count();
        if different && best.as_ref().is_none_or(|(known, ..)| hinted > *known) {
            best = Some((hinted, at, told));
        }
    }
    best.map(|(_, at, told)| (at, told))
}

const BY_WORD: &str = "the word";
const HOW_LARGE: &str = "how large it is";

/// The greatest number of a vector, of half of the vectors more and of half less.
fn usual_size(vectors: &[DVec3]) -> f64 {
    let sizes = vectors.iter().map(|vector| vector.abs().max_element());
    let mut sizes: Vec<f64> = sizes.collect();
    sizes.sort_by(f64::total_cmp);
    sizes.get(sizes.len() / 2).copied().unwrap_or(0.0)
}

/// What vectors move, from what they are called, nearest name first, or else from how large they are.
fn property(names: &[&str], vectors: &[DVec3]) -> (Property, &'static str) {
    if let Some(property) = names.iter().find_map(|name| hinted(name)) {
        return (property, BY_WORD);
    }
    let turned = |vector: &DVec3| {
        let degrees = vector.abs().max_element();
        degrees > 4.9 && degrees <= 360.0 && (degrees / 5.0).fract() == 0.0
    };
    let numbers = || vectors.iter().map(|vector| vector.abs().max_element());
    let factor = |vector: &DVec3| vector.min_element() >= 0.1 && vector.max_element() <= 5.0;
    let most = |fits: &dyn Fn(&DVec3) -> bool| {
        vectors.iter().filter(|vector| fits(vector)).count() * 4 > vectors.len() * 3
    };
    match () {
        () if most(&factor) => (Property::Scale, "having three factors"),
        () if most(&turned) => (Property::Rotation, "being whole steps of five"),
        () if are_angles(&numbers().collect::<Vec<f64>>()) => (Property::Rotation, HOW_LARGE),
        () => (Property::Translation, HOW_LARGE),
    }
}
