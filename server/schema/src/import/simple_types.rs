//! Simple types: what a text may say.

mod words;

use std::sync::Arc;

use dialect::{Bounds, ItemType, Kind, ListRule, Separator, ValueType, Word};

use super::Importer;
use super::components::{Site, Sort};
use super::types::TypeRef;
use words::{word_list, words_of};

/// What is left of a simple type.
#[derive(Clone, Debug)]
pub(super) struct Simple {
    pub(super) value: ValueType,
    /// Whether it may be empty.
    pub(super) may_be_empty: bool,
    /// Whether white space around it, and how much of it within, means nothing.
    collapses: bool,
    /// Whether it can only be empty.
    only_empty: bool,
    /// What else the type asks for, as sentences without full stop.
    pub(super) lost: Vec<String>,
}

/// The kind of names that are unique in a document whatever they name.
pub(super) const ID: &str = "id";

const WORDS_KEPT_AS_TEXT: &str = "a closed list of values is not kept";
const LENGTH: &str = "a limit of the length is not kept";

impl Simple {
    fn new(item: ItemType, may_be_empty: bool) -> Self {
        Self {
            value: ValueType::single(item),
            may_be_empty,
            collapses: true,
            only_empty: false,
            lost: Vec::new(),
        }
    }

    /// Any text.
    pub(super) fn text() -> Self {
        Self {
            collapses: false,
            ..Self::new(ItemType::Text, true)
        }
    }

    fn list_of(item: ItemType, min: u32) -> Self {
        let mut list = Self::new(item, min == 0);
        list.value.list = Some(ListRule {
            separator: Separator::WhiteSpace,
            min,
            max: None,
        });
        list
    }

    fn lose(&mut self, what: impl Into<String>) {
        let what = what.into();
        if !self.lost.contains(&what) {
            self.lost.push(what);
        }
    }

    /// Any text, where the dialect cannot say what this is.
    fn loosened(mut self, what: impl Into<String>) -> Self {
        self.value = ValueType::single(ItemType::Text);
        self.lose(what);
        self
    }

    /// A type of XML Schema itself; any text if there is none of that name.
    pub(super) fn built_in(name: &str) -> Self {
        let integer = |min: Option<f64>, max: Option<f64>| {
            let range = Bounds {
                min,
                max,
                ..Bounds::default()
            };
            Self::new(ItemType::Integer { range }, false)
        };
        // A number of bits: least and greatest number of that width.
        let signed = |bits: i32| {
            let half = 2_f64.powi(bits - 1);
            // Beyond 53 bits, the greatest number is rounded up, which only loosens it.
            integer(Some(-half), Some(half - 1.0))
        };
        let unsigned = |bits: i32| integer(Some(0.0), Some(2_f64.powi(bits) - 1.0));
        let reference = || ItemType::Reference([Kind::new(ID)].into());
        match name {
            "boolean" => Self::new(boolean(), false),
            "decimal" | "float" | "double" => Self::new(number(Bounds::default()), false),
            "integer" => integer(None, None),
            "nonNegativeInteger" => integer(Some(0.0), None),
            "positiveInteger" => integer(Some(1.0), None),
            "nonPositiveInteger" => integer(None, Some(0.0)),
            "negativeInteger" => integer(None, Some(-1.0)),
            "byte" => signed(8),
            "short" => signed(16),
            "int" => signed(32),
            "long" => signed(64),
            "unsignedByte" => unsigned(8),
            "unsignedShort" => unsigned(16),
            "unsignedInt" => unsigned(32),
            "unsignedLong" => unsigned(64),
            "ID" => Self::new(ItemType::NameOf(Kind::new(ID)), false),
            "IDREF" => Self::new(reference(), false),
            "IDREFS" => Self::list_of(reference(), 1),
            "NMTOKENS" | "ENTITIES" => Self::list_of(ItemType::Text, 1),
            "token" | "anyURI" | "hexBinary" | "base64Binary" => Self::new(ItemType::Text, true),
            "language" | "Name" | "NCName" | "NMTOKEN" | "ENTITY" | "QName" | "NOTATION" => {
                Self::new(ItemType::Text, false)
            }
            "date" | "time" | "dateTime" | "dateTimeStamp" | "duration" | "yearMonthDuration"
            | "dayTimeDuration" | "gYear" | "gYearMonth" | "gMonth" | "gMonthDay" | "gDay" => {
                Self::new(ItemType::Text, false)
                    .loosened("dates and times are any text in a dialect")
            }
            _ => Self::text(),
        }
    }
}

pub(super) fn boolean() -> ItemType {
    let words = |words: [&str; 2]| words.map(str::to_owned).to_vec();
    ItemType::Boolean {
        yes: words(super::YES),
        no: words(super::NO),
    }
}

