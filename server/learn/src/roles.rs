//! Which constructs of a library are aliases, wheels, sounds, animations, channels and controls.
//!
//! Told by structure and by how values behave: paths that lead to nodes, times that rise, values that are where
//! nodes rest, words that no machine has twice. Words of everyday English only tip the balance (`roles/hints.txt`).
//! Whatever could not be told is assumed, and said so.

mod along;
mod animations;
mod answers;
mod axes;
mod channels;
mod columns;
mod controls;
mod ground;
mod hints;
mod measures;
mod motions;
mod proposal;
mod records;
mod shapes;
mod sides;
mod things;
mod units;
mod wheels;

pub(crate) use ground::Ground;
pub(crate) use hints::hints_at;
use proposal::word;
pub use proposal::{Part, PartValue, Proposal, Verdict, Verdicts};
pub(crate) use shapes::row as rows;

use crate::contexts::ContextId;
use crate::names::SlotRef;
use animations::Beside;
use answers::Answers;
use channels::{Channel, Form};
use controls::{Thing, Things};
use dialect::{EulerOrder, Inputs, ItemType, Kind, Notation, Unit, ValueType, Word};
use foldhash::HashMap;
use ground::Nodes;
use measures::{Measures, Row};
use motions::Common;
use records::{Field, Record, Records};
use scene::Node;
use std::collections::BTreeSet;
use wheels::Wheels;

/// What seems to play which role in a library.
#[derive(Clone, Debug, Default)]
pub struct Roles {
    /// In the order of dialect files.
    pub proposals: Vec<Proposal>,
    /// The inputs that were seen.
    pub inputs: Inputs,
    /// What is measured in which unit, and why, in sentences.
    pub remarks: Vec<String>,
    units: Vec<Unit>,
    euler: Option<EulerOrder>,
    answers: Option<(String, String)>,
}

/// What was found in one group.
struct Found<'a> {
    records: Records,
    nodes: Nodes,
    channels: Vec<Channel>,
    /// Per channel, the node of each row.
    moved: Vec<Vec<Option<&'a Node>>>,
}

/// How large wheels are.
#[derive(Default)]
struct Sizes {
    radii: Vec<f64>,
    /// The unit in which they are as large as the shapes of their nodes, and how many are.
    unit: Option<(Unit, usize)>,
}

