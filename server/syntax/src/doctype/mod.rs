//! The DOCTYPE declaration: kept as one token, checked as far as XML asks of a document whose external entities are
//! not opened. Nothing in it changes the tree.

mod declarations;
mod entities;
mod scanner;

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use rowan::TextRange;

use crate::chars::{self, shown};
use crate::error::{FormCode, FormError};
use crate::markup::{self, Missing};
use crate::reference::{self, Reference};
use crate::tag::range;
use declarations::{Declared, DefaultValue, EntityValue, declared_namespace};
use scanner::{Fault, Scanned, Scanner};

pub(crate) use entities::Verdict;

/// So many bytes of parameter entities are read; more is an attack.
const MOST_INCLUDED: usize = 1 << 20;

/// A longer text of an entity is not put in the place of references to it. Bytes.
const LONGEST_PLAIN: usize = 1000;

/// What the rest of the document needs to know about its DOCTYPE.
#[derive(Debug, Default)]
pub(crate) struct Doctype {
    entities: HashMap<String, Verdict>,
    /// The texts of the entities that hold no markup and no references, as they stand in values and texts.
    pub(crate) plain: HashMap<String, String>,
    /// Entities can be declared where nobody looks: a reference to an unknown one is no error.
    is_open: bool,
    /// The prefixes that elements declare by default, by element name.
    pub(crate) namespaces: HashMap<String, Vec<(String, String)>>,
}

impl Doctype {
    /// The verdict on a reference to this entity. None: not declared, and it should be.
    pub(crate) fn entity(&self, name: &str) -> Option<Verdict> {
        let known = self.entities.get(name).cloned();
        known.or_else(|| self.is_open.then(Verdict::default))
    }
}

/// A DOCTYPE declaration that has been read.
#[derive(Debug)]
pub(crate) struct Read {
    pub(crate) end: usize,
    pub(crate) errors: Vec<FormError>,
    pub(crate) doctype: Doctype,
}

/// Reads the declaration at `start`, where `<!DOCTYPE` stands.
pub(crate) fn read(text: &str, start: usize, standalone: bool) -> Read {
    let mut reader = Reader {
        scanner: Scanner {
            text,
            at: start + 9,
        },
        standalone,
        ..Reader::default()
    };
    let end = match reader.outside_subset() {
        Ok(()) => reader.scanner.at,
        Err(fault) => {
            let end = extent(text, start);
            reader.error(
                start.max(fault.at.min(end.saturating_sub(1))),
                fault.message,
            );
            end
        }
    };
    reader.finish(end)
}

/// Where a DOCTYPE declaration ends that is not as it must be: at the `>` that seems to belong to it, or with its line.
fn extent(text: &str, start: usize) -> usize {
    let bytes = text.as_bytes();
    let mut in_subset = false;
    let mut at = start + 9;
    while at < bytes.len() {
        match bytes[at] {
            b'[' => in_subset = true,
            b']' => in_subset = false,
            b'>' if !in_subset => return at + 1,
            b'<' if !in_subset => break,
            _ => {}
        }
        at += 1;
    }
    chars::trim_end(bytes, start, chars::line_end(bytes, start))
}

/// The end of a DOCTYPE declaration that should not be here, without a look into it; and how far the text was read.
pub(crate) fn end_of_misplaced(text: &str, start: usize) -> (usize, usize) {
    let bytes = text.as_bytes();
    let from = start + 9;
    let stop = memchr::memchr3(b'<', b'>', b'\n', &bytes[from..])
        .map_or(bytes.len(), |found| from + found);
    let end = if bytes.get(stop) == Some(&b'>') {
        stop + 1
    } else {
        chars::trim_end(bytes, from, stop)
    };
    (end, stop + 1)
}

