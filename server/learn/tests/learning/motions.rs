//! What moves, and what does not say anything of it, in made-up cranes with the scenes that they move.

use crate::learnt::{learnt, learnt_from, source};
use dialect::{Context, Dialect, Property, Rule};
use learn::{Corpus, Surroundings};

pub(crate) const PARTS: [&str; 4] = ["hull", "mast", "jib", "hook"];

/// Where the parts of a crane rest that hang on each other in a row: metres.
fn rest(n: usize, part: usize) -> [f64; 3] {
    [part as f64 + n as f64 / 10.0, 1.0 + part as f64, 0.0]
}

/// Where a part rests, and where it goes from there.
pub(crate) fn shift(n: usize, part: usize) -> String {
    let [x, y, z] = rest(n, part);
    format!("a='{x} {y} {z}' b='{x} {} 1'", y + 1.0)
}

/// What is learnt from twelve cranes. `inside`: more attributes of the channel that moves a part, and what it holds.
fn cranes(inside: impl Fn(usize, usize) -> (&'static str, String)) -> Dialect {
    learnt_with("", |n| {
        let channel = |part: usize| {
            let until = part + 2;
            let (more, inside) = inside(n, part);
            format!(
                "<go limb='{}' from='0' until='{until}'{more}>{inside}</go>",
                path(part)
            )
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        format!("<act id='up'>{channels}</act>")
    })
}

pub(crate) fn path(part: usize) -> String {
    vec!["0"; part + 1].join("/")
}

/// The same from what each crane holds. `of_node`: more of every other node.
fn learnt_with(of_node: &str, crane: impl Fn(usize) -> String) -> Dialect {
    let (corpus, around) = library(of_node, crane);
    learnt_from(&corpus, &around)
}

/// The cranes themselves, and what lies beside them.
pub(crate) fn library(of_node: &str, crane: impl Fn(usize) -> String) -> (Corpus, Surroundings) {
    let (mut corpus, mut scenes) = (Corpus::default(), Vec::new());
    for n in 0..12 {
        let node = |part: usize| {
            let next = part + 1;
            let children = match next < PARTS.len() {
                true => format!(r#","children":[{next}]"#),
                false => String::new(),
            };
            let (name, place) = (PARTS[part], rest(n, part));
            let more = if part.is_multiple_of(2) { of_node } else { "" };
            format!(r#"{{"name":"{name}","translation":{place:?}{children}{more}}}"#)
        };
        let nodes: Vec<String> = (0..PARTS.len()).map(node).collect();
        let json = format!(
            r#"{{"asset":{{"version":"2.0"}},"scenes":[{{"nodes":[0]}}],"nodes":[{}]}}"#,
            nodes.join(",")
        );
        let scene = scene::read(json.as_bytes(), "", &[]).expect("the scene is well made");
        scenes.push((source(format!("lib/{n}/shape.gltf")), scene));
        let text = format!(
            "<crane shape='shape.gltf'>{}<hand act='up' key='k'/></crane>",
            crane(n)
        );
        assert!(corpus.add(source(format!("lib/{n}/crane.xml")), &text));
    }
    let around = Surroundings::new(&corpus, &[], scenes);
    (corpus, around)
}

/// Where values are found and what they move, word by word where words say it.
fn moves(dialect: &Dialect) -> Vec<String> {
    let motions = dialect.roles.channels.iter().flat_map(|role| &role.motions);
    let said = motions.map(|motion| {
        let paths: Vec<&str> = motion.ends.paths().map(|path| path.as_str()).collect();
        let what = match &motion.property {
            Rule::Fixed(property) => property.as_str().to_owned(),
            Rule::Read(rule) => {
                let words = rule.words.iter();
                let words = words.map(|(word, property): &(String, Property)| {
                    format!("{word} {}", property.as_str())
                });
                words.collect::<Vec<_>>().join(", ")
            }
        };
        format!("{}: {what}", paths.join(" "))
    });
    said.collect()
}

/// In half of the channels something is shifted as nodes rest, in the other half `wim` says something.
fn beside(wim: impl Fn(usize, usize) -> String) -> Vec<String> {
    moves(&cranes(|n, part| match part % 2 {
        0 => ("", format!("<wim {}/>", wim(n, part))),
        _ => ("", format!("<gad {}/>", shift(n, part))),
    }))
}

/// 35 degrees are not taken for 35 metres.
#[test]
fn what_would_be_too_far_away_turns() {
    let far = |n: usize, part: usize| format!("a='{} 0 0' b='{} 0 0'", 5 + n, 35 - part);
    assert_eq!(
        beside(far),
        ["wim/@a wim/@b: rotation", "gad/@a gad/@b: translation"]
    );
    let near = |n: usize, part: usize| {
        let [a, b] = [5 + n, 35 - part].map(|number| number as f64 / 10.0);
        format!("a='{a} 0 0' b='{b} 0 0'")
    };
    assert_eq!(
        beside(near),
        ["wim/@a wim/@b: translation", "gad/@a gad/@b: translation"]
    );
}

/// What they move is not told, rather than that something becomes -35 times as large.
#[test]
fn plain_numbers_that_are_no_factors_are_left_out() {
    let numbers = |n: usize, part: i32| format!("a='{}' b='{}'", 5 + n, -35 - part);
    assert_eq!(
        beside(|n, part| numbers(n, part as i32)),
        ["gad/@a gad/@b: translation"]
    );
    let factors = |n: usize, part: usize| {
        let [a, b] = [5 + n, 35 - part].map(|number| number as f64 / 10.0);
        format!("a='{a}' b='{b}'")
    };
    assert_eq!(
        beside(factors),
        ["gad/@a gad/@b: translation", "wim/@a wim/@b: scale"]
    );
}

/// The first two channels of each crane have a motion of one sort with a word of their own each, the others one of another
/// sort with a third word.
fn worded([one, other]: [&'static str; 2], wim: impl Fn(usize, usize) -> String) -> Vec<String> {
    moves(&cranes(|n, part| match part {
        0 => (one, format!("<wim {}/>", wim(n, part))),
        1 => (other, format!("<wim {}/>", wim(n, part))),
        _ => (" sort='rax'", format!("<gad {}/>", shift(n, part))),
    }))
}

const WORDS: [&str; 2] = [" sort='pax'", " sort='qax'"];

#[test]
fn words_that_go_with_other_motions_mean_nothing_here() {
    let as_resting = |n: usize, part: usize| match part {
        0 => shift(n, part),
        _ => format!("a='0 0 0' b='0 {} 0'", 30 + n),
    };
    assert_eq!(
        worded(WORDS, as_resting),
        [
            "wim/@a wim/@b: pax translation, qax rotation",
            "gad/@a gad/@b: translation"
        ]
    );
}

#[test]
fn words_that_go_with_other_motions_mean_nothing_from_where_nodes_rest() {
    let from_rest = |n: usize, part: usize| match part {
        0 => format!("a='0 0 0' b='0.3 {} 0'", n as f64 / 10.0),
        _ => format!("a='0 0 0' b='0 {} 0'", 33 + n),
    };
    assert_eq!(
        worded(WORDS, from_rest),
        [
            "wim/@a wim/@b: pax translation, qax rotation",
            "gad/@a gad/@b: translation"
        ]
    );
}

/// A single word tells nothing apart, whatever others there are elsewhere.
#[test]
fn one_word_does_not_say_what_moves() {
    let turn = |n: usize, part: usize| format!("a='{} 0 0' b='{} 0 0'", 5 + n, 35 - part);
    assert_eq!(
        worded([WORDS[0]; 2], turn),
        ["wim/@a wim/@b: rotation", "gad/@a gad/@b: translation"]
    );
}

/// What a part may be called, in a scene that is XML itself.
fn called(dialect: &Dialect) -> String {
    let steps = ["shape", "limb", "called"].into_iter();
    let context = steps.fold(Context::DOCUMENT, |context, name| {
        dialect.child_context(context, name)
    });
    let element = dialect.element(context).expect("it is declared");
    dialect.describe(&element.text.as_ref().expect("it has a text").value)
}

#[test]
fn the_names_of_nodes_are_no_list_of_words() {
    let shape = |n: usize| {
        let limb = |inner: String, part: usize| {
            let [x, y, z] = rest(n, part);
            let name = PARTS[part];
            format!("<limb><called>{name}</called><lies>{x} {y} {z}</lies>{inner}</limb>")
        };
        let limbs = (0..PARTS.len()).rev().fold(String::new(), limb);
        format!("<shape>{limbs}</shape>")
    };
    let mut corpus = Corpus::default();
    for n in 0..12 {
        let channel = |part: usize| {
            let (path, until) = (path(part), part + 2);
            format!(
                "<go limb='{path}' from='0' until='{until}' {}/>",
                shift(n, part)
            )
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        let crane = format!(
            "<crane shape='shape.xml'><act id='up'>{channels}</act><hand act='up' key='k'/></crane>"
        );
        assert!(corpus.add(source(format!("lib/{n}/shape.xml")), &shape(n)));
        assert!(corpus.add(source(format!("lib/{n}/crane.xml")), &crane));
    }
    let around = Surroundings::new(&corpus, &[], []);
    let dialect = learnt_from(&corpus, &around);
    assert!(dialect.scene_format.is_some());
    assert_eq!(called(&dialect), "any text");
    // Where nothing asks for them they are words like others.
    let shapes: Vec<String> = (0..12).map(shape).collect();
    assert_eq!(called(&learnt(&shapes)), "`hull`, `mast`, `jib` or `hook`");
}

/// Cranes in which something is shown or hidden, or the other way round, in half of the channels.
fn answers(of_node: &str, [from, to]: [&str; 2]) -> [Vec<String>; 2] {
    let dialect = learnt_with(of_node, |n| {
        let channel = |part: usize| {
            let inside = match part % 2 {
                0 => format!("<wim a='{from}' b='{to}'/>"),
                _ => format!("<gad {}/>", shift(n, part)),
            };
            let (path, until) = (path(part), part + 2);
            format!("<go limb='{path}' from='0' until='{until}'>{inside}</go>")
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        format!("<act id='up'>{channels}</act>")
    });
    [dialect.notation.yes, dialect.notation.no]
}

/// That a scene does not hide anything says little: who shows something first has it hidden in the game.
#[test]
fn words_for_shown_and_hidden_are_told_by_scenes_that_hide_something_else_by_english() {
    assert_eq!(answers("", ["hidden", "shown"]), [["shown"], ["hidden"]]);
    assert_eq!(answers("", ["shown", "hidden"]), [["shown"], ["hidden"]]);
    // Where nothing else is known, things begin as they rest.
    assert_eq!(answers("", ["ka", "lo"]), [["ka"], ["lo"]]);
    let hidden = r#","extensions":{"KHR_node_visibility":{"visible":false}}"#;
    assert_eq!(answers(hidden, ["ka", "lo"]), [["lo"], ["ka"]]);
    let shown = hidden.replace("false", "true");
    assert_eq!(answers(&shown, ["ka", "lo"]), [["ka"], ["lo"]]);
}

/// Cranes in which nodes are moved by the names that stand beside their paths: in all cranes the same few.
fn same_names(more: &str) -> Dialect {
    learnt_with("", |n| {
        let names = PARTS.iter().enumerate();
        let names = names.map(|(part, name)| format!("<known as='{name}' lies='{}'/>", path(part)));
        let channel = |part: usize| {
            let (name, until) = (PARTS[part], part + 2);
            let ends = shift(n, part);
            format!("<go limb='{name}' from='0' until='{until}' side='hull' {ends}/>")
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        format!(
            "{}{more}<act id='up'>{channels}</act>",
            names.collect::<String>()
        )
    })
}

#[test]
fn names_that_all_documents_have_are_names_if_nothing_else_leads_to_nodes() {
    let roles = |dialect: &Dialect| (dialect.roles.aliases.len(), dialect.roles.channels.len());
    let dialect = same_names("");
    assert_eq!(roles(&dialect), (1, 1));
    assert_eq!(dialect.roles.channels[0].node.as_str(), "@limb");
    // Where others have paths, words are words.
    assert_eq!(
        roles(&same_names("<hung at='0/0'/><hung at='0/0/0'/>")).0,
        0
    );
}

/// What is learnt of cranes whose channels have their times in one attribute, and their values with a mark between.
fn spans(span: impl Fn(usize) -> String, mark: &str) -> Dialect {
    learnt_with("", |n| {
        let channel = |part: usize| {
            let values = shift(n, part)
                .replace(' ', mark)
                .replace(&format!("'{mark}b"), "' b");
            let limb = path(part);
            format!("<go limb='{limb}' span='{}' {values}/>", span(part))
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        format!("<act id='up'>{channels}</act>")
    })
}

/// A dialect says what the minus is by saying that no time is negative.
#[test]
fn a_minus_may_stand_between_two_times() {
    for mark in ["-", " - ", "..", ";"] {
        let dialect = spans(|part| format!("{part}{mark}{}.5", part + 2), " ");
        assert_eq!(moves(&dialect), ["@a @b: translation"], "{mark}");
    }
}

/// Values may be negative, and a plus is a part of any number: a dialect with such marks could not be read.
#[test]
fn signs_are_no_marks_between_numbers_that_may_have_some() {
    let dialect = spans(|part| format!("{part}+{}", part + 2), " ");
    assert_eq!(moves(&dialect), Vec::<String>::new());
    let dialect = spans(|part| format!("{part}..{}", part + 2), "-");
    assert_eq!(moves(&dialect), Vec::<String>::new());
    let pairs = learnt_with("", |n| {
        let turn = |part: usize| {
            let (limb, until) = (path(part), part + 2);
            format!(
                "<go limb='{limb}' from='0' until='{until}' turn='{n}-{}'/>",
                40 + part
            )
        };
        format!(
            "<act id='up'>{}</act>",
            (0..PARTS.len()).map(turn).collect::<String>()
        )
    });
    assert_eq!(moves(&pairs), Vec::<String>::new());
}
