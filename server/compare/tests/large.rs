//! Large documents take time in proportion to their size.

#![allow(clippy::print_stdout)]

use std::time::{Duration, Instant};

use compare::{Gives, Version};

fn rows(count: usize, row: impl Fn(usize) -> String) -> String {
    let rows: String = (0..count).map(|at| format!("  {}\n", row(at))).collect();
    format!("<all>\n{rows}</all>\n")
}

/// How long words, patch and merge take.
fn timed(what: &str, old: &str, new: &str) -> Duration {
    let trees = (syntax::parse(old), syntax::parse(new));
    let version = |text, tree| Version {
        text,
        tree,
        meaning: None,
    };
    let (one, other) = (version(old, &trees.0), version(new, &trees.1));
    let begun = Instant::now();
    let changes = compare::changes(&one, &other);
    let told = begun.elapsed();
    let patch = compare::patch(&one, &other).unwrap();
    let patched = begun.elapsed() - told;
    assert_eq!(patch.gives, Gives::Bytes, "{what}");
    let merged = compare::merge(&one, &one, &other).unwrap();
    assert!(merged.conflicts.is_empty());
    let all = begun.elapsed();
    println!(
        "{what}: {} KB, {} changes told in {told:.1?}, {} operations found and tried in {patched:.1?}, merged in {:.1?}",
        old.len() / 1000,
        changes.len(),
        patch.operations,
        all - told - patched
    );
    all
}

#[test]
fn many_siblings() {
    let named = |at: usize| format!("<row id='r{at}' v='{}'/>", at % 7);
    let changed = |at: usize| match at % 2_000 {
        77 => format!("<row id='r{at}' v='changed'/>"),
        78 => format!("<more id='m{at}'/>\n  <row id='r{at}' v='1'/>"),
        _ => named(at),
    };
    let few = timed("with IDs", &rows(2_000, named), &rows(2_000, changed));
    let many = timed("with IDs", &rows(20_000, named), &rows(20_000, changed));
    // Ten times the size and as many more changes, each of which is looked for in all of it.
    assert!(many < few * 200, "{few:?} {many:?}");

    let bare = |at: usize| format!("<row>{}</row>", at % 7);
    let other = |at: usize| match at % 4_000 {
        77 => "<row>changed</row>".to_owned(),
        _ => bare(at),
    };
    let bare_rows = timed("without", &rows(20_000, bare), &rows(20_000, other));
    assert!(bare_rows < many * 3, "{bare_rows:?} {many:?}");
}
