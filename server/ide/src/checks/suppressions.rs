//! Comments that accept what the checks find:
//!
//! ```xml
//! <!-- trunnion: accept jump, still-channel because the mast drops on purpose -->
//! ```
//!
//! Such a comment stands for the element after it and all that is in it; before the root, for the whole document. It
//! says why, or it does not count.

mod comment;
mod own;

use std::cmp::Reverse;

use foldhash::HashMap;

use project::SceneState;
use syntax::{Item, Portion, TextEdit, TextRange, TextSize};

use super::MOST_FINDINGS;
use super::site::Site;
use super::suggest;
use crate::codes::{self, Code, Group};
use crate::writer::Lines;
use crate::{Finding, Fix, Trust};
use comment::{Comment, Word};

pub(crate) use own::{heading_of, with_own_comments};

/// More comments of this kind in one document are not read.
const MOST: usize = 1_000;

/// A finding that a comment accepts.
#[derive(Debug, Clone, PartialEq)]
pub struct Accepted {
    pub finding: Finding,
    /// What the comment gives as the reason.
    pub reason: String,
    pub comment: TextRange,
}

/// Whether a comment can accept what a code stands for. What is not well-formed cannot be read by others, whatever is
/// said about it; and what cannot be read at all has no comments.
pub(crate) fn may_be_accepted(code: &Code) -> bool {
    !matches!(code.group, Group::Form | Group::Setup | Group::Suppressions)
}

/// The comments in a portion that speak to Trunnion.
pub(super) fn comments(site: &Site<'_>, portion: &Portion) -> Vec<TextRange> {
    if portion.element().is_some() {
        return Vec::new();
    }
    let comments = site.tree().comments(portion.range);
    comments
        .filter(|comment| comment::is_addressed(comment.text()))
        .map(|comment| comment.range())
        .collect()
}

/// Takes the findings out that comments accept, and adds what is wrong with the comments. `findings`: all of the
/// document's, or the gravest of them if not `are_all`.
pub(super) fn apply(
    site: &Site<'_>,
    comments: &[TextRange],
    findings: Vec<Finding>,
    are_all: bool,
) -> (Vec<Finding>, Vec<Accepted>) {
    if comments.is_empty() {
        return (findings, Vec::new());
    }
    let mut about_comments = Vec::new();
    let mut stands: Vec<Stand<'_>> = Vec::new();
    for range in comments.iter().take(MOST) {
        read(site, *range, &mut stands, &mut about_comments);
    }
    if let Some(first) = comments.get(MOST) {
        let message = format!(
            "No more than {MOST} such comments are read in one document. Accept what is the same in many places before the element around them."
        );
        about_comments.push(codes::BAD_SUPPRESSION.at(*first, message));
    }
    let by_code = Nested::by_code(&stands);
    let is_certain = are_all && is_certain(site, &findings);
    let mut accepted = Vec::new();
    let mut left = Vec::with_capacity(findings.len());
    for finding in findings {
        let place = finding.range.start();
        let own = by_code.get(finding.code);
        let standing = own.map_or_else(Vec::new, |own| own.around(&stands, place));
        for at in &standing {
            stands[*at].is_used = true;
        }
        match standing.first() {
            Some(first) => accepted.push(Accepted {
                reason: stands[*first].reason.to_owned(),
                comment: stands[*first].comment,
                finding,
            }),
            None => left.push(finding),
        }
    }
    if is_certain {
        let unused = stands.iter().filter(|stand| !stand.is_used);
        left.extend(unused.map(|stand| stand.unused(site)));
    }
    left.extend(about_comments);
    (left, accepted)
}

/// Whether all that there is to find was found: else nobody can say that a comment accepts nothing.
fn is_certain(site: &Site<'_>, findings: &[Finding]) -> bool {
    let has_scene = matches!(
        site.meaning.scene,
        SceneState::Loaded(_) | SceneState::NotNamed
    );
    has_scene && site.tree().errors().is_empty() && findings.len() <= MOST_FINDINGS
}

/// A code that a comment accepts in some range.
struct Stand<'t> {
    code: &'static Code,
    range: TextRange,
    reason: &'t str,
    comment: TextRange,
    word: TextRange,
    /// The codes of the comment without this one, and where they all stand.
    others: Vec<&'t str>,
    list: TextRange,
    is_used: bool,
}

impl Stand<'_> {
    fn unused(&self, site: &Site<'_>) -> Finding {
        let code = self.code.name;
        let message = format!(
            "There is nothing to accept here any more: `{code}` is not found where this comment stands for."
        );
        let (title, edit) = match self.others.is_empty() {
            true => (
                "Remove the comment".to_owned(),
                removal(site.view.text(), self.comment),
            ),
            false => (
                format!("Accept `{code}` no more"),
                TextEdit::replace(self.list, self.others.join(", ")),
            ),
        };
        codes::UNUSED_SUPPRESSION.at(self.word, message).fix(Fix {
            title,
            trust: Trust::Review,
            edits: vec![edit],
        })
    }
}

/// What stands for a code, by the start of its range. Ranges of elements are in each other or apart.
struct Nested {
    stands: Vec<usize>,
    /// For each of these: the one right around it, as its place among them.
    around: Vec<Option<usize>>,
}

