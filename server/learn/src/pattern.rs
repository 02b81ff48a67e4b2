//! What several elements that do the same have in common: their least general generalisation
//! (Plotkin 1970, Reynolds 1970), with counts.
//!
//! Where all say the same, the pattern says it too. Where they differ it has a variable; values
//! that differ in the same way have the same variable. Of these only those are looked for that
//! are tied to a value the role of the elements reads (its *bound* values): `a` in
//! `plays="a" text="say.a"`. Elements are no strict terms: what only most of them have is a part
//! of the pattern, with the number of those that have it.

/// An element as an example.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Term {
    pub name: String,
    /// In the order of the document.
    pub values: Vec<(Slot, Value)>,
    pub children: Vec<Term>,
}

/// Where a value stands: an attribute's name, or None for the text.
pub type Slot = Option<String>;

/// A value of an example.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value {
    Text(String),
    /// What the role reads: whoever writes such an element knows it.
    Bound,
}

/// An element with what the role reads in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Example {
    pub term: Term,
    /// In the same order in all examples; None where this one has no such value.
    pub bound: Vec<Option<String>>,
}

/// What elements of one name have in common.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pattern {
    pub name: String,
    /// How many elements show it.
    pub seen: u32,
    /// In their usual order.
    pub values: Vec<ValuePattern>,
    pub children: Vec<ChildPattern>,
}

/// What usually stands in one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValuePattern {
    pub slot: Slot,
    /// How many elements have something there.
    pub seen: u32,
    pub form: Form,
}

/// The form of a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// The role reads it.
    Bound,
    /// More than half say this.
    Usual(String),
    /// All say what is bound at this index, with the same around it.
    Tied {
        to: usize,
        before: String,
        after: String,
    },
    /// They differ; this is said as often as anything.
    Differs(String),
}

/// Children of one name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChildPattern {
    /// How many elements have such a child, or several.
    pub seen: u32,
    pub pattern: Pattern,
}

impl Pattern {
    /// What the examples have in common; they have the same name.
    pub fn of(examples: &[Example]) -> Self {
        let terms: Vec<Seen<'_>> = examples
            .iter()
            .map(|example| (&example.term, example.bound.as_slice()))
            .collect();
        generalised(&terms, DEEPEST)
    }

    /// Whether more than half of the elements that show this pattern are `seen`.
    pub fn is_usual(&self, seen: u32) -> bool {
        seen * 2 > self.seen
    }

    /// Whether the role reads something in it.
    pub fn is_bound(&self) -> bool {
        let mut open = vec![self];
        while let Some(pattern) = open.pop() {
            if pattern.values.iter().any(|value| value.form == Form::Bound) {
                return true;
            }
            open.extend(pattern.children.iter().map(|child| &child.pattern));
        }
        false
    }

    /// What is known of a value of the element that steps down lead to.
    pub fn value(&self, steps: &[&str], slot: &Slot) -> Option<&ValuePattern> {
        let mut here = self;
        for step in steps {
            let child = here
                .children
                .iter()
                .find(|child| child.pattern.name == *step)?;
            here = &child.pattern;
        }
        here.values.iter().find(|value| value.slot == *slot)
    }

    /// The names of attributes and children in their usual order.
    pub fn order(&self) -> Vec<String> {
        let attributes = self.values.iter().filter_map(|value| value.slot.clone());
        let children = self.children.iter().map(|child| child.pattern.name.clone());
        attributes.chain(children).collect()
    }
}

/// A construct is not looked into any deeper.
const DEEPEST: usize = 8;

/// A term, and what is bound in the example it belongs to.
type Seen<'e> = (&'e Term, &'e [Option<String>]);

fn generalised<'e>(terms: &[Seen<'e>], depth: usize) -> Pattern {
    let slots = in_usual_order(terms, |term| {
        term.values.iter().map(|(slot, _)| slot).collect()
    });
    let names = in_usual_order(terms, |term| {
        term.children.iter().map(|child| &child.name).collect()
    });
    let values = slots.into_iter().map(|slot| value_pattern(terms, slot));
    let names = names.into_iter().filter(|_| depth > 0);
    let children = names.map(|name| {
        let own = |term: &'e Term| {
            term.children
                .iter()
                .filter(move |child| child.name == *name)
        };
        let seen = terms.iter().filter(|(term, _)| own(term).next().is_some());
        let all: Vec<Seen<'e>> = terms
            .iter()
            .flat_map(|(term, bound)| own(term).map(|child| (child, *bound)))
            .collect();
        ChildPattern {
            seen: count(seen.count()),
            pattern: generalised(&all, depth - 1),
        }
    });
    Pattern {
        name: terms
            .first()
            .map(|(term, _)| term.name.clone())
            .unwrap_or_default(),
        seen: count(terms.len()),
        values: values.collect(),
        children: children.collect(),
    }
}

/// What the terms have, each once, ordered by where it stands in them on average.
fn in_usual_order<'e, T: PartialEq>(
    terms: &[Seen<'e>],
    list: impl Fn(&'e Term) -> Vec<&'e T>,
) -> Vec<&'e T> {
    // Of each: the sum of its places, as parts of the whole list, and how often it was met.
    let mut met: Vec<(&T, f64, f64)> = Vec::new();
    for (term, _) in terms {
        let own = list(term);
        for (at, one) in own.iter().enumerate() {
            let place = (at as f64 + 0.5) / own.len() as f64;
            match met.iter_mut().find(|(known, ..)| known == one) {
                Some((_, sum, times)) => (*sum, *times) = (*sum + place, *times + 1.0),
                None => met.push((*one, place, 1.0)),
            }
        }
    }
    met.sort_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2)));
    met.into_iter().map(|(one, ..)| one).collect()
}