impl Roles {
    /// All roles that are looked for, in the order of dialect files, with the confidence of the surest elements that seem
    /// to play them; `None` if none do.
    pub fn found(&self) -> impl Iterator<Item = (&'static str, Option<f64>)> + '_ {
        ORDER.into_iter().map(|role| {
            let playing = self.proposals.iter().filter(move |one| one.role == role);
            (
                role,
                playing.map(|one| one.confidence).max_by(f64::total_cmp),
            )
        })
    }

    /// Looks for roles, and heeds what a person said about them.
    pub(crate) fn of(ground: &Ground<'_>, verdicts: &Verdicts) -> Self {
        let mut roles = Self::default();
        let mut groups: Vec<Found<'_>> = Vec::new();
        let mut proposals: Vec<Proposal> = Vec::new();
        for number in 0..ground.survey.groups.len() {
            let records = Records::of(ground.survey, number);
            let mut nodes = Nodes::default();
            let mut aliases = things::aliases(ground, &records, &mut nodes);
            let channels = channels::find(ground, &records, &nodes);
            aliases.retain(|alias| things::is_of_use(ground, alias, &channels));
            proposals.extend(aliases);
            let contexts = &ground.survey.groups[number].contexts;
            let resolved = channels.into_iter().map(|mut channel| {
                let record = records.get(channel.context);
                let moved = nodes.of_rows(ground, &records, record, &channel.node);
                let called = ground.text(contexts.name(channel.context));
                along::resolve(ground, record, &mut channel, &moved, called);
                (channel, moved)
            });
            let (channels, moved) = resolved
                .filter(|(channel, _)| !channel.ends.is_empty())
                .unzip();
            groups.push(Found {
                records,
                nodes,
                channels,
                moved,
            });
        }
        let common = common(&groups, ground.notation);
        let machines: Vec<usize> = (0..groups.len())
            .filter(|at| !groups[*at].channels.is_empty())
            .collect();
        let mut sizes = Sizes::default();
        for (number, found) in groups.iter().enumerate() {
            if found.channels.is_empty() {
                // Index paths are of use with a scene only.
                if ground.has_paths(number) {
                    proposals.extend(things::scene(ground, &found.records));
                }
                if ground.files.manifest == Some(number) && !machines.is_empty() {
                    proposals.extend(things::listing(ground, &found.records, &machines));
                }
                continue;
            }
            roles.machine(ground, found, &common, &mut proposals, &mut sizes);
        }
        for found in &groups {
            note_fields(ground, &found.records, &mut proposals);
        }
        roles.measure(ground, &groups, &common, &proposals, &mut sizes);
        proposals.sort_by_key(|proposal| ORDER.iter().position(|role| *role == proposal.role));
        for proposal in &mut proposals {
            proposal.confidence = (proposal.confidence.clamp(0.05, 0.99) * 100.0).round() / 100.0;
            if proposal.path.is_empty() {
                proposal.path.clone_from(&proposal.at);
            }
            for (_, other) in &mut proposal.others {
                other.path.clone_from(&proposal.path);
            }
        }
        roles.proposals = verdicts.apply(proposals);
        roles
    }

    /// The roles of one kind of machine's definitions.
    fn machine(
        &mut self,
        ground: &Ground<'_>,
        found: &Found<'_>,
        common: &Common,
        proposals: &mut Vec<Proposal>,
        sizes: &mut Sizes,
    ) {
        let Found {
            records,
            nodes,
            channels,
            moved,
        } = found;
        let contexts = &ground.survey.groups[records.group].contexts;
        proposals.extend(things::scene(ground, records));
        let sounds = things::sounds(ground, records);
        let besides: Vec<Option<Beside>> = channels
            .iter()
            .map(|channel| animations::beside(ground, records, nodes, channel))
            .collect();
        let mut taken: BTreeSet<ContextId> = BTreeSet::new();
        let mut found_animations = Vec::new();
        for (holder, members) in holders(ground, records, channels, &besides) {
            let of = members.iter();
            let of: Vec<(&Channel, Option<&Beside>)> = of
                .map(|at| (&channels[*at], besides[*at].as_ref()))
                .collect();
            for (at, (channel, beside)) in members.iter().zip(&of) {
                let record = records.get(channel.context);
                let proposal = motions::propose(ground, record, channel, &moved[*at], common);
                let group = records.group;
                proposals.push(held(ground, group, proposal, holder, channel, *beside));
                taken.extend(contexts.chain(Some(channel.context)));
            }
            found_animations.push(animations::animation(ground, records, holder, &of));
        }
        motions::agree_on_rest(proposals);
        taken.extend(aliases(ground, records, proposals));
        let wheels = wheels::wheels(ground, records, nodes, &common.measures, &taken);
        let sounding = sounds.iter();
        let known = Things {
            sounds: sounding
                .filter_map(|sound| thing(ground, records, sound))
                .collect(),
            wheels: wheels
                .as_ref()
                .and_then(|wheels| turning(ground, found, wheels)),
        };
        if let Some(wheels) = wheels {
            taken.insert(wheels.context);
            sizes.radii.extend(wheels.radii);
            sizes.unit = sizes.unit.take().or(wheels.unit);
            proposals.push(wheels.proposal);
        }
        let moving: BTreeSet<ContextId> = channels.iter().map(|channel| channel.context).collect();
        let (controls, seen) = controls::find(
            ground,
            records,
            nodes,
            &found_animations,
            &known,
            &taken,
            &moving,
        );
        self.inputs.analog.words.extend(words(&seen.analog));
        self.inputs.digital.words.extend(words(&seen.digital));
        let mut animations: Vec<Proposal> = found_animations
            .into_iter()
            .map(|animation| animation.proposal)
            .collect();
        if controls.is_empty() {
            for animation in &mut animations {
                animation.confidence -= 0.2;
            }
        }
        proposals.extend(animations);
        proposals.extend(sounds);
        proposals.extend(controls);
    }

    /// The types of values that play a part.
    pub(crate) fn types(&self) -> HashMap<SlotRef, ValueType> {
        let types = self.proposals.iter().flat_map(|proposal| &proposal.types);
        types.map(|(slot, told)| (*slot, told.clone())).collect()
    }

    /// Puts what was found out about writing into a notation.
    pub(crate) fn note(&self, notation: &mut Notation) {
        for unit in &self.units {
            notation.units.set(unit.clone());
        }
        if let Some(order) = self.euler {
            notation.euler = order;
        }
        if let Some((yes, no)) = &self.answers {
            let known = notation.yes.contains(yes) && notation.no.contains(no);
            if !known {
                notation.yes = vec![yes.clone()];
                notation.no = vec![no.clone()];
            }
        }
    }
}

/// Notes which values belong to the elements of proposals.
fn note_fields(ground: &Ground<'_>, records: &Records, proposals: &mut [Proposal]) {
    for record in &records.all {
        let here = things::path_of(ground, records.group, record.context);
        let place = |one: &Proposal| match one.path.is_empty() {
            true => one.at == here,
            false => one.path == here,
        };
        for proposal in proposals.iter_mut().filter(|one| place(one)) {
            let fields = record.fields.iter();
            proposal.fields = fields
                .map(|field| (field.path.clone(), field.slot))
                .collect();
            let fields = proposal.fields.clone();
            for (_, other) in &mut proposal.others {
                other.fields.clone_from(&fields);
            }
        }
    }
}

/// The animations that channels are parts of, each with its channels. `besides`: by channel, what names its animation.
fn holders(
    ground: &Ground<'_>,
    records: &Records,
    channels: &[Channel],
    besides: &[Option<Beside>],
) -> Vec<(ContextId, Vec<usize>)> {
    let mut holders: Vec<(ContextId, Vec<usize>)> = Vec::new();
    for (at, (channel, beside)) in channels.iter().zip(besides).enumerate() {
        let beside = beside.as_ref().map(|beside| beside.context);
        let holder = beside.or_else(|| animations::holder(ground, records, channel));
        let Some(holder) = holder else {
            continue;
        };
        match holders.iter_mut().find(|(known, _)| *known == holder) {
            Some((_, channels)) => channels.push(at),
            None => holders.push((holder, vec![at])),
        }
    }
    holders
}

/// The proposal for a channel, and how it belongs to its animation: it stands in it, or names it.
fn held(
    ground: &Ground<'_>,
    group: usize,
    mut proposal: Proposal,
    holder: ContextId,
    channel: &Channel,
    beside: Option<&Beside>,
) -> Proposal {
    proposal.path = things::path_of(ground, group, channel.context);
    let Some(beside) = beside else {
        proposal.at = animations::way(ground, group, holder, channel.context);
        return proposal;
    };
    proposal.at.clone_from(&proposal.path);
    proposal.set(word::ANIMATION, &beside.field.path);
    let named = ItemType::Reference([Kind::new(&beside.kind)].into());
    let named = ValueType::single(named);
    proposal.types.push((beside.field.slot, named));
    let reason = format!("{} names the animation", beside.field.path);
    proposal.reasons.push(reason);
    proposal
}

/// The elements that are taken for aliases.
fn aliases(
    ground: &Ground<'_>,
    records: &Records,
    proposals: &[Proposal],
) -> impl Iterator<Item = ContextId> {
    let aliases = proposals.iter().filter(|one| one.role == word::ALIAS);
    let at: BTreeSet<&str> = aliases.map(|alias| alias.at.as_str()).collect();
    let contexts = records.all.iter().map(|record| record.context);
    contexts.filter(move |context| {
        let path = things::path_of(ground, records.group, *context);
        at.contains(path.as_str())
    })
}

/// The wheels as what controls may carry, by their names or by their nodes.
fn turning(ground: &Ground<'_>, found: &Found<'_>, wheels: &Wheels) -> Option<Thing> {
    let records = &found.records;
    let known = thing(ground, records, &wheels.proposal)?;
    let node = field_of(records.get(wheels.context), &wheels.proposal, word::NODE);
    Some(match node {
        Some(node) => known.at_nodes(ground, records, node, &found.nodes.aliases),
        None => known,
    })
}

/// The field that a proposal's part stands in.
fn field_of<'r>(record: &'r Record, proposal: &Proposal, part: &str) -> Option<&'r Field> {
    match proposal.part(part)? {
        PartValue::Path(path) => record.fields.iter().find(|field| field.path == *path),
        _ => None,
    }
}

