//! Values against their declared types.

use std::fmt::Display;

use dialect::{AttributeDecl, ControlKind, Dialect, Property, ValueFault, ValueProblem};
use syntax::{TextEdit, TextRange, TextSize};

use super::learnt;
use crate::codes::{self, Code};
use crate::finding::curtailed;
use crate::{Finding, Fix, Trust};

/// Of a longer list's mistakes the first are told: who has made so many does not mend them one by one.
const MOST_IN_ONE: usize = 100;

/// A value and where it stands.
#[derive(Debug)]
pub(super) struct Written<'t> {
    /// References resolved.
    pub(super) text: &'t str,
    /// Of the value, without quotes.
    pub(super) range: TextRange,
    /// The attribute (or the text again), to point at where the value is empty.
    pub(super) whole: TextRange,
    /// The element's name, for messages.
    pub(super) element: &'t str,
}

pub(super) fn check(
    dialect: &Dialect,
    declared: &AttributeDecl,
    written: &Written<'_>,
    property: Option<Property>,
) -> Vec<Finding> {
    let problems = dialect.check_value(&declared.value, written.text, property);
    // A value that cannot be read at all is one mistake, however many of its numbers are wrong.
    let first_unreadable = problems
        .iter()
        .position(|problem| matches!(problem.fault, ValueFault::WrongType { .. }));
    let reported = problems.iter().enumerate().filter(|(at, problem)| {
        !matches!(problem.fault, ValueFault::WrongType { .. })
            || declared.value.list.is_some()
            || Some(*at) == first_unreadable
    });
    let repaired =
        first_unreadable.and_then(|_| repaired(dialect, declared, written.text, property));
    reported
        .take(MOST_IN_ONE)
        .map(|(_, problem)| finding(declared, written, repaired.as_deref(), problem))
        .collect()
}

/// `repaired`: the whole value as it may have been meant.
fn finding(
    declared: &AttributeDecl,
    written: &Written<'_>,
    repaired: Option<&str>,
    problem: &ValueProblem,
) -> Finding {
    let place = place(written, problem);
    let text = written.text.get(problem.range.clone()).unwrap_or_default();
    let text = &curtailed(text);
    // Of a longer value a blank may be what is wrong.
    let found = match text.is_empty() || written.text.trim_ascii().is_empty() {
        true => EMPTY.to_owned(),
        false => format!("`{text}`"),
    };
    let what = value_name(declared);
    match &problem.fault {
        ValueFault::WrongType { expected } => {
            let finding = at(
                &codes::WRONG_TYPE,
                declared,
                place,
                format!("{found} does not fit here: {what} must be {expected}."),
            );
            match repaired {
                Some(value) => finding.fix(replace(written.range, value, Trust::Safe)),
                None => finding,
            }
        }
        ValueFault::OutOfRange { expected, nearest } => {
            let finding = at(
                &codes::OUT_OF_RANGE,
                declared,
                place,
                format!("{found} is out of range: {what} must be {expected}."),
            );
            match nearest {
                Some(nearest) => finding.fix(replace(place, nearest, Trust::Review)),
                None => finding,
            }
        }
        ValueFault::UnknownWord {
            word,
            allowed,
            nearest,
        } => unknown_word(declared, place, word, allowed, nearest.as_deref()),
        ValueFault::WrongInputKind { expected } => at(
            &codes::WRONG_INPUT_KIND,
            declared,
            place,
            wrong_input_kind(text, written.element, *expected),
        ),
        ValueFault::WrongCount { expected, found } => {
            let what = match what.strip_prefix("the ") {
                Some(what) => format!("The {what}"),
                None => what,
            };
            let message = format!("{what} holds {found}, but needs {expected}.");
            at(&codes::WRONG_TYPE, declared, place, message)
        }
    }
}

/// In place of the value in a message.
const EMPTY: &str = "An empty value";

