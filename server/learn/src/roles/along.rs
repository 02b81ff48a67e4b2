//! Numbers along, or about, an axis that stands beside them as a word or a vector, or that is always the same.
//!
//! Which axis a word means is told by nodes that rest as far along it as a value says. Words of everyday English count
//! where that shows nothing.

use super::channels::{Channel, Ends};
use super::columns::{Column, most};
use super::ground::Ground;
use super::hints::{hints_at, parts};
use super::proposal::{Part, PartValue, word};
use super::records::{Field, Record};
use super::shapes::Value;
use crate::separators::separator;
use crate::symbols::Symbol;
use dialect::{
    Bounds, Direction, ItemType, Kinded as _, Property, Quantity, Unit, ValueType, Word, WordList,
};
use glam::DVec3;
use scene::Node;
use std::collections::{BTreeMap, BTreeSet};

/// More words are no directions.
const MOST_WORDS: usize = 6;

/// Nothing becomes more times as large.
const LARGEST: f64 = 20.0;

/// Fewer values that agree with how nodes rest prove nothing.
const ENOUGH: usize = 3;

/// Where an axis stands.
#[derive(Clone, Debug)]
pub(super) struct Along {
    pub(super) field: Field,
    said: Said,
    /// How it was told.
    pub(super) reason: Option<String>,
    /// What was guessed.
    pub(super) assumed: Vec<String>,
}

