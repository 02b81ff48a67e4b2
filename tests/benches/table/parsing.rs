//! The parser alone, beside an XML reader without a lossless tree (roxmltree) and an incremental parser (tree-sitter).
//! The bench `parse` has the same in more detail.

use std::hint::black_box;
use std::time::{Duration, Instant};

use acceptance::generate;
use syntax::TextEdit;
use tree_sitter::{InputEdit, Parser, Point};

use crate::{head, median, milliseconds, row, title};

const SIZES: [usize; 3] = [100_000, 1_000_000, 10_000_000];

pub(crate) fn parse() {
    let texts = SIZES.map(|size| generate::machine(size, 1));
    title("The whole text parsed (ms), and MB per second at 1 MB");
    let names = ["100 kB", "1 MB", "10 MB"];
    head(&[&names[..], &["MB/s"]].concat());
    full("trunnion, lossless tree", &texts, |text| {
        drop(black_box(syntax::parse(text)))
    });
    full("roxmltree, not lossless", &texts, |text| {
        drop(black_box(roxmltree::Document::parse(text)))
    });
    let mut parser = tree_sitter();
    full("tree-sitter-xml", &texts, move |text| {
        drop(black_box(parser.parse(text, None)))
    });

    title("One digit typed in a value, tree only (ms)");
    head(&names);
    row(
        "trunnion",
        &texts.each_ref().map(|text| milliseconds(ours(text))),
    );
    row(
        "tree-sitter-xml",
        &texts.each_ref().map(|text| milliseconds(theirs(text))),
    );
}

fn full(name: &str, texts: &[String; 3], mut parse: impl FnMut(&str)) {
    let times = texts.each_ref().map(|text| {
        let once = time(|| parse(text));
        // As many as fit into two seconds.
        let more = (2.0 / once.as_secs_f64()).min(30.0) as usize;
        median(
            (0..more)
                .map(|_| time(|| parse(text)))
                .chain([once])
                .collect(),
        )
    });
    let speed = texts[1].len() as f64 / times[1].as_secs_f64() / 1e6;
    let mut cells = times.map(milliseconds).to_vec();
    cells.push(format!("{speed:.0}"));
    row(name, &cells);
}

fn time(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

/// Where a digit is typed, and the text after that.
fn typed(text: &str) -> (usize, String) {
    let middle = text.len() / 2;
    let at = middle + text[middle..].find("begin=\"").expect("a value") + "begin=\"".len();
    let mut after = text.to_owned();
    after.insert(at, '1');
    (at, after)
}

fn ours(text: &str) -> Duration {
    let (at, _) = typed(text);
    let tree = syntax::parse(text);
    let edit = TextEdit::insert(u32::try_from(at).expect("a small text").into(), "1");
    let times = (0..200).map(|_| time(|| drop(black_box(tree.edited(black_box(&edit))))));
    median(times.collect())
}

fn theirs(text: &str) -> Duration {
    let (at, after) = typed(text);
    let mut parser = tree_sitter();
    let tree = parser.parse(text, None).expect("no time limit is set");
    let line_start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let row = text[..at].matches('\n').count();
    let start = Point::new(row, at - line_start);
    let edit = InputEdit {
        start_byte: at,
        old_end_byte: at,
        new_end_byte: at + 1,
        start_position: start,
        old_end_position: start,
        new_end_position: Point::new(row, at - line_start + 1),
    };
    let times = (0..20).map(|_| {
        let mut tree = tree.clone();
        tree.edit(&edit);
        time(|| drop(black_box(parser.parse(&after, Some(&tree)))))
    });
    median(times.collect())
}

fn tree_sitter() -> Parser {
    let mut parser = Parser::new();
    parser
        .set_language(&tree_sitter_xml::LANGUAGE_XML.into())
        .expect("grammar and library fit");
    parser
}
