//! What the values of nodes mean: told by how long their rows are and how the numbers behave, and by words of everyday
//! English where that leaves it open.

use super::fields::Field;
use crate::roles::{hints_at, rows};
use crate::separators::separator;
use dialect::{MatrixOrder, NumberNotation, RotationForm, SceneBounds, Separator, XmlSceneFormat};
use dialect::{Path, Property, Quantity, Unit};
use std::collections::{BTreeMap, BTreeSet};

/// A field whose values are rows of numbers, all of one length.
struct Rows<'f> {
    path: &'f str,
    /// By the number of the node.
    rows: BTreeMap<usize, Vec<f64>>,
    length: usize,
}

/// Of so many values one may be a slip.
const SLIP: usize = 20;

fn nearly_all(good: usize, all: usize) -> bool {
    all > 0 && (all - good) * SLIP <= all
}

/// Fills in what the fields of `count` nodes mean. Sentences: why, and what was assumed.
pub(super) fn note(
    format: &mut XmlSceneFormat,
    fields: &[Field<'_>],
    count: usize,
) -> (Vec<String>, Vec<String>) {
    let mut said = (Vec::new(), Vec::new());
    (
        format.numbers.decimal_marks,
        format.numbers.vector_separator,
    ) = writing(fields);
    let mut rows: Vec<Rows<'_>> = fields
        .iter()
        .filter_map(|field| Rows::of(field, &format.numbers))
        .collect();
    format.name = name(fields, count).and_then(path);
    let with_matrix = matrix(format, &mut rows, &mut said.0);
    bounds(format, &mut rows, &mut said.0);
    // Some nodes may have their parts where others have a matrix. What stands beside matrices says something else.
    rows.retain(|rows| {
        let beside = rows.rows.keys().filter(|node| with_matrix.contains(node));
        let instead = rows.rows.len() - beside.count();
        nearly_all(instead, rows.rows.len()) && instead >= with_matrix.len()
    });
    turned(format, &mut rows, &mut said);
    sized(format, &mut rows, &mut said.0);
    placed(format, &mut rows, &mut said);
    shown(format, fields, count, &mut said.0);
    said
}

fn path(text: &str) -> Option<Path> {
    Some(Path::parse(text).ok()?.to_text())
}

impl<'f> Rows<'f> {
    fn of(field: &'f Field<'_>, numbers: &NumberNotation) -> Option<Self> {
        let mut rows = BTreeMap::new();
        let mut lengths: BTreeMap<usize, usize> = BTreeMap::new();
        for (node, value) in &field.values {
            if let Some(row) = numbers.read_row(value, &numbers.vector_separator) {
                *lengths.entry(row.len()).or_default() += 1;
                rows.insert(*node, row);
            }
        }
        let (length, good) = lengths.into_iter().max_by_key(|(_, count)| *count)?;
        rows.retain(|_, row| row.len() == length);
        nearly_all(good, field.values.len()).then_some(Self {
            path: &field.path,
            rows,
            length,
        })
    }

    fn all(&self, fits: impl Fn(&[f64]) -> bool) -> bool {
        let good = self.rows.values().filter(|row| fits(row)).count();
        nearly_all(good, self.rows.len())
    }

    fn numbers(&self) -> impl Iterator<Item = f64> + '_ {
        self.rows.values().flatten().copied()
    }

    /// How many rows are not all noughts, and how many different ones there are of them.
    fn moved(&self) -> (usize, usize) {
        let moved = self
            .rows
            .values()
            .filter(|row| row.iter().any(|n| *n != 0.0));
        let different: BTreeSet<Vec<u64>> = moved
            .clone()
            .map(|row| row.iter().map(|n| n.to_bits()).collect())
            .collect();
        (moved.count(), different.len())
    }

    /// Which share of the numbers that are not nought are round angles, in degrees or radians.
    fn roundness(&self) -> f64 {
        let all: Vec<f64> = self.numbers().filter(|n| *n != 0.0).collect();
        let largest = all.iter().fold(0.0_f64, |most, n| most.max(n.abs()));
        let step = match largest {
            largest if largest <= 2.0 * std::f64::consts::PI + 0.01 => std::f64::consts::PI / 36.0,
            largest if largest <= 360.0 => 15.0,
            _ => return 0.0,
        };
        let is_round = |n: &&f64| {
            let steps = **n / step;
            steps.round() != 0.0 && (steps - steps.round()).abs() < 0.005
        };
        all.iter().filter(is_round).count() as f64 / all.len().max(1) as f64
    }
}