fn number(range: Bounds) -> ItemType {
    ItemType::Number { range, unit: None }
}

fn range_mut(item: &mut ItemType) -> Option<&mut Bounds> {
    match item {
        ItemType::Integer { range }
        | ItemType::Number { range, .. }
        | ItemType::Vector { range, .. } => Some(range),
        _ => None,
    }
}

impl<'a> Importer<'a> {
    /// What a `simpleType` element declares.
    pub(super) fn simple_type(&mut self, site: Site<'a>) -> Simple {
        if let Some(known) = self.simple_types.get(&site.id()) {
            return known.clone();
        }
        // Met again while it is read, it is defined by itself: any text then.
        self.simple_types.insert(site.id(), Simple::text());
        let read = self.deeper(|importer| importer.read_simple_type(site));
        let simple = read.unwrap_or_else(Simple::text);
        self.simple_types.insert(site.id(), simple.clone());
        simple
    }

    fn read_simple_type(&mut self, site: Site<'a>) -> Simple {
        let Some(definition) = site.child(&["restriction", "list", "union"]) else {
            return Simple::text();
        };
        if definition.is("list") {
            let item = self.named_or_inline(definition, "itemType");
            return list(item);
        }
        if definition.is("union") {
            return self.union(definition, site);
        }
        let base = self.named_or_inline(definition, "base");
        self.restricted(base, definition, site.attribute("name"))
    }

    /// The type that an attribute names, or that stands within.
    pub(super) fn named_or_inline(&mut self, at: Site<'a>, attribute: &str) -> Simple {
        match at.attribute(attribute) {
            Some(name) => self.simple_type_named(at, name),
            None => match at.child(&["simpleType"]) {
                Some(inline) => self.simple_type(inline),
                None => Simple::text(),
            },
        }
    }

    pub(super) fn simple_type_named(&mut self, at: Site<'a>, name: &'a str) -> Simple {
        match self.type_named(at, name) {
            TypeRef::BuiltIn(name) => {
                if ["float", "double"].contains(&name) {
                    self.notes.add(
                        "INF and NaN, which float and double allow, are no numbers in a dialect",
                    );
                }
                Simple::built_in(name)
            }
            TypeRef::Simple(site) => self.simple_type(site),
            // That of its text, which is what a restriction of simple content is about.
            TypeRef::Complex(site) => {
                let complex = self.complex_type(site);
                complex.text.clone().unwrap_or_else(Simple::text)
            }
            TypeRef::Any => Simple::text(),
        }
    }

    /// A union is what its members have in common.
    fn union(&mut self, definition: Site<'a>, around: Site<'a>) -> Simple {
        let mut members = Vec::new();
        for name in definition
            .attribute("memberTypes")
            .unwrap_or_default()
            .split_whitespace()
        {
            members.push(self.simple_type_named(definition, name));
        }
        let inline: Vec<Site<'a>> = definition
            .children()
            .filter(|child| child.is("simpleType"))
            .collect();
        for site in inline {
            members.push(self.simple_type(site));
        }
        united(members, around.attribute("name"))
    }

    /// A type with the facets of a restriction.
    pub(super) fn restricted(
        &mut self,
        base: Simple,
        restriction: Site<'a>,
        name: Option<&str>,
    ) -> Simple {
        let mut simple = base;
        let mut words: Vec<Word> = Vec::new();
        let mut patterns: Vec<&str> = Vec::new();
        let mut length: (Option<u32>, Option<u32>) = (None, None);
        for facet in restriction.children() {
            let Some(value) = facet.node.attribute("value") else {
                continue;
            };
            let count = || value.trim().parse::<u32>().ok();
            match facet.node.tag_name().name() {
                "enumeration" => words.push(Word {
                    text: value.to_owned(),
                    doc: facet.doc(),
                }),
                "pattern" => patterns.push(value),
                "minInclusive" | "minExclusive" | "maxInclusive" | "maxExclusive" => {
                    simple.bound(facet.node.tag_name().name(), value)
                }
                "length" => length = (count(), count()),
                "minLength" => length.0 = count(),
                "maxLength" => length.1 = count(),
                "whiteSpace" => simple.collapses = value.trim() == "collapse",
                "totalDigits" | "fractionDigits" => {
                    simple.lose("a limit of the digits is not kept")
                }
                other => simple.lose(format!("`{other}` is not kept")),
            }
        }
        if length != (None, None) {
            simple.limit_length(length.0, length.1);
        }
        if let [only] = patterns.as_slice()
            && words.is_empty()
            && let Some(answers) = simple.worded(only)
        {
            words = answers;
            patterns.clear();
        }
        if !words.is_empty() {
            simple = simple.enumerated(words, name);
        }
        for pattern in patterns {
            simple.lose(format!("a pattern is not checked: {pattern}"));
        }
        simple
    }
}

