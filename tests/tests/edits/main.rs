//! Long runs of random edits: whatever an editor does, the document that the workspace has is the one that the editor
//! has, and all that is known of it is what a document opened afresh would have.
//!
//! `EDITS=10000000 cargo test --release -p acceptance --test edits -- --nocapture` runs that many (default: ten
//! thousand) and prints how many comparisons were made. A failure names the seed of the session it happened in;
//! `SEED=n EDITS=1` repeats that session alone.

mod hand;
mod model;

use std::time::Instant;

use acceptance::outside::{self, say};
use acceptance::trees;
use hand::{Hand, Random};
use ide::checks::{self, Checker};
use project::{ContentChange, Workspace};
use syntax::{Encoding, LineIndex};

/// Notifications of one session. Then another document is opened.
const SESSION: usize = 400;
/// Documents do not grow beyond this for long.
const LARGEST: usize = 6000;

const ENCODINGS: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];

/// What was made and compared.
#[derive(Default)]
struct Count {
    notifications: u64,
    edits: u64,
    texts: u64,
    trees: u64,
    checks: u64,
}

/// How often everything is compared, in notifications.
#[derive(Clone, Copy)]
struct Pace {
    trees: usize,
    checks: usize,
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

#[test]
fn a_document_after_any_edits_is_as_if_opened_afresh() {
    let wanted = number("EDITS").unwrap_or(10_000);
    let pace = Pace {
        trees: 4,
        checks: 20,
    };
    let first = number("SEED").unwrap_or(1);
    let texts = hand::texts(&outside::project().join("corpus"));
    assert!(texts.len() > 50, "the corpus has documents");
    let (mut count, started) = (Count::default(), Instant::now());
    let mut told = started;
    for seed in first.. {
        if count.edits >= wanted {
            break;
        }
        if let Err(first_seen) = session(seed, &texts, pace, &mut count) {
            // Again, with everything compared after each edit, to see where it began.
            let close = Pace {
                trees: 1,
                checks: 1,
            };
            let began = session(seed, &texts, close, &mut Count::default());
            panic!(
                "SEED={seed} EDITS=1 repeats this.\nseen first: {first_seen}\nbegan: {}",
                began.err().unwrap_or_default()
            );
        }
        if told.elapsed().as_secs() >= 60 {
            told = Instant::now();
            print(&count, started);
        }
    }
    print(&count, started);
}

fn print(count: &Count, started: Instant) {
    say(&format!(
        "{} edits in {} notifications; compared: {} texts, {} trees and line indexes, {} results of the checks; \
         0 differences; {} s",
        count.edits,
        count.notifications,
        count.texts,
        count.trees,
        count.checks,
        started.elapsed().as_secs()
    ));
}

/// One document under many edits. The error says what differs, after which edit of which text.
fn session(seed: u64, texts: &[String], pace: Pace, count: &mut Count) -> Result<(), String> {
    let mut random = Random::new(seed);
    let encoding = ENCODINGS[random.below(ENCODINGS.len())];
    let path = outside::project().join("corpus/ternholt/machines/bram-6.machine.xml");
    let mut text = hand::beginning(&mut random, texts);
    let (mut workspace, mut fresh) = (Workspace::default(), Workspace::default());
    let mut checker = Checker::default();
    workspace.open(path.clone(), Some(0), text.clone());
    let mut hand = Hand::new(encoding);
    for step in 1..=SESSION {
        let before = text.clone();
        let changes = hand.notification(&mut random, &mut text, texts, LARGEST);
        let what = || format!("seed {seed}, notification {step}, {changes:?} on {before:?}");
        let version = Some(i32::try_from(step).unwrap_or_default());
        workspace
            .change(&path, version, changes.clone(), encoding)
            .map_err(|error| format!("{error}: {}", what()))?;
        let document = workspace
            .snapshot()
            .document(&path)
            .map_err(|error| error.to_string())?;
        count.notifications += 1;
        count.edits += changes.len() as u64;
        count.texts += 1;
        // Every other document is not asked for all of its text in one piece, so it goes on without that.
        let whole = seed.is_multiple_of(2).then(|| document.text().to_string());
        for known in whole.into_iter().chain([document.tree.text()]) {
            if known != text {
                return Err(format!("the text is {known:?}, not {text:?}: {}", what()));
            }
        }
        if step % pace.trees == 0 {
            count.trees += 1;
            if document.lines != LineIndex::new(&text) {
                return Err(format!("the lines differ: {}", what()));
            }
            if let Some(difference) = trees::difference(&document.tree, &syntax::parse(&text)) {
                return Err(format!("{difference}: {}", what()));
            }
        }
        if step % pace.checks == 0 {
            count.checks += 1;
            fresh.open(path.clone(), version, text.clone());
            let view = |workspace: &Workspace| workspace.snapshot().view(&path);
            let (mine, its) = (view(&workspace), view(&fresh));
            let (Ok(mine), Ok(its)) = (mine, its) else {
                return Err(format!("there is no view: {}", what()));
            };
            let (mine, its) = (checker.run(&mine), checks::run(&its));
            if mine != its {
                let only = |one: &[ide::Finding], other: &[ide::Finding]| {
                    let only = one.iter().filter(|finding| !other.contains(finding));
                    format!("{:?}", only.collect::<Vec<_>>())
                };
                return Err(format!(
                    "found only after edits: {}, only afresh: {}: {}",
                    only(&mine, &its),
                    only(&its, &mine),
                    what()
                ));
            }
        }
    }
    Ok(())
}

/// Whole texts and parts, as the protocol has them.
pub(crate) fn part(
    text: &str,
    from: usize,
    to: usize,
    insert: &str,
    encoding: Encoding,
) -> ContentChange {
    ContentChange::Part {
        start: model::position(text, from, encoding),
        end: model::position(text, to, encoding),
        text: insert.to_owned(),
    }
}
