//! `[notation]`, `[units]`, `[unit.NAME]` and `[files]`: how things are written, and in which units.

use super::Reader;
use super::section::{Placed, Section, as_section};
use crate::index_path::IndexPathNotation;
use crate::nearest::nearest;
use crate::node_path::NodeNameNotation;
use crate::notation::{Axes, Direction, EulerOrder, FileNotation, FilesFrom};
use crate::numbers::{NumberNotation, Separator};
use crate::problem::Problems;
use crate::units::{Quantity, Unit, Units};

pub(super) const QUANTITIES: [(&str, Quantity); 9] = {
    let mut words = [("", Quantity::Length); 9];
    let mut at = 0;
    while at < words.len() {
        words[at] = (Quantity::ALL[at].as_str(), Quantity::ALL[at]);
        at += 1;
    }
    words
};

impl Reader<'_> {
    /// `[unit.NAME]`
    pub(super) fn own_units(&mut self, file: &mut Section<'_>) {
        let problems = &mut self.problems;
        let Some(section) = file.section("unit", "`[unit]`", problems) else {
            return;
        };
        for (name, value) in section.entries() {
            let label = format!("`[unit.{}]`", name.value);
            let Some(mut section) =
                as_section(name.value, label, name.place.clone(), value, problems)
            else {
                continue;
            };
            if Unit::known(name.value).is_some() {
                let message = format!(
                    "`{}` is a unit that everybody knows; give yours another name",
                    name.value
                );
                problems.report(name.place.clone(), message);
            }
            let quantity = match section.has("quantity") {
                true => section.choice("quantity", &QUANTITIES, problems),
                false => {
                    section.take("quantity");
                    section.missing("quantity", problems, "\"length\"");
                    None
                }
            };
            let size = section.number("size", problems);
            if !section.has("size") {
                section.missing("size", problems, "0.5");
            }
            let label = section.string("label", problems);
            section.finish(problems);
            let (Some(quantity), Some(size)) = (quantity, size) else {
                continue;
            };
            if size.value <= 0.0 {
                problems.report(size.place, "the size of a unit is above 0");
                continue;
            }
            self.own_units.push(Unit {
                name: name.value.to_owned(),
                label: label.map_or(name.value, |label| label.value).to_owned(),
                quantity,
                to_base: size.value,
            });
        }
    }

    /// `[units]`, `[notation]`, `[files]`
    pub(super) fn notation(&mut self, file: &mut Section<'_>) {
        if let Some(section) = file.section("units", "`[units]`", &mut self.problems) {
            self.notation.units = self.units(section, Units::default());
        }
        let problems = &mut self.problems;
        if let Some(mut section) = file.section("notation", "`[notation]`", problems) {
            self.notation.numbers =
                number_notation(&mut section, NumberNotation::default(), problems);
            if let Some(euler) = section.choice("euler", &EulerOrder::ALL, problems) {
                self.notation.euler = euler;
            }
            if let Some(yes) = answers(&mut section, "yes", problems) {
                self.notation.yes = yes;
            }
            if let Some(no) = answers(&mut section, "no", problems) {
                self.notation.no = no;
            }
            if let Some(index_path) =
                section.section("index-path", "`[notation.index-path]`", problems)
            {
                self.notation.index_path = index_path_notation(index_path, problems);
            }
            if let Some(names) = section.section("node-name", "`[notation.node-name]`", problems) {
                self.notation.node_names = node_name_notation(names, problems);
            }
            if let Some(axes) = section.section("axes", "`[notation.axes]`", problems) {
                self.notation.axes = read_axes(axes, problems);
            }
            let place = section.key_place("yes");
            section.finish(problems);
            check_answers(&self.notation.yes, &self.notation.no, place, problems);
        }
        if let Some(section) = file.section("files", "`[files]`", problems) {
            self.notation.files = file_notation(section, problems);
        }
    }

    /// A table from quantity to unit.
    pub(super) fn units(&mut self, mut section: Section<'_>, mut units: Units) -> Units {
        for (key, quantity) in QUANTITIES {
            let Some(symbol) = section.string(key, &mut self.problems) else {
                continue;
            };
            if let Some(unit) = self.unit(&symbol, Some(quantity)) {
                units.set(unit);
            }
        }
        section.finish(&mut self.problems);
        units
    }

    /// The unit with this symbol; it must measure the quantity, if one is asked for.
    pub(super) fn unit(
        &mut self,
        symbol: &Placed<&str>,
        quantity: Option<Quantity>,
    ) -> Option<Unit> {
        let own = self.own_units.iter().find(|unit| unit.name == symbol.value);
        let unit = own.cloned().or_else(|| Unit::known(symbol.value));
        let Some(unit) = unit else {
            let wanted = |of: Quantity| quantity.is_none_or(|quantity| quantity == of);
            let common = Quantity::ALL.into_iter().filter(|of| wanted(*of));
            let own = self.own_units.iter().filter(|unit| wanted(unit.quantity));
            let mut known: Vec<&str> = common.flat_map(Unit::all_known).collect();
            known.extend(own.map(|unit| unit.name.as_str()));
            let meant = Unit::symbol_for_label(symbol.value)
                .filter(|symbol| known.contains(symbol))
                .or_else(|| nearest(symbol.value, known.iter().copied()));
            let advice = match meant {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("known: {}, or a [unit] of your own", known.join(", ")),
            };
            let message = format!("unknown unit `{}`; {advice}", symbol.value);
            self.problems.report(symbol.place.clone(), message);
            return None;
        };
        match quantity {
            Some(quantity) if quantity != unit.quantity => {
                let message = format!(
                    "`{}` measures {}, not {quantity}; units of {quantity} are {}",
                    unit.name,
                    unit.quantity,
                    Unit::all_known(quantity).collect::<Vec<_>>().join(", ")
                );
                self.problems.report(symbol.place.clone(), message);
                None
            }
            _ => Some(unit),
        }
    }
}