#[derive(Clone, Debug)]
enum Said {
    /// As three numbers, with what stands between them.
    Vector(String),
    /// As words: what each direction is called.
    Words(Vec<(&'static str, Vec<String>)>),
}

impl Along {
    /// The part of a role for a number that stands at `amount`.
    pub(super) fn place(&self, key: &'static str, amount: &str, is_inside: bool) -> Part {
        let path = match is_inside {
            true => format!("../{}", self.field.path),
            false => self.field.path.clone(),
        };
        let axis = match &self.said {
            Said::Vector(_) => PartValue::Path(path),
            Said::Words(words) => PartValue::Words {
                at: path,
                words: words.clone(),
            },
        };
        let axis = Part {
            key: word::ALONG,
            value: axis,
        };
        let value = PartValue::Parts(vec![axis, Part::path(word::AMOUNT, amount)]);
        Part { key, value }
    }

    /// The type of what says the axis.
    pub(super) fn value_type(&self) -> ValueType {
        ValueType::single(match &self.said {
            Said::Vector(mark) => ItemType::Vector {
                count: 3,
                separator: separator(mark),
                range: Bounds::default(),
                unit: None,
            },
            Said::Words(words) => {
                let words = words.iter().flat_map(|(_, words)| words);
                let words = words.map(|text| Word {
                    text: text.clone(),
                    doc: String::new(),
                });
                let words = words.collect();
                ItemType::Word(WordList { name: None, words }.into())
            }
        })
    }
}

/// Whether a column says axes, as far as that can be told from itself.
pub(super) fn says_axes(ground: &Ground<'_>, column: &Column<'_>) -> bool {
    are_directions(column) || {
        let words = words(ground, column.field);
        let hinted = words.iter().filter(|(word, _)| hinted(word).is_some());
        !words.is_empty() && words.len() <= MOST_WORDS && hinted.count() == words.len()
    }
}

/// Turns single numbers of a channel into numbers along axes, where that is what they are. `nodes`: the node of each row;
/// `called`: the name of its elements.
pub(super) fn resolve(
    ground: &Ground<'_>,
    record: &Record,
    channel: &mut Channel,
    nodes: &[Option<&Node>],
    called: &str,
) {
    if !channel.ends.iter().any(are_numbers) {
        return;
    }
    let free = free_fields(ground, channel);
    for ends in channel.ends.iter_mut().filter(|ends| are_numbers(ends)) {
        let columns = columns_with(ground, record, &free, ends);
        let numbers: Vec<Option<[f64; 2]>> = ends.values.iter().map(numbers).collect();
        let rows = Rows {
            numbers: &numbers,
            nodes,
        };
        if let Some(column) = columns.iter().find(|column| are_directions(column)) {
            ends.values = vectors(&numbers, |row| column.singles[row].as_ref()?.vector());
            ends.along = Some(by_vector(column));
        } else if let Some(along) = by_words(ground, &columns, &rows) {
            let by_row = along.field.by_row(record.rows.len());
            ends.values = vectors(&numbers, |row| along.direction(ground, by_row[row]?));
            ends.along = Some(along);
        } else if ends.to.is_some()
            && let Some(axis) = always(&rows, &[called, &ends.from.path])
        {
            lay_along(ends, axis, &numbers);
        }
    }
    // Plain numbers without an axis can only be factors.
    let (told, unknown): (_, Vec<Ends>) = std::mem::take(&mut channel.ends)
        .into_iter()
        .partition(|ends| !are_numbers(ends) || ends.from.axes.is_some() || are_factors(ends));
    channel.ends = told;
    channel.unknown = unknown.into_iter().map(|ends| ends.from.path).collect();
}

/// Whether all values are single numbers.
fn are_numbers(ends: &Ends) -> bool {
    let mut values = ends.values.iter().flatten().peekable();
    values.peek().is_some() && values.all(|[from, _]| from.number().is_some())
}

/// Fields of a channel that are not known to say anything else.
fn free_fields(ground: &Ground<'_>, channel: &Channel) -> Vec<Field> {
    let mut taken = channel.time_slots();
    taken.push(channel.node.slot);
    for ends in &channel.ends {
        let both = [Some(&ends.from), ends.to.as_ref()].into_iter().flatten();
        taken.extend(both.map(|field| field.slot));
    }
    let is_free = |field: &&Field| {
        !taken.contains(&field.slot)
            && ground.gives(field.slot).is_none()
            && ground.reference(field.slot).is_none()
            && ground.path_item(field.slot).is_none()
    };
    channel.fields.iter().filter(is_free).cloned().collect()
}

/// The fields that stand with the values, those in the same element first: what says an axis is rather there.
fn columns_with<'f>(
    ground: &Ground<'_>,
    record: &Record,
    fields: &'f [Field],
    ends: &Ends,
) -> Vec<Column<'f>> {
    let is_with = |field: &&Field| {
        let by_row = field.by_row(record.rows.len());
        let rows = ends.values.iter().zip(by_row);
        let rows = rows.filter(|(ends, _)| ends.is_some());
        let said: Vec<bool> = rows.map(|(_, said)| said.is_some()).collect();
        said.iter().filter(|said| **said).count() * 10 >= said.len() * 9
    };
    let fields = fields.iter().filter(is_with);
    let mut columns: Vec<Column<'_>> = fields
        .map(|field| Column::of(ground, record, field))
        .collect();
    let place = &ends.from;
    columns.sort_by_key(|column| {
        let way = column.field.way();
        way != place.way() && way != place.path
    });
    columns
}

/// The axis that a column of directions says.
fn by_vector(column: &Column<'_>) -> Along {
    Along {
        field: column.field.clone(),
        said: Said::Vector(column.inner(false).cloned().unwrap_or_default()),
        reason: Some(format!("{} is a direction everywhere", column.field.path)),
        assumed: Vec::new(),
    }
}

/// Values that are all along one axis, which nothing says beside them.
fn lay_along(ends: &mut Ends, axis: usize, numbers: &[Option<[f64; 2]>]) {
    let mut direction = [0.0; 3];
    direction[axis] = 1.0;
    ends.values = vectors(numbers, |_| Some(direction));
    for field in [Some(&mut ends.from), ends.to.as_mut()]
        .into_iter()
        .flatten()
    {
        let mut axes = [None, None, None];
        axes[axis] = Some(field.clone());
        field.axes = Some(Box::new(axes));
    }
}

