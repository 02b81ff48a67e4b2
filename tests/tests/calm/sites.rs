//! Where a sound document can be got wrong, and how.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use dialect::{AttributeDecl, Context, Dialect, ElementDecl, ItemType, Kind};
use project::{FileState, View};
use syntax::{Attribute, Element, Item};

/// One way to get one place wrong.
#[derive(Debug)]
pub(crate) struct Mistake {
    pub(crate) kind: &'static str,
    pub(crate) range: Range<usize>,
    pub(crate) insert: String,
}

/// All mistakes that can be made in a document, in the order of the text.
pub(crate) fn mistakes(view: &View) -> Vec<Mistake> {
    let meaning = view
        .meaning
        .as_ref()
        .expect("the corpus is in a known dialect");
    let mut maker = Maker {
        text: view.text(),
        dialect: &meaning.dialect,
        view,
        names: HashMap::new(),
        used: used_words(view),
        mistakes: Vec::new(),
    };
    let mut open = vec![(view.tree().top_level(), Context::DOCUMENT)];
    while let Some((items, context)) = open.last_mut() {
        match items.next() {
            None => {
                open.pop();
            }
            Some(Item::Element(element)) => {
                let around = maker.dialect.element(*context);
                let context = maker.dialect.child_context(*context, element.local_name());
                let own = maker.dialect.element(context);
                maker.element(&element, own, around);
                open.push((element.items(), context));
            }
            Some(Item::Comment(comment)) => {
                let range = Range::<usize>::from(comment.range());
                maker.swap("`-->` left out", range.end - 3..range.end, "");
                maker.swap("`-` of `-->` left out", range.end - 3..range.end - 2, "");
                maker.swap(
                    "`!` of `<!--` left out",
                    range.start + 1..range.start + 2,
                    "",
                );
            }
            Some(Item::Declaration(declaration)) => {
                let range = Range::<usize>::from(declaration.range());
                maker.swap("`?` of `?>` left out", range.end - 2..range.end - 1, "");
                maker.swap("`>` of `?>` left out", range.end - 1..range.end, "");
            }
            Some(_) => {}
        }
    }
    maker.mistakes
}

/// The words that stand where the dialect lets a name be used.
fn used_words(view: &View) -> HashSet<String> {
    let machine = view.machine().expect("the corpus is in a known dialect");
    let uses = machine.uses.iter();
    uses.map(|used| view.text()[used.range].to_owned())
        .collect()
}

struct Maker<'v> {
    text: &'v str,
    dialect: &'v Dialect,
    view: &'v View,
    /// The last name of each kind that was given.
    names: HashMap<Kind, String>,
    /// The values that stand where a name may be used.
    used: HashSet<String>,
    mistakes: Vec<Mistake>,
}

