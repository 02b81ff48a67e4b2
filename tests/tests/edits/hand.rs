//! A hand that edits at random, as people, editors and accidents do.

use std::path::Path;

use acceptance::outside;
use project::ContentChange;
use syntax::{Encoding, Position};

use crate::{model, part};

/// Numbers that are random enough (Knuth, MMIX), the same in every run.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        let mut random = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        random.below(1);
        random
    }

    pub(crate) fn below(&mut self, bound: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % bound.max(1)
    }

    fn of<'t, T>(&mut self, things: &'t [T]) -> &'t T {
        &things[self.below(things.len())]
    }
}

/// What is typed and pasted: markup, halves of it, and what is hard to count.
const PIECES: &[&str] = &[
    "",
    "",
    "",
    "a",
    "x",
    " ",
    "  ",
    "\t",
    "\n",
    "\r\n",
    "\r",
    "\n    ",
    "<",
    ">",
    "/",
    "=",
    "\"",
    "'",
    "&",
    ";",
    "</",
    "/>",
    "<!--",
    "-->",
    "<!-- trunnion: accept unknown-name, jump because it is so -->",
    "--",
    "<![CDATA[",
    "]]>",
    "<?",
    "?>",
    "<!DOCTYPE a [",
    "]>",
    "<!ENTITY e 'x'>",
    "&e;",
    "&amp;",
    "&#65;",
    "\u{1f69c}",
    "e\u{301}",
    "\u{1f468}\u{200d}\u{1f33e}",
    "ü",
    "漢字",
    "\u{FEFF}",
    "\u{1}",
    "\u{2028}",
    "\u{85}",
    "</machine>",
    "<machine>",
    "<aliases>",
    "</aliases>",
    "<alias name=\"mast\" path=\"0/1\"/>",
    "<alias name=\"",
    "mast",
    "leg.left",
    "0/0",
    "1.5",
    " id=\"b\"",
    "<animation id=\"b\">",
    "</animation>",
    "\n      <channel target=\"mast\" property=\"rotation\" begin=\"0\" end=\"1\"",
    " xmlns=\"urn:trunnion:machine:1\"",
    " xmlns:q=\"u\"",
    "<q:r/>",
    "<carry wheel=\"front.left\"/>",
    "“",
    "->",
    "/alias>",
    "<--",
];

/// The corpus' documents, broken ones too.
pub(crate) fn texts(corpus: &Path) -> Vec<String> {
    let files = outside::files_below(corpus, &[".xml", ".card", ".lst"]);
    let read = |path: &std::path::PathBuf| {
        let text = syntax::decode::bytes(&std::fs::read(path).ok()?).ok()?;
        (text.len() < 5000).then_some(text)
    };
    files.iter().filter_map(read).collect()
}

/// What a document starts with: mostly something whole.
pub(crate) fn beginning(random: &mut Random, texts: &[String]) -> String {
    match random.below(8) {
        0 => String::new(),
        1 => random.of(PIECES).to_string(),
        2 => format!("\u{FEFF}{}", random.of(texts)),
        3 => random.of(texts).replace('\n', "\r"),
        4 => random.of(texts).replace('\n', "\r\n"),
        _ => random.of(texts).clone(),
    }
}

pub(crate) struct Hand {
    encoding: Encoding,
    /// Where the last edit ended: people go on from there.
    caret: usize,
}

impl Hand {
    pub(crate) fn new(encoding: Encoding) -> Self {
        Self { encoding, caret: 0 }
    }

    /// The changes of one notification, applied to `text` by the model.
    pub(crate) fn notification(
        &mut self,
        random: &mut Random,
        text: &mut String,
        texts: &[String],
        largest: usize,
    ) -> Vec<ContentChange> {
        let count = if random.below(6) == 0 {
            2 + random.below(3)
        } else {
            1
        };
        let mut changes = Vec::with_capacity(count);
        for _ in 0..count {
            let change = match random.below(150) {
                _ if text.len() > largest => ContentChange::Whole(beginning(random, texts)),
                0 => ContentChange::Whole(beginning(random, texts)),
                1 => part(
                    text,
                    0,
                    text.len(),
                    random.of(texts).as_str(),
                    self.encoding,
                ),
                _ => self.edit(random, text, texts),
            };
            let Some(after) = model::apply(text, &change, self.encoding) else {
                continue;
            };
            *text = after;
            changes.push(change);
        }
        if changes.is_empty() {
            changes.push(part(text, 0, 0, "", self.encoding));
        }
        changes
    }

    fn edit(&mut self, random: &mut Random, text: &str, texts: &[String]) -> ContentChange {
        let from = match random.below(10) {
            0 => 0,
            1 => text.len(),
            2..=5 => self.caret.min(text.len()),
            _ => random.below(text.len() + 1),
        };
        let removed = match random.below(12) {
            0..=6 => 0,
            7..=9 => 1 + random.below(4),
            10 => random.below(60),
            _ => random.below(text.len() + 1),
        };
        let from = whole(text, from);
        let to = whole(text, (from + removed).min(text.len())).max(from);
        let insert = match random.below(20) {
            0 => {
                let other = random.of(texts);
                let start = whole(other, random.below(other.len() + 1));
                let end = whole(other, (start + random.below(300)).min(other.len())).max(start);
                &other[start..end]
            }
            _ => *random.of(PIECES),
        };
        self.caret = from + insert.len();
        let mut change = part(text, from, to, insert, self.encoding);
        if let ContentChange::Part { start, end, .. } = &mut change
            && random.below(12) == 0
        {
            astray(random, start);
            astray(random, end);
        }
        change
    }
}

/// A column that some editors send: behind the end of the line.
fn astray(random: &mut Random, position: &mut Position) {
    position.column += [0, 10_000][random.below(2)];
}

/// The nearest place at or before `offset` that cuts no character and no `\r\n`.
fn whole(text: &str, offset: usize) -> usize {
    let offset = text.floor_char_boundary(offset);
    let cuts = text[..offset].ends_with('\r') && text[offset..].starts_with('\n');
    offset - usize::from(cuts)
}