/// Words for true or false.
pub(super) fn answers(
    section: &mut Section<'_>,
    key: &'static str,
    problems: &mut Problems<'_>,
) -> Option<Vec<String>> {
    let words = section.strings(key, problems)?;
    if words.value.is_empty() {
        problems.report(words.place, format!("`{key}` needs at least one word"));
        return None;
    }
    Some(
        words
            .value
            .iter()
            .map(|word| word.value.to_owned())
            .collect(),
    )
}

pub(super) fn check_answers(
    yes: &[String],
    no: &[String],
    place: std::ops::Range<usize>,
    problems: &mut Problems<'_>,
) {
    if let Some(both) = yes.iter().find(|word| no.contains(word)) {
        problems.report(place, format!("`{both}` cannot mean both yes and no"));
    }
}

/// The keys about numbers, in `[notation]` and `[scene]`.
pub(super) fn number_notation(
    section: &mut Section<'_>,
    mut numbers: NumberNotation,
    problems: &mut Problems<'_>,
) -> NumberNotation {
    if let Some(marks) = section.strings("decimal-mark", problems) {
        let mut found = Vec::new();
        for mark in &marks.value {
            let mut characters = mark.value.chars();
            match (characters.next(), characters.next()) {
                (Some(c), None) if c.is_ascii_punctuation() && c != '-' && c != '+' => {
                    found.push(c);
                }
                _ => {
                    let message = "a decimal mark is one character, such as \".\" or \",\"";
                    problems.report(mark.place.clone(), message);
                }
            }
        }
        if !found.is_empty() {
            numbers.decimal_marks = found;
        }
    }
    if let Some(least) = section.count("least-decimals", problems) {
        numbers.least_decimals = decimals(least, problems);
    }
    if let Some(most) = section.count("most-decimals", problems) {
        let place = most.place.clone();
        numbers.most_decimals = Some(decimals(most, problems));
        if numbers.most_decimals < Some(numbers.least_decimals) {
            let message = "`most-decimals` is less than `least-decimals`; swap or raise it";
            problems.report(place, message);
        }
    }
    if let Some(text) = section.string("vector-separator", problems) {
        if let Some(separator) = separator("vector-separator", &text, problems) {
            numbers.vector_separator = separator;
        }
        check_separator(&numbers, &numbers.vector_separator, &text, problems);
    }
    numbers
}

fn decimals(count: Placed<u32>, problems: &mut Problems<'_>) -> usize {
    if count.value > 15 {
        problems.report(count.place, "numbers hold at most 15 decimals");
    }
    count.value.min(15) as usize
}

/// A separator: blanks only stand for any white space.
pub(super) fn separator(
    key: &str,
    text: &Placed<&str>,
    problems: &mut Problems<'_>,
) -> Option<Separator> {
    if text.value.is_empty() {
        let message = format!("`{key}` is empty; write \" \" for blanks, or a mark such as \";\"");
        problems.report(text.place.clone(), message);
        return None;
    }
    Some(match text.value.trim() {
        "" => Separator::WhiteSpace,
        mark => Separator::Text(mark.to_owned()),
    })
}

