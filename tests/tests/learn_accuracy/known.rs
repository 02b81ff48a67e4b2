//! What the publishers of a format say about its attributes.
//!
//! A file of known answers has one fact a line: `PLACE TYPE [required] [name] [-> PLACE…]`, or `PLACE skip` where the
//! publishers leave it open. The type `any` judges names and references only, and `required` where that is
//! said. A place is the end of a path with `@attribute`, or `#` for the text; `*` stands for any name.

use acceptance::outside;

/// Facts by place: the longest place that fits counts.
#[derive(Default)]
pub(crate) struct Known {
    facts: Vec<(Place, Option<Fact>)>,
    /// Asked as well; knows better about types.
    other: Option<Box<Known>>,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Fact {
    pub(crate) value_type: Option<Type>,
    pub(crate) required: Option<bool>,
    pub(crate) name: bool,
    pub(crate) refers: Vec<Place>,
}

/// The type of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Type {
    Boolean,
    Integer,
    Number,
    /// So many numbers.
    Vector(u32),
    /// Any count of numbers.
    Numbers,
    /// Learnt only: three or four numbers, or hexadecimal digits.
    Colour,
    /// One of a few words.
    Word,
    Text,
}

impl Type {
    /// Whether what was learnt is this type, as far as files can show it: a number may happen to be whole in all of
    /// them, a list always as long, and a word may be one of many.
    pub(crate) fn agrees(self, learnt: Self) -> bool {
        match self {
            Self::Number => matches!(learnt, Self::Number | Self::Integer),
            Self::Numbers => matches!(
                learnt,
                Self::Numbers | Self::Vector(_) | Self::Number | Self::Integer | Self::Colour
            ),
            Self::Vector(3 | 4) => learnt == self || learnt == Self::Colour,
            Self::Vector(_) | Self::Colour => learnt == self,
            Self::Word => matches!(learnt, Self::Word | Self::Text),
            Self::Text => matches!(learnt, Self::Word | Self::Text),
            Self::Boolean | Self::Integer => learnt == self,
        }
    }

    /// `None`: left open.
    fn of(word: &str) -> Option<Self> {
        Some(match word.split_once(':') {
            Some(("vector", count)) => Self::Vector(count.parse().unwrap()),
            _ => match word {
                "any" => return None,
                "boolean" => Self::Boolean,
                "integer" => Self::Integer,
                "number" => Self::Number,
                "numbers" => Self::Numbers,
                "word" => Self::Word,
                "text" => Self::Text,
                _ => panic!("{word} is no type"),
            },
        })
    }
}

/// The end of a path, and an attribute or the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Place {
    /// Innermost first.
    elements: Vec<String>,
    /// `None` is the text.
    attribute: Option<String>,
}

impl Place {
    pub(crate) fn new(path: &str, attribute: Option<&str>) -> Self {
        Self {
            elements: path.rsplit('/').map(str::to_owned).collect(),
            attribute: attribute.map(str::to_owned),
        }
    }

    fn read(text: &str) -> Self {
        match (text.split_once('@'), text.strip_suffix('#')) {
            (Some((path, attribute)), _) => Self::new(path, Some(attribute)),
            (None, Some(path)) => Self::new(path, None),
            (None, None) => panic!("{text} is no place"),
        }
    }

    pub(crate) fn fits(&self, path: &str, attribute: Option<&str>) -> bool {
        let same = |known: &str, is: &str| known == "*" || known == is;
        let attribute = match (&self.attribute, attribute) {
            (Some(known), Some(is)) => same(known, is),
            (None, None) => true,
            _ => false,
        };
        let mut elements = path.rsplit('/');
        attribute
            && self
                .elements
                .iter()
                .all(|known| elements.next().is_some_and(|is| same(known, is)))
    }

    /// How much it says.
    fn weight(&self) -> (usize, usize) {
        let named = self
            .elements
            .iter()
            .chain(&self.attribute)
            .filter(|name| *name != "*");
        (named.count(), self.elements.len())
    }
}

impl Known {
    pub(crate) fn add(&mut self, place: Place, fact: Option<Fact>) {
        self.facts.push((place, fact));
    }

    /// These facts, with another's where these say nothing, and with its types.
    pub(crate) fn or(self, other: Self) -> Self {
        let other = Some(Box::new(other));
        Self { other, ..self }
    }

    /// What is known of a place; `None` if nothing is.
    pub(crate) fn of(&self, path: &str, attribute: Option<&str>) -> Option<Fact> {
        let fitting = self
            .facts
            .iter()
            .filter(|(place, _)| place.fits(path, attribute));
        let known = fitting.max_by_key(|(place, _)| place.weight());
        let other = self
            .other
            .as_ref()
            .and_then(|other| other.of(path, attribute));
        match known {
            Some((_, None)) => None,
            Some((_, Some(fact))) => Some(match other {
                Some(other) => Fact {
                    value_type: other.value_type,
                    required: other.required,
                    ..fact.clone()
                },
                None => fact.clone(),
            }),
            None => other,
        }
    }
}

/// The known answers for a corpus that stand beside this file.
pub(crate) fn read(name: &str) -> Known {
    let file = outside::project().join(format!("tests/tests/learn_accuracy/known/{name}.txt"));
    let text = std::fs::read_to_string(file).unwrap();
    let mut known = Known::default();
    for line in text
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
    {
        let (fact, to) = line.split_once("->").unwrap_or((line, ""));
        let mut words = fact.split_whitespace();
        let place = Place::read(words.next().unwrap());
        let word = words.next().unwrap();
        let marks: Vec<&str> = words.collect();
        let fact = (word != "skip").then(|| Fact {
            value_type: Type::of(word),
            required: Some(marks.contains(&"required"))
                .filter(|is| place.attribute.is_some() && (*is || word != "any")),
            name: marks.contains(&"name"),
            refers: to.split_whitespace().map(Place::read).collect(),
        });
        known.add(place, fact);
    }
    known
}