/// Whether nearly all numbers may say how large something is beside how it was made.
fn are_factors(ends: &Ends) -> bool {
    let numbers = || ends.values.iter().filter_map(numbers).flatten();
    let good = numbers().filter(|number| (0.0..=LARGEST).contains(number));
    most(good.count(), numbers().count())
}

impl Along {
    fn direction(&self, ground: &Ground<'_>, value: Symbol) -> Option<[f64; 3]> {
        let Said::Words(words) = &self.said else {
            return None;
        };
        let text = ground.text(value).trim();
        let mut known = words.iter();
        let (direction, _) = known.find(|(_, words)| words.iter().any(|word| word == text))?;
        vector(direction)
    }
}

fn vector(direction: &str) -> Option<[f64; 3]> {
    let mut all = Direction::ALL.iter();
    let (_, direction) = all.find(|(word, _)| *word == direction)?;
    Some(direction.vector())
}

fn numbers(ends: &Option<[Value; 2]>) -> Option<[f64; 2]> {
    let [from, to] = ends.as_ref()?;
    Some([from.number()?, to.number()?])
}

/// The numbers as vectors; what is not said of an axis is not a number.
fn vectors(
    numbers: &[Option<[f64; 2]>],
    direction: impl Fn(usize) -> Option<[f64; 3]>,
) -> Vec<Option<[Value; 2]>> {
    let rows = numbers.iter().enumerate();
    rows.map(|(row, numbers)| {
        let direction = direction(row)?;
        let along = |number: f64| {
            Value::Vector(direction.map(|part| if part == 0.0 { f64::NAN } else { part * number }))
        };
        Some(numbers.as_ref()?.map(along))
    })
    .collect()
}

/// Whether all values are vectors of length 1.
fn are_directions(column: &Column<'_>) -> bool {
    column.all_single(|value| {
        let vector = value.vector().map(DVec3::from);
        vector.is_some_and(|vector| (vector.length() - 1.0).abs() < 2e-3)
    })
}

/// The different words of a field, signs before them included, with the rows of each; none if it has other values, or
/// too many.
fn words<'g>(ground: &Ground<'g>, field: &Field) -> BTreeMap<&'g str, Vec<usize>> {
    let mut words: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (row, value) in &field.values {
        let text = ground.text(*value).trim();
        let is_word = text
            .trim_start_matches(['+', '-'])
            .starts_with(char::is_alphabetic)
            && !text.contains(char::is_whitespace);
        if !is_word || words.len() > MOST_WORDS {
            return BTreeMap::new();
        }
        words.entry(text).or_default().push(*row as usize);
    }
    words
}

/// The direction that a word hints at.
fn hinted(text: &str) -> Option<&'static str> {
    let negated = text.starts_with('-') || text.ends_with('-') || hints_at(text, word::AGAINST);
    let mut all = Direction::ALL.iter();
    let (known, direction) = all.find(|(known, _)| hints_at(text, known))?;
    if !negated {
        return Some(known);
    }
    let mut all = Direction::ALL.iter();
    let is_other =
        |other: &Direction| other.axis == direction.axis && other.negative != direction.negative;
    all.find(|(_, other)| is_other(other))
        .map(|(other, _)| *other)
}

struct Rows<'r> {
    numbers: &'r [Option<[f64; 2]>],
    nodes: &'r [Option<&'r Node>],
}

impl Rows<'_> {
    /// By direction, in how many rows a number says where, or how far turned, the node rests along it, in units of a
    /// length and of an angle.
    fn agreeing(&self, rows: &[usize], length: &Unit, angle: &Unit) -> [usize; 6] {
        let mut counts = [0; 6];
        for row in rows {
            let (Some(numbers), Some(node)) = (self.numbers[*row], self.nodes[*row]) else {
                continue;
            };
            let turned = node.rest.rotation().to_scaled_axis();
            let turned = turned.map(|part| part.to_degrees() / angle.to_base);
            let is_plain = |along: f64| along.abs() > 0.99999 * turned.length();
            let place = node.rest.translation / length.to_base;
            for (at, (_, direction)) in Direction::ALL.iter().enumerate() {
                let direction = DVec3::from(direction.vector());
                let (there, angle) = (place.dot(direction), turned.dot(direction));
                let agrees = |rest: f64, least: f64| {
                    let tolerance = (0.004 * rest.abs()).max(least / 20.0);
                    let near = |number: f64| (number - rest).abs() <= tolerance;
                    rest.abs() > least && numbers.into_iter().any(near)
                };
                let agrees = agrees(there, 2e-3 / length.to_base)
                    || is_plain(angle) && agrees(angle, 0.0087);
                counts[at] += usize::from(agrees);
            }
        }
        counts
    }
}

