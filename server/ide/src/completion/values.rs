//! Values: which ones fit, and how they are written into the document.

use super::{
    About, Completion, CompletionItem, CompletionKind, files, habits, inputs, names, nodes, seen,
};
use crate::{
    motions,
    nodes::{node_of, nothing_added, rest_value, tidy_value},
    prose::{Line, Prose},
    spot::{ValueSpot, value_at, within},
    template::Template,
};
use dialect::{AttributeDecl, Dialect, EndValue, ItemType, Property, Separator, WordList};
use foldhash::HashSet;
use project::View;
use std::ops::Range;
use syntax::{Source, TextRange, TextSize, escape};

/// Values for the place at an offset.
pub(super) fn complete(view: &View, offset: TextSize) -> Option<Completion> {
    let spot = value_at(view, offset)?;
    let Some((dialect, declared)) = view.dialect().zip(spot.declared) else {
        return unknown(view, &spot);
    };
    let property = motions::property_at(view, &spot);
    let place = ItemPlace::find(view, dialect, &spot, declared, property, offset)?;
    let typed = TextRange::new(place.range.start(), offset.max(place.range.start()));
    let typed = view.document.slice(typed);
    let wanted = Wanted {
        view,
        dialect,
        spot: &spot,
        declared,
        others: &place.others,
        typed: &typed,
    };
    let mut list = Proposals::default();
    propose(&wanted, &mut list);
    habits::of_values(&wanted, &mut list);
    if names_something(&declared.value.item) {
        list.items
            .retain(|item| !place.others.contains(&item.insert.plain()));
    }
    let mut writer = Writer::new(view, &spot);
    let around = &declared.value.around;
    if place.range.is_empty() && !view.document.is_before(offset, &around.before) {
        writer.before.push_str(&around.before);
        writer.after.insert_str(0, &around.after);
    }
    Some(Completion {
        replace: place.range,
        items: list
            .items
            .into_iter()
            .map(|item| writer.write(item))
            .collect(),
        is_incomplete: list.is_incomplete,
    })
}

/// What proposals are wanted for.
pub(super) struct Wanted<'a, 'v> {
    pub(super) view: &'v View,
    pub(super) dialect: &'v Dialect,
    pub(super) spot: &'a ValueSpot<'v>,
    pub(super) declared: &'v AttributeDecl,
    /// The other members of the list that the value is, as they are written.
    pub(super) others: &'a [String],
    /// The item up to the caret.
    pub(super) typed: &'v str,
}

/// Proposed values, as they are: nothing escaped, no quotes.
#[derive(Debug, Default)]
pub(super) struct Proposals {
    pub(super) items: Vec<CompletionItem>,
    pub(super) is_incomplete: bool,
}

/// More proposals than this are not shown at once.
const MOST: usize = 500;

impl Proposals {
    /// As many candidates as are shown at once.
    pub(super) fn first_of<T>(&mut self, all: impl Iterator<Item = T>) -> Vec<T> {
        let mut all: Vec<T> = all.take(MOST + 1).collect();
        self.is_incomplete |= all.len() > MOST;
        all.truncate(MOST);
        all
    }

    /// The first candidate of each text; of very many, those whose text holds what is typed.
    pub(super) fn first_that_hold<'t, T, I: Iterator<Item = T>>(
        &mut self,
        typed: &str,
        all: impl Fn() -> I,
        text: impl Fn(&T) -> &'t str,
    ) -> Vec<T> {
        let mut seen = HashSet::default();
        let different = all().filter(|one| seen.insert(text(one)));
        let few: Vec<T> = different.take(MOST + 1).collect();
        if few.len() <= MOST {
            return few;
        }
        let typed = typed.trim().to_lowercase();
        seen.clear();
        self.first_of(all().filter(|one| holds(text(one), &typed) && seen.insert(text(one))))
    }

    /// Adds a proposal unless its text is proposed already.
    pub(super) fn add(&mut self, item: CompletionItem) {
        if self.items.iter().all(|known| known.label != item.label) {
            self.items.push(item);
        }
    }
}

/// Whether saying the same twice in one list makes no sense.
fn names_something(item: &ItemType) -> bool {
    !matches!(
        item,
        ItemType::Text
            | ItemType::Boolean { .. }
            | ItemType::Integer { .. }
            | ItemType::Number { .. }
            | ItemType::Vector { .. }
            | ItemType::Colour(_)
            | ItemType::MovedValue { .. }
    )
}

/// Whether a text holds letters that are in lower case, whatever its own case.
pub(super) fn holds(text: &str, typed: &str) -> bool {
    if text.is_ascii() {
        let mut places = text.as_bytes().windows(typed.len().max(1));
        return typed.is_empty()
            || places.any(|place| place.eq_ignore_ascii_case(typed.as_bytes()));
    }
    text.to_lowercase().contains(typed)
}

