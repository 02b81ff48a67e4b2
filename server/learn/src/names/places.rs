//! The slots of a survey, looked at as places where names may be given.

use super::looks::{Look, Looks};
use super::{Scope, SlotRef};
use crate::contexts::ContextId;
use crate::survey::{Group, Seen, Slot, Survey};
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};

/// A slot and what can be said of it alone.
pub(super) struct Place<'s> {
    pub at: SlotRef,
    pub group: &'s Group,
    pub slot: &'s Slot,
    /// Local name of its element.
    pub element: Symbol,
    /// What the values are called, by their attribute or element, in small letters.
    pub called: String,
    /// What the things are called that the values belong to, in small letters.
    pub thing_called: String,
    /// How many steps above the value's element the thing stands that the value belongs to: an
    /// element that holds one value and nothing else belongs to its parent.
    pub lift: u32,
    /// Share of values that may be names.
    pub nameable: f64,
    /// Share of values that are more than numbers.
    pub worded: f64,
    /// Share of values that read as names.
    pub namelike: f64,
    /// Share of values that read as files.
    pub files: f64,
    pub distinct: usize,
    /// Share of the distinct values that occur in one document only.
    pub open: f64,
    pub unique: Unique,
    /// How many documents have several of its values.
    pub several: usize,
    /// How many steps above a value the element stands within which values are unique, if
    /// that is not the document.
    steps: u32,
    /// Whether few parents show that values are unique within them.
    thin: bool,
    /// Share of values that were given before in their document.
    pub repeated: f64,
    /// Whether they are words in a text: what stands in elements among text of those around them.
    pub in_text: bool,
}

/// Within what the values of a place are different from each other.
#[derive(Copy, Clone, Debug, PartialEq)]
pub(super) enum Unique {
    Not,
    /// There is never more than one in a document.
    Single,
    /// Different within `scope`. By chance, `expected` of them would have been equal.
    Within {
        scope: Scope,
        expected: f64,
    },
}

/// The share of repeated values that broken files may have.
const REPEATED: f64 = 0.03;

/// The least share of parents with several values, if they are names within their parents.
const SEVERAL: f64 = 0.2;

/// How far up elements are looked at to find one within which values are unique.
const LEVELS: u32 = 3;

pub(super) fn places<'s>(survey: &'s Survey<'_>, looks: &Looks) -> Vec<Place<'s>> {
    let mut places = Vec::new();
    for (number, group) in survey.groups.iter().enumerate() {
        let shells = shells(survey, group);
        for (slot_number, slot) in group.slots.iter().enumerate() {
            let at = SlotRef {
                group: number,
                slot: slot_number,
            };
            let lift = u32::from(shells[slot.context.index()]);
            places.push(Place::of(survey, group, slot, at, lift, looks));
        }
    }
    excuse(&mut places);
    places
}

/// Group, element, attribute: what places have in common.
pub(super) type Family = (usize, Option<Symbol>, Option<Symbol>);