/// By word and direction, how many rows agree, in the units in which most do.
fn evidence(rows: &Rows<'_>, words: &BTreeMap<&str, Vec<usize>>) -> Vec<[usize; 6]> {
    let of = |quantity: Quantity| {
        let mut units: Vec<Unit> = Unit::all_known(quantity).filter_map(Unit::known).collect();
        units.sort_by_key(|unit| unit.to_base != 1.0);
        units
    };
    let mut best: (usize, Vec<[usize; 6]>) = (0, vec![[0; 6]; words.len()]);
    for length in of(Quantity::Length) {
        for angle in of(Quantity::Angle) {
            let counts: Vec<[usize; 6]> = words
                .values()
                .map(|of_word| rows.agreeing(of_word, &length, &angle))
                .collect();
            let sum = counts.iter().filter_map(|counts| counts.iter().max()).sum();
            if sum > best.0 {
                best = (sum, counts);
            }
        }
    }
    best.1
}

/// The column whose words say axes, with what each means.
fn by_words(ground: &Ground<'_>, columns: &[Column<'_>], rows: &Rows<'_>) -> Option<Along> {
    let mut best: Option<(usize, Along)> = None;
    for column in columns {
        let words = words(ground, column.field);
        if words.is_empty() || words.len() > MOST_WORDS {
            continue;
        }
        let evidence = evidence(rows, &words);
        let clear = |counts: &[usize; 6]| {
            let (at, most) = counts.iter().enumerate().max_by_key(|(_, count)| **count)?;
            let rivals = counts.iter().filter(|count| **count * 2 > *most).count();
            (*most > 1 && rivals == 1).then_some((Direction::ALL[at].0, *most))
        };
        let told: Vec<Option<(&'static str, usize)>> = evidence.iter().map(clear).collect();
        let shown: usize = told.iter().flatten().map(|(_, count)| count).sum();
        let by_hints = words.keys().filter(|word| hinted(word).is_some()).count();
        let are_hinted = by_hints == words.len();
        let means_else = words.keys().any(|word| means_else(word));
        // Of words that tell something else apart, each goes with several axes.
        let axes: BTreeSet<&str> = told
            .iter()
            .flatten()
            .map(|(direction, _)| *direction)
            .collect();
        let is_shown =
            shown >= ENOUGH && axes.len() == told.iter().flatten().count() && axes.len() > 1;
        let is_guess = words.len() == 3 && !means_else;
        let rank = match (is_shown, are_hinted, is_guess) {
            (true, _, _) => shown + 1000,
            (false, true, _) => 100,
            (false, false, true) => 1,
            (false, false, false) => continue,
        };
        if best.as_ref().is_some_and(|(known, _)| *known >= rank) {
            continue;
        }
        // A word that hints at its axis is not overruled by a few nodes that rest so by chance.
        let (told, shown) = match are_hinted && !is_shown {
            true => (vec![None; words.len()], 0),
            false => (told, shown),
        };
        best = Some((
            rank,
            named(column.field, words.keys().copied(), &told, shown),
        ));
    }
    best.map(|(_, along)| along)
}

/// Whether a word hints at something else than a direction.
fn means_else(text: &str) -> bool {
    let properties = Property::WORDS.iter().map(|(word, _)| *word);
    let mut others = properties.chain([word::LINEAR, word::STEP, word::SMOOTH]);
    hinted(text).is_none() && others.any(|other| hints_at(text, other))
}