/// Takes out the rows that fit.
fn take<'f>(rows: &mut Vec<Rows<'f>>, fits: impl FnMut(&Rows<'f>) -> bool) -> Option<Rows<'f>> {
    let at = rows.iter().position(fits)?;
    Some(rows.remove(at))
}

/// Decimal marks and what stands between numbers: the mark with which most values are even rows.
fn writing(fields: &[Field<'_>]) -> (Vec<char>, Separator) {
    let values = || fields.iter().flat_map(|field| field.values.iter());
    let read = |mark: char| {
        let notation = NumberNotation {
            decimal_marks: vec![mark],
            ..NumberNotation::default()
        };
        let mut gaps: BTreeMap<String, usize> = BTreeMap::new();
        let mut even = 0;
        for (_, text) in values() {
            let Some((row, between)) = rows(text, &notation) else {
                continue;
            };
            let is_even = between.windows(2).all(|pair| pair[0] == pair[1]);
            if is_even && matches!(row.len(), 1 | 3 | 4 | 6 | 16) {
                even += 1;
                if let Some(gap) = between.into_iter().next() {
                    *gaps.entry(gap).or_default() += 1;
                }
            }
        }
        let gap = gaps.into_iter().max_by_key(|(_, count)| *count);
        (even, gap.map(|(gap, _)| gap))
    };
    let (points, gap) = read('.');
    let (commas, other) = read(',');
    let (mark, gap) = match commas > points {
        true => (',', other),
        false => ('.', gap),
    };
    let separator = separator(gap.as_deref().unwrap_or_default());
    (vec![mark], separator)
}

/// The field with words that nearly all nodes have, and of which hardly two are alike.
fn name<'f>(fields: &'f [Field<'_>], count: usize) -> Option<&'f str> {
    let spread = |field: &Field<'_>| {
        let different: BTreeSet<&str> = field.values.iter().map(|(_, value)| *value).collect();
        different.len()
    };
    let is_name = |field: &&Field<'_>| {
        let worded = field
            .values
            .iter()
            .filter(|(_, value)| value.contains(char::is_alphabetic) && value.len() < 200);
        field.values.len() * 2 >= count && nearly_all(worded.count(), field.values.len())
    };
    let best = fields
        .iter()
        .filter(is_name)
        .max_by_key(|field| (spread(field), std::cmp::Reverse(field.path.len())))?;
    (spread(best) > 1 || count == 1).then_some(best.path.as_str())
}

/// Sixteen numbers. Gives back the nodes that have them.
fn matrix(
    format: &mut XmlSceneFormat,
    rows: &mut Vec<Rows<'_>>,
    why: &mut Vec<String>,
) -> BTreeSet<usize> {
    let Some(found) = take(rows, |rows| rows.length == 16) else {
        return BTreeSet::new();
    };
    let ends_at = |at: [usize; 4]| {
        let is_end = |row: &&Vec<f64>| {
            at.iter()
                .zip([0.0, 0.0, 0.0, 1.0])
                .all(|(at, n)| (row[*at] - n).abs() < 1e-9)
        };
        found.rows.values().filter(is_end).count()
    };
    let (rows, columns) = (ends_at([12, 13, 14, 15]), ends_at([3, 7, 11, 15]));
    format.matrix_order = match columns > rows {
        true => MatrixOrder::Columns,
        false => MatrixOrder::Rows,
    };
    why.push(format!(
        "{} holds sixteen numbers, {} of {} of them with 0 0 0 1 in the last {}",
        found.path,
        rows.max(columns),
        found.rows.len(),
        if columns > rows {
            "row when read column by column"
        } else {
            "row"
        },
    ));
    format.matrix = path(found.path);
    found.rows.into_keys().collect()
}

/// Boxes: two corners, the least one first.
fn bounds(format: &mut XmlSceneFormat, rows: &mut Vec<Rows<'_>>, why: &mut Vec<String>) {
    let is_box = |low: &[f64], high: &[f64]| {
        let wide = low.iter().zip(high).filter(|(low, high)| low < high);
        low.iter().zip(high).all(|(low, high)| low <= high) && wide.count() >= 2
    };
    if let Some(found) = take(rows, |rows| {
        rows.length == 6 && rows.all(|row| is_box(&row[..3], &row[3..]))
    }) {
        why.push(format!("{} holds two corners of a box", found.path));
        format.bounds = path(found.path).map(SceneBounds::List);
        return;
    }
    let way = |path: &str| path.rsplit_once('/').map_or("", |(way, _)| way).to_owned();
    let vectors = || rows.iter().filter(|rows| rows.length == 3);
    let mut found = None;
    for low in vectors() {
        for high in vectors().filter(|high| high.path != low.path && !is_size(high)) {
            let both = low
                .rows
                .iter()
                .filter_map(|(node, low)| Some((low, high.rows.get(node)?)));
            let both: Vec<_> = both.collect();
            let good = both.iter().filter(|(low, high)| is_box(low, high)).count();
            let is_pair = both.len() == low.rows.len() && both.len() == high.rows.len();
            // Corners of one box stand alike: both in attributes, or both in elements.
            let stand_alike = low.path.contains('@') == high.path.contains('@')
                && (way(low.path) == way(high.path)
                    || low.path.rsplit('/').next() == high.path.rsplit('/').next());
            let crosses = low.numbers().any(|n| n < 0.0) && high.numbers().any(|n| n > 0.0);
            if is_pair && stand_alike && crosses && good == both.len() && good > 1 {
                found = Some((low.path, high.path, good));
            }
        }
    }
    let Some((low, high, good)) = found else {
        return;
    };
    why.push(format!("{low} and {high} are corners of {good} boxes"));
    format.bounds = path(low)
        .zip(path(high))
        .map(|(min, max)| SceneBounds::Pair { min, max });
    rows.retain(|rows| rows.path != low && rows.path != high);
}

/// Whether vectors are factors: none is negative or nought, and most are 1.
fn is_size(rows: &Rows<'_>) -> bool {
    let ones = rows.numbers().filter(|n| (*n - 1.0).abs() < 1e-9).count();
    rows.all(|row| row.iter().all(|n| *n > 0.0)) && ones * 2 >= rows.numbers().count()
}

fn sized(format: &mut XmlSceneFormat, rows: &mut Vec<Rows<'_>>, why: &mut Vec<String>) {
    let hinted = |rows: &Rows<'_>| hints_at(rows.path, Property::Scale.as_str());
    let positive = |rows: &Rows<'_>| rows.all(|row| row.iter().all(|n| *n > 0.0));
    let found = take(rows, |rows| rows.length == 3 && is_size(rows)).or_else(|| {
        take(rows, |rows| {
            matches!(rows.length, 1 | 3) && hinted(rows) && positive(rows)
        })
    });
    if let Some(found) = found {
        why.push(format!("{} holds factors, mostly 1", found.path));
        format.scale = path(found.path);
    }
}

type Said = (Vec<String>, Vec<String>);

/// Rotations as four numbers.
fn turned(format: &mut XmlSceneFormat, rows: &mut Vec<Rows<'_>>, said: &mut Said) {
    let length = |row: &[f64]| row.iter().map(|n| n * n).sum::<f64>().sqrt();
    let is_one = |row: &[f64]| (length(row) - 1.0).abs() < 0.01;
    let is_axis = |row: &[f64]| is_one(&row[..3]) || length(&row[..3]) == 0.0;
    let form = |rows: &Rows<'_>| {
        if rows.length != 4 {
            return None;
        }
        if rows.all(|row| is_one(row)) {
            let sum = |at: usize| rows.rows.values().map(|row| row[at].abs()).sum::<f64>();
            return Some(match sum(3) >= sum(0) {
                true => RotationForm::QuaternionXyzw,
                false => RotationForm::QuaternionWxyz,
            });
        }
        rows.all(is_axis).then_some(RotationForm::AxisAngle)
    };
    let Some(found) = take(rows, |rows| form(rows).is_some()) else {
        return;
    };
    if let Some(form) = form(&found) {
        format.rotation_form = form;
        format.rotation = path(found.path);
        let what = match form {
            RotationForm::AxisAngle => "an axis of length 1 and an angle",
            _ => "four numbers of length 1",
        };
        said.0.push(format!("{} holds {what}", found.path));
        if form == RotationForm::AxisAngle {
            let greatest = found
                .rows
                .values()
                .map(|row| row[3].abs())
                .fold(0.0, f64::max);
            angle_unit(format, greatest, &mut said.1);
        }
    }
}

