//! What is proposed: elements that play a role, and what plays the parts of it.

use super::records::Field;
use crate::names::SlotRef;
use dialect::ValueType;

/// Roles, their parts, and meanings of words, as dialect files call them.
pub(super) mod word {
    pub(in crate::roles) const AGAINST: &str = "against";
    pub(in crate::roles) const ALIAS: &str = "alias";
    pub(in crate::roles) const ALONG: &str = "along";
    pub(in crate::roles) const AMOUNT: &str = "amount";
    pub(in crate::roles) const ANALOG: &str = "analog";
    pub(in crate::roles) const ANIMATION: &str = "animation";
    pub(in crate::roles) const AT: &str = "at";
    pub(in crate::roles) const BEGIN: &str = "begin";
    pub(in crate::roles) const BY: &str = "by";
    pub(in crate::roles) const CHANNEL: &str = "channel";
    pub(in crate::roles) const CONTROL: &str = "control";
    pub(in crate::roles) const DIGITAL: &str = "digital";
    pub(in crate::roles) const DURATION: &str = "duration";
    pub(in crate::roles) const EASING: &str = "easing";
    pub(in crate::roles) const END: &str = "end";
    pub(in crate::roles) const ENDS: &str = "ends";
    pub(in crate::roles) const FILE: &str = "file";
    pub(in crate::roles) const FROM: &str = "from";
    pub(in crate::roles) const FROM_REST: &str = "from-rest";
    pub(in crate::roles) const GAIN: &str = "gain";
    pub(in crate::roles) const INPUT: &str = "input";
    pub(in crate::roles) const KEYFRAMES: &str = "keyframes";
    pub(in crate::roles) const KIND: &str = "kind";
    pub(in crate::roles) const LINEAR: &str = "linear";
    pub(in crate::roles) const LISTING: &str = "listing";
    pub(in crate::roles) const NAME: &str = "name";
    pub(in crate::roles) const NODE: &str = "node";
    pub(in crate::roles) const PATH: &str = "path";
    pub(in crate::roles) const PROPERTY: &str = "property";
    pub(in crate::roles) const RADIUS: &str = "radius";
    pub(in crate::roles) const RATE: &str = "rate";
    pub(in crate::roles) const ROTATION: &str = "rotation";
    pub(in crate::roles) const SCENE: &str = "scene";
    pub(in crate::roles) const SMOOTH: &str = "smooth";
    pub(in crate::roles) const SOUND: &str = "sound";
    pub(in crate::roles) const SOUNDS: &str = "sounds";
    pub(in crate::roles) const STEP: &str = "step";
    pub(in crate::roles) const TEXT: &str = "text";
    pub(in crate::roles) const TIME: &str = "time";
    pub(in crate::roles) const TO: &str = "to";
    pub(in crate::roles) const VALUE: &str = "value";
    pub(in crate::roles) const WHEEL: &str = "wheel";
    pub(in crate::roles) const WHEELS: &str = "wheels";
    pub(in crate::roles) const WIDTH: &str = "width";
    pub(in crate::roles) const WINDOW: &str = "window";
}

/// Elements that seem to play a role.
#[derive(Clone, Debug, Default)]
pub struct Proposal {
    /// The role, as dialect files call it.
    pub role: &'static str,
    /// The elements: from the root element on, or from an animation for a channel.
    pub at: String,
    /// The parts of the role.
    pub parts: Vec<Part>,
    /// The motions of a channel.
    pub motions: Vec<Vec<Part>>,
    /// From 0 to 1.
    pub confidence: f64,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// What could not be told and was assumed, in sentences.
    pub assumed: Vec<String>,
    /// What it might be instead, each with a few words for what is different.
    pub others: Vec<(String, Proposal)>,
    /// Whether a person said so.
    pub confirmed: bool,
    /// The elements from the root element on, wherever `at` starts.
    pub path: String,
    /// All values that belong to the elements: what may play a part.
    pub(crate) fields: Vec<(String, SlotRef)>,
    /// What the values are, if this holds.
    pub(crate) types: Vec<(SlotRef, ValueType)>,
    /// Motions that start at nought, of which nothing shows whether they are added to how nodes rest.
    pub(super) from_nought: Vec<usize>,
    /// The angles of a channel's rotations, as they stand in documents.
    pub(crate) angles: Vec<f64>,
}

/// A part of a role.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// As dialect files call it.
    pub key: &'static str,
    pub value: PartValue,
}