/// Judges places that show little, or a few mistakes, by those of the same attribute: where
/// values are unique at nearly all of them, they are here as well.
fn excuse(places: &mut [Place<'_>]) {
    let mut families: HashMap<Family, (f64, f64, f64)> = HashMap::new();
    for place in places.iter().filter(|place| !place.thin) {
        let (all, unique, expected) = families.entry(place.kin()).or_default();
        let values = place.slot.seen.len() as f64;
        *all += values;
        if let Unique::Within {
            expected: by_chance,
            ..
        } = place.unique
        {
            *unique += values;
            *expected += by_chance;
        }
    }
    for place in places {
        let family = families.get(&place.kin()).copied();
        let strict =
            family.is_some_and(|(all, unique, expected)| unique >= 0.7 * all && expected >= STRICT);
        if place.thin && !strict {
            place.unique = Unique::Not;
        }
        if strict && place.unique == Unique::Not && place.repeated <= EXCUSED {
            let (scope, expected) = (Scope::Document, 0.0);
            place.unique = Unique::Within { scope, expected };
        }
    }
}

/// So many equal values chance would give at places of an attribute that has none.
const STRICT: f64 = 5.0;

/// The greatest share of repeated values that is put down to broken files then.
const EXCUSED: f64 = 0.25;

/// Per context, whether its elements are no more than wrappings of a value: without children,
/// with one slot, and at most one in each parent.
fn shells(survey: &Survey<'_>, group: &Group) -> Vec<bool> {
    let mut shells = vec![true; group.contexts.len()];
    for context in group.contexts.all() {
        if group.slots_of(context).len() != 1 || group.contexts.parent(context).is_none() {
            shells[context.index()] = false;
        }
    }
    let mut last = vec![(u32::MAX, u32::MAX); group.contexts.len()];
    for (at, contexts) in group.elements.iter().enumerate() {
        let document = &survey.corpus.documents[group.documents[at] as usize];
        for (element, context) in document.elements.iter().zip(contexts) {
            let Some(parent) = element.parent else {
                continue;
            };
            shells[contexts[parent as usize].index()] = false;
            let here = (at as u32, parent);
            if std::mem::replace(&mut last[context.index()], here) == here {
                shells[context.index()] = false;
            }
        }
    }
    shells
}

impl<'s> Place<'s> {
    fn of(
        survey: &Survey<'_>,
        group: &'s Group,
        slot: &'s Slot,
        at: SlotRef,
        lift: u32,
        looks: &Looks,
    ) -> Self {
        let share = |of: fn(Look) -> bool| {
            let fitting = slot.seen.iter().filter(|seen| of(looks.look(seen.value)));
            fitting.count() as f64 / slot.seen.len().max(1) as f64
        };
        // Per value how often it occurs, and the one document it occurs in, if it is one.
        let mut counts: HashMap<Symbol, (u32, Option<u32>)> = HashMap::new();
        for seen in &slot.seen {
            let (count, document) = counts.entry(seen.value).or_insert((0, Some(seen.document)));
            *count += 1;
            if *document != Some(seen.document) {
                *document = None;
            }
        }
        let all = slot.seen.len() as f64;
        let equal: f64 = counts
            .values()
            .map(|(n, _)| (f64::from(*n) / all).powi(2))
            .sum();
        let once = counts.values().filter(|(_, only)| only.is_some()).count();
        let mut place = Self {
            at,
            group,
            slot,
            element: group.contexts.name(slot.context),
            called: String::new(),
            thing_called: String::new(),
            lift,
            nameable: share(Look::may_be_name),
            worded: share(|look| !look.is_number()),
            namelike: share(Look::is_like_name),
            files: share_of_files(survey, slot, looks),
            distinct: counts.len(),
            open: once as f64 / counts.len().max(1) as f64,
            unique: Unique::Not,
            several: 0,
            steps: 0,
            thin: false,
            repeated: 0.0,
            in_text: slot.attribute.is_none() && in_text(survey, group, slot),
        };
        let small = |name| survey.corpus.called(name).to_lowercase();
        place.called = small(slot.attribute.unwrap_or(place.element));
        place.thing_called = small(group.contexts.name(place.thing_context()));
        if place.nameable > 0.5 {
            let document = repeats(slot.seen.iter().map(|s| (s.document, 0, s.value)), equal);
            place.repeated = document.repeated as f64 / slot.seen.len().max(1) as f64;
            place.several = document.several;
            place.unique = place.unique(survey, &document, equal);
        }
        place
    }

    /// `equal` is the chance that two of its values are equal.
    fn unique(&mut self, survey: &Survey<'_>, document: &Repeats, equal: f64) -> Unique {
        if document.several == 0 {
            return Unique::Single;
        }
        if document.few(self.namelike < 0.5) {
            let (scope, expected) = (Scope::Document, document.expected);
            return Unique::Within { scope, expected };
        }
        for level in 1..=LEVELS {
            let above = |seen: &Seen| {
                let element = self.above(survey, seen, self.lift + level);
                (seen.document, element, seen.value)
            };
            let parent = repeats(self.slot.seen.iter().map(above), equal);
            if parent.several == 0 {
                continue;
            }
            // Numbers are different in a small part of a document easily.
            let strict = self.worded < 0.5 && parent.expected >= STRICT;
            if (self.namelike >= 0.5 || strict) && parent.few(strict) {
                self.steps = self.lift + level;
                if self.namelike < 0.5 && self.measures(survey) {
                    self.steps = 0;
                    return Unique::Not;
                }
                self.thin = (parent.several as f64) < SEVERAL * parent.scopes as f64;
                let (scope, expected) = (Scope::Parent, parent.expected);
                return Unique::Within { scope, expected };
            }
            break;
        }
        Unique::Not
    }

    /// Whether its values are numbers that rise from one to the next wherever there are several, and not by counting: as
    /// times do, which are different by nature.
    fn measures(&self, survey: &Survey<'_>) -> bool {
        let number = |seen: &Seen| -> Option<f64> {
            let text = survey.corpus.text(seen.value).trim();
            text.replace(',', ".").parse().ok()
        };
        let mut counts = true;
        for pair in self.slot.seen.windows(2) {
            let [one, next] =
                [&pair[0], &pair[1]].map(|seen| (seen.document, self.home(survey, seen)));
            if one != next {
                continue;
            }
            let Some(step) = number(&pair[1]).zip(number(&pair[0])).map(|(b, a)| b - a) else {
                return false;
            };
            if step <= 0.0 {
                return false;
            }
            counts &= step == 1.0;
        }
        !counts
    }

    /// The element so many steps above a value's, the root at last.
    pub(super) fn above(&self, survey: &Survey<'_>, seen: &Seen, steps: u32) -> u32 {
        let document = self.group.documents[seen.document as usize];
        let elements = &survey.corpus.documents[document as usize].elements;
        let mut at = seen.element;
        for _ in 0..steps {
            at = elements[at as usize].parent.unwrap_or(at);
        }
        at
    }

    /// The element within which a value is unique, if that is not the document.
    pub(super) fn home(&self, survey: &Survey<'_>, seen: &Seen) -> u32 {
        self.above(survey, seen, self.steps)
    }

    /// The context of these elements.
    pub(super) fn home_context(&self) -> ContextId {
        let mut chain = self.group.contexts.chain(Some(self.slot.context));
        chain.nth(self.steps as usize).unwrap_or(self.slot.context)
    }

    /// The element that a value belongs to.
    pub(super) fn thing(&self, survey: &Survey<'_>, seen: &Seen) -> u32 {
        self.above(survey, seen, self.lift)
    }

    /// The places that are most like it: of the same attribute, or text of the same element.
    pub(super) fn kin(&self) -> Family {
        match self.slot.attribute {
            Some(attribute) => (self.at.group, None, Some(attribute)),
            None => (self.at.group, Some(self.element), None),
        }
    }

    /// Whether its values stand in elements and attributes of the same names as another's.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        (self.element, self.slot.attribute) == (other.element, other.slot.attribute)
    }

    /// Whether its values are names of things by all appearances.
    pub(super) fn gives(&self) -> bool {
        matches!(self.unique, Unique::Within { expected, .. } if expected >= 3.0)
    }

    /// Within what its values are different.
    pub(super) fn scope(&self) -> Scope {
        match self.unique {
            Unique::Within { scope, .. } => scope,
            _ => Scope::Document,
        }
    }

    /// The context of the elements that its values belong to.
    pub(super) fn thing_context(&self) -> ContextId {
        let mut chain = self.group.contexts.chain(Some(self.slot.context));
        chain.nth(self.lift as usize).unwrap_or(self.slot.context)
    }

    /// The document of a value, among all of the corpus.
    pub(super) fn document(&self, seen: &Seen) -> u32 {
        self.group.documents[seen.document as usize]
    }
}