impl Simple {
    fn bound(&mut self, facet: &str, value: &str) {
        let number = value.trim().parse::<f64>().ok();
        let number = number.filter(|number| number.is_finite());
        let (Some(range), Some(number)) = (range_mut(&mut self.value.item), number) else {
            return self.lose("a least or greatest value is not kept");
        };
        let before = range.clone();
        let is_exclusive = facet.ends_with("Exclusive");
        match facet.starts_with("min") {
            true => (range.min, range.above) = (Some(number), is_exclusive),
            false => (range.max, range.below) = (Some(number), is_exclusive),
        }
        if let (Some(low), Some(high)) = (range.min, range.max)
            && (low > high || low == high && (range.above || range.below))
        {
            *range = before;
        }
    }

    /// What a pattern that is nothing but words says: the words, or none if it only says which answers are meant. `None`
    /// for other patterns.
    fn worded(&mut self, pattern: &str) -> Option<Vec<Word>> {
        let words = words_of(pattern)?;
        let ItemType::Boolean { yes, no } = &mut self.value.item else {
            return (!words.is_empty()).then_some(words);
        };
        let asked = |answer: &String| words.iter().any(|word| word.text == *answer);
        let has_both = yes.iter().any(asked) && no.iter().any(asked);
        has_both.then(|| {
            yes.retain(asked);
            no.retain(asked);
            Vec::new()
        })
    }

    fn limit_length(&mut self, min: Option<u32>, max: Option<u32>) {
        if self.value.list.is_none() {
            self.may_be_empty &= min.unwrap_or(0) == 0;
            self.only_empty = max == Some(0);
            if max.is_some() || min.is_some_and(|min| min > 1) {
                self.lose(LENGTH);
            }
            return;
        }
        if let (Some(count @ 2..=64), ItemType::Number { range, unit }) =
            (min.filter(|_| min == max), &self.value.item)
        {
            self.value = ValueType::single(ItemType::Vector {
                count,
                separator: Separator::WhiteSpace,
                range: range.clone(),
                unit: unit.clone(),
            });
            self.may_be_empty = false;
        } else if let Some(list) = &mut self.value.list {
            list.min = min.unwrap_or(list.min);
            list.max = max.or(list.max).filter(|max| *max >= list.min);
            self.may_be_empty = list.min == 0;
        }
    }

    /// One of these words, as far as that can be said.
    fn enumerated(mut self, words: Vec<Word>, name: Option<&str>) -> Self {
        self.may_be_empty &= words.iter().any(|word| word.text.trim().is_empty());
        if self.value.list.is_some() {
            self.lose(WORDS_KEPT_AS_TEXT);
            return self;
        }
        match &mut self.value.item {
            ItemType::Text | ItemType::Word(_) | ItemType::Integer { .. } => {
                let collapses = self.collapses;
                match word_list(words, name, collapses) {
                    Some(list) => {
                        self.value.item = ItemType::Word(Arc::new(list));
                        self
                    }
                    None => self.loosened(WORDS_KEPT_AS_TEXT),
                }
            }
            // The same number can be written in several ways.
            ItemType::Number { range, .. } => {
                let numbers = words.iter().map(|word| word.text.trim().parse::<f64>());
                let numbers: Vec<f64> = numbers
                    .flatten()
                    .filter(|number| number.is_finite())
                    .collect();
                if numbers.len() == words.len() {
                    *range = Bounds {
                        min: numbers.iter().copied().reduce(f64::min),
                        max: numbers.iter().copied().reduce(f64::max),
                        ..Bounds::default()
                    };
                }
                self.lose(WORDS_KEPT_AS_TEXT);
                self
            }
            _ => {
                self.lose(WORDS_KEPT_AS_TEXT);
                self
            }
        }
    }

    /// Only this very value.
    pub(super) fn fixed(self, value: &str) -> Self {
        let word = Word {
            text: value.to_owned(),
            doc: String::new(),
        };
        self.enumerated(vec![word], None)
    }
}

fn list(item: Simple) -> Simple {
    let several = matches!(item.value.item, ItemType::Vector { .. }) || item.value.list.is_some();
    let spaced = matches!(&item.value.item, ItemType::Word(list) if list.texts().any(|word| word.contains(char::is_whitespace)));
    if several || spaced {
        return item.loosened("a list of such values is any text in a dialect");
    }
    Simple {
        lost: item.lost,
        ..Simple::list_of(item.value.item, 0)
    }
}

