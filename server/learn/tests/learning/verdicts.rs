//! What a person says about roles that were found.

use crate::motions::{PARTS, library, path, shift};
use learn::roles::{Proposal, Verdict, Verdicts};
use learn::{Settings, Structure, Survey, names};

/// The roles of cranes, of which a person said that.
fn proposals(verdicts: Verdicts) -> Vec<Proposal> {
    let (corpus, around) = library("", |n| {
        let go = |part: usize| {
            let (limb, until) = (path(part), part + 2);
            format!(
                "<go limb='{limb}' from='0' until='{until}' {}/>",
                shift(n, part)
            )
        };
        let acts = PARTS.iter().enumerate().map(|(part, name)| {
            let key = ["lift", "drop", "turn", "grab"][part];
            format!(
                "<act id='{name}{n}'>{}</act><hand act='{name}{n}' key='{key}'/>",
                go(part)
            )
        });
        format!("<act id='up'/>{}", acts.collect::<String>())
    });
    let survey = Survey::of(&corpus);
    let names = names::infer(&survey);
    let settings = Settings {
        verdicts,
        ..Settings::default()
    };
    Structure::of(&survey, &names, &around, &settings)
        .roles
        .proposals
}

fn said(role: &'static str, path: &str, verdict: Verdict) -> Vec<Proposal> {
    proposals(Verdicts {
        given: vec![(role, path.to_owned(), verdict)],
        refused: Vec::new(),
    })
}

fn with(parts: &[(&str, &str)]) -> Verdict {
    let parts = parts.iter();
    Verdict::With(
        parts
            .map(|(part, path)| ((*part).to_owned(), (*path).to_owned()))
            .collect(),
    )
}

fn roles(proposals: &[Proposal]) -> Vec<&str> {
    proposals.iter().map(|one| one.role).collect()
}

/// What plays the parts of the channel, and whether a person said so.
fn channel(proposals: &[Proposal]) -> (String, bool) {
    let channel = proposals.iter().find(|one| one.role == "channel").unwrap();
    let played = channel.played().into_iter();
    let played: Vec<String> = played
        .map(|(part, path)| format!("{part} {path}"))
        .collect();
    (played.join(", "), channel.confirmed)
}

#[test]
fn without_a_word_all_that_was_found_is_proposed() {
    let found = proposals(Verdicts::default());
    assert_eq!(roles(&found), ["scene", "animation", "channel", "control"]);
    let played = "node @limb, begin @from, end @until, from @a, to @b";
    assert_eq!(channel(&found), (played.to_owned(), false));
}

#[test]
fn what_a_person_puts_into_a_part_changes_places_with_what_was_there() {
    let told = with(&[
        ("begin", "@until"),
        ("to", "@a"),
        ("gain", "@b"),
        ("node", "@none"),
    ]);
    let played = "node @limb, begin @until, end @from, from @b, to @a";
    let found = said("channel", "crane/act/go", told);
    assert_eq!(channel(&found), (played.to_owned(), true));
    let found = said("channel", "crane/act/go", Verdict::Yes);
    assert!(channel(&found).1);
}

#[test]
fn without_animations_there_are_no_channels_and_controls() {
    let found = said("animation", "crane/act", Verdict::No);
    assert_eq!(roles(&found), ["scene"]);
    let found = said("control", "crane/hand", Verdict::No);
    assert_eq!(roles(&found), ["scene", "animation", "channel"]);
    // Of another place nothing was said.
    let found = said("animation", "crane/hand", Verdict::No);
    assert_eq!(roles(&found), ["scene", "animation", "channel", "control"]);
}

#[test]
fn what_was_refused_earlier_is_not_proposed_again() {
    let found = proposals(Verdicts {
        given: Vec::new(),
        refused: vec!["scene".to_owned(), "control".to_owned()],
    });
    assert_eq!(roles(&found), ["animation", "channel"]);
}
