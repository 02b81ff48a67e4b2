//! What may be written, in words for people.

use crate::colour::ColourNotation;
use crate::inputs::ControlKind;
use crate::kinds::Kind;
use crate::model::Dialect;
use crate::numbers::Separator;
use crate::units::{Quantity, Unit};
use crate::value_type::{Bounds, ItemType, ValueType};

/// More words than this are counted, not listed.
const MOST_LISTED: usize = 8;

impl Dialect {
    /// What a value may be, for the middle of a sentence: "a number above 0, in metres".
    pub fn describe(&self, value_type: &ValueType) -> String {
        let mut item = self.describe_item(&value_type.item);
        if value_type.is_marked() {
            item = format!("{item}, written `{}`", value_type.reference_to("…"));
        }
        let Some(list) = &value_type.list else {
            return item;
        };
        let count = match (list.min, list.max) {
            (min, Some(max)) if min == max => format!("{min} of these"),
            (0, None) => String::from("any number of these"),
            (min, None) => format!("at least {min} of these"),
            (min, Some(max)) => format!("{min} to {max} of these"),
        };
        format!(
            "{count}, separated by {}: {item}",
            describe_separator(&list.separator)
        )
    }

    pub(super) fn describe_item(&self, item: &ItemType) -> String {
        match item {
            ItemType::Text => String::from("any text"),
            ItemType::Boolean { yes, no } => or_list(yes.iter().chain(no).map(String::as_str)),
            ItemType::Integer { range } => join("a whole number", &bounds(self, range), None),
            ItemType::Number { range, unit } => {
                join("a number", &bounds(self, range), unit.as_ref())
            }
            ItemType::Vector {
                count,
                separator,
                range,
                unit,
            } => {
                let row = format!("{count} numbers{}", separated(separator));
                join(&row, &bounds(self, range), unit.as_ref())
            }
            ItemType::Colour(notation) => describe_colour(notation),
            ItemType::Word(list) if list.words.len() <= MOST_LISTED => or_list(list.texts()),
            ItemType::Word(list) => format!("one of {} words", list.words.len()),
            ItemType::NameOf(kind) => format!("a name for this {kind}"),
            ItemType::Reference(kinds) => format!("the name of {}", or_kinds(kinds)),
            ItemType::PositionOf { kind, first } => {
                format!(
                    "the position of {}, counted from {first}",
                    with_article(kind.as_str())
                )
            }
            ItemType::Node {
                aliases,
                index_path,
                node_name,
            } => self.describe_node(aliases, *index_path, *node_name),
            ItemType::IndexPath => self.describe_index_path(),
            ItemType::File { extensions } if extensions.is_empty() => String::from("a file"),
            ItemType::File { extensions } => {
                let endings: Vec<String> = extensions.iter().map(|end| format!(".{end}")).collect();
                let endings = or_list(endings.iter().map(String::as_str));
                format!("a file ending in {endings}")
            }
            ItemType::Input(None) => String::from("an input"),
            ItemType::Input(Some(ControlKind::Analog)) => String::from("an analog input (an axis)"),
            ItemType::Input(Some(ControlKind::Digital)) => {
                String::from("a digital input (a button)")
            }
            ItemType::MovedValue { separator, units } => {
                let answers = self.notation.yes.iter().chain(&self.notation.no);
                format!(
                    "a value of the moved property: 3 numbers{} ({} for translation, {} for rotation, \
                     factors for scale), or {} for visibility",
                    separated(separator),
                    units.of(Quantity::Length).label,
                    units.of(Quantity::Angle).label,
                    or_list(answers.map(String::as_str)),
                )
            }
        }
    }

    fn describe_node(&self, aliases: &[Kind], index_path: bool, node_name: bool) -> String {
        let mut ways = Vec::new();
        if !aliases.is_empty() {
            ways.push(format!("the name of {}", or_kinds(aliases)));
        }
        if node_name {
            ways.push(self.describe_node_name());
        }
        if index_path || ways.is_empty() {
            ways.push(self.describe_index_path());
        }
        or(ways)
    }

    fn describe_node_name(&self) -> String {
        let notation = &self.notation.node_names;
        match (&notation.separator, notation.from_root) {
            (None, _) => String::from("the name of a node of the scene"),
            (Some(mark), true) => {
                format!(
                    "the names from the root of the scene down to a node, with `{mark}` between them"
                )
            }
            (Some(mark), false) => format!(
                "the name of a node of the scene, after names of those above it if need be, with `{mark}` between them"
            ),
        }
    }

    fn describe_index_path(&self) -> String {
        format!(
            "an index path such as `{}`",
            self.notation.index_path.example()
        )
    }

    /// "from 0 to 1", "above 0"; empty if there is no bound.
    pub(super) fn describe_bounds(&self, range: &Bounds) -> String {
        bounds(self, range)
    }
}

fn describe_colour(notation: &ColourNotation) -> String {
    match notation {
        ColourNotation::Hex { mark } => {
            format!("a colour such as `{mark}ff8000`, with or without two more digits for alpha")
        }
        ColourNotation::Row { separator, full } => {
            let numbers = match full {
                1 => "numbers",
                _ => "whole numbers",
            };
            let separated = separated(separator);
            format!("a colour: 3 or 4 {numbers}{separated}, from 0 to {full}")
        }
    }
}

fn bounds(dialect: &Dialect, range: &Bounds) -> String {
    let number = |number: f64| dialect.write_number(number);
    let low = range.min.map(|min| match range.above {
        true => format!("above {}", number(min)),
        false => format!("at least {}", number(min)),
    });
    let high = range.max.map(|max| match range.below {
        true => format!("below {}", number(max)),
        false => format!("at most {}", number(max)),
    });
    match (low, high, range.min, range.max) {
        (Some(_), Some(_), Some(min), Some(max)) if !range.above && !range.below => {
            format!("from {} to {}", number(min), number(max))
        }
        (Some(low), Some(high), ..) => format!("{low} and {high}"),
        (Some(one), None, ..) | (None, Some(one), ..) => one,
        (None, None, ..) => String::new(),
    }
}

fn join(what: &str, bounds: &str, unit: Option<&Unit>) -> String {
    let mut text = what.to_owned();
    if !bounds.is_empty() {
        text.push(' ');
        text.push_str(bounds);
    }
    if let Some(unit) = unit {
        text.push_str(", in ");
        text.push_str(&unit.label);
    }
    text
}

/// " separated by `;`"; nothing for blanks, which go without saying.
pub(super) fn separated(separator: &Separator) -> String {
    match separator {
        Separator::WhiteSpace => String::new(),
        Separator::Text(_) => format!(" separated by {}", describe_separator(separator)),
    }
}

fn describe_separator(separator: &Separator) -> String {
    match separator {
        Separator::WhiteSpace => String::from("blanks"),
        Separator::Text(text) => format!("`{text}`"),
    }
}

fn or_kinds(kinds: &[Kind]) -> String {
    let kinds: Vec<String> = kinds
        .iter()
        .map(|kind| with_article(kind.as_str()))
        .collect();
    or(kinds)
}

/// "`a`, `b` or `c`"
pub(crate) fn or_list<'w>(words: impl Iterator<Item = &'w str>) -> String {
    or(words.map(|word| format!("`{word}`")).collect())
}

fn or(mut words: Vec<String>) -> String {
    let last = words.pop().unwrap_or_default();
    match words.is_empty() {
        true => last,
        false => format!("{} or {last}", words.join(", ")),
    }
}

fn with_article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o', 'u', 'A', 'E', 'I', 'O', 'U']);
    format!("{} {noun}", if vowel { "an" } else { "a" })
}
