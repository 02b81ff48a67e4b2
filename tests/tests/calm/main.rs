//! Calm while typing: what a person sees who types a definition character by character, or makes one mistake in it.
//!
//! `CALM=all cargo test --release -p acceptance --test calm -- --nocapture` replays the whole corpus and prints both
//! figures with every case that falls short. Without `CALM=all` a sample is replayed. Both must hold the floors.

mod desk;
mod mistakes;
mod sites;
mod typing;

use acceptance::outside::{self, say};
use desk::Desk;

/// The corpus' sound documents, each with what is around it on the disk.
const DOCUMENTS: [&str; 8] = [
    "ternholt/machines/bram-6.machine.xml",
    "ternholt/machines/ostrel-12.machine.xml",
    "ternholt/machines/vennet-24.machine.xml",
    "ternholt/machines/quarl-30/quarl-30.machine.xml",
    "ternholt/mod.xml",
    "dialects/yard/rigs/dorrik-9.rig.xml",
    "dialects/yard/load.xml",
    "dialects/slip/cards/fennor-4.card",
];

/// Whether to replay everything.
fn all() -> bool {
    std::env::var("CALM").is_ok_and(|what| what == "all")
}

/// Counts how many of something went well, and keeps the others.
#[derive(Default)]
struct Tally {
    good: usize,
    bad: Vec<(String, String)>,
}

impl Tally {
    fn of(&self) -> usize {
        self.good + self.bad.len()
    }

    fn share(&self) -> f64 {
        100.0 * self.good as f64 / self.of().max(1) as f64
    }

    /// Prints the figure and the bad cases by kind, the most frequent first, each with some examples.
    fn print(&self, figure: &str) {
        say(&format!(
            "{figure}: {} of {}, {:.2} %",
            self.good,
            self.of(),
            self.share()
        ));
        let mut kinds: Vec<(&str, Vec<&str>)> = Vec::new();
        for (kind, example) in &self.bad {
            match kinds.iter_mut().find(|(known, _)| known == kind) {
                Some((_, examples)) => examples.push(example),
                None => kinds.push((kind, vec![example])),
            }
        }
        kinds.sort_by_key(|(_, examples)| std::cmp::Reverse(examples.len()));
        let shown = std::env::var("CALM_EXAMPLES")
            .ok()
            .and_then(|count| count.parse().ok());
        for (kind, examples) in kinds {
            say(&format!("  {:5} {kind}", examples.len()));
            for example in examples.iter().take(shown.unwrap_or(1)) {
                say(&format!("          {example}"));
            }
        }
    }
}

#[test]
fn what_is_typed_disturbs_nothing_around_it() {
    let mut tally = Tally::default();
    for document in DOCUMENTS {
        let mut desk = Desk::at(&outside::project().join("corpus").join(document));
        typing::from_the_top(&mut desk, &mut tally);
        typing::each_element_in_place(&mut desk, &mut tally);
    }
    tally.print("keystrokes without a new error outside the element being typed");
    assert!(tally.of() > 1000, "there is something to type");
    assert!(tally.share() >= 99.9, "typing disturbs");
}

#[test]
fn one_mistake_gives_one_error() {
    let mut tally = Tally::default();
    for document in DOCUMENTS {
        let mut desk = Desk::at(&outside::project().join("corpus").join(document));
        mistakes::each(&mut desk, &mut tally);
    }
    tally.print("mistakes that give exactly one error");
    assert!(tally.of() > 500, "there is something to get wrong");
    assert!(
        tally.share() >= 99.0,
        "mistakes are told more than once, or not at all"
    );
}
