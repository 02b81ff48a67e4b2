//! Markup without children: comments, CDATA sections, processing instructions, the XML declaration.

use std::ops::Range;

use memchr::{memchr, memchr3, memmem};

use crate::TextEdit;
use crate::chars::{self, is_space, shown};
use crate::error::{Fix, FormCode, FormError};
use crate::tag::{range, size};

/// One piece of markup: where it ends, what is wrong with it, and how far the text was read to find its end if that
/// is farther than the end (else 0).
#[derive(Debug)]
pub(crate) struct Markup {
    pub(crate) end: usize,
    pub(crate) errors: Vec<FormError>,
    pub(crate) read_to: usize,
}

impl Markup {
    fn ends_at(end: usize) -> Self {
        Self {
            end,
            errors: Vec::new(),
            read_to: 0,
        }
    }

    fn with(mut self, error: FormError) -> Self {
        self.errors.push(error);
        self
    }
}

/// Closing words that are known not to come any more: nobody needs to look for them twice.
#[derive(Debug, Default)]
pub(crate) struct Missing {
    cdata_end: bool,
    instruction_end: bool,
}

/// Finds `word` at or behind `from`, unless it is known to be missing.
fn find(text: &str, from: usize, word: &str, missing: &mut bool) -> Option<usize> {
    if *missing {
        return None;
    }
    let found = memmem::find(&text.as_bytes()[from..], word.as_bytes()).map(|found| from + found);
    *missing = found.is_none();
    found
}

/// Markup that has no end is taken to end with its line, or before `stop`, so that what follows keeps its meaning.
fn unclosed(
    text: &str,
    span: Range<usize>,
    code: FormCode,
    what: &str,
    close: &str,
    read_to: usize,
) -> Markup {
    let bytes = &text.as_bytes()[..span.end];
    let start = span.start;
    let end = chars::trim_end(bytes, start, chars::line_end(bytes, start));
    let error = FormError::new(
        code,
        range(start, end),
        format!("This {what} is not closed. Write `{close}` where it ends"),
    );
    let insert = TextEdit::insert(size(end), format!(" {close}"));
    Markup {
        end,
        errors: vec![error.with_fix(format!("Add `{close}`"), vec![insert])],
        read_to,
    }
}

/// The comment at `start`, where `<!--` stands.
pub(crate) fn comment(text: &str, start: usize) -> Markup {
    let bytes = text.as_bytes();
    let inner = start + 4;
    let mut dashes = None;
    let mut at = inner;
    loop {
        let Some(place) = double_hyphens(bytes, at).next() else {
            return unclosed_comment(text, start, bytes.len(), bytes.len() + 1);
        };
        if bytes.get(place + 2) == Some(&b'>') {
            let markup = Markup::ends_at(place + 3);
            return match dashes {
                None => markup,
                Some(dashes) => markup.with(double_hyphen(bytes, dashes)),
            };
        }
        if place >= inner + 2 && bytes[place - 2..place] == *b"<!" {
            return unclosed_comment(text, start, place - 2, place + 3);
        }
        dashes = dashes.or(Some(place));
        at = place + 1;
    }
}

/// Where two hyphens stand at or behind `from`. Most comments are short, and a search for a word takes longer to get
/// ready.
fn double_hyphens(bytes: &[u8], from: usize) -> impl Iterator<Item = usize> {
    let hyphens = memchr::memchr_iter(b'-', &bytes[from..]).map(move |found| from + found);
    hyphens.filter(|at| bytes.get(at + 1) == Some(&b'-'))
}

/// The comment at `start` that lacks its `!`, if `<--` stands there and `-->` follows before other markup. Else how far
/// the text was read to know that.
pub(crate) fn comment_without_mark(text: &str, start: usize) -> Result<Markup, usize> {
    let inner = match text[start..].strip_prefix("<--") {
        Some(inner) => inner,
        None => return Err(start + 4),
    };
    let next = memchr(b'<', inner.as_bytes()).unwrap_or(inner.len());
    let Some(found) = memmem::find(&inner.as_bytes()[..next], b"-->") else {
        return Err(start + 3 + next + 1);
    };
    let error = FormError::new(
        FormCode::BadComment,
        range(start, start + 3),
        "A comment starts with `<!--`: the `!` is missing",
    );
    let insert = TextEdit::insert(size(start + 1), "!");
    Ok(Markup::ends_at(start + 3 + found + 3).with(error.with_fix("Write `<!--`", vec![insert])))
}

/// A comment without an end ends before the next one, which starts at `next`.
fn unclosed_comment(text: &str, start: usize, next: usize, read_to: usize) -> Markup {
    unclosed(
        text,
        start..next,
        FormCode::UnclosedComment,
        "comment",
        "-->",
        read_to,
    )
}

