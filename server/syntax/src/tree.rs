//! The tree of a document, and the way in.

use std::sync::{Arc, OnceLock};

use rowan::{GreenNode, TextRange, TextSize};

use crate::doctype::Doctype;
use crate::item::{Item, Items, Token};
use crate::kind::Kind;
use crate::namespaces::Declared;
use crate::parser::{Near, Parser};
use crate::reference;
use crate::source::Tokens;
use crate::wide::Wide;
use crate::{Element, FormCode, FormError, TextEdit, incremental, may_hold_forbidden};

/// So many bytes entities may add to any document, and as many more as it has.
const MOST_ADDED: usize = 1 << 16;

/// A document as XML: a lossless tree and the form errors. Immutable, cheap to clone.
#[derive(Clone, Debug)]
pub struct Tree {
    pub(crate) green: GreenNode,
    pub(crate) errors: Arc<[FormError]>,
    pub(crate) notes: Arc<Notes>,
    pub(crate) doctype: Option<Arc<Doctype>>,
    /// What the root element declares, once somebody asks.
    pub(crate) at_root: OnceLock<Arc<Declared>>,
}

/// What the parser remembers beside tree and errors, so that an edit knows what it may keep.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Notes {
    /// Starts of the elements whose end was found in hindsight, see `recovery`, and of those that turned out to be end tags.
    /// Sorted.
    pub(crate) hoisted: Vec<TextSize>,
    /// Recoveries that looked farther than the item they are about. Sorted.
    pub(crate) watches: Vec<Watch>,
    /// An element whose end was found in hindsight declares prefixes.
    pub(crate) prefixes_leaked: bool,
    /// There were more errors than are kept.
    pub(crate) overflow: bool,
}

/// What stands at `from` depends on the text before `to`.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Watch {
    pub(crate) from: TextSize,
    pub(crate) to: TextSize,
}

impl Notes {
    pub(crate) fn sort(&mut self) {
        self.hoisted.sort_unstable();
        self.watches.sort_unstable();
    }
}

/// Parses any text. Texts of 4 GiB and more are refused: the tree is empty and one error says so.
pub fn parse(text: &str) -> Tree {
    parsed(text, Parser::new(text), || may_hold_forbidden(text))
}

impl Near<'_> {
    /// What [`parse`] gives. `may_hold_forbidden`: what the [function of this name](may_hold_forbidden) says of the text,
    /// which another thread may find out meanwhile.
    pub fn parse(self, may_hold_forbidden: impl FnOnce() -> bool) -> Tree {
        parsed(self.text, self.parser(), may_hold_forbidden)
    }
}

fn parsed(text: &str, parser: Parser<'_>, may_hold_forbidden: impl FnOnce() -> bool) -> Tree {
    if u32::try_from(text.len()).is_err() {
        let mut tree = parse("");
        let empty = TextRange::empty(TextSize::new(0));
        let message = "The file is larger than 4 GiB. Split it";
        tree.errors = [FormError::new(FormCode::TooManyErrors, empty, message)].into();
        return tree;
    }
    let parsed = parser.document(may_hold_forbidden);
    Tree {
        green: parsed.green,
        errors: parsed.errors.into(),
        notes: Arc::new(parsed.notes),
        doctype: parsed.doctype,
        at_root: OnceLock::new(),
    }
}

impl Tree {
    /// The tree after an edit, equal to that of the text after it, at the cost of the element that the edit falls in. An
    /// end of its range past the end of the text or inside a character is moved by [`Source::floor`].
    pub fn edited(&self, edit: &TextEdit) -> Tree {
        incremental::edited(self, edit)
    }

    /// The form errors, by the start of their ranges.
    pub fn errors(&self) -> &[FormError] {
        &self.errors
    }

