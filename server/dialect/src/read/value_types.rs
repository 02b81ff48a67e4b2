//! The types of attributes and texts.

use std::sync::Arc;

use toml::Spanned;
use toml::de::DeValue;

use super::Reader;
use super::header::words;
use super::notation::{QUANTITIES, answers, check_answers, check_separator, separator};
use super::section::{Placed, Section, as_section, choose, wrong_type};
use crate::around::Around;
use crate::colour::ColourNotation;
use crate::inputs::ControlKind;
use crate::kinds::Kind;
use crate::nearest::nearest;
use crate::numbers::Separator;
use crate::roles::Kinded;
use crate::scope::NameScope;
use crate::units::Unit;
use crate::value_type::{Bounds, ItemType, ListRule, ValueType, WordList};

/// The word for an index path where a node's `accepts` lists what may stand.
pub(super) const INDEX_PATH: &str = "index-path";
pub(super) const NODE_NAME: &str = "node-name";

#[derive(Copy, Clone, Debug, PartialEq)]
enum TypeName {
    Text,
    Boolean,
    Integer,
    Number,
    Vector,
    Word,
    Name,
    Reference,
    Position,
    Node,
    IndexPath,
    NodeName,
    File,
    Input,
    MovedValue,
    Colour,
}

const TYPES: [(&str, TypeName); 16] = [
    ("text", TypeName::Text),
    ("boolean", TypeName::Boolean),
    ("integer", TypeName::Integer),
    ("number", TypeName::Number),
    ("vector", TypeName::Vector),
    ("word", TypeName::Word),
    ("name", TypeName::Name),
    ("reference", TypeName::Reference),
    ("position", TypeName::Position),
    ("node", TypeName::Node),
    ("index-path", TypeName::IndexPath),
    ("node-name", TypeName::NodeName),
    ("file", TypeName::File),
    ("input", TypeName::Input),
    ("moved-value", TypeName::MovedValue),
    ("colour", TypeName::Colour),
];

/// How the parts of a colour are written, with what stands for a part in full where that is a number.
const COLOUR_PARTS: [(&str, Option<u8>); 3] =
    [("hex", None), ("shares", Some(1)), ("bytes", Some(255))];

/// The keys of all types together.
const TYPE_KEYS: [&str; 24] = [
    "list",
    "parts",
    "mark",
    "yes",
    "no",
    "min",
    "above",
    "max",
    "below",
    "unit",
    "quantity",
    "count",
    "separator",
    "words",
    "of",
    "scope",
    "before",
    "after",
    "begins-after",
    "ends-before",
    "first",
    "accepts",
    "extensions",
    "kind",
];

/// Stands for "the kinds of all aliases" until the roles are read.
pub(super) fn any_alias() -> Kind {
    Kind::new("")
}