/// What plays a part.
#[derive(Clone, Debug, PartialEq)]
pub enum PartValue {
    /// Values: where they stand.
    Path(String),
    /// Always the same.
    Word(&'static str),
    /// Said by words: where they stand, and which mean what.
    Words {
        at: String,
        words: Vec<(&'static str, Vec<String>)>,
    },
    /// Yes.
    Yes,
    /// Parts of its own.
    Parts(Vec<Part>),
}

impl Part {
    pub(super) fn path(key: &'static str, path: &str) -> Self {
        let value = PartValue::Path(path.to_owned());
        Self { key, value }
    }

    /// Where a value stands: in one place, or in one for each axis.
    pub(super) fn place(key: &'static str, field: &Field) -> Self {
        let Some(axes) = &field.axes else {
            return Self::path(key, &field.path);
        };
        let axes = ["x", "y", "z"].into_iter().zip(axes.iter());
        let parts = axes.filter_map(|(key, axis)| Some(Self::path(key, &axis.as_ref()?.path)));
        let value = PartValue::Parts(parts.collect());
        Self { key, value }
    }
}

impl Proposal {
    /// The part of this name.
    pub(super) fn part(&self, key: &str) -> Option<&PartValue> {
        let mut parts = self.parts.iter();
        parts.find(|part| part.key == key).map(|part| &part.value)
    }

    /// The parts that values play, as answers call them: `from`, and `from-2` in the second motion of a channel.
    pub fn played(&self) -> Vec<(String, &str)> {
        let motions = self.motions.iter().enumerate();
        let motions = motions.flat_map(|(at, parts)| parts.iter().map(move |part| (at, part)));
        let parts = self.parts.iter().map(|part| (0, part)).chain(motions);
        let named = parts.filter_map(|(at, part)| match (&part.value, at) {
            (PartValue::Path(path), 0) => Some((part.key.to_owned(), path.as_str())),
            (PartValue::Path(path), at) => {
                Some((format!("{}-{}", part.key, at + 1), path.as_str()))
            }
            _ => None,
        });
        named.collect()
    }

    /// Values that may play a part instead: those that play none.
    pub fn idle(&self) -> Vec<&str> {
        let played = self.played();
        let idle = self.fields.iter().map(|(path, _)| path.as_str());
        idle.filter(|path| played.iter().all(|(_, known)| known != path))
            .collect()
    }

    /// The proposal with another value in a part. If that played another part, they change places. `None`: there is
    /// no such part or no such value.
    pub fn with(&self, part: &str, path: &str) -> Option<Self> {
        let played = self.played();
        let before = played.iter().find(|(known, _)| known == part)?.1.to_owned();
        let slot = |path: &str| {
            let mut fields = self.fields.iter();
            fields
                .find(|(known, _)| known == path)
                .map(|(_, slot)| *slot)
        };
        let (old, new) = (slot(&before)?, slot(path)?);
        let other = played.iter().find(|(_, known)| *known == path);
        let other = other.map(|(known, _)| known.clone());
        let mut changed = self.clone();
        if let Some(other) = other {
            changed.put(&other, &before);
        }
        changed.put(part, path);
        for (slot, _) in &mut changed.types {
            *slot = match *slot {
                known if known == old => new,
                known if known == new => old,
                known => known,
            };
        }
        changed.others.clear();
        Some(changed)
    }

    fn put(&mut self, part: &str, path: &str) {
        let (key, motion) = match part.rsplit_once('-') {
            Some((key, number)) => (key, number.parse::<usize>().unwrap_or(1) - 1),
            None => (part, 0),
        };
        let own = self.parts.iter_mut().filter(|_| motion == 0);
        let of_motion = self.motions.get_mut(motion).into_iter().flatten();
        if let Some(part) = own.chain(of_motion).find(|part| part.key == key) {
            part.value = PartValue::Path(path.to_owned());
        }
    }

    pub(super) fn set(&mut self, key: &'static str, path: &str) {
        self.parts.push(Part::path(key, path));
    }
}

/// What a person says about a proposal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It is so.
    Yes,
    /// It is not so.
    No,
    /// It is the other one of this number, from 0.
    Other(usize),
    /// It is so, but with other values in some parts: part and path.
    With(Vec<(String, String)>),
}

/// Verdicts on proposals.
#[derive(Clone, Debug, Default)]
pub struct Verdicts {
    /// Role and elements, and what was said.
    pub given: Vec<(&'static str, String, Verdict)>,
    /// Roles that nothing plays, as was said earlier.
    pub refused: Vec<String>,
}

impl Verdicts {
    /// The proposals as they are after all that was said.
    pub(super) fn apply(&self, proposals: Vec<Proposal>) -> Vec<Proposal> {
        let open = proposals
            .into_iter()
            .filter(|proposal| self.refused.iter().all(|role| role != proposal.role));
        let decided = open.filter_map(|mut proposal| {
            let mut given = self.given.iter();
            let said =
                given.find(|(role, path, _)| *role == proposal.role && *path == proposal.path);
            match said.map(|(.., verdict)| verdict) {
                None => Some(proposal),
                Some(Verdict::No) => None,
                Some(Verdict::Yes) => Some(Proposal {
                    confirmed: true,
                    ..proposal
                }),
                Some(Verdict::With(parts)) => {
                    for (part, path) in parts {
                        proposal = proposal.with(part, path).unwrap_or(proposal);
                    }
                    proposal.confirmed = true;
                    Some(proposal)
                }
                Some(Verdict::Other(number)) if *number < proposal.others.len() => {
                    let (_, other) = proposal.others.swap_remove(*number);
                    Some(Proposal {
                        confirmed: true,
                        ..other
                    })
                }
                Some(Verdict::Other(_)) => Some(proposal),
            }
        });
        consistent(decided.collect())
    }
}

/// Without what hangs on roles that nothing plays.
fn consistent(mut proposals: Vec<Proposal>) -> Vec<Proposal> {
    let plays = |proposals: &[Proposal], role: &str| proposals.iter().any(|one| one.role == role);
    if !plays(&proposals, word::ANIMATION) {
        proposals.retain(|one| one.role != word::CHANNEL && one.role != word::CONTROL);
    }
    for (role, key) in [(word::WHEEL, word::WHEELS), (word::SOUND, word::SOUNDS)] {
        if !plays(&proposals, role) {
            for proposal in &mut proposals {
                proposal.parts.retain(|part| part.key != key);
            }
        }
    }
    proposals
}