#[derive(Debug, Default)]
struct Reader<'s> {
    scanner: Scanner<'s>,
    standalone: bool,
    errors: Vec<FormError>,
    general: HashMap<String, EntityValue>,
    places: HashMap<String, TextRange>,
    parameter: HashMap<String, EntityValue>,
    namespaces: HashMap<String, Vec<(String, String)>>,
    defaults_seen: HashSet<(String, String)>,
    /// The entities that default values refer to, and where these are declared.
    mentioned: Vec<(String, usize)>,
    /// There is an external subset or a reference to a parameter entity.
    refers_outside: bool,
    /// A parameter entity was not read: what is declared from here on may have been declared in it already.
    lost_track: bool,
    included: usize,
    missing: Missing,
}

impl<'s> Reader<'s> {
    fn error(&mut self, at: usize, message: String) {
        self.error_of(FormCode::BadDoctype, at, message);
    }

    fn error_of(&mut self, code: FormCode, at: usize, message: String) {
        let text = self.scanner.text;
        let at = at.min(text.len().saturating_sub(1));
        let at = (0..=at)
            .rev()
            .find(|&at| text.is_char_boundary(at))
            .unwrap_or(0);
        let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
        self.errors
            .push(FormError::new(code, range(at, end), message));
    }

    /// `doctypedecl`, production 28, behind the keyword.
    fn outside_subset(&mut self) -> Scanned<()> {
        self.scanner.need_space()?;
        let at = self.scanner.at;
        let name = self.scanner.name()?;
        if !chars::is_qualified_name(name) {
            self.error_of(
                FormCode::BadNamespace,
                at,
                format!(
                    "`{}` is not a name for an element: one colon is allowed",
                    shown(name)
                ),
            );
        }
        let spaced = self.scanner.space();
        if !matches!(self.scanner.peek(), Some(b'[' | b'>')) {
            if !spaced {
                return self.scanner.fault("White space is missing here");
            }
            if !self.scanner.external_id(false)? {
                return match self.scanner.peek() {
                    None | Some(b'<') => Err(unclosed(self.scanner.at)),
                    _ => self.scanner.no_more("a DOCTYPE declaration"),
                };
            }
            self.refers_outside = true;
            self.scanner.space();
        }
        if self.scanner.eat("[") {
            self.subset()?;
            self.scanner.space();
        }
        if self.scanner.eat(">") {
            Ok(())
        } else {
            Err(unclosed(self.scanner.at))
        }
    }

    /// The internal subset, up to its `]`.
    fn subset(&mut self) -> Scanned<()> {
        loop {
            self.scanner.space();
            match self.scanner.peek() {
                None => return Err(unclosed(self.scanner.at)),
                Some(b']') => {
                    self.scanner.at += 1;
                    return Ok(());
                }
                Some(_) => self.one_or_skip(),
            }
        }
    }

    /// One declaration or the like in the internal subset. What cannot be read is reported and skipped.
    fn one_or_skip(&mut self) {
        let start = self.scanner.at;
        let mut scanner = self.scanner.clone();
        let result = self.one(&mut scanner, None);
        self.scanner = scanner;
        let Err(fault) = result else { return };
        self.error(fault.at, fault.message);
        self.scanner.skip_declaration();
        if self.scanner.at == start {
            self.scanner.at += self.scanner.rest().chars().next().map_or(0, char::len_utf8);
        }
    }

