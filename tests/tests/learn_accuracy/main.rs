//! What is learnt from public files of other people, against what their formats' publishers say: learnt from one half
//! of each corpus, judged on the other.
//!
//! For each corpus the share of claims that are right (precision) and the share of facts that were found (recall), by
//! place (a path and an attribute that occur in both halves) and by value (every value of the judged half, also in
//! places that were never seen). `ACCURACY=urdf` keeps to some corpora and lists what is wrong.

mod corpora;
mod known;
mod published;

use acceptance::outside;
use corpora::File;
use known::{Known, Place, Type};
use learn::report::{Attribute, Report};
use learn::{Corpus, Settings, Source, Structure, Surroundings, Survey, names};
use std::collections::HashMap;

/// What is asked for at least, in hundredths: precision and recall of references, of names, of types, of required
/// attributes, each by value.
struct Floor {
    references: [u32; 2],
    names: [u32; 2],
    types: [u32; 2],
    required: [u32; 2],
}

#[test]
fn robots() {
    judge(
        "urdf",
        corpora::robots("urdf"),
        known::read("urdf"),
        &Floor {
            references: [98, 95],
            names: [98, 93],
            types: [97, 97],
            required: [75, 95],
        },
    );
}

#[test]
fn robots_with_their_semantics() {
    judge(
        "srdf",
        corpora::semantics(),
        known::read("srdf").or(known::read("urdf")),
        &Floor {
            references: [97, 95],
            names: [97, 94],
            types: [97, 93],
            required: [80, 92],
        },
    );
}

#[test]
fn simulations() {
    judge(
        "sdf",
        corpora::simulations(),
        known::read("sdf").or(published::sdf()),
        &Floor {
            references: [97, 93],
            names: [95, 92],
            types: [95, 80],
            required: [95, 90],
        },
    );
}

#[test]
fn scenes() {
    judge(
        "x3d",
        corpora::scenes(),
        known::read("x3d").or(published::x3d()),
        &Floor {
            references: [97, 85],
            names: [95, 75],
            types: [95, 93],
            required: [50, 80],
        },
    );
}

#[test]
fn models() {
    judge(
        "collada",
        corpora::models(),
        known::read("collada").or(published::collada()),
        &Floor {
            references: [97, 95],
            names: [97, 97],
            types: [95, 95],
            required: [55, 85],
        },
    );
}

#[test]
fn animated_pictures() {
    judge(
        "svg",
        corpora::pictures(),
        known::read("svg"),
        &Floor {
            references: [97, 95],
            names: [97, 97],
            types: [95, 95],
            required: [70, 93],
        },
    );
}

#[test]
fn mechanisms() {
    judge(
        "mjcf",
        corpora::mechanisms(),
        known::read("mjcf"),
        &Floor {
            references: [97, 82],
            names: [97, 92],
            types: [93, 80],
            // Not judged: what must be there stands in too few of these files for learning to call it required.
            required: [0, 0],
        },
    );
}

fn judge(name: &str, files: Option<Vec<File>>, known: Known, floor: &Floor) {
    let asked = std::env::var("ACCURACY").ok();
    if asked
        .as_ref()
        .is_some_and(|asked| !asked.split(',').any(|one| one == name))
    {
        return;
    }
    let Some(files) = files else {
        return outside::skipped(
            &format!("what is learnt from {name}"),
            "not all of its files are here",
        );
    };
    let (mut learnt, mut judged) = (Corpus::default(), Corpus::default());
    for (at, file) in files.into_iter().enumerate() {
        let half = if corpora::is_learnt(at, &file) {
            &mut learnt
        } else {
            &mut judged
        };
        let source = Source {
            file: file.path,
            member: None,
        };
        half.add(source, &file.text);
    }
    let survey = Survey::of(&learnt);
    let found = names::infer(&survey);
    let structure = Structure::of(
        &survey,
        &found,
        &Surroundings::default(),
        &Settings::default(),
    );
    let report = Report::of(&survey, &found, &structure);
    let verdict = Verdict::of(&report, &known, &Survey::of(&judged), asked.is_some());
    let (here, there) = (learnt.documents.len(), judged.documents.len());
    outside::say(&format!(
        "{name}: learnt from {here} files, judged on {there}"
    ));
    let mut short = Vec::new();
    for (what, score, floor) in [
        ("references", &verdict.references, floor.references),
        ("names", &verdict.names, floor.names),
        ("types", &verdict.types, floor.types),
        ("required", &verdict.required, floor.required),
    ] {
        outside::say(&format!("  {what:<10} {}", score.shown()));
        let [precision, recall] = score.by_value.shares();
        let [least_precision, least_recall] = floor.map(f64::from);
        if precision * 100.0 < least_precision || recall * 100.0 < least_recall {
            short.push(format!(
                "{what}: {precision:.3} of the claims right, {recall:.3} of the facts found"
            ));
        }
    }
    assert!(short.is_empty(), "{name}: {}", short.join("; "));
}

/// How many claims there were and how many of them are right; how many facts and how many of them were found.
#[derive(Clone, Copy, Default)]
struct Count {
    claims: u32,
    right: u32,
    facts: u32,
    found: u32,
}

impl Count {
    /// Precision and recall.
    fn shares(&self) -> [f64; 2] {
        let share = |part: u32, of: u32| match of {
            0 => 1.0,
            of => f64::from(part) / f64::from(of),
        };
        [
            share(self.right, self.claims),
            share(self.found, self.facts),
        ]
    }
}

#[derive(Default)]
struct Score {
    by_place: Count,
    by_value: Count,
}