/// What each word means: as nodes rest, as the word hints, or what is left.
fn named<'w>(
    field: &Field,
    words: impl Iterator<Item = &'w str>,
    told: &[Option<(&'static str, usize)>],
    shown: usize,
) -> Along {
    let mut assumed = Vec::new();
    let mut said: Vec<(&'static str, Vec<String>)> = Vec::new();
    let mut open: Vec<&str> = Vec::new();
    let put = |said: &mut Vec<(&'static str, Vec<String>)>, direction: &'static str, word: &str| {
        match said.iter_mut().find(|(known, _)| *known == direction) {
            Some((_, words)) => words.push(word.to_owned()),
            None => said.push((direction, vec![word.to_owned()])),
        }
    };
    for (word, told) in words.zip(told) {
        match (told, hinted(word)) {
            (Some((direction, _)), _) => put(&mut said, direction, word),
            (None, Some(direction)) => {
                assumed.push(format!("\"{word}\" is taken for {direction}, by the word."));
                put(&mut said, direction, word);
            }
            (None, None) => open.push(word),
        }
    }
    for word in open {
        let free = Direction::ALL
            .iter()
            .find(|(direction, _)| said.iter().all(|(known, _)| known != direction));
        if let Some((direction, _)) = free {
            assumed.push(format!(
                "\"{word}\" is taken for {direction}, which is a guess."
            ));
            put(&mut said, direction, word);
        }
    }
    Along {
        field: field.clone(),
        said: Said::Words(said),
        reason: (shown > 0).then(|| {
            format!(
                "in {shown} places a node rests as far along the axis that {} says",
                field.path
            )
        }),
        assumed,
    }
}

/// The axis that all numbers are along: most nodes that rest somewhere along an axis do so along this one, or names say it.
fn always(rows: &Rows<'_>, names: &[&str]) -> Option<usize> {
    let all: Vec<usize> = (0..rows.numbers.len()).collect();
    let words: BTreeMap<&str, Vec<usize>> = [("", all)].into();
    let counts = *evidence(rows, &words).first()?;
    let (axis, most_agree) = counts[..3]
        .iter()
        .enumerate()
        .max_by_key(|(_, count)| **count)?;
    let others = counts[..3].iter().sum::<usize>() - most_agree;
    let placed = rows.nodes.iter().flatten().count();
    if *most_agree >= ENOUGH && *most_agree * 2 > placed && others * 4 < *most_agree {
        return Some(axis);
    }
    names.iter().find_map(|name| {
        let parts = parts(name);
        let mut axes = ["x", "y", "z"].iter().enumerate();
        let is_part = |axis: &str| parts.iter().any(|part| part == axis);
        axes.find(|(_, axis)| is_part(axis)).map(|(at, _)| at)
    })
}

/// The column of numbers that stand alone beside an axis: what is said of it.
pub(super) fn amount<'c, 'f>(columns: &[&'c Column<'f>]) -> Option<&'c Column<'f>> {
    let numbers = columns.iter().filter(|column| {
        column.all_single(|value| value.number().is_some()) && column.share >= 0.9
    });
    let score = |column: &&&Column<'_>| {
        let values: Vec<f64> = column.numbers().into_iter().flatten().collect();
        let mut keys: Vec<i64> = values.iter().map(|value| (value * 1e4) as i64).collect();
        keys.sort_unstable();
        keys.dedup();
        let name = column.field.path.as_str();
        let is_said = [word::TO, Property::Translation.as_str(), word::ROTATION]
            .into_iter()
            .any(|meaning| hints_at(name, meaning));
        let has_sides = values.iter().any(|value| *value < 0.0);
        (is_said, has_sides, keys.len())
    };
    let best = numbers.copied().max_by_key(|column| score(&column));
    best.filter(|column| {
        most(
            column.numbers().into_iter().flatten().count(),
            column.field.present,
        )
    })
}
