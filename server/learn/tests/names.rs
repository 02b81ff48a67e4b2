//! Names and references of invented libraries, whose makers know what refers to what.

use learn::names::{Member, Names, Scope, SlotRef, infer};
use learn::{Corpus, Source, Survey};

/// Numbers that look random and are the same every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        ((self.0 >> 33) as usize) % end.max(1)
    }

    fn one<'a>(&mut self, of: &'a [String]) -> &'a str {
        &of[self.below(of.len())]
    }
}

fn corpus(documents: impl Iterator<Item = (String, String)>) -> Corpus {
    let mut corpus = Corpus::default();
    for (file, text) in documents {
        let (file, member) = (file.into(), None);
        assert!(corpus.add(Source { file, member }, &text));
    }
    corpus
}

/// What was found, as lines: kinds with their scopes and places, references with their targets.
fn told(corpus: &Corpus) -> (Vec<String>, Vec<String>) {
    let survey = Survey::of(corpus);
    let names: Names = infer(&survey, &learn::names::Settings::default());
    let place = |at: &SlotRef| {
        let (group, slot) = (&survey.groups[at.group], at.of(&survey));
        let path = group.contexts.path(slot.context, corpus);
        let attribute = slot.attribute.map(|name| corpus.text(name));
        attribute.map_or(path.clone(), |attribute| format!("{path}@{attribute}"))
    };
    let kinds = names.kinds.iter().map(|kind| {
        let places: Vec<_> = kind.defined_by.iter().map(place).collect();
        let scope = match kind.scope {
            Scope::Document => "",
            Scope::Folder => " in a folder",
            Scope::Parent => " in a parent",
        };
        format!("{}{scope}: {}", kind.kind, places.join(", "))
    });
    let references = names.references.iter().map(|reference| {
        let to = reference.to.iter().map(|to| names.kinds[*to].kind.as_str());
        let to: Vec<_> = to.collect();
        let list = reference.form.separator.as_ref();
        let list = list.map_or(String::new(), |mark| format!(" list {mark:?}"));
        let member = match &reference.form.member {
            Member::Position { first } => format!(" by position from {first}"),
            _ => String::new(),
        };
        format!(
            "{} -> {}{list}{member}",
            place(&reference.slot),
            to.join(", ")
        )
    });
    (kinds.collect(), references.collect())
}

const SYLLABLES: [&str; 12] = [
    "bra", "tol", "mek", "sun", "dor", "rik", "val", "pem", "osk", "lin", "gar", "tue",
];

fn word(dice: &mut Dice) -> String {
    let mut word = String::new();
    for _ in 0..2 + dice.below(2) {
        word += SYLLABLES[dice.below(SYLLABLES.len())];
    }
    word
}

fn words(dice: &mut Dice, count: usize) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    while words.len() < count {
        let word = word(dice);
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words
}

#[test]
fn attributes_refer_to_attributes() {
    let mut dice = Dice(4);
    let documents = (0..40).map(|number| {
        let count = 3 + dice.below(5);
        let limbs = words(&mut dice, count);
        let mut text = String::from("<rig>");
        for (at, limb) in limbs.iter().enumerate() {
            let side = ["left", "right", "front"][dice.below(3)];
            let on = limbs[..at].last().map_or(String::new(), |on| format!(" on='{on}'"));
            let level = dice.below(4);
            let loose = dice.below(2) == 0;
            text += &format!(
                "<limb call='{limb}' level='{level}' side='{side}' loose='{loose}'{on}><bone/></limb>"
            );
        }
        for _ in 0..2 {
            let (first, second) = (dice.one(&limbs).to_owned(), dice.one(&limbs));
            let pace = ["slow", "even", "quick"][dice.below(3)];
            let side = ["left", "right"][dice.below(2)];
            text += &format!("<swing side='{side}' pace='{pace}' limbs='{first}; {second}'/>");
        }
        // One file in eight is broken: it names what is not there.
        if number % 8 == 0 {
            text += "<swing side='left' pace='even' limbs='gone'/>";
        }
        (format!("{number}.xml"), text + "</rig>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["limb: rig/limb@call"]);
    assert_eq!(
        references,
        ["rig/limb@on -> limb", "rig/swing@limbs -> limb list \";\""]
    );
}