fn unknown_word(
    declared: &AttributeDecl,
    place: TextRange,
    word: &str,
    allowed: &[String],
    nearest: Option<&str>,
) -> Finding {
    let suggestion =
        nearest.and_then(|_| super::suggest::nearest(word, allowed.iter().map(String::as_str)));
    let hint = match suggestion {
        Some(suggestion) => suggestion.question(),
        None => format!(" It can be {}.", one_of(allowed.iter())),
    };
    let found = match word.trim_ascii().is_empty() {
        true => EMPTY.to_owned(),
        false => format!("`{}`", curtailed(word)),
    };
    let what = value_name(declared);
    let message = format!("{found} is no known word for {what}.{hint}");
    let finding = at(&codes::UNKNOWN_WORD, declared, place, message);
    match suggestion {
        Some(suggestion) => finding.fix(replace(place, suggestion.word, suggestion.trust)),
        None => finding,
    }
}

pub(super) fn wrong_input_kind(input: &str, element: &str, expected: ControlKind) -> String {
    let (is, needs) = match expected {
        ControlKind::Analog => ("a button", "an analog input (an axis)"),
        ControlKind::Digital => ("an axis", "a digital input (a button)"),
    };
    format!("`{input}` is {is}, but `<{element}>` needs {needs}.")
}

/// A value that only another habit of writing keeps from being right: a decimal mark, upper case, blanks.
fn repaired(
    dialect: &Dialect,
    declared: &AttributeDecl,
    text: &str,
    property: Option<Property>,
) -> Option<String> {
    let mark = dialect
        .notation
        .numbers
        .decimal_marks
        .first()
        .copied()
        .unwrap_or('.');
    let other = if mark == ',' { "." } else { "," };
    // Made one by one, and only what differs: a value may be as long as the document.
    let marked = text
        .contains(other)
        .then(|| text.replace(other, &mark.to_string()));
    let fits = |candidate: &String| {
        dialect
            .check_value(&declared.value, candidate, property)
            .is_empty()
    };
    marked.filter(fits).or_else(|| {
        text.contains(char::is_uppercase)
            .then(|| text.to_lowercase())
            .filter(fits)
    })
}

/// The part of the document that a problem is about. A value with references in it cannot be cut up by offsets.
fn place(written: &Written<'_>, problem: &ValueProblem) -> TextRange {
    if written.text.trim_ascii().is_empty() {
        return written.whole;
    }
    let size = |at: usize| TextSize::new(u32::try_from(at).unwrap_or(u32::MAX));
    let is_plain = usize::from(written.range.len()) == written.text.len();
    if is_plain && problem.range.end <= written.text.len() && !problem.range.is_empty() {
        TextRange::new(size(problem.range.start), size(problem.range.end)) + written.range.start()
    } else {
        written.range
    }
}

fn at(code: &'static Code, declared: &AttributeDecl, place: TextRange, message: String) -> Finding {
    learnt::by_value(code.at(place, message), declared)
}

fn replace(range: TextRange, insert: &str, trust: Trust) -> Fix {
    Fix {
        title: format!("Write `{insert}`"),
        trust,
        edits: vec![TextEdit::replace(range, super::escaped(insert))],
    }
}

/// What a value is called in a message. A text has no name of its own.
fn value_name(declared: &AttributeDecl) -> String {
    if declared.name.ends_with("()") {
        "the text".to_owned()
    } else {
        format!("`{}`", declared.name)
    }
}

/// "`a`, `b` or `c`", or the first few of many.
pub(super) fn one_of(words: impl ExactSizeIterator<Item: Display>) -> String {
    const MOST: usize = 12;
    let count = words.len();
    let quoted: Vec<String> = words.take(MOST).map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        None => "nothing".to_owned(),
        Some((only, [])) => only.clone(),
        Some(_) if count > MOST => {
            format!("{} and {} more", quoted.join(", "), count - MOST)
        }
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}