    /// One declaration, comment, instruction or reference. `inside`: the reference whose text is being read.
    fn one<'t>(&mut self, scanner: &mut Scanner<'t>, inside: Option<usize>) -> Scanned<()> {
        let rest = scanner.rest();
        let found = if rest.starts_with("<!--") {
            markup::comment(scanner.text, scanner.at)
        } else if rest.starts_with("<?") {
            // What is missing in one text may be there in another.
            let mut elsewhere = Missing::default();
            let missing = if inside.is_some() {
                &mut elsewhere
            } else {
                &mut self.missing
            };
            markup::instruction(scanner.text, scanner.at, missing)
        } else if rest.starts_with('%') {
            return self.include(scanner, inside);
        } else if rest.starts_with("<!") {
            let start = scanner.at;
            let found = declarations::declaration(scanner)?;
            if let Some(name) = found.bad_colon {
                let at = inside.unwrap_or(start);
                self.error_of(
                    FormCode::BadNamespace,
                    at,
                    format!("`{}` has a colon where none may be", shown(name)),
                );
            }
            return self.declared(found.declared, inside.unwrap_or(start), inside.is_some());
        } else {
            return scanner.fault(
                "Only declarations, comments and instructions may stand in a DOCTYPE declaration",
            );
        };
        scanner.at = found.end;
        for mut error in found.errors {
            if let Some(at) = inside {
                error.range = range(at, at + 1);
                error.fix = None;
            }
            self.errors.push(error);
        }
        Ok(())
    }

    fn declared(&mut self, declared: Declared<'_>, start: usize, inside: bool) -> Scanned<()> {
        match declared {
            Declared::Nothing => {}
            Declared::Attributes(defaults) => {
                for default in defaults {
                    self.default_value(default, start)?;
                }
            }
            // The first declaration counts.
            Declared::Entity { .. } if self.lost_track => {}
            Declared::Entity {
                name,
                parameter: true,
                value,
            } => {
                self.parameter.entry(name.to_owned()).or_insert(value);
            }
            Declared::Entity { name, value, .. } => {
                // What a parameter entity declares does not count in a document that stands alone.
                let counts = !(inside && self.standalone);
                if counts && !self.general.contains_key(name) {
                    self.general.insert(name.to_owned(), value);
                    if !inside {
                        self.places.insert(name.to_owned(), range(start, start + 8));
                    }
                }
            }
        }
        Ok(())
    }

    /// The default value of an attribute, with the namespace that it may declare.
    fn default_value(&mut self, default: DefaultValue<'_>, start: usize) -> Scanned<()> {
        self.references(&default, start)?;
        let key = (default.element.to_owned(), default.attribute.to_owned());
        if let Some((prefix, name)) = declared_namespace(&default)
            && self.defaults_seen.insert(key)
        {
            let declared = self
                .namespaces
                .entry(default.element.to_owned())
                .or_default();
            declared.push((prefix.to_owned(), name.into_owned()));
        }
        Ok(())
    }

    /// The references in a default value must be to entities that are declared by now.
    fn references(&mut self, default: &DefaultValue<'_>, start: usize) -> Scanned<()> {
        let fault = |at: usize, message: String| {
            Err(Fault {
                at: default.at + at,
                message,
            })
        };
        if let Some(at) = default.value.find('<') {
            return fault(at, "A `<` may not stand in a value. Write `&lt;`".into());
        }
        let is_closed = !self.refers_outside || self.standalone;
        let mut at = 0;
        while let Some(found) = default.value[at..].find('&') {
            let place = at + found;
            let (reference, end) = reference::read(default.value, place);
            let written = shown(&default.value[place..end]);
            match reference {
                Reference::Character(_) => {}
                Reference::Entity(name) if reference::predefined(name).is_some() => {}
                Reference::Entity(name) if is_closed && !self.general.contains_key(name) => {
                    let message = format!(
                        "`{written}` stands for nothing: the entity must be declared before it"
                    );
                    return fault(place, message);
                }
                Reference::Entity(name) => self.mentioned.push((name.to_owned(), start)),
                _ => return fault(place, format!("`{written}` is no reference")),
            }
            at = end;
        }
        Ok(())
    }

    /// A reference to a parameter entity: its text is read as declarations.
    fn include<'t>(&mut self, scanner: &mut Scanner<'t>, inside: Option<usize>) -> Scanned<()> {
        let place = inside.unwrap_or(scanner.at);
        let first = parameter_reference(scanner)?;
        self.refers_outside = true;
        // A stack of the texts being read, each with the name of its entity.
        let mut reading = Reading::default();
        self.push_parameter(first, place, &mut reading)?;
        while let Some((name, text, at)) = reading.texts.last_mut() {
            let text = Rc::clone(text);
            let mut inner = Scanner {
                text: &text,
                at: *at,
            };
            inner.space();
            if inner.at == text.len() {
                reading.names.remove(name);
                reading.texts.pop();
                continue;
            }
            let found = if inner.peek() == Some(b'%') {
                parameter_reference(&mut inner).map(Some)
            } else {
                self.one(&mut inner, Some(place)).map(|()| None)
            };
            *at = inner.at;
            match found {
                Ok(Some(name)) => self.push_parameter(name, place, &mut reading)?,
                Ok(None) => {}
                Err(fault) => {
                    return Err(Fault {
                        at: place,
                        message: format!(
                            "The text of this entity is not well-formed. {}",
                            fault.message
                        ),
                    });
                }
            }
        }
        Ok(())
    }

    fn push_parameter(&mut self, name: &str, place: usize, reading: &mut Reading) -> Scanned<()> {
        if reading.names.contains(name) {
            return Err(Fault {
                at: place,
                message: format!(
                    "The entity `{}` is declared in terms of itself",
                    shown(name)
                ),
            });
        }
        match self.parameter.get(name) {
            Some(EntityValue::Internal(text)) if self.included + text.len() <= MOST_INCLUDED => {
                self.included += text.len() + 1;
                reading.names.insert(name.to_owned());
                reading
                    .texts
                    .push((name.to_owned(), text.as_str().into(), 0));
            }
            None if self.standalone => {
                return Err(Fault {
                    at: place,
                    message: format!("No entity `{}` is declared", shown(name)),
                });
            }
            _ => self.lost_track = !self.standalone,
        }
        Ok(())
    }

    fn finish(mut self, end: usize) -> Read {
        let is_open = self.refers_outside && !self.standalone;
        let entities = entities::verdicts(&self.general, !is_open);
        for (name, verdict) in &entities {
            if let Some(&place) = self.places.get(name).filter(|_| verdict.circular) {
                self.errors.push(FormError::new(
                    FormCode::BadEntity,
                    place,
                    format!(
                        "The entity `{}` is declared in terms of itself",
                        shown(name)
                    ),
                ));
            }
        }
        for (name, at) in std::mem::take(&mut self.mentioned) {
            if let Some(reason) = entities.get(&name).and_then(|verdict| verdict.in_value) {
                self.error(
                    at,
                    format!(
                        "In a default value: the entity `{}` {}",
                        shown(&name),
                        reason.as_str()
                    ),
                );
            }
        }
        self.errors.sort_by_key(|error| error.range.start());
        let plain = self
            .general
            .into_iter()
            .filter_map(|(name, value)| match value {
                EntityValue::Internal(text)
                    if text.len() <= LONGEST_PLAIN && !text.contains(['<', '&']) =>
                {
                    Some((name, text.replace('"', "&quot;").replace('\'', "&apos;")))
                }
                _ => None,
            });
        Read {
            end,
            errors: self.errors,
            doctype: Doctype {
                entities,
                plain: plain.collect(),
                is_open,
                namespaces: self.namespaces,
            },
        }
    }
}

/// The parameter entities being read, the innermost last: name, text, and how far it has been read.
#[derive(Default)]
struct Reading {
    texts: Vec<(String, Rc<str>, usize)>,
    names: HashSet<String>,
}

fn unclosed(at: usize) -> Fault {
    Fault {
        at,
        message: "The DOCTYPE declaration is not closed. Write `>` where it ends".into(),
    }
}

/// `%name;`
fn parameter_reference<'s>(scanner: &mut Scanner<'s>) -> Scanned<&'s str> {
    scanner.need("%")?;
    let name = scanner.name()?;
    scanner.need(";")?;
    Ok(name)
}