/// A separator of numbers must not be a part of numbers.
pub(super) fn check_separator(
    numbers: &NumberNotation,
    separator: &Separator,
    text: &Placed<&str>,
    problems: &mut Problems<'_>,
) {
    let Separator::Text(mark) = separator else {
        return;
    };
    if numbers.may_contain(mark) {
        let message = format!("`{mark}` cannot separate numbers: it is a part of numbers");
        problems.report(text.place.clone(), message);
    }
}

fn index_path_notation(mut section: Section<'_>, problems: &mut Problems<'_>) -> IndexPathNotation {
    let mut notation = IndexPathNotation::default();
    let mark = |section: &mut Section<'_>, problems: &mut Problems<'_>, key, may_be_empty: bool| {
        let text = section.string(key, problems)?;
        let digits = text.value.contains(|c: char| c.is_ascii_digit());
        if digits {
            problems.report(text.place, format!("`{key}` cannot hold digits"));
            return None;
        }
        if text.value.is_empty() && !may_be_empty {
            problems.report(
                text.place,
                format!("`{key}` is empty; write a mark such as \"/\""),
            );
            return None;
        }
        Some(text.value.to_owned())
    };
    if let Some(separator) = mark(&mut section, problems, "separator", false) {
        notation.after_root = separator.clone();
        notation.separator = separator;
    }
    // Where the root has no number, nothing need stand behind it.
    if section
        .boolean("root-number", problems)
        .is_some_and(|number| !number)
    {
        notation.root_number = false;
        notation.after_root.clear();
    }
    let may_be_empty = !notation.root_number;
    if let Some(after_root) = mark(&mut section, problems, "after-root", may_be_empty) {
        notation.after_root = after_root;
    }
    if let Some(root_mark) = mark(&mut section, problems, "root-mark", true) {
        notation.root_mark = root_mark;
    }
    if let Some(first) = section.count("first", problems) {
        notation.first = first.value;
    }
    if let Some(always) = section.boolean("after-root-always", problems) {
        notation.after_root_always = always;
    }
    section.finish(problems);
    notation
}

fn node_name_notation(mut section: Section<'_>, problems: &mut Problems<'_>) -> NodeNameNotation {
    let separator = section.string("separator", problems);
    if let Some(empty) = separator.as_ref().filter(|mark| mark.value.is_empty()) {
        let message = "`separator` is empty; write a mark such as \"/\", or leave it out";
        problems.report(empty.place.clone(), message);
    }
    let from_root = section.choice("from", &[("root", true), ("anywhere", false)], problems);
    section.finish(problems);
    NodeNameNotation {
        separator: separator
            .map(|mark| mark.value.to_owned())
            .filter(|mark| !mark.is_empty()),
        from_root: from_root.unwrap_or_default(),
    }
}

fn read_axes(mut section: Section<'_>, problems: &mut Problems<'_>) -> Axes {
    let mut axes = Axes::default();
    let place = section.place.clone();
    if let Some(right) = section.choice("right", &Direction::ALL, problems) {
        axes.right = right;
    }
    if let Some(up) = section.choice("up", &Direction::ALL, problems) {
        axes.up = up;
    }
    if let Some(forward) = section.choice("forward", &Direction::ALL, problems) {
        axes.forward = forward;
    }
    section.finish(problems);
    let (right, up, forward) = (axes.right.axis, axes.up.axis, axes.forward.axis);
    if right == up || up == forward || forward == right {
        let message = "`right`, `up` and `forward` must be three different axes; \
                       where one is left out it is right = \"-x\", up = \"y\", forward = \"z\"";
        problems.report(place, message);
    }
    axes
}

fn file_notation(mut section: Section<'_>, problems: &mut Problems<'_>) -> FileNotation {
    let mut files = FileNotation::default();
    if let Some(prefix) = section.string("game-prefix", problems) {
        match prefix.value.is_empty() {
            true => problems.report(
                prefix.place,
                "`game-prefix` is empty; leave the key out if files have no such prefix",
            ),
            false => files.game_prefix = Some(prefix.value.to_owned()),
        }
    }
    if let Some(marks) = section.strings("folder-separator", problems) {
        let mut found = Vec::new();
        for mark in &marks.value {
            match mark.value {
                "/" => found.push('/'),
                "\\" => found.push('\\'),
                _ => problems.report(
                    mark.place.clone(),
                    "folders are separated by \"/\" or \"\\\\\" (or both, the written one first)",
                ),
            }
        }
        if !found.is_empty() {
            files.folder_separators = found;
        }
    }
    let places = [("document", FilesFrom::Document), ("mod", FilesFrom::Mod)];
    if let Some(from) = section.choice("from", &places, problems) {
        files.from = from;
    }
    section.finish(problems);
    files
}
