//! Names and references of invented libraries, whose makers know what refers to what.

mod confusions;
mod elsewhere;

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
    let names: Names = infer(&survey);
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

#[test]
fn numbers_are_names_of_stops() {
    let mut dice = Dice(7);
    let documents = (0..60).map(|number| {
        let count = 4 + dice.below(8);
        // Numbers as people give them: with gaps, other ones in each file.
        let mut stops: Vec<String> = Vec::new();
        let mut at = 10 * (1 + dice.below(40));
        for _ in 0..count {
            at += 1 + dice.below(9);
            stops.push(at.to_string());
        }
        let mut text = format!(
            "<line year='{}' cars='{}'>",
            1950 + dice.below(60),
            dice.below(6)
        );
        for stop in &stops {
            let (height, platforms) = (dice.below(300), 1 + dice.below(4));
            text += &format!("<stop no='{stop}' height='{height}' platforms='{platforms}'/>");
        }
        for _ in 0..count {
            let (from, to) = (dice.one(&stops).to_owned(), dice.one(&stops));
            text += &format!(
                "<way from='{from}' to='{to}' minutes='{}' tracks='{}'/>",
                1 + dice.below(20),
                1 + dice.below(2)
            );
        }
        (format!("{number}.xml"), text + "</line>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["stop: line/stop@no"]);
    assert_eq!(references, ["line/way@from -> stop", "line/way@to -> stop"]);
}

#[test]
fn counted_numbers_are_names_too() {
    let mut dice = Dice(8);
    let documents = (0..80).map(|number| {
        let count = 2 + dice.below(14);
        let mut text = format!("<list pages='{}'>", 1 + dice.below(5));
        for item in 1..=count {
            let (weight, colour) = (dice.below(20), dice.below(4));
            text += &format!("<item nr='{item}' weight='{weight}' colour='{colour}'/>");
        }
        for _ in 0..3 {
            let item = 1 + dice.below(count);
            text += &format!("<mark item='{item}' size='{}'/>", 1 + dice.below(3));
        }
        (format!("{number}.xml"), text + "</list>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["item: list/item@nr"]);
    assert_eq!(references, ["list/mark@item -> item"]);
}

#[test]
fn texts_refer_to_texts_and_to_positions() {
    let mut dice = Dice(15);
    let documents = (0..50).map(|number| {
        let count = 2 + dice.below(4);
        let limbs = words(&mut dice, count);
        let count = 1 + dice.below(3);
        let strokes = words(&mut dice, count);
        let rollers = 2 + 2 * dice.below(4);
        let mut text = format!("<rig><called>Rig {}</called><handles>", word(&mut dice));
        for (at, limb) in limbs.iter().enumerate() {
            text += &format!("<handle><call>{limb}</call><spot>0.{at}</spot></handle>");
        }
        text += "</handles><rollers>";
        for _ in 0..rollers {
            text += &format!("<roller><half>{}</half><tread>38</tread></roller>", 40 + dice.below(30));
        }
        text += "</rollers><strokes>";
        for stroke in &strokes {
            text += &format!("<stroke><call>{stroke}</call>");
            for _ in 0..2 {
                let limb = dice.one(&limbs).to_owned();
                text += &format!("<move><spot>{limb}</spot><pace>soft</pace></move>");
            }
            text += "</stroke>";
        }
        text += "</strokes><hands>";
        for stroke in &strokes {
            let (one, two) = (1 + dice.below(rollers), 1 + dice.below(rollers));
            text += &format!(
                "<hand><stroke>{stroke}</stroke><follows>{one}, {two}</follows><tempo>{}</tempo></hand>",
                1 + dice.below(3)
            );
        }
        (format!("{number}.xml"), text + "</hands></rig>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(
        kinds,
        [
            "handle: rig/handles/handle/call",
            "stroke: rig/strokes/stroke/call",
            "roller: ",
        ]
    );
    assert_eq!(
        references,
        [
            "rig/strokes/stroke/move/spot -> handle",
            "rig/hands/hand/stroke -> stroke",
            "rig/hands/hand/follows -> roller list \",\" by position from 1",
        ]
    );
}

#[test]
fn names_may_come_again_in_another_parent() {
    let mut dice = Dice(16);
    let documents = (0..30).map(|number| {
        let mut text = String::from("<boat>");
        for _ in 0..2 + dice.below(3) {
            let count = 2 + dice.below(3);
            let seats: Vec<String> = ["stern", "bow", "helm", "port", "lee"]
                .iter()
                .skip(dice.below(2))
                .take(count)
                .map(|seat| (*seat).to_owned())
                .collect();
            text += &format!("<cabin deck='{}'>", dice.below(3));
            for seat in &seats {
                text += &format!("<seat is='{seat}'><cloth/></seat>");
            }
            for _ in 0..2 {
                text += &format!("<belt at='{}' kind='wide'/>", dice.one(&seats));
            }
            text += "</cabin>";
        }
        (format!("{number}.xml"), text + "</boat>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["seat in a parent: boat/cabin/seat@is"]);
    assert_eq!(references, ["boat/cabin/belt@at -> seat"]);
}

#[test]
fn names_may_have_something_around_them() {
    let mut dice = Dice(23);
    let documents = (0..30).map(|number| {
        let parts = words(&mut dice, 5);
        let mut text = String::from("<kit>");
        for part in &parts {
            text += &format!("<part id='{part}'><shape/></part>");
        }
        for _ in 0..3 {
            let (one, two) = (dice.one(&parts).to_owned(), dice.one(&parts));
            let end = ["start", "end", "middle"][dice.below(3)];
            text += &format!(
                "<bolt at='@{one}' tint='#a0b{}'/><joint on='{two}:{end}'/>",
                dice.below(10)
            );
        }
        (format!("{number}.xml"), text + "</kit>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["part: kit/part@id"]);
    assert_eq!(references, ["kit/bolt@at -> part", "kit/joint@on -> part"]);
}

#[test]
fn what_is_equal_by_chance_is_no_reference() {
    let mut dice = Dice(42);
    let documents = (0..40).map(|number| {
        let mut text = format!("<yard gate='{}'>", ["open", "shut"][dice.below(2)]);
        // The same few names in every file, and the same words elsewhere for other things.
        for lamp in ["left", "right", "rear"] {
            let on = dice.below(2);
            text += &format!(
                "<lamp name='{lamp}' on='{on}' order='{}'><bulb/></lamp>",
                dice.below(3)
            );
        }
        for _ in 0..2 {
            let side = ["left", "right"][dice.below(2)];
            let (file, title) = (word(&mut dice), word(&mut dice));
            text += &format!(
                "<door side='{side}' opens='{}' sound='{file}.ogg' label='{title} door'/>",
                dice.below(2)
            );
        }
        (format!("{number}.xml"), text + "</yard>")
    });
    let (_, references) = told(&corpus(documents));
    assert_eq!(references, Vec::<String>::new());
}

#[test]
fn other_documents_of_a_mod_give_names() {
    let mut dice = Dice(77);
    let mut documents = Vec::new();
    for number in 0..15 {
        let paints = words(&mut dice, 6);
        let mut text = String::from("<store>");
        for paint in &paints {
            let (red, green) = (dice.below(256), dice.below(256));
            text += &format!("<paint id='{paint}' tint='{red} {green} 0'/>");
        }
        documents.push((format!("mods/{number}/store.xml"), text + "</store>"));
        for rig in 0..1 + dice.below(3) {
            let limbs = words(&mut dice, 4);
            let mut text = String::from("<rig>");
            for limb in &limbs {
                let (paint, depth) = (dice.one(&paints), dice.below(3));
                text += &format!("<limb call='{limb}' paint='{paint}' depth='{depth}'/>");
            }
            for _ in 0..3 {
                text += &format!("<push limb='{}'/>", dice.one(&limbs));
            }
            documents.push((format!("mods/{number}/{rig}.rig.xml"), text + "</rig>"));
        }
    }
    let (kinds, references) = told(&corpus(documents.into_iter()));
    assert_eq!(
        kinds,
        ["paint in a folder: store/paint@id", "limb: rig/limb@call"]
    );
    assert_eq!(
        references,
        ["rig/limb@paint -> paint", "rig/push@limb -> limb"]
    );
}

#[test]
fn one_author_may_always_take_the_same_names() {
    const LIMBS: [&str; 8] = [
        "mast",
        "boom",
        "leg.left",
        "leg.right",
        "cab",
        "hook",
        "jib",
        "fork",
    ];
    let mut dice = Dice(5);
    let documents = (0..12).map(|number| {
        let from = dice.below(4);
        let limbs: Vec<String> = LIMBS[from..from + 5]
            .iter()
            .map(|l| (*l).to_owned())
            .collect();
        let mut text = String::from("<rig>");
        for (at, limb) in limbs.iter().enumerate() {
            text += &format!("<handle call='{limb}' path='0/{at}'/>");
        }
        for _ in 0..6 {
            let (limb, way) = (dice.one(&limbs), ["slide", "turn"][dice.below(2)]);
            text += &format!("<move limb='{limb}' way='{way}' soft='{}'/>", dice.below(2));
        }
        (format!("{number}.xml"), text + "</rig>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, ["handle: rig/handle@call"]);
    assert_eq!(references, ["rig/move@limb -> handle"]);
}

#[test]
fn things_of_one_name_in_two_lists_stay_apart() {
    let mut dice = Dice(31);
    let documents = (0..20).map(|number| {
        let (wheels, lamps) = (words(&mut dice, 4), words(&mut dice, 4));
        let mut text = String::from("<car><wheels>");
        for wheel in &wheels {
            text += &format!("<item id='{wheel}' size='{}'/>", 1 + dice.below(3));
        }
        text += "</wheels><lamps>";
        for lamp in &lamps {
            text += &format!("<item id='{lamp}' size='{}'/>", 1 + dice.below(3));
        }
        text += "</lamps>";
        for _ in 0..3 {
            let (wheel, lamp) = (dice.one(&wheels).to_owned(), dice.one(&lamps));
            text += &format!("<brake wheel='{wheel}'/><switch lamp='{lamp}' key='A'/>");
        }
        (format!("{number}.xml"), text + "</car>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(
        kinds,
        ["item: car/wheels/item@id", "lamps-item: car/lamps/item@id"]
    );
    assert_eq!(
        references,
        ["car/brake@wheel -> item", "car/switch@lamp -> lamps-item"]
    );
}

#[test]
fn counts_go_along_with_numbers_but_are_no_references() {
    let mut dice = Dice(12);
    let documents = (0..40).map(|number| {
        let count = 1 + dice.below(12);
        let (length, class) = (count * 12, 1 + dice.below(3));
        let mut text = format!("<train cars='{count}' length='{length}' class='{class}'>");
        for car in 1..=count {
            let (seats, next) = (20 * (1 + dice.below(3)), car + 1);
            text += &format!("<car nr='{car}' seats='{seats}' next='{next}'/>");
        }
        for _ in 0..dice.below(4) {
            let (level, lines) = (1 + dice.below(3), 1 + dice.below(1 + count / 2));
            text += &format!("<note level='{level}' lines='{lines}'/>");
        }
        (format!("{number}.xml"), text + "</train>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!(kinds, Vec::<String>::new());
    assert_eq!(references, Vec::<String>::new());
}

#[test]
fn the_same_attribute_elsewhere_refers_as_well() {
    let mut dice = Dice(11);
    let documents = (0..40).map(|number| {
        let limbs = words(&mut dice, 5);
        let mut text = String::from("<rig>");
        for limb in &limbs {
            text += &format!("<limb call='{limb}'><bone/></limb>");
        }
        for _ in 0..3 {
            text += &format!(
                "<swing limb='{}' pace='{}'/>",
                dice.one(&limbs),
                dice.below(9)
            );
        }
        // A handful in another place, half of which lead nowhere.
        text += &match number {
            0 | 1 => format!(
                "<spare><swing limb='{}' pace='1'/></spare>",
                dice.one(&limbs)
            ),
            2 | 3 => format!("<spare><swing limb='lost{number}' pace='1'/></spare>"),
            _ => String::new(),
        };
        // The same word for something else leads nowhere, in the same places.
        if number < 4 {
            text += &format!("<spare><paint limb='lost{number}'/></spare>");
        }
        (format!("{number}.xml"), text + "</rig>")
    });
    let (_, references) = told(&corpus(documents));
    assert_eq!(
        references,
        ["rig/swing@limb -> limb", "rig/spare/swing@limb -> limb"]
    );
}

#[test]
fn a_few_values_refer_as_their_kin_do_though_they_lead_nowhere() {
    let told_of = |gives: bool| {
        let mut dice = Dice(12);
        let documents = (0..40).map(|number| {
            let limbs = words(&mut dice, 5);
            let mut text = String::from("<rig>");
            for limb in &limbs {
                text += &format!("<limb call='{limb}'><bone/></limb>");
            }
            for shelf in ["left", "right"] {
                let limb = dice.one(&limbs);
                text += &format!("<{shelf}><swing limb='{limb}' pace='1'/></{shelf}>");
            }
            // Written in a way that is met nowhere else, and once with numbers.
            text += &match number {
                0..4 => format!("<spare><swing limb='other:lost{number}' pace='1'/></spare>"),
                4..8 => format!("<store><swing limb='{number}' pace='1'/></store>"),
                _ => String::new(),
            };
            // Where the same attribute gives names elsewhere, nothing is taken for granted.
            if gives {
                for _ in 0..3 {
                    let own = word(&mut dice);
                    text += &format!("<swing limb='{own}' pace='1'/><pick of='{own}'/>");
                }
            }
            (format!("{number}.xml"), text + "</rig>")
        });
        told(&corpus(documents)).1
    };
    let line = "rig/spare/swing@limb -> limb";
    let numbers = "rig/store/swing@limb -> limb";
    let found = told_of(false);
    assert!(found.iter().any(|found| found == line), "{found:?}");
    assert!(found.iter().all(|found| found != numbers), "{found:?}");
    let found = told_of(true);
    assert!(found.iter().all(|found| found != line), "{found:?}");
}
