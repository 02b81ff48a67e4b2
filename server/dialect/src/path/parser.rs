//! From the text of a path to its steps.

use super::{Leaf, Path, PathFault, Predicate, Step, StepKind};

/// Predicates hold paths, which hold predicates: this deep and no deeper.
const DEEPEST: u32 = 8;

pub(super) fn parse(text: &str) -> Result<Path, PathFault> {
    let mut parser = Parser { text, at: 0 };
    parser.skip_blanks();
    let path = parser.path(0)?;
    parser.skip_blanks();
    match parser.peek() {
        None => Ok(path),
        Some(']') => Err(parser.fault_here("this `]` closes nothing; remove it")),
        Some(_) if path.leaf != Leaf::Element => Err(parser
            .fault_here("nothing may follow `@name` or `text()`; put it at the end of the path")),
        Some(_) => Err(parser.fault_here("expected `/` or the end of the path")),
    }
}

struct Parser<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Parser<'t> {
    fn path(&mut self, depth: u32) -> Result<Path, PathFault> {
        let start = self.at;
        let mut steps: Vec<Step> = Vec::new();
        let mut leaf = Leaf::Element;
        let mut descend = self.eats("//");
        let absolute = descend || self.eats("/");
        loop {
            if self.eats("@") {
                if descend {
                    steps.push(Step {
                        kind: StepKind::Descendant(None),
                        predicates: Vec::new(),
                    });
                }
                leaf = Leaf::Attribute(self.attribute_name()?);
                break;
            }
            if self.eats("text()") {
                if descend {
                    steps.push(Step {
                        kind: StepKind::Descendant(None),
                        predicates: Vec::new(),
                    });
                }
                leaf = Leaf::Text;
                break;
            }
            steps.push(self.step(descend, depth)?);
            descend = self.eats("//");
            if !descend && !self.eats("/") {
                break;
            }
        }
        if absolute && steps.is_empty() {
            return Err(self.fault(
                start,
                "the document itself has no attribute and no text; name an element first",
            ));
        }
        Ok(Path {
            source: self.text[start..self.at].trim_end().to_owned(),
            absolute,
            steps,
            leaf,
        })
    }

    fn step(&mut self, descend: bool, depth: u32) -> Result<Step, PathFault> {
        let start = self.at;
        let stays = match () {
            () if self.eats("..") => Some(StepKind::Parent),
            () if self.eats(".") => Some(StepKind::Itself),
            () => None,
        };
        if let Some(kind) = stays {
            if descend {
                return Err(self.fault(start, "a name or `*` must follow `//`"));
            }
            return Ok(Step {
                kind,
                predicates: Vec::new(),
            });
        }
        let name = if self.eats("*") {
            None
        } else {
            Some(self.element_name()?)
        };
        let kind = match descend {
            true => StepKind::Descendant(name),
            false => StepKind::Child(name),
        };
        let mut predicates = Vec::new();
        while self.eats("[") {
            let start = self.at - 1;
            let predicate = self.predicate(depth)?;
            // XPath counts here among the children of each parent, which surprises everybody.
            if descend && matches!(predicate, Predicate::Position(_)) {
                return Err(self.fault(start, "a position cannot be asked for after `//`"));
            }
            predicates.push(predicate);
        }
        Ok(Step { kind, predicates })
    }

    fn predicate(&mut self, depth: u32) -> Result<Predicate, PathFault> {
        let start = self.at - 1;
        if depth >= DEEPEST {
            return Err(self.fault(
                start,
                "conditions are nested too deeply; write a simpler path",
            ));
        }
        self.skip_blanks();
        let digits = self.rest().bytes().take_while(u8::is_ascii_digit).count();
        let predicate = if digits > 0 {
            let number = self.at..self.at + digits;
            self.at = number.end;
            match self.text[number.clone()].parse() {
                Ok(0) => {
                    return Err(self.fault(number.start, "positions are counted from 1"));
                }
                Ok(position) => Predicate::Position(position),
                Err(_) => return Err(self.fault(number.start, "this position is too large")),
            }
        } else {
            let path = self.path(depth + 1)?;
            self.skip_blanks();
            let value = match self.eats("=") {
                true => Some(self.quoted()?),
                false => None,
            };
            Predicate::Holds { path, value }
        };
        self.skip_blanks();
        if !self.eats("]") {
            return Err(self.fault(
                start,
                "this `[` is not closed; a condition is `[2]`, `[child]`, `[@name]` or `[@name='value']`",
            ));
        }
        Ok(predicate)
    }

    fn quoted(&mut self) -> Result<String, PathFault> {
        self.skip_blanks();
        let start = self.at;
        let quote = match self.peek() {
            Some(quote @ ('\'' | '"')) => quote,
            _ => {
                return Err(self.fault_here("a value in quotes must follow `=`: `[@name='value']`"));
            }
        };
        self.at += 1;
        let Some(length) = self.rest().find(quote) else {
            return Err(self.fault(start, "this quote is not closed"));
        };
        let value = self.rest()[..length].to_owned();
        self.at += length + 1;
        Ok(value)
    }

    fn element_name(&mut self) -> Result<String, PathFault> {
        let start = self.at;
        let name = self.name();
        if name.is_empty() {
            let message = match self.peek() {
                None => "the path ends where a name was expected",
                Some('/') => "a name or `*` must stand between slashes",
                Some('[') => "a name or `*` must stand before `[`",
                Some(_) => "expected the name of an element, `*`, `.`, `..`, `@name` or `text()`",
            };
            return Err(self.fault_here(message));
        }
        if name.contains(':') {
            return Err(self.fault(
                start,
                "elements are named without a prefix in paths; leave out the part up to `:`",
            ));
        }
        if self.rest().starts_with('(') {
            return Err(self.fault(start, "the only function in paths is `text()`"));
        }
        Ok(name)
    }

    fn attribute_name(&mut self) -> Result<String, PathFault> {
        let name = self.name();
        match name.is_empty() {
            true => Err(self.fault_here("the name of an attribute must follow `@`")),
            false => Ok(name),
        }
    }

    fn name(&mut self) -> String {
        let rest = self.rest();
        let end = rest
            .char_indices()
            .find(|(at, c)| !is_name_character(*c, *at == 0))
            .map_or(rest.len(), |(at, _)| at);
        self.at += end;
        rest[..end].to_owned()
    }

    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn eats(&mut self, token: &str) -> bool {
        let found = self.rest().starts_with(token);
        if found {
            self.at += token.len();
        }
        found
    }

    fn skip_blanks(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    /// A fault from `start` to where the parser is.
    fn fault(&self, start: usize, message: &str) -> PathFault {
        PathFault {
            range: start..self.at.max(start),
            message: message.to_owned(),
        }
    }

    /// A fault at the next character.
    fn fault_here(&self, message: &str) -> PathFault {
        PathFault {
            range: self.at..self.at + self.peek().map_or(0, char::len_utf8),
            message: message.to_owned(),
        }
    }
}

