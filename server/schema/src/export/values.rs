//! Values in the datatypes of XML Schema, which RELAX NG uses too.

use dialect::{
    Bounds, ColourNotation, Dialect, IndexPathNotation, ItemType, ListRule, Notation, Separator,
    ValueType, Word,
};

/// A simple type.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Data {
    pub(super) form: Form,
    /// What it may be besides.
    pub(super) besides: Vec<Word>,
    /// Whether it may be empty although its form may not.
    pub(super) or_empty: bool,
    /// What it does not say, as sentences without full stop.
    pub(super) lost: Vec<&'static str>,
}

impl Data {
    /// Whether its form says it all.
    pub(super) fn is_plain(&self) -> bool {
        !self.or_empty && self.besides.is_empty()
    }
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Form {
    /// A datatype of XML Schema with facets.
    Type {
        base: &'static str,
        facets: Vec<(&'static str, String)>,
    },
    /// One of these words.
    Words(Vec<Word>),
    /// A list separated by white space.
    List {
        item: Box<Form>,
        min: u32,
        max: Option<u32>,
    },
}

/// What a value of this type may be. `besides`: what it may say although that is not of the type. `filled`: whether it
/// must not be empty; None: what is there is checked.
pub(super) fn data(
    dialect: &Dialect,
    value: &ValueType,
    besides: &[String],
    filled: Option<bool>,
) -> Data {
    let mut lost = Vec::new();
    let form = match &value.list {
        Some(list) => list_form(dialect, &value.item, list, &mut lost),
        None => item_form(dialect, &value.item, &mut lost),
    };
    let is_text = form == plain("string");
    let (empty, besides): (Vec<&String>, Vec<&String>) =
        besides.iter().partition(|text| text.trim().is_empty());
    let filled = match empty.is_empty() {
        true => filled,
        false => Some(false),
    };
    Data {
        besides: besides.into_iter().map(|text| collapsed(text)).collect(),
        or_empty: filled == Some(false) && !is_text && !accepts_empty(&form),
        form: match filled {
            // White space of a token is collapsed, so that it must hold something else.
            Some(true) if is_text => something(),
            _ => form,
        },
        lost,
    }
}

/// A word whose white space is as in a token, which tells words apart as documents' readers do.
fn collapsed(text: &str) -> Word {
    Word {
        text: text.split_whitespace().collect::<Vec<_>>().join(" "),
        doc: String::new(),
    }
}

fn accepts_empty(form: &Form) -> bool {
    match form {
        Form::List { min, .. } => *min == 0,
        Form::Words(words) => words.iter().any(|word| word.text.is_empty()),
        Form::Type { base, facets } => *base == "string" && facets.is_empty(),
    }
}

fn plain(base: &'static str) -> Form {
    typed(base, Vec::new())
}

fn typed(base: &'static str, facets: Vec<(&'static str, String)>) -> Form {
    Form::Type { base, facets }
}

/// What a pattern fits that does not fit nothing at all; so that this is easier to see, it is said too.
fn patterned(pattern: String) -> Form {
    let filled = ("minLength", "1".to_owned());
    typed("token", vec![("pattern", pattern), filled])
}

/// Some text.
fn something() -> Form {
    typed("token", vec![("minLength", "1".to_owned())])
}

fn item_form(dialect: &Dialect, item: &ItemType, lost: &mut Vec<&'static str>) -> Form {
    let notation = &dialect.notation;
    match item {
        ItemType::Text => plain("string"),
        ItemType::Boolean { yes, no } => boolean(yes, no),
        ItemType::Integer { range } => typed("integer", whole_bounds(range)),
        ItemType::Number { range, .. } => number(notation, range, lost),
        ItemType::Vector {
            count,
            separator: Separator::WhiteSpace,
            range,
            ..
        } if has_points(notation) => Form::List {
            item: Box::new(number(notation, range, lost)),
            min: *count,
            max: Some(*count),
        },
        ItemType::Vector { range, .. } => {
            if !range.is_open() {
                lost.push("the range of numbers in this notation is not checked");
            }
            patterned(pattern(dialect, item).unwrap_or_default())
        }
        ItemType::Word(list) => words(list.words.clone()),
        ItemType::PositionOf { first, .. } => {
            lost.push("that there is a thing at this position is not checked");
            typed("integer", vec![("minInclusive", first.to_string())])
        }
        ItemType::Node {
            aliases,
            index_path,
            node_name,
        } => {
            lost.push("that there is such a node is not checked");
            match aliases.is_empty() && *index_path && !*node_name {
                true => patterned(index_path_pattern(&notation.index_path)),
                false => something(),
            }
        }
        ItemType::Input(kind) => {
            let inputs = &dialect.inputs;
            let all = match kind {
                Some(kind) => inputs.of(*kind).words.clone(),
                None => [inputs.analog.words.clone(), inputs.digital.words.clone()].concat(),
            };
            match all.is_empty() {
                true => something(),
                false => words(all),
            }
        }
        ItemType::NameOf(_) | ItemType::Reference(_) => something(),
        ItemType::File { .. } => {
            lost.push("that there is such a file is not checked");
            match pattern(dialect, item) {
                Some(pattern) => patterned(pattern),
                None => something(),
            }
        }
        ItemType::Colour(notation) => {
            if let ColourNotation::Row { .. } = notation {
                lost.push("the range of the numbers of colours is not checked");
            }
            patterned(pattern(dialect, item).unwrap_or_default())
        }
        ItemType::IndexPath | ItemType::MovedValue { .. } => {
            patterned(pattern(dialect, item).unwrap_or_default())
        }
    }
}

fn list_form(
    dialect: &Dialect,
    item: &ItemType,
    list: &ListRule,
    lost: &mut Vec<&'static str>,
) -> Form {
    let form = match item {
        // Members are told apart by white space, so that each of them says something.
        ItemType::Text => something(),
        item => item_form(dialect, item, lost),
    };
    if list.separator == Separator::WhiteSpace {
        match form {
            // Vectors in a row, separated like their numbers: told apart by count.
            Form::List {
                item,
                min: count,
                max: Some(_),
            } => {
                lost.push("that the numbers make up whole vectors is not checked");
                return Form::List {
                    item,
                    min: list.min.saturating_mul(count),
                    max: list.max.and_then(|max| max.checked_mul(count)),
                };
            }
            Form::Words(ref words)
                if words
                    .iter()
                    .any(|word| word.text.contains(char::is_whitespace)) => {}
            Form::Type { .. }
                if matches!(item, ItemType::Vector { .. } | ItemType::MovedValue { .. }) => {}
            form => {
                return Form::List {
                    item: Box::new(form),
                    min: list.min,
                    max: list.max,
                };
            }
        }
    }
    if has_range(item) {
        lost.push("the range of numbers in such a list is not checked");
    }
    let Some(one) = pattern(dialect, item) else {
        lost.push("the members of such a list are not checked");
        return match list.min {
            0 => plain("string"),
            _ => something(),
        };
    };
    let next = format!("{}({one})", separator(&list.separator));
    let more = |count: u32| count.saturating_sub(1);
    let count = match list.max {
        Some(max) => format!("{{{},{}}}", more(list.min), more(max.max(1))),
        None => format!("{{{},}}", more(list.min)),
    };
    let whole = format!("({one})({next}){count}");
    match list.min {
        0 => typed("token", vec![("pattern", format!("({whole})?"))]),
        _ => patterned(whole),
    }
}

fn has_range(item: &ItemType) -> bool {
    match item {
        ItemType::Integer { range }
        | ItemType::Number { range, .. }
        | ItemType::Vector { range, .. } => !range.is_open(),
        _ => false,
    }
}

/// Whether numbers are written as XML Schema writes them.
fn has_points(notation: &Notation) -> bool {
    notation.numbers.decimal_marks == ['.']
}

/// Without `INF` and `NaN`, which are no numbers in a dialect.
fn number(notation: &Notation, range: &Bounds, lost: &mut Vec<&'static str>) -> Form {
    let pattern = ("pattern", number_pattern(notation));
    if has_points(notation) {
        let facets = std::iter::once(pattern).chain(bounds(range));
        return typed("double", facets.collect());
    }
    if !range.is_open() {
        lost.push("the range of numbers in this notation is not checked");
    }
    patterned(pattern.1)
}

fn bounds(range: &Bounds) -> Vec<(&'static str, String)> {
    let low = range.min.map(|min| match range.above {
        true => ("minExclusive", min.to_string()),
        false => ("minInclusive", min.to_string()),
    });
    let high = range.max.map(|max| match range.below {
        true => ("maxExclusive", max.to_string()),
        false => ("maxInclusive", max.to_string()),
    });
    low.into_iter().chain(high).collect()
}

/// Bounds of whole numbers, whole themselves.
fn whole_bounds(range: &Bounds) -> Vec<(&'static str, String)> {
    let mut whole = range.clone();
    if let Some(min) = range.min.filter(|min| min.fract() != 0.0) {
        (whole.min, whole.above) = (Some(min.ceil()), false);
    }
    if let Some(max) = range.max.filter(|max| max.fract() != 0.0) {
        (whole.max, whole.below) = (Some(max.floor()), false);
    }
    bounds(&whole)
}

fn boolean(yes: &[String], no: &[String]) -> Form {
    let all_of =
        |words: &[String], own: [&str; 2]| words.iter().all(|word| own.contains(&word.as_str()));
    if all_of(yes, ["true", "1"]) && all_of(no, ["false", "0"]) {
        let facets = match yes.len() + no.len() {
            4 => Vec::new(),
            _ => vec![("pattern", one_of(yes.iter().chain(no).map(String::as_str)))],
        };
        return typed("boolean", facets);
    }
    let all = yes.iter().chain(no).map(|word| Word {
        text: word.clone(),
        doc: String::new(),
    });
    words(all.collect())
}

fn words(words: Vec<Word>) -> Form {
    Form::Words(words)
}

/// A regular expression of XML Schema for an item; None if it could be anything.
fn pattern(dialect: &Dialect, item: &ItemType) -> Option<String> {
    let notation = &dialect.notation;
    Some(match item {
        ItemType::Boolean { yes, no } => one_of(yes.iter().chain(no).map(String::as_str)),
        ItemType::Integer { .. } => "[+\\-]?[0-9]+".to_owned(),
        ItemType::PositionOf { .. } => "[0-9]+".to_owned(),
        ItemType::Number { .. } => number_pattern(notation),
        ItemType::Vector {
            count, separator, ..
        } => row(notation, separator, *count),
        ItemType::MovedValue { separator, .. } => {
            let answers = notation.yes.iter().chain(&notation.no).map(String::as_str);
            format!("{}|{}", row(notation, separator, 3), one_of(answers))
        }
        ItemType::Colour(ColourNotation::Hex { mark }) => {
            format!("{}[0-9a-fA-F]{{6}}([0-9a-fA-F]{{2}})?", escaped(mark))
        }
        ItemType::Colour(ColourNotation::Row { separator, .. }) => {
            format!(
                "{}|{}",
                row(notation, separator, 3),
                row(notation, separator, 4)
            )
        }
        ItemType::Word(list) => one_of(list.texts()),
        ItemType::IndexPath => index_path_pattern(&notation.index_path),
        ItemType::Node {
            aliases,
            index_path: true,
            node_name: false,
        } if aliases.is_empty() => index_path_pattern(&notation.index_path),
        ItemType::Input(Some(kind)) if !dialect.inputs.is_empty() => {
            one_of(dialect.inputs.of(*kind).texts())
        }
        ItemType::Input(None) if !dialect.inputs.is_empty() => {
            let inputs = &dialect.inputs;
            one_of(inputs.analog.texts().chain(inputs.digital.texts()))
        }
        ItemType::File { extensions } if !extensions.is_empty() => {
            let any_case = |c: char| {
                format!(
                    "[{}{}]",
                    escaped_in_class(c.to_lowercase()),
                    escaped_in_class(c.to_uppercase())
                )
            };
            let ends: Vec<String> = extensions
                .iter()
                .map(|end| end.chars().map(any_case).collect())
                .collect();
            format!(r".*\.({})", ends.join("|"))
        }
        ItemType::Text
        | ItemType::NameOf(_)
        | ItemType::Reference(_)
        | ItemType::Node { .. }
        | ItemType::File { .. }
        | ItemType::Input(_) => return None,
    })
}

fn number_pattern(notation: &Notation) -> String {
    let marks = escaped_in_class(notation.numbers.decimal_marks.iter().copied());
    format!("[+\\-]?([0-9]+([{marks}][0-9]*)?|[{marks}][0-9]+)([eE][+\\-]?[0-9]+)?")
}

fn row(notation: &Notation, between: &Separator, count: u32) -> String {
    let number = number_pattern(notation);
    let more = count.saturating_sub(1);
    format!("{number}({}{number}){{{more}}}", separator(between))
}

fn separator(separator: &Separator) -> String {
    match separator {
        Separator::WhiteSpace => r"\s+".to_owned(),
        Separator::Text(mark) => format!(r"\s*{}\s*", escaped(mark)),
    }
}

fn index_path_pattern(path: &IndexPathNotation) -> String {
    let (mark, after, next) = (
        escaped(&path.root_mark),
        escaped(&path.after_root),
        escaped(&path.separator),
    );
    if !path.root_number {
        let below = format!("({after})?[0-9]+({next}[0-9]+)*");
        return match path.root_mark.is_empty() {
            true => below,
            false => format!("{mark}({after}|{below})?"),
        };
    }
    let open_end = match path.after_root_always || path.after_root != path.separator {
        true => "?",
        false => "",
    };
    let below = format!("[0-9]+({next}[0-9]+)*");
    match open_end {
        "?" => format!("{mark}[0-9]+({after}({below})?)?"),
        _ => format!("{mark}[0-9]+({after}{below})?"),
    }
}

fn one_of<'w>(words: impl Iterator<Item = &'w str>) -> String {
    let words: Vec<String> = words.map(escaped).collect();
    words.join("|")
}

/// A text as a regular expression of XML Schema (part 2, appendix F).
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if r"\|.?*+(){}-[]^".contains(c) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

fn escaped_in_class(chars: impl Iterator<Item = char>) -> String {
    let mut out = String::new();
    for c in chars {
        if r"\-[]^".contains(c) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}
