//! Declarations of values.

use super::{Writer, count, mark, number, texts};
use crate::structure::ValueForm;
use dialect::{Bounds, ItemType, Kind, ListRule, Separator, ValueType};
use toml_edit::{Array, InlineTable, Value};

impl Writer<'_> {
    /// `{ type = …, required = true, usual = …, strict = false, learnt = { … } }`
    pub(super) fn value(&self, value: &ValueForm) -> Value {
        let mut table = InlineTable::new();
        self.value_type(&value.value_type, &mut table);
        if value.required {
            table.insert("required", true.into());
        }
        if let Some(usual) = value.usual {
            table.insert("usual", self.text(usual).into());
        }
        table.insert("strict", false.into());
        table.insert("learnt", self.evidence(value).into());
        table.into()
    }

    fn evidence(&self, value: &ValueForm) -> InlineTable {
        let mut learnt = InlineTable::new();
        learnt.insert("seen", count(value.seen.places));
        if value.of != value.seen.places {
            learnt.insert("of", count(value.of));
        }
        learnt.insert("files", count(value.seen.files));
        if let Some((least, greatest)) = value.observed {
            let mut range = InlineTable::new();
            range.insert("min", number(least));
            range.insert("max", number(greatest));
            learnt.insert("range", range.into());
        }
        if !value.values.is_empty() {
            let mut values = InlineTable::new();
            for (value, places) in &value.values {
                values.insert(self.text(*value), count(*places));
            }
            learnt.insert("values", values.into());
        }
        learnt
    }

    fn value_type(&self, value_type: &ValueType, table: &mut InlineTable) {
        let mut type_is = |name: &str| {
            table.insert("type", name.into());
        };
        match &value_type.item {
            ItemType::Text => type_is("text"),
            ItemType::Boolean { yes, no } => {
                type_is("boolean");
                let notation = &self.structure.notation;
                if *yes != notation.yes {
                    table.insert("yes", texts(yes));
                }
                if *no != notation.no {
                    table.insert("no", texts(no));
                }
            }
            ItemType::Integer { range } => {
                type_is("integer");
                bounds(range, table);
            }
            ItemType::Number { range, .. } => {
                type_is("number");
                bounds(range, table);
            }
            ItemType::Vector {
                count: numbers,
                separator,
                range,
                ..
            } => {
                type_is("vector");
                table.insert("count", count(*numbers));
                if *separator != self.structure.notation.numbers.vector_separator {
                    table.insert("separator", mark(separator).into());
                }
                bounds(range, table);
            }
            ItemType::Word(list) => {
                type_is("word");
                match &list.name {
                    Some(name) => table.insert("words", name.as_str().into()),
                    None => table.insert("words", list.texts().collect::<Array>().into()),
                };
            }
            ItemType::NameOf(kind) => {
                type_is("name");
                table.insert("of", kind.as_str().into());
            }
            ItemType::Reference(kinds) => {
                type_is("reference");
                table.insert("of", kind_words(kinds));
            }
            ItemType::PositionOf { kind, first } => {
                type_is("position");
                table.insert("of", kind.as_str().into());
                table.insert("first", count(*first));
            }
            ItemType::Node {
                aliases,
                index_path,
            } => {
                type_is("node");
                let mut accepts: Vec<&str> = aliases.iter().map(Kind::as_str).collect();
                accepts.extend(index_path.then_some("index-path"));
                table.insert("accepts", texts(&accepts));
            }
            ItemType::IndexPath => type_is("index-path"),
            ItemType::File { extensions } => {
                type_is("file");
                if !extensions.is_empty() {
                    table.insert("extensions", texts(extensions));
                }
            }
            ItemType::Input(_) => type_is("input"),
            ItemType::MovedValue { .. } => type_is("moved-value"),
        }
        if let Some(list) = &value_type.list {
            table.insert("list", list_rule(list));
        }
    }
}

fn kind_words(kinds: &[Kind]) -> Value {
    let words: Vec<&str> = kinds.iter().map(Kind::as_str).collect();
    texts(&words)
}

fn bounds(bounds: &Bounds, table: &mut InlineTable) {
    if let Some(min) = bounds.min {
        table.insert(if bounds.above { "above" } else { "min" }, number(min));
    }
    if let Some(max) = bounds.max {
        table.insert(if bounds.below { "below" } else { "max" }, number(max));
    }
}

fn list_rule(list: &ListRule) -> Value {
    if list.separator == Separator::WhiteSpace && list.min == 0 && list.max.is_none() {
        return true.into();
    }
    let mut table = InlineTable::new();
    if list.separator != Separator::WhiteSpace {
        table.insert("separator", mark(&list.separator).into());
    }
    if list.min > 0 {
        table.insert("min", count(list.min));
    }
    if let Some(max) = list.max {
        table.insert("max", count(max));
    }
    table.into()
}