fn words(texts: &BTreeSet<String>) -> impl Iterator<Item = Word> {
    texts.iter().map(|text| Word {
        text: text.clone(),
        doc: String::new(),
    })
}

/// The roles in the order of dialect files.
const ORDER: [&str; 8] = [
    word::SCENE,
    word::ALIAS,
    word::WHEEL,
    word::SOUND,
    word::ANIMATION,
    word::CHANNEL,
    word::CONTROL,
    word::LISTING,
];

fn thing(ground: &Ground<'_>, records: &Records, proposal: &Proposal) -> Option<Thing> {
    let record = records
        .all
        .iter()
        .find(|record| things::path_of(ground, records.group, record.context) == proposal.at)?;
    let name = field_of(record, proposal, word::NAME);
    Some(Thing::of(ground, records, record.context, name))
}

/// What is the same for all channels.
fn common(groups: &[Found<'_>], notation: &Notation) -> Common {
    let mut rows = Vec::new();
    let mut pairs = Vec::new();
    for found in groups {
        for (channel, nodes) in found.channels.iter().zip(&found.moved) {
            let ends = channel.ends.iter();
            for ends in ends.filter(|ends| ends.form != Form::Single) {
                pairs.extend(ends.values.iter().flatten().cloned());
                rows.extend(ends.values.iter().zip(nodes).filter_map(|(ends, node)| {
                    Some(Row {
                        ends: ends.as_ref()?,
                        node: (*node)?,
                    })
                }));
            }
        }
    }
    Common {
        measures: Measures::of(&rows),
        answers: Answers::of(&pairs, &rows, notation),
    }
}
