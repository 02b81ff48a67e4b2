//! Every channel of every machine of the corpus, made adjustable.

use crate::{
    assists::{
        adjust::{Request, plan},
        after::landings,
        parts::Parts,
        site::Site,
    },
    checks,
};
use dialect::ControlKind;
use project::{Disk, SettingsStore, View};
use std::{
    io::Write,
    path::{Path, PathBuf},
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