impl Maker<'_> {
    fn swap(&mut self, kind: &'static str, range: Range<usize>, insert: impl Into<String>) {
        let insert = insert.into();
        self.mistakes.push(Mistake {
            kind,
            range,
            insert,
        });
    }

    fn element(
        &mut self,
        element: &Element<'_>,
        own: Option<&ElementDecl>,
        around: Option<&ElementDecl>,
    ) {
        let whole = Range::<usize>::from(element.range());
        let name = Range::<usize>::from(element.name_range());
        self.tags(element);
        self.swap("a misspelled element", name.end..name.end, "x");
        if let Some(around) = around {
            self.swap(
                "an element that nobody knows",
                whole.start..whole.start,
                "<oddity/>",
            );
            if around.text.is_none() {
                self.swap("text where none belongs", whole.start..whole.start, "abc ");
            }
            let rule = around.child(element.local_name());
            let twins = self.text.matches(&format!("<{}", element.name())).count();
            if rule.is_some_and(|rule| rule.min > 0)
                && (rule.is_some_and(|rule| rule.max == Some(1)) || twins == 1)
            {
                self.swap("a required element left out", whole.clone(), "");
            }
        }
        if self.gives_a_name(element, own) {
            let copy = format!("{0}{0}", &self.text[whole.clone()]);
            self.swap("an element pasted twice", whole, copy);
        }
        for attribute in element.attributes() {
            self.attribute(&attribute, own);
        }
        let text = element.text_range().map(Range::<usize>::from);
        if let (Some(declared), Some(range)) = (own.and_then(|own| own.text.as_ref()), text) {
            self.value(declared, range);
        }
    }

    /// Whether it bears a name, in an attribute or in a child.
    fn gives_a_name(&self, element: &Element<'_>, own: Option<&ElementDecl>) -> bool {
        let Some(own) = own else { return false };
        let names = |declared: &AttributeDecl| matches!(declared.value.item, ItemType::NameOf(_));
        let in_attribute = own.attributes.iter().any(names);
        let in_child = || {
            element.children().any(|child| {
                let same = |known: &&ElementDecl| known.name == child.local_name();
                let declared = self.dialect.elements().iter().find(same);
                declared
                    .and_then(|declared| declared.text.as_ref())
                    .is_some_and(names)
            })
        };
        in_attribute || in_child()
    }

    fn tags(&mut self, element: &Element<'_>) {
        let tag = Range::<usize>::from(element.start_tag_range());
        self.swap("`<` of a start tag left out", tag.start..tag.start + 1, "");
        self.swap("`<` of a start tag twice", tag.start..tag.start, "<");
        if element.is_self_closing() {
            self.swap("`/` of `/>` left out", tag.end - 2..tag.end - 1, "");
            self.swap("`>` of `/>` left out", tag.end - 1..tag.end, "");
            self.swap("`/>` left out", tag.end - 2..tag.end, "");
        } else {
            self.swap("`>` of a start tag left out", tag.end - 1..tag.end, "");
            self.swap("a start tag left out", tag, "");
        }
        if let Some(end) = element.end_tag() {
            let (tag, name) = (
                Range::<usize>::from(end.range()),
                Range::<usize>::from(end.name_range()),
            );
            self.swap("`<` of an end tag left out", tag.start..tag.start + 1, "");
            self.swap(
                "`/` of an end tag left out",
                tag.start + 1..tag.start + 2,
                "",
            );
            self.swap("`>` of an end tag left out", tag.end - 1..tag.end, "");
            self.swap("a misspelled end tag", name.end..name.end, "x");
            let copy = self.text[tag.clone()].to_owned();
            self.swap("an end tag twice", tag.start..tag.start, copy);
            self.swap("an end tag left out", tag, "");
        }
    }

    fn attribute(&mut self, attribute: &Attribute<'_>, own: Option<&ElementDecl>) {
        let (Some(value), name) = (
            attribute.value_range(),
            Range::<usize>::from(attribute.name_range()),
        ) else {
            return;
        };
        let (value, whole) = (
            Range::<usize>::from(value),
            Range::<usize>::from(attribute.range()),
        );
        let plain = self.text[value.clone()].to_owned();
        let equals = name.end
            + self.text[name.end..]
                .find('=')
                .expect("a sound attribute has one");
        self.swap(
            "an opening quote left out",
            value.start - 1..value.start,
            "",
        );
        self.swap("a closing quote left out", value.end..value.end + 1, "");
        self.swap(
            "both quotes left out",
            value.start - 1..value.end + 1,
            plain.as_str(),
        );
        self.swap(
            "typographic quotes",
            value.start - 1..value.end + 1,
            format!("“{plain}”"),
        );
        self.swap("an `=` left out", equals..equals + 1, "");
        self.swap("a value left out", equals + 1..whole.end, "");
        let quote = &self.text[value.end..value.end + 1];
        self.swap("a closing quote twice", value.end..value.end, quote);
        self.swap("a plain `&` in a value", value.end..value.end, " & ");
        self.swap("a plain `<` in a value", value.end..value.end, " < ");
        let copy = format!(" {}", &self.text[whole.clone()]);
        self.swap("an attribute twice", whole.end..whole.end, copy);
        if self.text[whole.end..].starts_with(char::is_whitespace)
            && self.text[whole.end..]
                .trim_start()
                .starts_with(|c: char| c.is_alphabetic())
        {
            let next = self.text.len() - self.text[whole.end..].trim_start().len();
            self.swap("no space between attributes", whole.end..next, "");
        }
        self.swap("a misspelled attribute", name.end..name.end, "x");
        let Some(declared) = own.and_then(|own| own.attribute(attribute.local_name())) else {
            return;
        };
        if declared.required {
            self.swap(
                "a required attribute left out",
                whole.start - 1..whole.end,
                "",
            );
        }
        self.value(declared, value);
    }

    /// Wrong values of a type.
    fn value(&mut self, declared: &AttributeDecl, range: Range<usize>) {
        let value = &self.text[range.clone()];
        let after_digit = value
            .find(|c: char| c.is_ascii_digit())
            .map(|at| range.start + at + 1);
        let end = range.start + value.trim_end().len();
        match &declared.value.item {
            ItemType::Text => {}
            ItemType::NameOf(kind) => {
                if self.used.contains(value) {
                    self.swap("a misspelled name where it is given", end..end, "x");
                }
                if let Some(other) = self.names.insert(*kind, value.to_owned()) {
                    self.swap("a name given twice", range, other);
                }
            }
            ItemType::Reference(_) => {
                self.swap("a misspelled name where it is used", end..end, "x")
            }
            ItemType::PositionOf { .. } => self.swap("a position that nothing has", end..end, "9"),
            ItemType::Node { .. } | ItemType::IndexPath => match after_digit {
                Some(_) if self.dialect.notation.index_path.parse(value).is_ok() => {
                    self.swap("a path that leads nowhere", end..end, "77");
                    self.swap("a path that is none", end..end, "?!");
                }
                _ => self.swap("a misspelled name where it is used", end..end, "x"),
            },
            ItemType::File { .. } => {
                if !self.is_in_game(value) {
                    self.swap("a misspelled file", range.start..range.start, "x");
                }
            }
            ItemType::Input(_) | ItemType::Word(_) | ItemType::Boolean { .. } => {
                self.swap("a misspelled word", end..end, "x");
            }
            ItemType::Colour(_) => self.swap("a letter in a colour", end..end, "x"),
            ItemType::MovedValue { .. } | ItemType::Vector { .. } => {
                let at = after_digit.unwrap_or(end);
                self.swap("a letter in numbers", at..at, "o");
                if let Some(last) = value.trim_end().rfind([' ', ';']) {
                    self.swap("a number too few", range.start + last..end, "");
                }
            }
            ItemType::Integer { .. } | ItemType::Number { .. } => {
                let at = after_digit.unwrap_or(end);
                self.swap("a letter in a number", at..at, "o");
                let negative = format!("-{value}");
                if !self
                    .dialect
                    .check_value(&declared.value, &negative, None)
                    .is_empty()
                {
                    self.swap("a number out of range", range, negative);
                }
            }
        }
    }

    /// Whether a file belongs to the game, so that nobody looks for it.
    fn is_in_game(&self, written: &str) -> bool {
        let meaning = self.view.meaning.as_ref();
        meaning.is_some_and(|meaning| matches!(meaning.file(written), FileState::InGame))
    }
}