fn united(mut members: Vec<Simple>, name: Option<&str>) -> Simple {
    let may_be_empty = members.iter().any(|member| member.may_be_empty);
    members.retain(|member| !member.only_empty);
    let mut lost: Vec<String> = Vec::new();
    for what in members.iter().flat_map(|member| &member.lost) {
        if !lost.contains(what) {
            lost.push(what.clone());
        }
    }
    let with = |value: ValueType| Simple {
        value,
        may_be_empty,
        collapses: members.iter().all(|member| member.collapses),
        only_empty: false,
        lost: lost.clone(),
    };
    let Some(first) = members.first() else {
        return Simple::text();
    };
    if members.iter().all(|member| member.value == first.value) {
        return with(first.value.clone());
    }
    let one = ValueType::single;
    if let Some(words) = all_words(&members) {
        return match word_list(words, name, false) {
            Some(list) => with(one(ItemType::Word(Arc::new(list)))),
            None => with(one(ItemType::Text)).loosened(WORDS_KEPT_AS_TEXT),
        };
    }
    if let Some(range) = all_numbers(&members) {
        let whole = members
            .iter()
            .all(|member| matches!(member.value.item, ItemType::Integer { .. }));
        return match whole {
            true => with(one(ItemType::Integer { range })),
            false => with(one(number(range))),
        };
    }
    let is_text = |member: &Simple| member.value == one(ItemType::Text);
    let united = with(one(ItemType::Text));
    match members.iter().any(is_text) {
        // Any text says it all, but for what was proposed.
        true if members
            .iter()
            .all(|member| is_text(member) || matches!(member.value.item, ItemType::Word(_))) =>
        {
            united.loosened("the values that are proposed besides any text are not kept")
        }
        _ => united.loosened("one of several types is any text in a dialect"),
    }
}

/// The words of all members; answers are words too.
fn all_words(members: &[Simple]) -> Option<Vec<Word>> {
    let mut words = Vec::new();
    for member in members {
        match &member.value {
            ValueType {
                item: ItemType::Word(list),
                list: None,
                ..
            } => words.extend(list.words.iter().cloned()),
            ValueType {
                item: ItemType::Boolean { yes, no },
                list: None,
                ..
            } => words.extend(yes.iter().chain(no).map(|word| Word {
                text: word.clone(),
                doc: String::new(),
            })),
            _ => return None,
        }
    }
    Some(words)
}

/// The bounds around all members, if they are numbers.
fn all_numbers(members: &[Simple]) -> Option<Bounds> {
    let mut all: Option<Bounds> = None;
    for member in members {
        let (ItemType::Integer { range } | ItemType::Number { range, .. }, None) =
            (&member.value.item, &member.value.list)
        else {
            return None;
        };
        all = Some(match all {
            None => range.clone(),
            Some(all) => hull(&all, range),
        });
    }
    all
}

/// The bounds around two.
pub(super) fn hull(one: &Bounds, other: &Bounds) -> Bounds {
    let low = match (one.min, other.min) {
        (Some(a), Some(b)) if a == b => (Some(a), one.above && other.above),
        (Some(a), Some(b)) if a < b => (Some(a), one.above),
        (Some(_), Some(b)) => (Some(b), other.above),
        _ => (None, false),
    };
    let high = match (one.max, other.max) {
        (Some(a), Some(b)) if a == b => (Some(a), one.below && other.below),
        (Some(a), Some(b)) if a > b => (Some(a), one.below),
        (Some(_), Some(b)) => (Some(b), other.below),
        _ => (None, false),
    };
    Bounds {
        min: low.0,
        above: low.1,
        max: high.0,
        below: high.1,
    }
}

impl<'a> Importer<'a> {
    /// The type of an attribute.
    pub(super) fn attribute_type(&mut self, attribute: Site<'a>) -> Simple {
        self.named_or_inline(attribute, "type")
    }

    /// What a name of a type means where it stands.
    pub(super) fn type_named(&mut self, at: Site<'a>, name: &'a str) -> TypeRef<'a> {
        if let Some(site) = self.components.find(Sort::Type, at, name) {
            return match site.is("simpleType") {
                true => TypeRef::Simple(site),
                false => TypeRef::Complex(site),
            };
        }
        let resolved = self.components.resolve(at, name);
        match (resolved.namespace, resolved.local) {
            (Some(super::XS), "anyType") => TypeRef::Any,
            (Some(super::XS), local) => TypeRef::BuiltIn(local),
            _ => {
                self.notes.add_about(
                    name,
                    "a type is not declared in these files, so that anything may stand there",
                );
                TypeRef::Any
            }
        }
    }
}