impl Score {
    /// `seen`: whether the place was there to learn from.
    fn add(&mut self, claim: bool, fact: bool, right: bool, seen: bool, values: u32) {
        let places = u32::from(seen);
        for (count, weight) in [(&mut self.by_place, places), (&mut self.by_value, values)] {
            count.claims += weight * u32::from(claim);
            count.facts += weight * u32::from(fact);
            count.right += weight * u32::from(claim && right);
            count.found += weight * u32::from(fact && right);
        }
    }

    fn shown(&self) -> String {
        let shown = |count: &Count| {
            let [precision, recall] = count.shares();
            format!(
                "precision {precision:.3} recall {recall:.3} ({} claims, {} facts)",
                count.claims, count.facts
            )
        };
        format!(
            "by place: {}; by value: {}",
            shown(&self.by_place),
            shown(&self.by_value)
        )
    }
}

#[derive(Default)]
struct Verdict {
    references: Score,
    names: Score,
    types: Score,
    required: Score,
}

impl Verdict {
    fn of(report: &Report, known: &Known, judged: &Survey<'_>, wordy: bool) -> Self {
        let mut claims: HashMap<(&str, &str), &Attribute> = HashMap::new();
        // Where several kinds of documents have a place, the one that shows most of it counts.
        for attribute in &report.attributes {
            let place = (&*attribute.value.path, &*attribute.value.attribute);
            let known = claims.entry(place).or_insert(attribute);
            if known.seen < attribute.seen {
                *known = attribute;
            }
        }
        let mut verdict = Self::default();
        for group in &judged.groups {
            for slot in &group.slots {
                let path = group.contexts.path(slot.context, judged.corpus);
                let attribute = slot.attribute.map(|name| judged.corpus.text(name));
                let Some(fact) = known.of(&path, attribute) else {
                    continue;
                };
                let claim = claims
                    .get(&(path.as_str(), attribute.unwrap_or("#text")))
                    .copied();
                let values = slot.seen.iter().map(|seen| judged.corpus.text(seen.value));
                let wordless = values.clone().all(is_number);
                let count = slot.seen.len() as u32;
                let wrong = verdict.add(report, &fact, claim, wordless, count);
                if wordy && !wrong.is_empty() {
                    let place = attribute.map_or(path.clone(), |name| format!("{path}@{name}"));
                    let seen = claim.map_or(0, |claim| claim.seen);
                    outside::say(&format!(
                        "    {place}: {} ({count} values, learnt from {seen})",
                        wrong.join("; ")
                    ));
                }
            }
        }
        verdict
    }

    fn add(
        &mut self,
        report: &Report,
        fact: &known::Fact,
        claim: Option<&Attribute>,
        wordless: bool,
        values: u32,
    ) -> Vec<String> {
        let seen = claim.is_some();
        let mut wrong = Vec::new();
        // A place for references that holds none, since they may be left out for a time, shows none.
        if fact.refers.is_empty() || !wordless {
            let kinds = claim.map_or(&[][..], |claim| &claim.refers);
            let (claimed, is) = (!kinds.is_empty(), !fact.refers.is_empty());
            let right = claimed && is && kinds.iter().any(|kind| leads(report, kind, &fact.refers));
            self.references.add(claimed, is, right, seen, values);
            if claimed != right || is != right {
                wrong.push(format!("refers to {kinds:?}, known: {:?}", fact.refers));
            }
        }
        let claimed = claim.is_some_and(|claim| claim.defines.is_some());
        self.names
            .add(claimed, fact.name, claimed && fact.name, seen, values);
        if claimed != fact.name {
            wrong.push(format!(
                "defines {:?}, known: {}",
                claim.and_then(|c| c.defines.clone()),
                fact.name
            ));
        }
        if let Some(known) = fact.value_type {
            let learnt = claim.map(learnt_type);
            let claimed = learnt.is_some_and(|learnt| learnt != Type::Text);
            let right = learnt.is_some_and(|learnt| known.agrees(learnt));
            let is = known != Type::Text;
            // To say nothing of a text is right, but no claim.
            self.types.add(claimed, is, right, seen, values);
            if !right && (claimed || is) {
                wrong.push(format!(
                    "type {:?}, known: {known:?}",
                    claim.map(|c| c.value_type)
                ));
            }
        }
        if let Some(known) = fact.required {
            let claimed = claim.is_some_and(|claim| claim.required);
            self.required
                .add(claimed, known, claimed && known, seen, values);
            if claimed != known {
                wrong.push(format!("required {claimed}, known: {known}"));
            }
        }
        wrong
    }
}

/// Whether a kind's names are given at one of these places.
fn leads(report: &Report, kind: &str, to: &[Place]) -> bool {
    let kind = report.kinds.iter().find(|known| known.kind == kind);
    kind.is_some_and(|kind| {
        let mut given = kind.defined_by.iter();
        given.any(|value| {
            let attribute = (value.attribute != "#text").then_some(value.attribute.as_str());
            to.iter().any(|to| to.fits(&value.path, attribute))
        })
    })
}

fn learnt_type(claim: &Attribute) -> Type {
    match (claim.value_type, claim.list, claim.count) {
        ("boolean", false, _) => Type::Boolean,
        ("integer", false, _) => Type::Integer,
        ("number", false, _) => Type::Number,
        ("vector", false, Some(count)) => Type::Vector(count),
        ("integer" | "number" | "vector" | "boolean", true, _) => Type::Numbers,
        ("colour", false, _) => Type::Colour,
        ("word", false, _) => Type::Word,
        _ => Type::Text,
    }
}

/// Whether a value is a number, perhaps with a unit.
fn is_number(text: &str) -> bool {
    let inner = text.trim_start_matches(['-', '+', '.']);
    inner.starts_with(|c: char| c.is_ascii_digit()) && !text.contains(';')
}
