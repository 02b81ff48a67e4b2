//! Writes elements and what may stand in them.

use std::fmt::Write as _;

use super::Draft;
use super::toml::{array, key, line, quoted, table, text_line, texts_line};
use super::values::{item_pairs, list_rule, number};
use crate::grammar::{AttributeDecl, ChildRule, Choice, ElementDecl, Learnt, Order};
use crate::value_type::ItemType;

impl Draft {
    pub(super) fn write_element(&self, out: &mut String, element: &ElementDecl) {
        let name = key(&element.key);
        let _ = writeln!(out, "[element.{name}]");
        text_line(out, "doc", &element.doc);
        let children = entries(&element.children, &element.choices);
        texts_line(out, "children", &children);
        if element.order == Order::Listed && element.children.len() > 1 {
            out.push_str("order = \"listed\"\n");
        }
        if let Some(text) = &element.text {
            line(out, "text", &self.declaration(text));
        }
        if element.open {
            out.push_str("open = true\n");
        }
        if !element.strict {
            out.push_str("strict = false\n");
        }
        if let Some(learnt) = &element.learnt {
            line(out, "learnt", &record(learnt));
        }
        match element.attributes.as_slice() {
            [] => {}
            [only] => {
                let name = format!("attributes.{}", key(&only.name));
                line(out, &name, &self.declaration(only));
            }
            several => {
                let _ = writeln!(out, "\n[element.{name}.attributes]");
                for attribute in several {
                    line(out, &key(&attribute.name), &self.declaration(attribute));
                }
            }
        }
    }

    /// The value of an attribute or text: the name of its type if that says all, else a table.
    fn declaration(&self, declared: &AttributeDecl) -> String {
        let mut pairs = match &declared.value.item {
            ItemType::Boolean { yes, no }
                if *yes == self.notation.yes && *no == self.notation.no =>
            {
                vec![("type", quoted("boolean"))]
            }
            item => item_pairs(item, &self.notation.numbers.vector_separator),
        };
        if let ItemType::NameOf(kind) = &declared.value.item
            && let Some((_, scope)) = self.scopes.iter().find(|(known, _)| known == kind)
        {
            pairs.push(("scope", quoted(scope.as_str())));
        }
        let around = &declared.value.around;
        for (key, text) in [
            ("before", &around.before),
            ("after", &around.after),
            ("begins-after", &around.begins_after),
            ("ends-before", &around.ends_before),
        ] {
            if !text.is_empty() {
                pairs.push((key, quoted(text)));
            }
        }
        if let Some(list) = &declared.value.list {
            pairs.push(("list", list_rule(list)));
        }
        if declared.required {
            pairs.push(("required", "true".to_owned()));
        }
        if let Some(default) = &declared.default {
            pairs.push(("default", quoted(default)));
        }
        if let Some(usual) = &declared.usual {
            pairs.push(("usual", quoted(usual)));
        }
        if !declared.doc.is_empty() {
            pairs.push(("doc", quoted(&declared.doc)));
        }
        if !declared.strict {
            pairs.push(("strict", "false".to_owned()));
        }
        if let Some(learnt) = &declared.learnt {
            pairs.push(("learnt", record(learnt)));
        }
        match pairs.as_slice() {
            [(_, only)] => only.clone(),
            several => table(several),
        }
    }
}

/// The children as they are listed, those that stand for each other as one: `part?`, `(box | ball)?`.
fn entries(children: &[ChildRule], choices: &[Choice]) -> Vec<String> {
    let mut entries = Vec::new();
    let mut at = 0;
    while let Some(rule) = children.get(at) {
        let mut choices = choices.iter();
        let choice = choices.find(|choice| choice.members.contains(&at));
        let members =
            choice.and_then(|choice| Some((choice, children.get(choice.members.clone())?)));
        entries
            .push(members.map_or_else(|| child(rule), |(choice, members)| group(choice, members)));
        at = choice.map_or(at + 1, |choice| choice.members.end.max(at + 1));
    }
    entries
}

/// Children that stand for each other: `box | ball`, `(box | ball)?`.
fn group(choice: &Choice, members: &[ChildRule]) -> String {
    let members = members
        .iter()
        .map(|rule| match (choice.is_exclusive(), rule.max) {
            (true, Some(1)) | (false, None) => rule.name.clone(),
            (true, None) => format!("{}+", rule.name),
            (true, Some(max)) => format!("{}{{1,{max}}}", rule.name),
            (false, Some(1)) => format!("{}?", rule.name),
            (false, Some(max)) => format!("{}{{0,{max}}}", rule.name),
        });
    let members = members.collect::<Vec<_>>().join(" | ");
    match counts(choice.min, choice.max) {
        count if count.is_empty() => members,
        count => format!("({members}){count}"),
    }
}

/// As `children` lists it: `part`, `part?`, `part{2,4}`.
fn child(rule: &ChildRule) -> String {
    format!("{}{}", rule.name, counts(rule.min, rule.max))
}

fn counts(min: u32, max: Option<u32>) -> String {
    match (min, max) {
        (1, Some(1)) => String::new(),
        (0, Some(1)) => "?".to_owned(),
        (0, None) => "*".to_owned(),
        (1, None) => "+".to_owned(),
        (min, None) => format!("{{{min},}}"),
        (min, Some(max)) if min == max => format!("{{{min}}}"),
        (min, Some(max)) => format!("{{{min},{max}}}"),
    }
}

pub(super) fn record(learnt: &Learnt) -> String {
    let mut pairs = vec![("seen", learnt.seen.to_string())];
    if learnt.of > 0 && learnt.of != learnt.seen {
        pairs.push(("of", learnt.of.to_string()));
    }
    if learnt.files > 0 {
        pairs.push(("files", learnt.files.to_string()));
    }
    if learnt.foreign > 0 {
        pairs.push(("foreign", learnt.foreign.to_string()));
    }
    if let Some((least, greatest)) = learnt.range {
        let range = [("min", number(least)), ("max", number(greatest))];
        pairs.push(("range", table(&range)));
    }
    if !learnt.values.is_empty() {
        let values = learnt.values.iter();
        let values: Vec<(String, String)> = values
            .map(|(value, count)| (key(value), count.to_string()))
            .collect();
        pairs.push(("values", table(&values)));
    }
    if !learnt.places.is_empty() {
        pairs.push(("places", array(&learnt.places)));
    }
    if !learnt.exceptions.is_empty() {
        pairs.push(("exceptions", array(&learnt.exceptions)));
    }
    if let Some(besides) = &learnt.besides {
        pairs.push(("besides", array(besides)));
    }
    if let Some(kept) = &learnt.kept {
        let mut parts = vec![("children", array(&entries(&kept.children, &kept.choices)))];
        if kept.order == Order::Listed && kept.children.len() > 1 {
            parts.push(("order", quoted("listed")));
        }
        if kept.text {
            parts.push(("text", "true".to_owned()));
        }
        pairs.push(("kept", table(&parts)));
    }
    table(&pairs)
}