impl Reader<'_> {
    /// The keys that say what a value may be. `None` if that cannot be told; it is
    /// reported then.
    pub(super) fn value_type(&mut self, section: &mut Section<'_>) -> Option<ValueType> {
        let word = section.required("type", &mut self.problems, "\"text\"");
        let name = word.and_then(|word| choose("type", &word, &TYPES, &mut self.problems));
        let Some(name) = name else {
            // Which of these keys are right depends on the type.
            section.allow(&TYPE_KEYS);
            return None;
        };
        let item = self.item_type(name, section);
        let list = self.list_rule(section);
        let around = match name {
            TypeName::Reference => self.around(section),
            _ => Around::default(),
        };
        let item = item?;
        if let Some((Separator::Text(mark), place)) =
            list.as_ref().map(|(list, place)| (&list.separator, place))
        {
            self.check_list_separator(&item, mark, place.clone());
        }
        Some(ValueType {
            item,
            list: list.map(|(list, _)| list),
            around,
        })
    }

    fn item_type(&mut self, name: TypeName, section: &mut Section<'_>) -> Option<ItemType> {
        Some(match name {
            TypeName::Text => ItemType::Text,
            TypeName::Boolean => self.boolean(section),
            TypeName::Integer => ItemType::Integer {
                range: self.bounds(section),
            },
            TypeName::Number => ItemType::Number {
                range: self.bounds(section),
                unit: self.measured_in(section),
            },
            TypeName::Vector => ItemType::Vector {
                count: self.vector_count(section),
                separator: self.number_separator(section),
                range: self.bounds(section),
                unit: self.measured_in(section),
            },
            TypeName::Word => ItemType::Word(self.words_of(section)?),
            TypeName::Name => {
                let kind = self.kind_of(section)?;
                self.kinds_defined.push(kind.value);
                self.scope_of(&kind.value, section);
                ItemType::NameOf(kind.value)
            }
            TypeName::Reference => ItemType::Reference(self.kinds_of(section)?.into()),
            TypeName::Position => {
                let kind = self.kind_of(section);
                let first = section.count("first", &mut self.problems);
                let kind = kind?;
                self.kinds_used.push(kind.clone());
                ItemType::PositionOf {
                    kind: kind.value,
                    first: first.map_or(0, |first| first.value),
                }
            }
            TypeName::Node => self.node(section),
            TypeName::IndexPath => ItemType::IndexPath,
            TypeName::NodeName => ItemType::Node {
                aliases: [].into(),
                index_path: false,
                node_name: true,
            },
            TypeName::File => {
                let extensions = section.strings("extensions", &mut self.problems);
                let extensions = extensions.into_iter().flat_map(|found| found.value);
                ItemType::File {
                    extensions: extensions
                        .map(|end| end.value.trim().trim_start_matches('.').to_lowercase())
                        .collect(),
                }
            }
            TypeName::Input => {
                ItemType::Input(section.choice("kind", ControlKind::WORDS, &mut self.problems))
            }
            TypeName::MovedValue => self.moved_value(section),
            TypeName::Colour => ItemType::Colour(self.colour(section)),
        })
    }

    fn boolean(&mut self, section: &mut Section<'_>) -> ItemType {
        let yes = answers(section, "yes", &mut self.problems);
        let no = answers(section, "no", &mut self.problems);
        let yes = yes.unwrap_or_else(|| self.notation.yes.clone());
        let no = no.unwrap_or_else(|| self.notation.no.clone());
        if section.has("yes") || section.has("no") {
            check_answers(&yes, &no, section.key_place("yes"), &mut self.problems);
        }
        ItemType::Boolean { yes, no }
    }

    fn colour(&mut self, section: &mut Section<'_>) -> ColourNotation {
        let parts = section.choice("parts", &COLOUR_PARTS, &mut self.problems);
        let row = match parts.unwrap_or(None) {
            Some(full) => ColourNotation::Row {
                separator: self.number_separator(section),
                full,
            },
            None => {
                let mark = section.string("mark", &mut self.problems);
                let mark = mark.map_or("#", |mark| mark.value).to_owned();
                return ColourNotation::Hex { mark };
            }
        };
        if section.has("mark") {
            let message =
                "only hexadecimal digits have a `mark`; remove it, or write `parts = \"hex\"`";
            let place = section.key_place("mark");
            self.problems.report(place, message);
            section.take("mark");
        }
        row
    }

    fn bounds(&mut self, section: &mut Section<'_>) -> Bounds {
        let problems = &mut self.problems;
        let min = section.number("min", problems);
        let above = section.number("above", problems);
        let max = section.number("max", problems);
        let below = section.number("below", problems);
        for (one, other, names) in [
            (&min, &above, "`min` and `above`"),
            (&max, &below, "`max` and `below`"),
        ] {
            if let (Some(_), Some(other)) = (one, other) {
                let message = format!("{names} exclude each other; remove one of them");
                problems.report(other.place.clone(), message);
            }
        }
        let bounds = Bounds {
            min: min.as_ref().or(above.as_ref()).map(|bound| bound.value),
            above: min.is_none() && above.is_some(),
            max: max.as_ref().or(below.as_ref()).map(|bound| bound.value),
            below: max.is_none() && below.is_some(),
        };
        if let (Some(low), Some(high)) = (bounds.min, bounds.max) {
            let empty = low > high || low == high && (bounds.above || bounds.below);
            if empty && let Some(bound) = max.or(below) {
                let message =
                    format!("no number lies between {low} and {high}; swap or widen the bounds");
                problems.report(bound.place, message);
            }
        }
        bounds
    }

    /// `unit`, or the usual unit of `quantity`.
    fn measured_in(&mut self, section: &mut Section<'_>) -> Option<Unit> {
        let quantity = section.choice("quantity", &QUANTITIES, &mut self.problems);
        let symbol = section.string("unit", &mut self.problems);
        match symbol {
            Some(symbol) => self.unit(&symbol, quantity),
            None => quantity.map(|quantity| self.notation.units.of(quantity).clone()),
        }
    }

    fn vector_count(&mut self, section: &mut Section<'_>) -> u32 {
        let Some(count) = section.count("count", &mut self.problems) else {
            return 3;
        };
        if !(1..=64).contains(&count.value) {
            let message = "a vector holds 1 to 64 numbers; for any number of them write `type = \"number\", list = true`";
            self.problems.report(count.place, message);
            return 3;
        }
        count.value
    }

    fn number_separator(&mut self, section: &mut Section<'_>) -> Separator {
        let usual = self.notation.numbers.vector_separator.clone();
        let Some(text) = section.string("separator", &mut self.problems) else {
            return usual;
        };
        let Some(found) = separator("separator", &text, &mut self.problems) else {
            return usual;
        };
        check_separator(&self.notation.numbers, &found, &text, &mut self.problems);
        found
    }

    /// `words`: the name of a list under `[words]`, or the words themselves.
    fn words_of(&mut self, section: &mut Section<'_>) -> Option<Arc<WordList>> {
        let Some(value) = section.take("words") else {
            section.missing("words", &mut self.problems, "[\"pin\", \"ball\"]");
            return None;
        };
        if let DeValue::String(name) = value.get_ref() {
            let find = |list: &&Arc<WordList>| list.name.as_deref() == Some(name.as_ref());
            if let Some(list) = self.word_lists.iter().find(find) {
                return Some(Arc::clone(list));
            }
            let known = self
                .word_lists
                .iter()
                .filter_map(|list| list.name.as_deref());
            let advice = match nearest(name, known) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => {
                    format!("add it: `[words.{name}]`, or write the words here: [\"…\", \"…\"]")
                }
            };
            let message = format!("there is no word list `{name}`; {advice}");
            self.problems.report(value.span(), message);
            return None;
        }
        let words = words("words", value, &mut self.problems);
        if words.is_empty() {
            let message = "`words` holds no words; write the words that may stand here";
            self.problems.report(value.span(), message);
            return None;
        }
        Some(Arc::new(WordList { name: None, words }))
    }

    /// `of`: one kind.
    fn kind_of(&mut self, section: &mut Section<'_>) -> Option<Placed<Kind>> {
        let kind = section.required("of", &mut self.problems, "\"wheel\"")?;
        if let word @ (INDEX_PATH | NODE_NAME) = kind.value.trim() {
            let message = format!("`{word}` is no name for a kind: nodes accept it as what it is");
            self.problems.report(kind.place, message);
            return None;
        }
        Some(Placed {
            value: Kind::new(kind.value.trim()),
            place: kind.place,
        })
    }

    /// What stands around the names of a reference.
    fn around(&mut self, section: &mut Section<'_>) -> Around {
        let mut text = |key: &'static str| {
            let found = section.string(key, &mut self.problems)?;
            if found.value.is_empty() {
                let message = format!("`{key}` is empty; leave it out");
                self.problems.report(found.place, message);
            }
            Some(found.value.to_owned())
        };
        Around {
            before: text("before").unwrap_or_default(),
            after: text("after").unwrap_or_default(),
            begins_after: text("begins-after").unwrap_or_default(),
            ends_before: text("ends-before").unwrap_or_default(),
        }
    }

    /// `scope`: of all names of a kind the same. Said once is enough.
    fn scope_of(&mut self, kind: &Kind, section: &mut Section<'_>) {
        let Some(scope) = section.choice("scope", &NameScope::WORDS, &mut self.problems) else {
            return;
        };
        match self.scopes.iter().find(|(known, _)| known == kind) {
            Some((_, known)) if *known != scope => {
                let message = format!(
                    "names of the kind `{kind}` have the scope `{}` elsewhere; write the same here, or leave it out",
                    known.as_str()
                );
                self.problems.report(section.key_place("scope"), message);
            }
            Some(_) => {}
            None => self.scopes.push((*kind, scope)),
        }
    }

    /// `of`: one kind or several.
    fn kinds_of(&mut self, section: &mut Section<'_>) -> Option<Vec<Kind>> {
        let Some(names) = section.strings("of", &mut self.problems) else {
            if !section.has("of") {
                section.missing("of", &mut self.problems, "\"wheel\"");
            }
            return None;
        };
        if names.value.is_empty() {
            let message = "`of` is empty; name at least one kind, such as \"wheel\"";
            self.problems.report(names.place, message);
            return None;
        }
        let mut kinds = Vec::new();
        for name in names.value {
            let kind = Kind::new(name.value.trim());
            self.kinds_used.push(Placed {
                value: kind,
                place: name.place,
            });
            kinds.push(kind);
        }
        Some(kinds)
    }

    fn node(&mut self, section: &mut Section<'_>) -> ItemType {
        let Some(accepts) = section.strings("accepts", &mut self.problems) else {
            return ItemType::Node {
                aliases: [any_alias()].into(),
                index_path: true,
                node_name: false,
            };
        };
        if accepts.value.is_empty() {
            let message = "`accepts` is empty; write, for example, [\"alias\", \"index-path\"], or leave it out";
            self.problems.report(accepts.place, message);
        }
        let mut aliases = Vec::new();
        let mut index_path = false;
        let mut node_name = false;
        for name in accepts.value {
            if name.value == INDEX_PATH {
                index_path = true;
                continue;
            }
            if name.value == NODE_NAME {
                node_name = true;
                continue;
            }
            let kind = Kind::new(name.value);
            self.kinds_used.push(Placed {
                value: kind,
                place: name.place,
            });
            aliases.push(kind);
        }
        ItemType::Node {
            aliases: aliases.into(),
            index_path,
            node_name,
        }
    }

    fn moved_value(&mut self, section: &mut Section<'_>) -> ItemType {
        let separator = self.number_separator(section);
        let mut units = self.notation.units.clone();
        let symbols = section.strings("unit", &mut self.problems);
        for symbol in symbols.into_iter().flat_map(|symbols| symbols.value) {
            if let Some(unit) = self.unit(&symbol, None) {
                units.set(unit);
            }
        }
        ItemType::MovedValue {
            separator,
            units: Box::new(units),
        }
    }

    /// `list`: true, or a table with what is not usual about it.
    fn list_rule(
        &mut self,
        section: &mut Section<'_>,
    ) -> Option<(ListRule, std::ops::Range<usize>)> {
        let value: &Spanned<DeValue<'_>> = section.take("list")?;
        let mut rule = ListRule {
            separator: Separator::WhiteSpace,
            min: 0,
            max: None,
        };
        match value.get_ref() {
            DeValue::Boolean(true) => {}
            DeValue::Boolean(false) => return None,
            DeValue::Table(_) => {
                let problems = &mut self.problems;
                let label = format!("`list` of {}", section.label);
                let mut list = as_section("list", label, value.span(), value, problems)?;
                if let Some(text) = list.string("separator", problems)
                    && let Some(separator) = separator("separator", &text, problems)
                {
                    rule.separator = separator;
                }
                if let Some(min) = list.count("min", problems) {
                    rule.min = min.value;
                }
                if let Some(max) = list.count("max", problems) {
                    rule.max = Some(max.value);
                    if max.value < rule.min {
                        let message = format!(
                            "`max` {} is less than `min` {}; swap or widen them",
                            max.value, rule.min
                        );
                        problems.report(max.place, message);
                    }
                }
                list.finish(problems);
            }
            other => {
                let expected = "`true` or a table such as { separator = \",\", min = 1 }";
                let message = wrong_type("list", expected, other);
                self.problems.report(value.span(), message);
            }
        }
        Some((rule, value.span()))
    }

    /// A mark between members must not be a part of the members. Numbers that cannot be negative have no minus.
    fn check_list_separator(&mut self, item: &ItemType, mark: &str, place: std::ops::Range<usize>) {
        let notation = &self.notation;
        let path_marks = |c: char| {
            let path = &notation.index_path;
            path.separator.contains(c) || path.after_root.contains(c) || path.root_mark.contains(c)
        };
        let clash = match item {
            ItemType::Integer { range } | ItemType::Number { range, .. }
                if mark == "-" && range.min.is_some_and(|min| min >= 0.0) =>
            {
                None
            }
            ItemType::Integer { .. } | ItemType::PositionOf { .. } => {
                let whole_number = |c: char| c.is_ascii_digit() || "+-".contains(c);
                mark.chars().all(whole_number).then_some("numbers")
            }
            ItemType::Number { .. }
            | ItemType::Vector { .. }
            | ItemType::MovedValue { .. }
            | ItemType::Colour(ColourNotation::Row { .. }) => {
                notation.numbers.may_contain(mark).then_some("numbers")
            }
            ItemType::IndexPath
            | ItemType::Node {
                index_path: true, ..
            } => {
                let in_path = |c: char| c.is_ascii_digit() || path_marks(c);
                mark.chars().all(in_path).then_some("index paths")
            }
            _ => None,
        };
        if let Some(what) = clash {
            let message = format!("`{mark}` cannot separate the members: it is a part of {what}");
            self.problems.report(place, message);
        }
    }
}