fn double_hyphen(bytes: &[u8], start: usize) -> FormError {
    let mut end = start;
    while bytes.get(end) == Some(&b'-') {
        end += 1;
    }
    let error = FormError::new(
        FormCode::BadComment,
        range(start, end),
        "`--` may not stand in a comment. Write `- -` or another sign",
    );
    if bytes.get(end) == Some(&b'>') {
        // `--->`: one hyphen too many before the end.
        let extra = range(start, end - 2);
        return error.with_fix("Remove the extra hyphens", vec![TextEdit::delete(extra)]);
    }
    let apart = vec!["-"; end - start].join(" ");
    let replacement = TextEdit::replace(range(start, end), apart);
    error.with_fix("Put spaces between the hyphens", vec![replacement])
}

/// The CDATA section at `start`, where `<![CDATA[` stands.
pub(crate) fn cdata(text: &str, start: usize, missing: &mut Missing) -> Markup {
    match find(text, start + 9, "]]>", &mut missing.cdata_end) {
        Some(found) => Markup::ends_at(found + 3),
        None => {
            let span = start..text.len();
            unclosed(
                text,
                span,
                FormCode::BadCdata,
                "CDATA section",
                "]]>",
                text.len() + 1,
            )
        }
    }
}

/// The processing instruction or XML declaration at `start`, where `<?` stands.
pub(crate) fn instruction(text: &str, start: usize, missing: &mut Missing) -> Markup {
    let bytes = text.as_bytes();
    let name_end = chars::name_end(text, start + 2);
    let target = &text[start + 2..name_end];
    let Some(found) = find(text, start + 2, "?>", &mut missing.instruction_end) else {
        return unclosed_instruction(text, start, text.len() + 1);
    };
    let end = found + 2;
    let markup = Markup::ends_at(end);
    let whole = range(start, name_end.max(start + 2));
    if target.is_empty() {
        return markup.with(FormError::new(
            FormCode::BadInstruction,
            whole,
            "This processing instruction has no target. Write a name directly behind `<?`",
        ));
    }
    if target.eq_ignore_ascii_case("xml") {
        let message = if target == "xml" {
            "The XML declaration must stand at the very start of the file. Move it there, or remove it"
        } else {
            "Instructions may not be called `xml`, in whatever case. Choose another name"
        };
        let code = if target == "xml" {
            FormCode::LateDeclaration
        } else {
            FormCode::BadInstruction
        };
        return markup.with(
            FormError::new(code, whole, message)
                .with_fix("Remove it", vec![TextEdit::delete(range(start, end))]),
        );
    }
    if name_end != end - 2 && !is_space(bytes[name_end]) {
        return markup.with(FormError::new(
            FormCode::BadInstruction,
            whole,
            format!(
                "Between the target `{}` and what follows there must be white space",
                shown(target)
            ),
        ));
    }
    if target.contains(':') {
        return markup.with(FormError::new(
            FormCode::BadNamespace,
            whole,
            format!(
                "The target `{}` may not have a colon. Choose another name",
                shown(target)
            ),
        ));
    }
    markup
}

/// Ends behind a `>` on the line, if there is one, or with the line.
fn unclosed_instruction(text: &str, start: usize, read_to: usize) -> Markup {
    let bytes = text.as_bytes();
    let what = "processing instruction";
    let stop =
        memchr3(b'>', b'\n', b'\r', &bytes[start..]).map_or(bytes.len(), |found| start + found);
    let mut markup = unclosed(
        text,
        start..stop,
        FormCode::BadInstruction,
        what,
        "?>",
        read_to,
    );
    if bytes.get(stop) == Some(&b'>') {
        markup.end = stop + 1;
        for error in &mut markup.errors {
            error.range = range(start, markup.end);
            error.fix = Some(Fix {
                title: "Write `?>`".into(),
                edits: vec![TextEdit::insert(size(stop), "?")],
            });
        }
    }
    markup
}

/// Whether an XML declaration starts at `start`.
pub(crate) fn is_declaration(text: &str, start: usize) -> bool {
    text[start..].starts_with("<?xml")
        && text
            .as_bytes()
            .get(start + 5)
            .is_none_or(|&b| is_space(b) || b == b'?')
}

/// The XML declaration at `start`, which is the start of the document (productions 23 to 32).
pub(crate) fn declaration(text: &str, start: usize) -> Markup {
    let bytes = text.as_bytes();
    // A declaration holds no `<`: what has one before its end is not closed.
    let next_tag = memchr(b'<', &bytes[start + 1..]).map_or(bytes.len(), |found| start + 1 + found);
    let Some(found) = memmem::find(&bytes[start..next_tag], b"?>") else {
        let mut markup = unclosed_instruction(text, start, next_tag + 1);
        for error in &mut markup.errors {
            error.code = FormCode::BadDeclaration;
            error.message = "The XML declaration is not closed. Write `?>` where it ends".into();
        }
        return markup;
    };
    let end = start + found + 2;
    let markup = Markup::ends_at(end);
    match declaration_fault(text, start + 5, end - 2) {
        None => markup,
        Some((place, message)) => {
            let place = place.clamp(start, end - 1);
            let to = (place + 1..end)
                .find(|&at| text.is_char_boundary(at))
                .unwrap_or(end);
            markup.with(
                FormError::new(
                    FormCode::BadDeclaration,
                    range(place, to),
                    format!("{message}. A usual declaration is `<?xml version=\"1.0\" encoding=\"UTF-8\"?>`"),
                )
                .with_fix(
                    "Write the usual declaration",
                    vec![TextEdit::replace(
                        range(start, end),
                        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>",
                    )],
                ),
            )
        }
    }
}