/// Whether most elements with a text stand among text of those around them.
fn in_text(survey: &Survey<'_>, group: &Group, slot: &Slot) -> bool {
    let among = slot.seen.iter().filter(|seen| {
        let document = group.documents[seen.document as usize];
        let elements = &survey.corpus.documents[document as usize].elements;
        let parent = elements[seen.element as usize].parent;
        parent.is_some_and(|parent| elements[parent as usize].text != Symbol::EMPTY)
    });
    2 * among.count() > slot.seen.len()
}

/// How often values come again within their scopes.
struct Repeats {
    scopes: usize,
    /// Scopes that have several values.
    several: usize,
    /// Those among them that have a value twice.
    bad: usize,
    /// Values in them.
    values: usize,
    /// Values in all.
    all: usize,
    /// Those that were there before.
    repeated: usize,
    /// As many of these as chance alone would give.
    expected: f64,
}

impl Repeats {
    /// Whether they are so few that it may be by mistake. `strict`: where there is only one
    /// value, that says nothing.
    fn few(&self, strict: bool) -> bool {
        let all = if strict { self.values } else { self.all };
        self.repeated as f64 <= REPEATED * all as f64
            || self.bad as f64 <= REPEATED * self.several as f64
    }
}

/// Values with their scopes: a document and an element of it.
fn repeats(values: impl Iterator<Item = (u32, u32, Symbol)>, equal: f64) -> Repeats {
    let mut values: Vec<_> = values.collect();
    values.sort_unstable();
    let mut repeats = Repeats {
        scopes: 0,
        several: 0,
        bad: 0,
        values: 0,
        all: values.len(),
        repeated: 0,
        expected: 0.0,
    };
    for scope in values.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        repeats.scopes += 1;
        if scope.len() < 2 {
            continue;
        }
        let repeated = scope
            .windows(2)
            .filter(|pair| pair[0].2 == pair[1].2)
            .count();
        let count = scope.len() as f64;
        repeats.several += 1;
        repeats.bad += usize::from(repeated > 0);
        repeats.values += scope.len();
        repeats.repeated += repeated;
        repeats.expected += (count * (count - 1.0) / 2.0 * equal).min(count - 1.0);
    }
    repeats
}

/// Share of values with folders whose last part ends in a dot and a few letters or digits.
fn share_of_files(survey: &Survey<'_>, slot: &Slot, looks: &Looks) -> f64 {
    let file = |text: &str| {
        let name = text.rsplit(['/', '\\']).next().unwrap_or(text);
        let extension = name.rsplit_once('.').map_or("", |cut| cut.1);
        (1..=5).contains(&extension.len()) && extension.chars().all(char::is_alphanumeric)
    };
    let paths = slot
        .seen
        .iter()
        .filter(|seen| looks.look(seen.value) == Look::Path);
    let files = paths.filter(|seen| file(survey.corpus.text(seen.value)));
    files.count() as f64 / slot.seen.len().max(1) as f64
}
