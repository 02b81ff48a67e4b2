//! Short paths that address constructs of a document: a subset of the abbreviated steps
//! of XPath 1.0 (W3C Recommendation of 16 November 1999, section 2.5).
//!
//! ```text
//! path      = ["/" | "//"] step { ("/" | "//") step }
//! step      = "." | ".." | (name | "*") { predicate } | leaf
//! leaf      = "@" name | "text()"                    only as the last step
//! predicate = "[" number "]" | "[" path [ "=" quoted ] "]"
//! ```
//!
//! Names are local names: a prefix is not part of the language, but an attribute's name
//! is compared as it stands in the document, prefix and all.

mod parser;

use std::fmt;
use std::ops::Range;

/// A parsed path.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Path {
    source: String,
    absolute: bool,
    steps: Vec<Step>,
    leaf: Leaf,
}

/// What a path leads to.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Leaf {
    /// The elements that the steps lead to.
    Element,
    /// An attribute of these elements.
    Attribute(String),
    /// The text of these elements.
    Text,
}

/// One step from a set of elements to the next.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Step {
    /// Where the step goes.
    pub kind: StepKind,
    /// Which of the elements found remain.
    pub predicates: Vec<Predicate>,
}

/// Where a step goes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum StepKind {
    /// Children with this local name; `None` is any (`*`).
    Child(Option<String>),
    /// Elements at any depth below with this local name; `None` is any.
    Descendant(Option<String>),
    /// The parent (`..`).
    Parent,
    /// The element itself (`.`).
    Itself,
}

/// A condition on an element.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Predicate {
    /// The element is the n-th (from 1) that this step finds below the same parent; not
    /// after `//`.
    Position(u32),
    /// The path leads to something; with a value: to something with exactly this value.
    Holds {
        /// Relative to the element.
        path: Path,
        /// What an attribute, text or element found must say.
        value: Option<String>,
    },
}

/// What is wrong with the text of a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PathFault {
    /// Bytes within the text.
    pub range: Range<usize>,
    /// What is wrong and what to do.
    pub message: String,
}

impl Path {
    /// Parses a path.
    ///
    /// # Errors
    /// What is wrong with it, and where.
    pub fn parse(text: &str) -> Result<Path, PathFault> {
        parser::parse(text)
    }

    /// The text it was parsed from.
    pub fn as_str(&self) -> &str {
        &self.source
    }

    /// Whether it starts at the document (`/a`, `//a`) wherever it is evaluated.
    pub fn is_absolute(&self) -> bool {
        self.absolute
    }

    /// The steps before the leaf. None (`@name`, `text()`) or only `.` stay where they are.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// What it leads to.
    pub fn leaf(&self) -> &Leaf {
        &self.leaf
    }

    /// The same path, leading to the text of an element instead of the element.
    pub fn to_text(mut self) -> Path {
        if self.leaf == Leaf::Element {
            self.leaf = Leaf::Text;
            self.source.push_str("/text()");
        }
        self
    }

    /// The attribute that it leads to, if it is one of the element that it starts at: `@name`.
    pub fn own_attribute(&self) -> Option<&str> {
        let stays = self.steps.iter().all(|step| step.kind == StepKind::Itself);
        match &self.leaf {
            Leaf::Attribute(name) if stays && !self.absolute => Some(name),
            _ => None,
        }
    }

    /// The name of the elements that its steps lead to, if the last of them says one.
    pub fn last_name(&self) -> Option<&str> {
        match &self.steps.last()?.kind {
            StepKind::Child(name) | StepKind::Descendant(name) => name.as_deref(),
            StepKind::Parent | StepKind::Itself => None,
        }
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.source)
    }
}
