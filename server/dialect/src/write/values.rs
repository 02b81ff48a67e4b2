//! Writes types of values.

use super::toml::{array, key, one_or_array, quoted, table};
use crate::colour::ColourNotation;
use crate::kinds::Kind;
use crate::numbers::Separator;
use crate::units::{Quantity, Unit, Units};
use crate::value_type::{Bounds, ItemType, ListRule, Word, WordList};

/// A key with what is written for it.
type Pair = (&'static str, String);

/// The keys that say what an item may be, `type` first. `usual`: what stands between numbers where nothing is said.
pub(super) fn item_pairs(item: &ItemType, usual: &Separator) -> Vec<Pair> {
    let kind = |kind: &Kind| kind.as_str().to_owned();
    let (name, says): (_, Vec<Pair>) = match item {
        ItemType::Text => ("text", vec![]),
        ItemType::Boolean { yes, no } => {
            let answers = vec![("yes", one_or_array(yes)), ("no", one_or_array(no))];
            ("boolean", answers)
        }
        ItemType::Integer { range } => ("integer", bounds(range)),
        ItemType::Number { range, unit } => {
            let unit = measured(unit.as_ref()).into_iter();
            ("number", unit.chain(bounds(range)).collect())
        }
        ItemType::Vector {
            count,
            separator,
            range,
            unit,
        } => {
            let mut says = vec![("count", count.to_string())];
            says.extend(between(separator, usual));
            says.extend(measured(unit.as_ref()));
            says.extend(bounds(range));
            ("vector", says)
        }
        ItemType::Colour(notation) => ("colour", colour(notation, usual)),
        ItemType::Word(list) => ("word", vec![("words", words(list))]),
        ItemType::NameOf(of) => ("name", vec![("of", quoted(of.as_str()))]),
        ItemType::Reference(kinds) => {
            let kinds: Vec<String> = kinds.iter().map(kind).collect();
            ("reference", vec![("of", one_or_array(&kinds))])
        }
        ItemType::PositionOf { kind, first } => {
            let of = ("of", quoted(kind.as_str()));
            ("position", vec![of, ("first", first.to_string())])
        }
        ItemType::Node {
            aliases,
            index_path,
            node_name,
        } => {
            let mut accepts: Vec<String> = aliases.iter().map(kind).collect();
            accepts.extend(index_path.then(|| "index-path".to_owned()));
            accepts.extend(node_name.then(|| "node-name".to_owned()));
            ("node", vec![("accepts", one_or_array(&accepts))])
        }
        ItemType::IndexPath => ("index-path", vec![]),
        ItemType::File { extensions } => {
            let some = (!extensions.is_empty()).then(|| one_or_array(extensions));
            (
                "file",
                some.map(|some| ("extensions", some)).into_iter().collect(),
            )
        }
        ItemType::Input(kind) => {
            let kind = kind.map(|kind| ("kind", quoted(kind.as_str())));
            ("input", kind.into_iter().collect())
        }
        ItemType::MovedValue { separator, units } => {
            let between = between(separator, usual).into_iter();
            ("moved-value", between.chain(odd_units(units)).collect())
        }
    };
    let mut pairs = vec![("type", quoted(name))];
    pairs.extend(says);
    pairs
}

fn colour(notation: &ColourNotation, usual: &Separator) -> Vec<Pair> {
    match notation {
        ColourNotation::Hex { mark } if mark == "#" => vec![],
        ColourNotation::Hex { mark } => vec![("mark", quoted(mark))],
        ColourNotation::Row { separator, full } => {
            let parts = if *full == 1 { "shares" } else { "bytes" };
            let parts = std::iter::once(("parts", quoted(parts)));
            parts.chain(between(separator, usual)).collect()
        }
    }
}

/// The units that are not what is taken where nothing is said.
fn odd_units(units: &Units) -> Option<Pair> {
    let usual = Units::default();
    let units = Quantity::ALL.map(|quantity| units.of(quantity));
    let odd = units
        .into_iter()
        .filter(|unit| usual.of(unit.quantity) != *unit);
    let names: Vec<String> = odd.map(|unit| unit.name.clone()).collect();
    (!names.is_empty()).then(|| ("unit", one_or_array(&names)))
}

/// What stands between the numbers of a vector, unless it is the `usual` that stands there anyhow.
fn between(separator: &Separator, usual: &Separator) -> Option<Pair> {
    (separator != usual).then(|| ("separator", quoted(separator.written())))
}

fn bounds(range: &Bounds) -> Vec<Pair> {
    let low = range.min.map(|min| match range.above {
        true => ("above", number(min)),
        false => ("min", number(min)),
    });
    let high = range.max.map(|max| match range.below {
        true => ("below", number(max)),
        false => ("max", number(max)),
    });
    low.into_iter().chain(high).collect()
}

/// A number as TOML has it: a whole one without decimals.
pub(super) fn number(number: f64) -> String {
    match number.fract() == 0.0 && number.abs() < 1e15 {
        true => format!("{number:.0}"),
        false => format!("{number:?}"),
    }
}

fn measured(unit: Option<&Unit>) -> Vec<Pair> {
    let Some(unit) = unit else {
        return Vec::new();
    };
    vec![
        ("quantity", quoted(unit.quantity.as_str())),
        ("unit", quoted(&unit.name)),
    ]
}

fn words(list: &WordList) -> String {
    if let Some(name) = &list.name {
        return quoted(name);
    }
    if list.words.iter().all(|word| word.doc.is_empty()) {
        return array(&texts(&list.words));
    }
    let pairs = list.words.iter();
    let pairs: Vec<(String, String)> = pairs
        .map(|word| (key(&word.text), quoted(&word.doc)))
        .collect();
    table(&pairs)
}

pub(super) fn texts(words: &[Word]) -> Vec<String> {
    words.iter().map(|word| word.text.clone()).collect()
}

pub(super) fn list_rule(list: &ListRule) -> String {
    let mut pairs = Vec::new();
    if let Separator::Text(mark) = &list.separator {
        pairs.push(("separator", quoted(mark)));
    }
    if list.min > 0 {
        pairs.push(("min", list.min.to_string()));
    }
    if let Some(max) = list.max {
        pairs.push(("max", max.to_string()));
    }
    match pairs.as_slice() {
        [] => "true".to_owned(),
        pairs => table(pairs),
    }
}