/// What is wrong in the declaration whose parts stand between `start` and `end`.
fn declaration_fault(text: &str, start: usize, end: usize) -> Option<(usize, String)> {
    let bytes = &text.as_bytes()[..end];
    let mut at = start;
    let mut expected: &[&str] = &["version", "encoding", "standalone"];
    let mut first = true;
    loop {
        let next = chars::skip_space(bytes, at);
        if next == end {
            break;
        }
        if next == at {
            return Some((at, "White space is missing here".into()));
        }
        let name_end = chars::name_end(&text[..end], next);
        let name = &text[next..name_end];
        let known = expected.iter().position(|&known| known == name);
        let Some(known) = known.filter(|&known| !first || known == 0) else {
            return Some((
                next,
                "The XML declaration holds `version`, then perhaps `encoding`, then perhaps `standalone`".into(),
            ));
        };
        expected = &expected[known + 1..];
        first = false;
        let equals = chars::skip_space(bytes, name_end);
        let open = chars::skip_space(bytes, equals + 1);
        let quoted =
            bytes.get(equals) == Some(&b'=') && matches!(bytes.get(open), Some(b'"' | b'\''));
        let close = quoted
            .then(|| memchr(bytes[open], &bytes[open + 1..]))
            .flatten();
        let Some(close) = close.map(|found| open + 1 + found) else {
            return Some((next, format!("`{name}` needs a value in quotes")));
        };
        let value = &text[open + 1..close];
        let good = match name {
            "version" => value.strip_prefix("1.").is_some_and(|minor| {
                !minor.is_empty() && minor.bytes().all(|b| b.is_ascii_digit())
            }),
            "encoding" => {
                value.starts_with(|c: char| c.is_ascii_alphabetic())
                    && value
                        .bytes()
                        .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'_' | b'-'))
            }
            _ => matches!(value, "yes" | "no"),
        };
        if !good {
            return Some((open, format!("`{}` is no {name}", shown(value))));
        }
        at = close + 1;
    }
    first.then(|| (start, "The XML declaration has no `version`".into()))
}

/// Whether the document whose declaration is `text` says that nothing outside matters.
pub(crate) fn is_standalone(declaration: &str) -> bool {
    declaration
        .split_once("standalone")
        .and_then(|(_, rest)| rest.trim_start().strip_prefix('='))
        .is_some_and(|rest| rest.trim_start().get(1..4) == Some("yes"))
}

/// Markup that starts with `<!` and is no comment, CDATA section or DOCTYPE.
pub(crate) fn broken(text: &str, start: usize) -> Markup {
    let bytes = text.as_bytes();
    let mut end = start + 2;
    while end < bytes.len()
        && (bytes[end].is_ascii_alphabetic() || matches!(bytes[end], b'-' | b'['))
    {
        end += 1;
    }
    let word = &text[start + 2..end];
    let declaration = matches!(word, "ELEMENT" | "ATTLIST" | "ENTITY" | "NOTATION");
    let stop = bytes[end..]
        .iter()
        .position(|&b| matches!(b, b'<' | b'>' | b'\n' | b'\r'))
        .map_or(bytes.len(), |found| end + found);
    if declaration && bytes.get(stop) == Some(&b'>') {
        return Markup::ends_at(stop + 1).with(FormError::new(
            FormCode::BadDeclaration,
            range(start, end),
            format!("`<!{word} …>` may only stand inside the DOCTYPE declaration. Remove it"),
        ));
    }
    let mut markup = Markup::ends_at(end).with(FormError::new(
        FormCode::UnclosedTag,
        range(start, end),
        "This starts no comment and no CDATA section. Write `<!-- … -->`, or `&lt;` for a plain `<`",
    ));
    markup.read_to = stop + 1;
    markup
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::double_hyphens;

    proptest! {
        #[test]
        fn hyphens_are_found_where_two_stand(text in "[-a>é]{0,20}") {
            let bytes = text.as_bytes();
            let pairs = |from: usize| (from + 1..bytes.len()).filter(move |at| bytes[at - 1..=*at] == *b"--");
            for from in 0..=bytes.len() {
                let found: Vec<_> = double_hyphens(bytes, from).collect();
                let expected: Vec<_> = pairs(from).map(|at| at - 1).collect();
                prop_assert_eq!(found, expected);
            }
        }
    }
}
