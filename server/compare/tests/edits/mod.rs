//! The XML of the corpus, and random edits of it as people and programs make them.

use std::path::{Path, PathBuf};

use syntax::{Element, TextEdit, TextRange, Tree};

pub(crate) struct File {
    /// Of the file alone, which some dialects go by.
    pub(crate) name: String,
    pub(crate) text: String,
}

/// All well-formed XML of the corpus.
pub(crate) fn corpus() -> Vec<File> {
    let mut files = Vec::new();
    let mut open = vec![corpus_folder()];
    while let Some(folder) = open.pop() {
        let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let Ok(text) = std::fs::read_to_string(&path) else {
                continue;
            };
            let tree = syntax::parse(&text);
            if text.trim_start().starts_with('<') && tree.errors().is_empty() {
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                files.push(File { name, text });
            }
        }
    }
    assert!(files.len() > 50, "{}", files.len());
    files
}

/// The text after these edits, one by one.
pub(crate) fn edited(text: &str, edits: &[(u8, u32, u32)]) -> String {
    let mut text = text.to_owned();
    for (what, at, with) in edits {
        let tree = syntax::parse(&text);
        let all = elements(&tree);
        let pick = |number: u32| all[number as usize % all.len()];
        let (one, other) = (pick(*at), pick(*with));
        if let Some(edit) = edit(*what, one, other, *with, &text, &tree) {
            let next = syntax::apply(&text, &edit).unwrap();
            if syntax::parse(&next).errors().is_empty() {
                text = next;
            }
        }
    }
    text
}

fn elements(tree: &Tree) -> Vec<Element<'_>> {
    let mut all: Vec<Element<'_>> = tree.root().into_iter().collect();
    let mut at = 0;
    while at < all.len() {
        let children: Vec<Element<'_>> = all[at].children().collect();
        all.extend(children);
        at += 1;
    }
    all
}

fn edit(
    what: u8,
    one: Element<'_>,
    other: Element<'_>,
    number: u32,
    text: &str,
    tree: &Tree,
) -> Option<Vec<TextEdit>> {
    let slice = |range: TextRange| text[std::ops::Range::<usize>::from(range)].to_owned();
    let is_root = Some(one) == tree.root();
    let attributes: Vec<_> = one
        .attributes()
        .filter(|one| one.declared_prefix().is_none())
        .collect();
    let attribute = attributes.get(number as usize % attributes.len().max(1));
    let end = one.range().end();
    Some(match what % 12 {
        0 if !is_root => vec![TextEdit::delete(one.range())],
        1 if !is_root => vec![TextEdit::insert(end, format!("\n\t{}", slice(one.range())))],
        2 => vec![TextEdit::replace(
            attribute?.value_range()?,
            format!("v{}&lt;", number % 7),
        )],
        3 => vec![TextEdit::insert(
            one.name_range().end(),
            format!(" new{}=\"{number}\"", number % 3),
        )],
        4 => vec![TextEdit::delete(attribute?.range())],
        5 => vec![TextEdit::insert(end, "<!-- said -->")],
        6 => vec![TextEdit::insert(one.range().start(), "\n  ")],
        7 => vec![TextEdit::insert(
            one.content_range()?.start(),
            "some <![CDATA[<text>]]> &amp; more",
        )],
        // Moved below or beside another.
        8 if !is_root
            && !one.range().contains_range(other.range())
            && !other.range().contains_range(one.range()) =>
        {
            let mut edits = vec![
                TextEdit::delete(one.range()),
                TextEdit::insert(other.range().end(), slice(one.range())),
            ];
            edits.sort_by_key(|edit| edit.range.start());
            edits
        }
        9 if !is_root => {
            let before = &text[..usize::from(one.range().start())];
            let blanks = before.len() - before.trim_end().len();
            let start = one.range().start() - syntax::TextSize::new(blanks as u32);
            vec![TextEdit::delete(TextRange::new(start, end))]
        }
        10 => vec![TextEdit::insert(end, "<?tool some words?>")],
        11 => vec![TextEdit::replace(one.content_range()?, "")],
        _ => return None,
    })
}

fn corpus_folder() -> PathBuf {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    let up = own.ancestors().skip(1).map(|folder| folder.join("corpus"));
    up.into_iter().find(|corpus| corpus.is_dir()).unwrap()
}
