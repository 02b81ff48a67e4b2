//! The paths that say which node an operation is about: the subset of XPath 1.0 that the RFC allows, and `//`.

use crate::names::Bindings;
use crate::problem::Code;

/// A path from the document node.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Selector {
    pub(crate) steps: Vec<Step>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Step {
    /// Written after `//`: the parent may be any descendant.
    pub(crate) anywhere: bool,
    pub(crate) test: Test,
    pub(crate) conditions: Vec<Condition>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Test {
    /// The element with this ID.
    Id(String),
    AnyElement,
    Element(Name),
    Attribute(Name),
    /// The declaration of this prefix.
    Namespace(String),
    Text,
    Comment,
    /// With this target, if one is said.
    Instruction(Option<String>),
}

/// A name without its prefix.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Name {
    /// "" is none.
    pub(crate) namespace: String,
    pub(crate) local: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Condition {
    /// From 1.
    Position(usize),
    Attribute(Name, String),
    Child(Name, String),
    OwnText(String),
}

type Problem = (Code, String);

/// Reads a path; prefixes mean what they mean in the patch.
///
/// # Errors
/// It is no path that the RFC allows, or has a prefix that is not declared.
pub(crate) fn read(text: &str, bindings: &Bindings) -> Result<Selector, Problem> {
    let mut reader = Reader {
        text,
        at: 0,
        bindings,
    };
    let mut steps = Vec::new();
    reader.blank();
    let mut anywhere = false;
    if reader.take("//") {
        anywhere = true;
    } else {
        reader.take("/");
    }
    loop {
        let step = reader.step(anywhere, steps.is_empty())?;
        let is_end = !matches!(step.test, Test::Id(_) | Test::AnyElement | Test::Element(_));
        steps.push(step);
        reader.blank();
        if reader.rest().is_empty() {
            return Ok(Selector { steps });
        }
        anywhere = reader.take("//");
        if !anywhere && !reader.take("/") {
            return Err(reader.expected("`/` or the end of the path"));
        }
        if is_end {
            return Err(
                reader.expected("the end of the path: only elements have something in them")
            );
        }
    }
}

struct Reader<'t> {
    text: &'t str,
    at: usize,
    bindings: &'t Bindings,
}

impl<'t> Reader<'t> {
    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn blank(&mut self) {
        let rest = self.rest().trim_start_matches([' ', '\t', '\r', '\n']);
        self.at = self.text.len() - rest.len();
    }

    fn take(&mut self, what: &str) -> bool {
        let found = self.rest().starts_with(what);
        if found {
            self.at += what.len();
            self.blank();
        }
        found
    }

    fn expected(&self, what: &str) -> Problem {
        let read = &self.text[..self.at];
        let message = format!(
            "`{}` is not a path that a patch may use: after `{read}` there must be {what}",
            self.text
        );
        (Code::InvalidAttributeValue, message)
    }

    fn step(&mut self, anywhere: bool, first: bool) -> Result<Step, Problem> {
        self.blank();
        let test = self.test(first && !anywhere)?;
        let mut conditions = Vec::new();
        while self.take("[") {
            if matches!(test, Test::Attribute(_) | Test::Namespace(_)) {
                return Err(self.expected("no condition: an element has only one such attribute"));
            }
            conditions.push(self.condition()?);
            if !self.take("]") {
                return Err(self.expected("`]`"));
            }
        }
        Ok(Step {
            anywhere,
            test,
            conditions,
        })
    }

    fn test(&mut self, may_be_id: bool) -> Result<Test, Problem> {
        if self.take("*") {
            return Ok(Test::AnyElement);
        }
        if self.take("@") {
            return Ok(Test::Attribute(self.name(false)?));
        }
        if self.take("namespace::") {
            return Ok(Test::Namespace(self.word()?.to_owned()));
        }
        let start = self.at;
        let word = self.word()?;
        if !self.take("(") {
            self.at = start;
            return Ok(Test::Element(self.name(true)?));
        }
        let test = match word {
            "text" => Test::Text,
            "comment" => Test::Comment,
            "processing-instruction" if self.rest().starts_with(')') => Test::Instruction(None),
            "processing-instruction" => Test::Instruction(Some(self.literal()?)),
            "id" if may_be_id => Test::Id(self.literal()?),
            _ => {
                self.at = start;
                return Err(self.expected(
                    "a name, `*`, `text()`, `comment()`, `processing-instruction()` or, first in the path, `id()`",
                ));
            }
        };
        if !self.take(")") {
            return Err(self.expected("`)`"));
        }
        Ok(test)
    }

    fn condition(&mut self) -> Result<Condition, Problem> {
        let rest = self.rest();
        let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        if digits > 0 {
            let position = rest[..digits].parse().unwrap_or(0);
            if position == 0 {
                return Err(self.expected("a position, which count from 1"));
            }
            self.at += digits;
            self.blank();
            return Ok(Condition::Position(position));
        }
        let make: Box<dyn FnOnce(String) -> Condition> = if self.take(".") {
            Box::new(Condition::OwnText)
        } else if self.take("@") {
            let name = self.name(false)?;
            Box::new(|value| Condition::Attribute(name, value))
        } else {
            let name = self.name(true)?;
            Box::new(|value| Condition::Child(name, value))
        };
        if !self.take("=") {
            return Err(self.expected("`=` and a text in quotes"));
        }
        Ok(make(self.literal()?))
    }

    fn word(&mut self) -> Result<&'t str, Problem> {
        let is_end = |c: char| c.is_whitespace() || "/[]()@=:'\"*,|<>!+$".contains(c);
        let rest = self.rest();
        let len = rest.find(is_end).unwrap_or(rest.len());
        let starts_well = rest
            .chars()
            .next()
            .is_some_and(|c| !c.is_ascii_digit() && c != '-' && c != '.');
        if len == 0 || !starts_well {
            return Err(self.expected("a name"));
        }
        self.at += len;
        self.blank();
        Ok(&rest[..len])
    }

    /// A name; without a prefix, elements are in the default namespace of the patch (RFC 5261, 4.2.2).
    fn name(&mut self, of_element: bool) -> Result<Name, Problem> {
        let first = self.word()?;
        let is_prefix = self.rest().starts_with(':') && !self.rest().starts_with("::");
        let (prefix, local) = match is_prefix {
            true => {
                self.take(":");
                (Some(first), self.word()?)
            }
            false => (None, first),
        };
        let namespace = match prefix {
            None if !of_element => String::new(),
            _ => match self.bindings.get(&prefix.map(str::to_owned)) {
                Some(namespace) => namespace.clone(),
                None => {
                    let prefix = prefix.unwrap_or_default();
                    return Err((
                        Code::InvalidNamespacePrefix,
                        format!(
                            "The prefix `{prefix}` is not declared in the patch. Add `xmlns:{prefix}=\"…\"` to it"
                        ),
                    ));
                }
            },
        };
        Ok(Name {
            namespace,
            local: local.to_owned(),
        })
    }

    fn literal(&mut self) -> Result<String, Problem> {
        let quote = self
            .rest()
            .chars()
            .next()
            .filter(|c| matches!(c, '"' | '\''));
        let Some(quote) = quote else {
            return Err(self.expected("a text in quotes"));
        };
        let inner = &self.rest()[1..];
        let Some(len) = inner.find(quote) else {
            return Err(self.expected("a text in quotes; the closing one is missing"));
        };
        self.at += len + 2;
        self.blank();
        Ok(inner[..len].to_owned())
    }
}