/// Translations, and rotations as three angles.
fn placed(format: &mut XmlSceneFormat, rows: &mut Vec<Rows<'_>>, said: &mut Said) {
    let mut vectors: Vec<Rows<'_>> = Vec::new();
    while let Some(found) = take(rows, |rows| rows.length == 3) {
        vectors.push(found);
    }
    // What differs most from node to node is where they are; angles are nought or round.
    let angular = |rows: &Rows<'_>| {
        let hint = f64::from(u8::from(hints_at(rows.path, Property::Rotation.as_str())))
            - f64::from(u8::from(hints_at(
                rows.path,
                Property::Translation.as_str(),
            )));
        rows.roundness() + hint * 0.5
    };
    let place = |rows: &Rows<'_>| rows.moved().1 as f64 * (1.5 - angular(rows));
    vectors.sort_by(|one, other| place(other).total_cmp(&place(one)));
    let mut vectors = vectors.into_iter();
    let Some(first) = vectors.next() else { return };
    let is_alone = format.rotation.is_some() || vectors.len() == 0;
    if is_alone && angular(&first) > 0.9 && hints_at(first.path, Property::Rotation.as_str()) {
        euler(format, &first, said);
        return;
    }
    let (moved, different) = first.moved();
    said.0.push(format!(
        "{} differs most from node to node: {different} different ones of {moved}",
        first.path
    ));
    format.translation = path(first.path);
    let angles = vectors.max_by(|one, other| angular(one).total_cmp(&angular(other)));
    if let Some(angles) = angles.filter(|_| format.rotation.is_none()) {
        euler(format, &angles, said);
    }
}