fn value_pattern(terms: &[Seen<'_>], slot: &Slot) -> ValuePattern {
    let mut values: Vec<(&str, &[Option<String>])> = Vec::new();
    let (mut seen, mut is_bound) = (0, false);
    for (term, bound) in terms {
        for (_, value) in term.values.iter().filter(|(own, _)| own == slot) {
            seen += 1;
            match value {
                Value::Text(text) => values.push((text, bound)),
                Value::Bound => is_bound = true,
            }
        }
    }
    let form = match is_bound {
        true => Form::Bound,
        false => tied(&values).unwrap_or_else(|| most_usual(&values)),
    };
    ValuePattern {
        slot: slot.clone(),
        seen,
        form,
    }
}

fn most_usual(values: &[(&str, &[Option<String>])]) -> Form {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for (value, _) in values {
        match counts.iter_mut().find(|(known, _)| known == value) {
            Some((_, count)) => *count += 1,
            None => counts.push((value, 1)),
        }
    }
    // Of equals the first: max_by_key would take the last.
    let most = counts.iter().rev().max_by_key(|(_, count)| *count);
    match most {
        Some((value, count)) if count * 2 > values.len() => Form::Usual((*value).to_owned()),
        Some((value, _)) => Form::Differs((*value).to_owned()),
        None => Form::Differs(String::new()),
    }
}

/// Whether all values say what is bound at the same index, with the same around it. Values
/// that are all equal are tied to nothing.
fn tied(values: &[(&str, &[Option<String>])]) -> Option<Form> {
    let ((first, bound), others) = values.split_first()?;
    if others.iter().all(|(value, _)| value == first) {
        return None;
    }
    let fits = |to: usize, before: &str, after: &str| {
        others.iter().all(|(value, bound)| {
            let own = bound.get(to).and_then(Option::as_deref);
            let inner = value.strip_prefix(before);
            let inner = inner.and_then(|rest| rest.strip_suffix(after));
            own.is_some() && inner == own
        })
    };
    for (to, own) in bound.iter().enumerate() {
        let Some(own) = own.as_deref().filter(|own| !own.is_empty()) else {
            continue;
        };
        for (at, _) in first.match_indices(own) {
            let (before, after) = (&first[..at], &first[at + own.len()..]);
            if fits(to, before, after) {
                return Some(Form::Tied {
                    to,
                    before: before.to_owned(),
                    after: after.to_owned(),
                });
            }
        }
    }
    None
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `play` is what the role reads.
    fn example(play: &str, values: &[(&str, &str)], children: Vec<Term>) -> Example {
        let text = |(name, value): &(&str, &str)| {
            (Some((*name).to_owned()), Value::Text((*value).to_owned()))
        };
        let mut term = term("grip", values, children);
        term.values = vec![(Some("play".to_owned()), Value::Bound)];
        term.values.extend(values.iter().map(text));
        Example {
            term,
            bound: vec![None, Some(play.to_owned())],
        }
    }

    fn term(name: &str, values: &[(&str, &str)], children: Vec<Term>) -> Term {
        let text = |(name, value): &(&str, &str)| {
            (Some((*name).to_owned()), Value::Text((*value).to_owned()))
        };
        Term {
            name: name.to_owned(),
            values: values.iter().map(text).collect(),
            children,
        }
    }

    fn shown(pattern: &Pattern) -> Vec<String> {
        let mut shown: Vec<String> = pattern
            .values
            .iter()
            .map(|value| {
                let name = value.slot.as_deref().unwrap_or("#text");
                format!("{name} {} {:?}", value.seen, value.form)
            })
            .collect();
        for child in &pattern.children {
            let inner = self::shown(&child.pattern).join(", ");
            shown.push(format!("<{}> {} [{inner}]", child.pattern.name, child.seen));
        }
        shown
    }

    #[test]
    fn what_is_the_same_stays_and_what_differs_is_a_variable() {
        let plate = |shape: &str| term("plate", &[("shape", shape), ("lit", "yes")], Vec::new());
        let pattern = Pattern::of(&[
            example(
                "a",
                &[("side", "left"), ("say", "go.a"), ("n", "1")],
                vec![plate("round")],
            ),
            example(
                "b",
                &[("side", "left"), ("say", "go.b"), ("n", "2")],
                vec![plate("oval"), plate("round")],
            ),
            example("c", &[("say", "go.c"), ("n", "3")], Vec::new()),
        ]);
        assert_eq!(
            shown(&pattern),
            [
                "play 3 Bound",
                "side 2 Usual(\"left\")",
                "say 3 Tied { to: 1, before: \"go.\", after: \"\" }",
                "n 3 Differs(\"1\")",
                "<plate> 2 [shape 3 Usual(\"round\"), lit 3 Usual(\"yes\")]",
            ]
        );
        assert!(pattern.is_usual(2) && !pattern.is_usual(1));
        assert!(pattern.is_bound() && !pattern.children[0].pattern.is_bound());
        assert_eq!(pattern.order(), ["play", "side", "say", "n", "plate"]);
    }

    #[test]
    fn what_is_tied_by_chance_in_one_is_not_tied() {
        let pattern = Pattern::of(&[
            example("a", &[("say", "a")], Vec::new()),
            example("b", &[("say", "a")], Vec::new()),
            example("c", &[("say", "b")], Vec::new()),
        ]);
        assert_eq!(shown(&pattern)[1], "say 3 Usual(\"a\")");
        // One alone shows nothing about what goes with what.
        let alone = Pattern::of(&[example("a", &[("say", "a")], Vec::new())]);
        assert_eq!(shown(&alone)[1], "say 1 Usual(\"a\")");
    }

    #[test]
    fn nothing_has_nothing_in_common() {
        assert_eq!(Pattern::of(&[]), Pattern::default());
    }
}