impl Nested {
    fn by_code<'s>(stands: &[Stand<'s>]) -> HashMap<&'static str, Self> {
        let mut by_code: HashMap<&'static str, Vec<usize>> = HashMap::default();
        for (at, stand) in stands.iter().enumerate() {
            by_code.entry(stand.code.name).or_default().push(at);
        }
        let nested = by_code.into_iter().map(|(code, mut own)| {
            let range = |at: usize| stands[at].range;
            own.sort_by_key(|at| (range(*at).start(), Reverse(range(*at).end())));
            let mut around: Vec<Option<usize>> = Vec::with_capacity(own.len());
            for (place, at) in own.iter().enumerate() {
                let mut outer = place.checked_sub(1);
                while let Some(other) =
                    outer.filter(|other| range(own[*other]).end() <= range(*at).start())
                {
                    outer = around[other];
                }
                around.push(outer);
            }
            let stands = own;
            (code, Self { stands, around })
        });
        nested.collect()
    }

    /// Those that a place is in, the outermost last.
    fn around(&self, stands: &[Stand<'_>], place: TextSize) -> Vec<usize> {
        let behind = self
            .stands
            .partition_point(|at| stands[*at].range.start() <= place);
        let mut next = behind.checked_sub(1);
        let mut found = Vec::new();
        while let Some(at) = next {
            if place < stands[self.stands[at]].range.end() {
                found.push(self.stands[at]);
            }
            next = self.around[at];
        }
        found
    }
}

/// Reads a comment: what it stands for, and what is wrong with it.
fn read<'v>(
    site: &Site<'v>,
    range: TextRange,
    stands: &mut Vec<Stand<'v>>,
    findings: &mut Vec<Finding>,
) {
    let bad = |range: TextRange, message: String| codes::BAD_SUPPRESSION.at(range, message);
    let Some(Item::Comment(comment)) = site.tree().items_at(range.start()).next() else {
        return;
    };
    let Comment { codes, reason } = match comment::read(comment.text()) {
        Ok(comment) => comment,
        Err(reason) => return findings.push(bad(range, reason)),
    };
    let place =
        |word: &Word<'_>| TextRange::at(range.start() + size(word.at), TextSize::of(word.text));
    let Some(target) = target(site, range) else {
        let message =
            "No element comes after this comment, so there is nothing that it could stand for.";
        return findings.push(bad(range, message.to_owned()));
    };
    let list = codes.first().zip(codes.last());
    let Some(list) = list.map(|(first, last)| place(first).cover(place(last))) else {
        return;
    };
    for (at, word) in codes.iter().enumerate() {
        match codes::find(word.text) {
            Some(code) if may_be_accepted(code) => stands.push(Stand {
                code,
                range: target,
                reason,
                comment: range,
                word: place(word),
                others: codes
                    .iter()
                    .enumerate()
                    .filter(|(other, _)| *other != at)
                    .map(|(_, word)| word.text)
                    .collect(),
                list,
                is_used: false,
            }),
            Some(code) => findings.push(bad(
                place(word),
                format!(
                    "`{}` cannot be accepted: what others cannot read has to be mended.",
                    code.name
                ),
            )),
            None => findings.push(unknown(place(word), word.text)),
        }
    }
}

fn unknown(place: TextRange, written: &str) -> Finding {
    let known = codes::all()
        .filter(|code| may_be_accepted(code))
        .map(|code| code.name);
    let meant = suggest::nearest(written, known.collect::<Vec<_>>());
    let question = meant.map_or_else(
        || " `trunnion explain` lists them all.".to_owned(),
        |meant| meant.question(),
    );
    let finding =
        codes::BAD_SUPPRESSION.at(place, format!("There is no code `{written}`.{question}"));
    match meant {
        Some(meant) => finding.fix(Fix {
            title: format!("Write `{}`", meant.word),
            // It makes the comment count.
            trust: Trust::Review,
            edits: vec![TextEdit::replace(place, meant.word)],
        }),
        None => finding,
    }
}

/// What a comment stands for: the element after it, or all of the document before the root.
fn target(site: &Site<'_>, comment: TextRange) -> Option<TextRange> {
    let after = site.tree().items_at(comment.start()).skip(1);
    let element = after
        .take_while(|item| match item {
            Item::Text(token) => token.text().trim().is_empty(),
            Item::CData(_) | Item::Reference(_) | Item::Error(_) | Item::TooDeep(_) => false,
            _ => true,
        })
        .find_map(Item::into_element)?;
    Some(match site.tree().root() == Some(element) {
        // Also what is told of the document's very end.
        true => TextRange::new(TextSize::new(0), TextSize::new(u32::MAX)),
        false => element.range(),
    })
}

/// Takes a comment out, with its line if nothing else is on it.
fn removal(text: &str, comment: TextRange) -> TextEdit {
    let lines = Lines::new(text);
    let is_alone = lines.indent(comment.start()).is_some()
        && lines.tail(comment.end()) == Some(lines.end(comment.end()))
        && lines
            .slice(TextRange::new(comment.end(), lines.end(comment.end())))
            .trim()
            .is_empty();
    TextEdit::delete(match is_alone {
        true => TextRange::new(lines.start(comment.start()), lines.next(comment.end())),
        false => comment,
    })
}

fn size(at: usize) -> TextSize {
    TextSize::new(u32::try_from(at).unwrap_or(u32::MAX))
}