/// Names as XML has them, roughly: letters, digits, `_`, `-`, `.`, `:` and everything
/// beyond ASCII. Strictness about the rest is the business of the XML parser.
fn is_name_character(c: char, first: bool) -> bool {
    match c {
        '_' | ':' => true,
        '-' | '.' => !first,
        c if c.is_ascii_digit() => !first,
        c => c.is_ascii_alphabetic() || !c.is_ascii() && !c.is_whitespace(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn child(name: &str) -> StepKind {
        StepKind::Child(Some(name.into()))
    }

    fn kinds(text: &str) -> Vec<StepKind> {
        let path = Path::parse(text).unwrap();
        path.steps().iter().map(|step| step.kind.clone()).collect()
    }

    #[test]
    fn steps_go_down_up_and_anywhere() {
        assert_eq!(
            kinds("machine/wheels/wheel"),
            [child("machine"), child("wheels"), child("wheel")]
        );
        assert_eq!(kinds("../@id"), [StepKind::Parent]);
        assert_eq!(kinds("."), [StepKind::Itself]);
        assert_eq!(
            kinds("//leg.left"),
            [StepKind::Descendant(Some("leg.left".into()))]
        );
        assert_eq!(kinds("a//*"), [child("a"), StepKind::Descendant(None)]);
        assert_eq!(
            kinds(".//text()"),
            [StepKind::Itself, StepKind::Descendant(None)]
        );
    }

    #[test]
    fn leaves_are_elements_attributes_or_text() {
        let leaf = |text: &str| Path::parse(text).unwrap().leaf().clone();
        assert_eq!(leaf("a/b"), Leaf::Element);
        assert_eq!(leaf("@x:href"), Leaf::Attribute("x:href".into()));
        assert_eq!(leaf("a/text()"), Leaf::Text);
        assert_eq!(leaf("text()"), Leaf::Text);
    }

    #[test]
    fn absolute_paths_are_known_as_such() {
        assert!(Path::parse("/a/b").unwrap().is_absolute());
        assert!(Path::parse("//b").unwrap().is_absolute());
        assert!(!Path::parse(".//b").unwrap().is_absolute());
    }

    #[test]
    fn conditions_take_positions_children_and_values() {
        let path = Path::parse("time[2]/part[@kind = \"a b\"][on]").unwrap();
        assert_eq!(path.steps()[0].predicates, [Predicate::Position(2)]);
        assert_eq!(
            path.steps()[1].predicates,
            [
                Predicate::Holds {
                    path: Path::parse("@kind").unwrap(),
                    value: Some("a b".into())
                },
                Predicate::Holds {
                    path: Path::parse("on").unwrap(),
                    value: None
                }
            ]
        );
    }

    #[test]
    fn the_text_is_kept() {
        assert_eq!(Path::parse(" a/b ").unwrap().as_str(), "a/b");
        assert_eq!(Path::parse("a").unwrap().to_text().as_str(), "a/text()");
        assert_eq!(Path::parse("@a").unwrap().to_text().as_str(), "@a");
    }

    #[test]
    fn faults_say_where() {
        let fault = |text: &str| {
            let fault = Path::parse(text).unwrap_err();
            (fault.range, fault.message)
        };
        for (text, range, says) in [
            ("", 0..0, "ends where a name"),
            ("a//", 3..3, "ends where a name"),
            ("a/", 2..2, "ends where a name"),
            ("/", 1..1, "ends where a name"),
            ("a///b", 3..4, "between slashes"),
            ("@a/b", 2..3, "nothing may follow"),
            ("text()/b", 6..7, "nothing may follow"),
            ("a[@b='c'", 1..8, "not closed"),
            ("a[@b=c]", 5..6, "in quotes"),
            ("a[@b='c]", 5..6, "quote is not closed"),
            ("a[0]", 2..3, "counted from 1"),
            ("a]", 1..2, "closes nothing"),
            ("x:a", 0..3, "without a prefix"),
            ("count(a)", 0..5, "only function"),
            ("@", 1..1, "must follow `@`"),
            ("//a[2]", 3..6, "after `//`"),
            ("a//..", 3..5, "must follow `//`"),
            ("/@a", 0..3, "the document itself"),
            ("a b", 2..3, "expected `/`"),
        ] {
            let (found, message) = fault(text);
            assert_eq!(found, range, "{text}: {message}");
            assert!(message.contains(says), "{text}: {message}");
        }
        let deep = "a[".repeat(5000);
        assert!(fault(&deep).1.contains("nested too deeply"));
    }
}