    /// The root element: the first one at the top level, and rather one with a name than a lone `<`.
    pub fn root(&self) -> Option<Element<'_>> {
        let elements = || self.top_level().filter_map(Item::into_element);
        let named = elements().find(|element| !element.name().is_empty());
        named.or_else(|| elements().next())
    }

    /// The namespace for which a prefix is declared in the tag of the root element; without a prefix, the default one.
    /// Quick, as each of thousands of elements may have one of thousands of prefixes.
    pub fn declared_at_root(&self, prefix: Option<&str>) -> Option<&str> {
        let declared = || Arc::new(self.root().as_ref().map(Declared::by).unwrap_or_default());
        self.at_root.get_or_init(declared).get(prefix)
    }

    /// What stands at the top level: declaration, DOCTYPE, comments, white space, the root element …
    pub fn top_level(&self) -> Items<'_> {
        Items::new(Wide::new(&self.green, TextSize::new(0)))
    }

    /// The text, put together from the tree, which takes time: mostly a piece of it is enough ([`Source::slice`]).
    pub fn text(&self) -> String {
        let mut text = String::with_capacity(self.green.text_len().into());
        for (token, _) in Tokens::from(&self.green, TextSize::new(0)) {
            text.push_str(token.text());
        }
        text
    }

    /// The text with what entities stand for that the document declares itself, as far as that is plain text. None: it
    /// declares none, or the text would become so long that this must be an attack.
    pub fn expanded(&self) -> Option<String> {
        let plain = &self.doctype.as_ref()?.plain;
        if plain.is_empty() {
            return None;
        }
        let most = 2 * usize::from(self.green.text_len()) + MOST_ADDED;
        let mut text = String::new();
        for (token, _) in Tokens::from(&self.green, TextSize::new(0)) {
            match Kind::of(token.kind()) {
                Kind::Comment | Kind::CData | Kind::Instruction | Kind::Doctype => {
                    text.push_str(token.text());
                }
                _ => text.push_str(&reference::expanded(token.text(), plain)),
            }
            if text.len() > most {
                return None;
            }
        }
        Some(text)
    }

    /// The comments in a range, at any depth.
    pub fn comments(&self, range: TextRange) -> impl Iterator<Item = Token<'_>> {
        Tokens::from(&self.green, range.start())
            .take_while(move |(_, start)| *start < range.end())
            .filter(|(token, _)| Kind::of(token.kind()) == Kind::Comment)
            .map(|(token, start)| Token::new(token, start))
    }

    /// The elements that contain `offset`, outermost first. An element that ends at `offset` counts only if no other
    /// contains it; one that starts at `offset` contains it.
    pub fn elements_at(&self, offset: TextSize) -> Vec<Element<'_>> {
        let mut path: Vec<Element<'_>> = Vec::new();
        let mut items = self.top_level();
        loop {
            items.seek(offset);
            let mut inner = None;
            for item in items {
                if item.range().start() > offset {
                    break;
                }
                if let Item::Element(element) = item {
                    let range = element.range();
                    if range.contains(offset) || (path.is_empty() && range.end() == offset) {
                        inner = Some(element);
                    }
                }
            }
            let Some(element) = inner else {
                return path;
            };
            path.push(element);
            items = element.items();
        }
    }

    /// What stands at `offset` in the innermost element around it, or at the top level, and what follows there.
    pub fn items_at(&self, offset: TextSize) -> impl Iterator<Item = Item<'_>> {
        let around = self.elements_at(offset).pop();
        let mut items = around.map_or_else(|| self.top_level(), |element| element.items());
        items.seek(offset);
        items.skip_while(move |item| item.range().end() <= offset)
    }

    /// The elements from the root down to the one whose range is exactly `range`.
    pub fn element_with_range(&self, range: TextRange) -> Option<Vec<Element<'_>>> {
        let mut path = Vec::new();
        let mut items = self.top_level();
        loop {
            items.seek(range.start());
            let element = items
                .take_while(|item| item.range().start() <= range.start())
                .filter_map(Item::into_element)
                .find(|element| element.range().contains_range(range))?;
            path.push(element);
            if element.range() == range {
                return Some(path);
            }
            items = element.items();
        }
    }
}
