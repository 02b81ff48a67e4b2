//! How long a parse and a keystroke take, beside an XML reader without a lossless tree (roxmltree) and an incremental
//! parser (tree-sitter). `cargo bench -p acceptance --bench parse` prints a table; the medians are what counts.

use acceptance::generate;
use divan::counter::BytesCount;
use divan::{Bencher, black_box};
use syntax::{TextEdit, TextSize};

const SIZES: [usize; 4] = [10_000, 100_000, 1_000_000, 10_000_000];

fn main() {
    divan::main();
}

fn tree_sitter_parser() -> tree_sitter::Parser {
    let mut parser = tree_sitter::Parser::new();
    parser
        .set_language(&tree_sitter_xml::LANGUAGE_XML.into())
        .expect("grammar and library fit");
    parser
}

#[divan::bench_group(max_time = 4)]
mod full {
    use super::*;

    #[divan::bench(args = SIZES)]
    fn ours(bencher: Bencher<'_, '_>, size: usize) {
        let text = generate::machine(size, 1);
        bencher
            .counter(BytesCount::of_str(&text))
            .bench(|| syntax::parse(black_box(&text)));
    }

    #[divan::bench(args = SIZES)]
    fn roxmltree(bencher: Bencher<'_, '_>, size: usize) {
        let text = generate::machine(size, 1);
        bencher
            .counter(BytesCount::of_str(&text))
            .bench(|| roxmltree::Document::parse(black_box(&text)));
    }

    #[divan::bench(args = SIZES)]
    fn tree_sitter(bencher: Bencher<'_, '_>, size: usize) {
        let text = generate::machine(size, 1);
        let mut parser = tree_sitter_parser();
        bencher
            .counter(BytesCount::of_str(&text))
            .bench_local(|| parser.parse(black_box(&text), None));
    }
}

/// What is typed, and where: in the middle of the definition.
#[derive(Clone, Copy)]
enum Keystroke {
    /// A digit in a value.
    Value,
    /// A letter in the name of a new element, half-typed, in a long list.
    NewElement,
}

/// A text before and after a keystroke, and the edit between the two.
struct Typed {
    before: String,
    after: String,
    edit: TextEdit,
}

impl Keystroke {
    fn at(self, size: usize) -> Typed {
        let mut before = generate::machine(size, 1);
        let middle = before[before.len() / 2..]
            .find("<channel")
            .expect("a channel")
            + before.len() / 2;
        let (at, letter) = match self {
            Keystroke::Value => (
                middle + before[middle..].find("begin=\"").expect("a value") + 7,
                '1',
            ),
            Keystroke::NewElement => {
                before.insert_str(middle, "<chann\n      ");
                (middle + 6, 'e')
            }
        };
        let mut after = before.clone();
        after.insert(at, letter);
        let at = TextSize::new(u32::try_from(at).expect("a small text"));
        let edit = TextEdit::insert(at, letter);
        Typed {
            before,
            after,
            edit,
        }
    }
}

#[divan::bench_group(max_time = 2)]
mod keystroke {
    use super::*;

    #[divan::bench(args = SIZES)]
    fn ours_in_a_value(bencher: Bencher<'_, '_>, size: usize) {
        ours(bencher, Keystroke::Value.at(size));
    }

    #[divan::bench(args = SIZES)]
    fn ours_in_a_new_element(bencher: Bencher<'_, '_>, size: usize) {
        ours(bencher, Keystroke::NewElement.at(size));
    }

    fn ours(bencher: Bencher<'_, '_>, typed: Typed) {
        let tree = syntax::parse(&typed.before);
        bencher.bench(|| tree.edited(black_box(&typed.edit)));
    }

    #[divan::bench(args = SIZES)]
    fn tree_sitter_in_a_value(bencher: Bencher<'_, '_>, size: usize) {
        tree_sitter(bencher, Keystroke::Value.at(size));
    }

    #[divan::bench(args = SIZES)]
    fn tree_sitter_in_a_new_element(bencher: Bencher<'_, '_>, size: usize) {
        tree_sitter(bencher, Keystroke::NewElement.at(size));
    }

    fn tree_sitter(bencher: Bencher<'_, '_>, typed: Typed) {
        let mut parser = tree_sitter_parser();
        let tree = parser
            .parse(&typed.before, None)
            .expect("no time limit is set");
        let start = usize::from(typed.edit.range.start());
        let new_end = start + typed.edit.insert.len();
        let edit = tree_sitter::InputEdit {
            start_byte: start,
            old_end_byte: start,
            new_end_byte: new_end,
            start_position: point(&typed.before, start),
            old_end_position: point(&typed.before, start),
            new_end_position: point(&typed.after, new_end),
        };
        bencher.bench_local(|| {
            let mut tree = tree.clone();
            tree.edit(&edit);
            parser.parse(black_box(&typed.after), Some(&tree))
        });
    }

    fn point(text: &str, at: usize) -> tree_sitter::Point {
        let line = text[..at].rfind('\n').map_or(0, |found| found + 1);
        tree_sitter::Point::new(text[..at].matches('\n').count(), at - line)
    }
}