fn propose(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    match &wanted.declared.value.item {
        ItemType::Boolean { yes, no } => answers(wanted, yes, no, list),
        ItemType::Word(words) => word_list(wanted, words, list),
        ItemType::NameOf(kind) => names::new_names(wanted, kind, list),
        ItemType::Reference(kinds) => names::known(wanted, kinds, list),
        ItemType::PositionOf { kind, first } => names::positions(wanted, kind, *first, list),
        ItemType::Node {
            aliases,
            index_path,
            node_name,
        } => {
            names::known(wanted, aliases, list);
            if *node_name {
                nodes::names(wanted, list);
            }
            if *index_path {
                nodes::paths(wanted, list);
            }
        }
        ItemType::IndexPath => nodes::paths(wanted, list),
        ItemType::File { extensions } => files::files(wanted, extensions, list),
        ItemType::Input(kind) => inputs::inputs(wanted, *kind, list),
        ItemType::MovedValue { .. } => moved(wanted, list),
        ItemType::Text
        | ItemType::Integer { .. }
        | ItemType::Number { .. }
        | ItemType::Vector { .. }
        | ItemType::Colour(_) => {
            habitual(wanted, list);
        }
    }
}

/// The usual value, the default, and what a library shows.
fn habitual(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let declared = wanted.declared;
    let mut add = |value: &str, detail: String| {
        let item = CompletionItem::new(CompletionKind::Value, value, value).detail(detail);
        list.add(item.doc(&declared.doc));
    };
    // What is usual for a list is usual for the whole list.
    if declared.value.list.is_some() && !wanted.others.is_empty() {
        return;
    }
    if let Some(usual) = &declared.usual {
        add(usual, "usual".to_owned());
    }
    if let Some(default) = &declared.default {
        add(default, "taken where it is left out".to_owned());
    }
    for (value, count) in declared.learnt.iter().flat_map(|learnt| &learnt.values) {
        add(value, format!("seen {count} times"));
    }
}

fn answers(wanted: &Wanted<'_, '_>, yes: &[String], no: &[String], list: &mut Proposals) {
    for word in yes.first().into_iter().chain(no.first()) {
        let item = CompletionItem::new(CompletionKind::Word, word, word.as_str())
            .detail(habit(wanted.declared, word));
        list.add(item.doc(&wanted.declared.doc));
    }
}

fn word_list(wanted: &Wanted<'_, '_>, words: &WordList, list: &mut Proposals) {
    for word in &words.words {
        let detail = habit(wanted.declared, &word.text);
        let item = CompletionItem::new(CompletionKind::Word, &word.text, word.text.as_str())
            .detail(detail);
        list.add(item.doc(&word.doc));
    }
    let usual = wanted.declared.usual.as_deref();
    list.items
        .sort_by_key(|item| Some(item.label.as_str()) != usual);
}

fn habit(declared: &AttributeDecl, word: &str) -> &'static str {
    match word {
        _ if declared.usual.as_deref() == Some(word) => "usual",
        _ if declared.default.as_deref() == Some(word) => "taken where it is left out",
        _ => "",
    }
}

/// Where the node rests, and what is written at the other end of the motion.
fn moved(wanted: &Wanted<'_, '_>, list: &mut Proposals) {
    let Some(end) = motions::end_at(wanted.view, wanted.spot) else {
        return habitual(wanted, list);
    };
    let declared = wanted.declared;
    let unit = |property: Property| match property.quantity() {
        Some(quantity) => format!(
            "{} in {}",
            property.as_str(),
            wanted.dialect.notation.units.of(quantity).label
        ),
        None => property.as_str().to_owned(),
    };
    let mut add = |value: &str, detail: &str, doc: String| {
        let item = CompletionItem::new(CompletionKind::Value, value, value).detail(detail);
        list.add(
            item.about(About::Text(
                Prose::new()
                    .paragraph(Line::new().text(doc))
                    .doc(&declared.doc),
            )),
        );
    };
    let write = |value, property| wanted.dialect.write_end(&declared.value, value, property);
    if let Some(property) = end.property {
        let node = end.channel.node.as_ref();
        let node = node.and_then(|node| node_of(wanted.view, node));
        let rest = node.and_then(|node| Some(&wanted.view.scene()?[node].rest));
        let rest = rest.map(|rest| tidy_value(rest_value(wanted.dialect, rest, property)));
        let (value, detail, said) = match end.is_added {
            true => (nothing_added(property), "nothing added", "Goes nowhere"),
            false => (rest, "at rest", "Where the node rests"),
        };
        if let Some(written) = value.and_then(|value| write(value, property)) {
            add(&written, detail, format!("{said}: {}.", unit(property)));
        }
    }
    let other = end.other.map(|other| other.text.into_owned());
    let fits = |other: &&String| match end.property {
        Some(property) => wanted
            .dialect
            .read_end(&declared.value, other, property)
            .is_some(),
        None => !other.is_empty(),
    };
    if let Some(other) = other.as_ref().or(wanted.others.first()).filter(fits) {
        add(
            other,
            "as at the other end",
            "What is written at the other end of this motion.".to_owned(),
        );
    }
    if end.property == Some(Property::Visibility) {
        for (visible, doc) in [
            (true, "The node is shown."),
            (false, "The node is not shown."),
        ] {
            let written = write(EndValue::Visible(visible), Property::Visibility);
            if let Some(written) = written {
                add(&written, "", doc.to_owned());
            }
        }
    }
    habitual(wanted, list);
}