fn euler(format: &mut XmlSceneFormat, angles: &Rows<'_>, said: &mut Said) {
    let greatest = angles.numbers().map(f64::abs).fold(0.0, f64::max);
    if greatest > 360.0 {
        return;
    }
    format.rotation = path(angles.path);
    said.0.push(format!(
        "{} holds three numbers of at most {greatest}, {:.0} % of them round angles",
        angles.path,
        angles.roundness() * 100.0
    ));
    angle_unit(format, greatest, &mut said.1);
    said.1
        .push("In which order angles of scenes turn was not seen; it is taken for xyz.".into());
}

fn angle_unit(format: &mut XmlSceneFormat, greatest: f64, assumed: &mut Vec<String>) {
    let symbol = match greatest {
        greatest if greatest <= 0.0 => return,
        greatest if greatest <= 2.0 * std::f64::consts::PI + 0.01 => "rad",
        _ => "deg",
    };
    if let Some(unit) = Unit::known(symbol).filter(|unit| unit.quantity == Quantity::Angle) {
        assumed.push(format!(
            "Angles of scenes are in {}, by how large they are.",
            unit.label
        ));
        format.units.set(unit);
    }
}

/// Whether a node is shown: one word or two, where English speaks for it. A word that few nodes have is a no: shown
/// is what nodes are if nothing is said.
fn shown(format: &mut XmlSceneFormat, fields: &[Field<'_>], count: usize, why: &mut Vec<String>) {
    for field in fields
        .iter()
        .filter(|field| hints_at(&field.path, Property::Visibility.as_str()))
    {
        let mut words: BTreeMap<&str, usize> = BTreeMap::new();
        for (_, value) in &field.values {
            *words.entry(value).or_default() += 1;
        }
        let mut words: Vec<(&str, usize)> = words.into_iter().collect();
        words.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let (yes, no) = match words.as_slice() {
            [(no, _)] if field.values.len() * 2 < count => (None, *no),
            [(yes, _), (no, _)] => (Some(*yes), *no),
            _ => continue,
        };
        format.yes = yes.map(str::to_owned).into_iter().collect();
        format.no = vec![no.to_owned()];
        why.push(format!("{} is {no} for few nodes", field.path));
        format.visible = path(&field.path);
        return;
    }
}
