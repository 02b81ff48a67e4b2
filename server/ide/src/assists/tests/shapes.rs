//! The same carrier in many dialects: what one writes as an attribute another
//! writes as an element, a list, a number or a word. In each its legs become
//! adjustable.

mod dialect;
mod document;

use crate::{
    Severity,
    assists::{
        adjust::{Request, plan},
        parts::Parts,
        site::Site,
    },
    checks,
    fixture::Fixture,
    random::Random,
};
use ::dialect::{ControlKind, Dialect};
use std::sync::Arc;

const SCENE: &str = "rig\n  frame\n    leg.left 1.3 0 0 box\n      wheel\n    leg.right -1.3 0 0 box\n      wheel\n  mast 0 1 0 box\n";

/// From here on, values stand in keyframes.
const KEYFRAMES: usize = 8;
const NO_TIMES: usize = 5;

/// One way to write things down. Each field is a choice among a few.
#[derive(Debug, Clone, Copy)]
struct Shape {
    times: usize,
    ends: usize,
    property: usize,
    names: usize,
    wheels: usize,
    kinds: usize,
    played_by: usize,
    listed: bool,
    units: bool,
    paths: usize,
    layout: usize,
    duration: usize,
    holder: usize,
    sounds: usize,
    control_home: usize,
    namespace: usize,
    has_control: bool,
}

impl Shape {
    /// Different choices for different numbers, the same for the same.
    fn number(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let mut next = |choices| random.below(choices);
        let (times, ends) = (next(5), next(10));
        Self {
            // Keyframes have their times themselves.
            times: if ends < KEYFRAMES { times } else { NO_TIMES },
            ends,
            property: next(4),
            names: next(2),
            wheels: next(6),
            kinds: next(2),
            played_by: next(3),
            listed: next(2) == 1,
            units: next(2) == 1,
            paths: next(2),
            layout: next(3),
            duration: next(4),
            holder: next(3),
            sounds: next(3),
            control_home: next(3),
            namespace: next(3),
            has_control: next(4) > 0,
        }
    }
}

#[test]
fn the_legs_become_adjustable_however_they_are_written_down() {
    for seed in 0..240 {
        let shape = Shape::number(seed);
        let toml = shape.dialect();
        let dialect = Dialect::read(&toml, None)
            .unwrap_or_else(|problems| panic!("{shape:?}\n{toml}\n{problems:#?}"));
        let text = shape.document();
        let fixture = Fixture::of(&text, vec![Arc::new(dialect)])
            .at("x.rig.xml")
            .scene(SCENE)
            .file("machines/rig.gltf");
        let view = fixture.view();
        // The alias is only used where controls want one.
        let wrong = checks::run(&view)
            .into_iter()
            .filter(|finding| finding.severity < Severity::Information);
        assert_eq!(wrong.collect::<Vec<_>>(), [], "{shape:?}\n{text}");
        let site = Site::of(&view).expect("the dialect fits");
        let legs = Parts {
            animation: 0,
            channels: vec![1],
        };
        let legs = legs
            .with_mirrored(&site)
            .unwrap_or_else(|| panic!("{shape:?}\n{text}"));
        assert_eq!(legs.channels, [1, 2], "{shape:?}");
        for (control, name) in [
            (Some(ControlKind::Analog), None),
            (Some(ControlKind::Digital), Some("x.y".to_owned())),
            (None, None),
        ] {
            let request = Request {
                parts: legs.clone(),
                control,
                name,
                input: None,
            };
            let plan = plan(&site, &request)
                .unwrap_or_else(|reason| panic!("{shape:?}\n{text}\n{reason}"));
            let proof = plan.prove(&site, &legs).unwrap_or_else(|reason| {
                let after = syntax::apply(&text, &plan.edits);
                panic!(
                    "{shape:?}\n{}\n{reason}",
                    after.unwrap_or_else(|error| error.to_string())
                )
            });
            let after = proof.after.machine().expect("it is a machine");
            assert_eq!(after.animations.len(), 2, "{shape:?}");
            let moved = &after.animations[proof.animation];
            assert_eq!(
                (moved.channels.len(), moved.length()),
                (2, 2.5),
                "{shape:?}"
            );
            let Some(kind) = control else { continue };
            let new = after.controls.iter().find(|known| {
                known.input.as_ref().map(|input| &*input.value) == plan.input.as_deref()
            });
            let new = new.unwrap_or_else(|| panic!("{shape:?}\n{}", proof.after.text()));
            let carried = if shape.wheels < 5 { 2 } else { 0 };
            let sounds = usize::from(shape.sounds > 0 && shape.has_control);
            assert_eq!(
                (new.kind, new.wheels.len(), new.sounds.len()),
                (Some(kind), carried, sounds),
                "{shape:?}\n{}",
                proof.after.text()
            );
            // A button has no use for a gain; it gets one only where the dialect asks for it.
            let gain = new.gain.as_ref().map(|gain| gain.value);
            let may_lack = kind == ControlKind::Digital;
            assert!(
                gain == Some(0.5) || (may_lack && gain.is_none()),
                "{shape:?}: {gain:?}"
            );
            assert_eq!(new.node.is_some(), shape.holder > 0, "{shape:?}");
            let old = after.controls.iter().find(|known| {
                known
                    .input
                    .as_ref()
                    .is_some_and(|input| &*input.value == "d1")
            });
            let left = old
                .filter(|_| shape.has_control)
                .map(|old| old.wheels.len());
            assert_eq!(
                left,
                shape.has_control.then_some(0),
                "{shape:?}\n{}",
                proof.after.text()
            );
            if shape.layout == 1 {
                let text = proof.after.text();
                assert_eq!(
                    text.matches('\n').count(),
                    text.matches("\r\n").count(),
                    "{shape:?}"
                );
            }
            assert_eq!(
                proof.after.text().lines().count() == 1,
                shape.layout == 2,
                "{shape:?}\n{}",
                proof.after.text()
            );
        }
    }
}