/// For values that no grammar knows: what the document says elsewhere.
fn unknown(view: &View, spot: &ValueSpot<'_>) -> Option<Completion> {
    let attribute = spot.attribute?;
    if view.meaning.is_some() && !spot.chain.is_empty() {
        return None;
    }
    let writer = Writer::new(view, spot);
    let values = seen::values(view, spot.element, attribute.name());
    let items = values.into_iter().map(|raw| {
        let value = escape::resolved(raw);
        let item = CompletionItem::new(CompletionKind::Value, &*value, &*value);
        writer.write(item.detail("used in this file"))
    });
    Some(Completion::new(spot.range, items.collect()))
}

/// The member of a value that the caret is in, as the document writes it.
struct ItemPlace {
    range: TextRange,
    /// The other members of the list.
    others: Vec<String>,
}

impl ItemPlace {
    /// None where the list is full.
    fn find(
        view: &View,
        dialect: &Dialect,
        spot: &ValueSpot<'_>,
        declared: &AttributeDecl,
        property: Option<Property>,
        offset: TextSize,
    ) -> Option<Self> {
        let raw = &*view.document.slice(spot.range);
        let caret = usize::from(offset.checked_sub(spot.range.start())?);
        let mut items = dialect.items(&declared.value, raw, property);
        // A name may go on with a blank (`leg left`): where blanks separate nothing, those up to the caret belong to it.
        let blanks_separate = declared
            .value
            .list
            .as_ref()
            .is_some_and(|list| list.separator == Separator::WhiteSpace);
        let is_blank = |gap: Option<&str>| gap.is_some_and(|gap| gap.trim().is_empty());
        if !blanks_separate
            && let Some(before) = items.iter_mut().rfind(|item| item.end < caret)
            && is_blank(raw.get(before.end..caret))
        {
            before.end = caret;
        }
        let own = items
            .iter()
            .position(|item| item.start <= caret && caret <= item.end);
        let apart = |(at, item): (usize, &Range<usize>)| {
            (Some(at) != own).then(|| raw[item.clone()].to_owned())
        };
        let others = items.iter().enumerate().filter_map(apart);
        let others: Vec<String> = others.filter(|item| !item.is_empty()).collect();
        let max = declared.value.list.as_ref().and_then(|list| list.max);
        if max.is_some_and(|max| others.len() >= max as usize) {
            return None;
        }
        let written = own.and_then(|own| items.get(own));
        let range = match written.filter(|item| !raw[(*item).clone()].trim().is_empty()) {
            Some(item) => within(spot.range, item),
            None => TextRange::empty(offset),
        };
        Some(Self { range, others })
    }
}

/// Writes values with quotes where they are missing and references where they
/// are needed.
struct Writer {
    before: String,
    after: String,
    /// None: in text.
    quote: Option<char>,
}

impl Writer {
    fn new(view: &View, spot: &ValueSpot<'_>) -> Self {
        let Some(attribute) = spot.attribute else {
            return Self {
                before: String::new(),
                after: String::new(),
                quote: None,
            };
        };
        let open = attribute.quote();
        let quote = open.unwrap_or_else(|| syntax::Style::of(view.tree()).quote);
        let is_closed = open.is_some() && view.document.char_at(spot.range.end()) == Some(quote);
        let mark = |missing: bool| {
            if missing {
                quote.to_string()
            } else {
                String::new()
            }
        };
        Self {
            before: mark(open.is_none()),
            after: mark(!is_closed),
            quote: Some(quote),
        }
    }

    fn write(&self, item: CompletionItem) -> CompletionItem {
        let value = item.insert.plain();
        let written = match self.quote {
            Some(quote) => escape::attribute(&value, quote),
            None => escape::text(&value),
        };
        let filter = item.filter.unwrap_or_else(|| value.clone());
        CompletionItem {
            insert: Template::new().text(format!("{}{written}{}", self.before, self.after)),
            filter: (filter != item.label).then_some(filter),
            ..item
        }
    }
}
