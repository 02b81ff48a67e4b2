//! Writes types of values.

use super::toml::{array, key, one_or_array, quoted, table};
use crate::colour::ColourNotation;
use crate::numbers::Separator;
use crate::units::{Quantity, Unit, Units};
use crate::value_type::{Bounds, ItemType, ListRule, Word, WordList};

/// The keys that say what an item may be, `type` first.
pub(super) fn item_pairs(item: &ItemType, usual: &Separator) -> Vec<(&'static str, String)> {
    let of_type = |name: &str| vec![("type", quoted(name))];
    match item {
        ItemType::Text => of_type("text"),
        ItemType::Boolean { yes, no } => {
            let mut pairs = of_type("boolean");
            pairs.push(("yes", one_or_array(yes)));
            pairs.push(("no", one_or_array(no)));
            pairs
        }
        ItemType::Integer { range } => {
            let mut pairs = of_type("integer");
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Number { range, unit } => {
            let mut pairs = of_type("number");
            pairs.extend(measured(unit.as_ref()));
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Vector {
            count,
            separator,
            range,
            unit,
        } => {
            let mut pairs = of_type("vector");
            pairs.push(("count", count.to_string()));
            pairs.extend(between(separator, usual));
            pairs.extend(measured(unit.as_ref()));
            pairs.extend(bounds(range));
            pairs
        }
        ItemType::Colour(ColourNotation::Hex { mark }) => {
            let mut pairs = of_type("colour");
            if mark != "#" {
                pairs.push(("mark", quoted(mark)));
            }
            pairs
        }
        ItemType::Colour(ColourNotation::Row { separator, full }) => {
            let mut pairs = of_type("colour");
            let parts = if *full == 1 { "shares" } else { "bytes" };
            pairs.push(("parts", quoted(parts)));
            pairs.extend(between(separator, usual));
            pairs
        }
        ItemType::Word(list) => {
            let mut pairs = of_type("word");
            pairs.push(("words", words(list)));
            pairs
        }
        ItemType::NameOf(kind) => {
            let mut pairs = of_type("name");
            pairs.push(("of", quoted(kind.as_str())));
            pairs
        }
        ItemType::Reference(kinds) => {
            let kinds: Vec<String> = kinds.iter().map(|kind| kind.as_str().to_owned()).collect();
            let mut pairs = of_type("reference");
            pairs.push(("of", one_or_array(&kinds)));
            pairs
        }
        ItemType::PositionOf { kind, first } => {
            let mut pairs = of_type("position");
            pairs.push(("of", quoted(kind.as_str())));
            pairs.push(("first", first.to_string()));
            pairs
        }
        ItemType::Node {
            aliases,
            index_path,
            node_name,
        } => {
            let mut accepts: Vec<String> = aliases
                .iter()
                .map(|kind| kind.as_str().to_owned())
                .collect();
            accepts.extend(index_path.then(|| "index-path".to_owned()));
            accepts.extend(node_name.then(|| "node-name".to_owned()));
            let mut pairs = of_type("node");
            pairs.push(("accepts", one_or_array(&accepts)));
            pairs
        }
        ItemType::IndexPath => of_type("index-path"),
        ItemType::File { extensions } => {
            let mut pairs = of_type("file");
            if !extensions.is_empty() {
                pairs.push(("extensions", one_or_array(extensions)));
            }
            pairs
        }
        ItemType::Input(kind) => {
            let mut pairs = of_type("input");
            pairs.extend(kind.map(|kind| ("kind", quoted(kind.as_str()))));
            pairs
        }
        ItemType::MovedValue { separator, units } => {
            let here = Units::default();
            let units = Quantity::ALL.map(|quantity| units.of(quantity).clone());
            let units = units
                .into_iter()
                .filter(|unit| here.of(unit.quantity) != unit);
            let units: Vec<String> = units.map(|unit| unit.name).collect();
            let mut pairs = of_type("moved-value");
            pairs.extend(between(separator, usual));
            if !units.is_empty() {
                pairs.push(("unit", one_or_array(&units)));
            }
            pairs
        }
    }
}

/// What stands between the numbers of a vector, unless it is the `usual` that stands there anyhow.
fn between(separator: &Separator, usual: &Separator) -> Option<(&'static str, String)> {
    (separator != usual).then(|| ("separator", quoted(separator.written())))
}

fn bounds(range: &Bounds) -> Vec<(&'static str, String)> {
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

fn measured(unit: Option<&Unit>) -> Vec<(&'static str, String)> {
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
