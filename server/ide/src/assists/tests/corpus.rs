//! Every channel of every machine of the corpus, made adjustable.

use crate::fixture::{Fixture, RIG};
use crate::{
    assists::{
        adjust::{Request, plan},
        after::landings,
        parts::Parts,
        site::Site,
    },
    checks,
};
use dialect::{ControlKind, Dialect};
use project::{Disk, SettingsStore, View};
use std::{
    io::Write,
    path::{Path, PathBuf},
    sync::Arc,
};
use syntax::TextEdit;

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus")
}

fn view(file: &str) -> View {
    let path = corpus()
        .join(file)
        .canonicalize()
        .expect("the corpus has this file");
    let text = std::fs::read_to_string(&path).expect("it can be read");
    project::view_of(path, text, &Disk::default(), &SettingsStore::default())
}

const MACHINES: [&str; 6] = [
    "ternholt/machines/bram-6.machine.xml",
    "ternholt/machines/ostrel-12.machine.xml",
    "ternholt/machines/vennet-24.machine.xml",
    "ternholt/machines/quarl-30/quarl-30.machine.xml",
    "dialects/yard/rigs/dorrik-9.rig.xml",
    "dialects/slip/cards/fennor-4.card",
];

/// Every channel of the corpus, alone, with its mirror image and with those behind it: what could be
/// planned and what was refused.
fn each_choice(mut visit: impl FnMut(&str, &Site<'_>, &Parts)) {
    for file in MACHINES {
        let view = view(file);
        let site = Site::of(&view).expect("a dialect fits");
        for (animation, read) in site.machine.animations.iter().enumerate() {
            for channel in 0..read.channels.len() {
                let alone = Parts {
                    animation,
                    channels: vec![channel],
                }
                .completed(&site);
                visit(file, &site, &alone);
                if let Some(mirrored) = alone.with_mirrored(&site) {
                    visit(file, &site, &mirrored);
                }
                // As somebody selects them who marks several lines.
                for last in channel + 1..read.channels.len() {
                    let several = Parts {
                        animation,
                        channels: (channel..=last).collect(),
                    };
                    visit(file, &site, &several.completed(&site));
                }
            }
        }
    }
}

fn request(parts: &Parts, control: Option<ControlKind>) -> Request {
    Request {
        parts: parts.clone(),
        control,
        name: None,
        input: None,
    }
}

/// The text before with the edits undone one by one is the text before: what
/// is outside of the edits has not been touched.
fn is_untouched_outside(before: &str, after: &str, edits: &[TextEdit]) -> bool {
    let mut undone = after.to_owned();
    let landed = landings(edits);
    let mut order: Vec<usize> = (0..edits.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse((landed[*at].start(), landed[*at].end(), *at)));
    for at in order {
        let was = &before[std::ops::Range::<usize>::from(edits[at].range)];
        undone.replace_range(std::ops::Range::<usize>::from(landed[at]), was);
    }
    undone == before
}

/// The brief of the whole: adjustable, nothing new to complain about, every
/// node where it was.
#[test]
fn every_channel_can_be_made_adjustable_and_keeps_its_poses() {
    let (mut worst, mut done, mut refused) = (0.0_f64, 0, Vec::new());
    each_choice(|file, site, parts| {
        let labels = parts.labels(site);
        let plan = match plan(site, &request(parts, Some(ControlKind::Analog))) {
            Ok(plan) => plan,
            Err(reason) => {
                refused.push(format!("{file} {labels:?}: {reason}"));
                return;
            }
        };
        let proof = plan
            .prove(site, parts)
            .unwrap_or_else(|reason| panic!("{file} {labels:?}: {reason}"));
        let found = proof.difference.expect("the corpus has scenes");
        worst = worst.max(found.metres).max(found.degrees).max(found.scale);
        done += 1;
        assert!(
            is_untouched_outside(site.text(), proof.after.text(), &plan.edits),
            "{file} {labels:?}"
        );
        let codes = |view: &View| -> Vec<&str> {
            checks::run(view)
                .iter()
                .map(|finding| finding.code)
                .collect()
        };
        for code in codes(&proof.after) {
            assert!(
                codes(site.view).contains(&code),
                "{file} {labels:?}: {code}"
            );
        }
    });
    // Shown by `cargo test -- --nocapture` and by runs that fail.
    let figures = format!(
        "{done} changes, worst difference {worst:e} m, degrees or factor; refused: {refused:#?}"
    );
    writeln!(std::io::stderr(), "{figures}").expect("the terminal takes it");
    assert!(worst <= 1e-9, "{figures}");
    assert!(done >= 50, "{done}");
    assert!(
        refused
            .iter()
            .all(|reason| reason.contains("it is adjustable already")),
        "{refused:#?}"
    );
}

#[test]
fn every_channel_can_be_taken_out_and_keeps_its_poses() {
    let mut done = 0;
    each_choice(|file, site, parts| {
        let labels = parts.labels(site);
        match plan(site, &request(parts, None)) {
            Ok(plan) => {
                let proof = plan
                    .prove(site, parts)
                    .unwrap_or_else(|reason| panic!("{file} {labels:?}: {reason}"));
                assert!(
                    is_untouched_outside(site.text(), proof.after.text(), &plan.edits),
                    "{file} {labels:?}"
                );
                done += 1;
            }
            Err(_) => assert!(parts.are_all(site), "{file} {labels:?}"),
        }
    });
    assert!(done >= 50, "{done}");
}

/// Looked up in a table and looked for one by one, words of controls mean the same wheels: names, numbers and nodes.
#[test]
fn wheels_are_the_same_whether_looked_up_or_looked_for() {
    let words = |view: &View| {
        let site = Site::of(view).expect("a dialect fits");
        let controls = site.machine.controls.iter();
        let found = controls.flat_map(|control| &control.wheels).map(|word| {
            assert_eq!(site.wheel(word), site.machine.wheel(word));
            site.wheel(word)
        });
        found.collect::<Vec<_>>()
    };
    assert!(MACHINES.iter().any(|file| !words(&view(file)).is_empty()));
    let wheel = |name: &str, node: &str| {
        format!("<wheel id=\"{name}\" node=\"{node}\" radius=\"1\" width=\"1\"/>")
    };
    let carry = |word: &str| format!("<carry wheel=\"{word}\"/>");
    let body = |words: [&str; 4]| {
        format!(
            "<aliases><alias name=\"w\" path=\"0/1/0\"/></aliases><wheels>{}{}{}</wheels><controls><lever animation=\"a\" input=\"pointer.x\">{}</lever></controls>",
            wheel("one", "0/0/0"),
            wheel("two", "0/1/0"),
            wheel("one", "w"),
            words.map(carry).concat(),
        )
    };
    let named = Fixture::rig(&body(["two", "one", "three", "one"])).view();
    assert_eq!(words(&named), [Some(1), Some(0), None, Some(0)]);
    let house = include_str!("../../../../dialect/src/house.dialect.toml");
    let by_node = house.replace(
        "wheel = { type = \"reference\", of = \"wheel\"",
        "wheel = { type = \"node\"",
    );
    let by_node = Dialect::read(&by_node, None).expect("the dialect is sound");
    let text = body(["0/1/0", "w", "0/0/0", "0/2"]);
    let text = format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">{text}</machine>"
    );
    let nodes = Fixture::of(&text, vec![Arc::new(by_node)])
        .scene(RIG)
        .view();
    assert_eq!(words(&nodes), [Some(1), Some(1), Some(0), None]);
}
