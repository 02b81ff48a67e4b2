//! What single elements mean that play a role.

use crate::{
    attributes::Attributes,
    channel::channel,
    conformity::{Conformity, Inspection},
    document::{Chain, Reader, walk_from},
    facts::Facts,
    found::Found,
    here::Here,
    model::{Alias, Animation, Control, Sound, Spanned, Wheel, WheelRef, WheelTarget, Wording},
    names,
    select::{last_name, own_attribute},
};
use dialect::{
    AliasRole, AnimationRole, ControlRole, Dialect, ItemType, ListingRole, Path, Quantity, Rule,
    SceneRole, SoundRole, WheelRole, WordRule, WordingRole,
};
use foldhash::HashMap;
use std::sync::Arc;

/// A role that an element can play by itself. Channels are none: they play it in an animation.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Role<'d> {
    /// With its rank: the first role that names a scene wins.
    Scene(usize, &'d SceneRole),
    Alias(&'d AliasRole),
    Wheel(&'d WheelRole),
    Sound(&'d SoundRole),
    Animation(&'d AnimationRole),
    /// With its number among the control roles.
    Control(usize, &'d ControlRole),
    Listing(&'d ListingRole),
    Wording(&'d WordingRole),
}

impl<'d> Role<'d> {
    /// All of a dialect, in the order in which they are looked for.
    pub(crate) fn all(dialect: &'d Dialect) -> Vec<Self> {
        let roles = &dialect.roles;
        let scenes = roles.scenes.iter().enumerate();
        let controls = roles.controls.iter().enumerate();
        scenes
            .map(|(rank, role)| Self::Scene(rank, role))
            .chain(roles.aliases.iter().map(Self::Alias))
            .chain(roles.wheels.iter().map(Self::Wheel))
            .chain(roles.sounds.iter().map(Self::Sound))
            .chain(roles.animations.iter().map(Self::Animation))
            .chain(controls.map(|(number, role)| Self::Control(number, role)))
            .chain(roles.listings.iter().map(Self::Listing))
            .chain(roles.wordings.iter().map(Self::Wording))
            .collect()
    }

    /// Where the elements are that play it.
    pub(crate) fn at(&self) -> &'d Path {
        match self {
            Self::Scene(_, role) => &role.at,
            Self::Alias(role) => &role.at,
            Self::Wheel(role) => &role.at,
            Self::Sound(role) => &role.at,
            Self::Animation(role) => &role.at,
            Self::Control(_, role) => &role.at,
            Self::Listing(role) => &role.at,
            Self::Wording(role) => &role.at,
        }
    }

    /// Notes what the element says in this role. Animations come without their channels.
    pub(crate) fn read(&self, here: Here<'_, '_>, facts: &mut Facts) {
        let element = here.at.element.range();
        let length = Some(Quantity::Length);
        match self {
            Self::Scene(rank, role) => facts
                .scenes
                .extend(text_at(here, &role.file).map(|scene| (*rank, scene))),
            Self::Alias(role) => facts.aliases.push(Alias {
                name: name_at(here, Some(&role.name), facts),
                path: here.node(&role.path),
                element,
            }),
            Self::Wheel(role) => facts.wheels.push(Wheel {
                name: name_at(here, role.name.as_ref(), facts),
                node: here.node(&role.node),
                radius: optional_number(here, role.radius.as_ref(), length).map(value),
                width: optional_number(here, role.width.as_ref(), length).map(value),
                element,
            }),
            Self::Sound(role) => facts.sounds.push(Sound {
                name: name_at(here, role.name.as_ref(), facts),
                file: optional_text(here, role.file.as_ref()),
                element,
            }),
            Self::Animation(role) => facts.animations.push(Animation {
                name: name_at(here, role.name.as_ref(), facts),
                duration: optional_number(here, role.duration.as_ref(), Some(Quantity::Time)),
                channels: Vec::new(),
                element,
            }),
            Self::Control(number, role) => {
                facts.controls.push(control(here, role, *number));
            }
            Self::Listing(role) => facts.listings.extend(text_at(here, &role.file)),
            Self::Wording(role) => facts.wordings.push(Wording {
                key: text_at(here, &role.key),
                language: text_at(here, &role.language),
                element,
            }),
        }
    }
}

/// The roles of a dialect, each with the name of the elements that may play it; none: they may have any. Each element
/// asks, and most play none.
#[derive(Debug)]
pub(crate) struct Roles<'d>(Vec<(Option<&'d str>, Role<'d>)>);

impl<'d> Roles<'d> {
    pub(crate) fn of(dialect: &'d Dialect) -> Self {
        let all = Role::all(dialect).into_iter();
        Self(all.map(|role| (last_name(role.at()), role)).collect())
    }

    /// Those that elements of this name may play, in the order in which they are looked for.
    pub(crate) fn of_elements(&self, name: &str) -> impl Iterator<Item = &Role<'d>> {
        let may_play = move |wanted: &Option<&str>| wanted.is_none_or(|wanted| wanted == name);
        let played = self.0.iter().filter(move |(wanted, _)| may_play(wanted));
        played.map(|(_, role)| role)
    }
}

/// All that a document says, read at once, and whether it conforms to the grammar: for dialects whose roles look far
/// around.
pub(crate) fn whole(reader: &Reader<'_>) -> (Facts, Conformity) {
    let mut facts = Facts::default();
    let mut attributes = Attributes::default();
    let mut inspection = Inspection::default();
    if has_moved_values(reader.dialect) {
        // Whether these are right depends on channels that are not known yet.
        inspection.skip();
    }
    let root = reader.root().map(|root| root.element);
    walk_from(reader, Vec::new(), root, &mut attributes, |here| {
        names::collect(here, &mut facts);
        inspection.element(here);
    });
    let conformity = inspection.done(1, false);
    for role in Role::all(reader.dialect) {
        for chain in reader.elements(&[], role.at()) {
            let own = facts.animations.len();
            if let Some(here) = reader.here(&chain, &mut attributes) {
                role.read(here, &mut facts);
            }
            for animation in &mut facts.animations[own..] {
                inside(reader, &chain, &mut attributes, animation);
            }
        }
    }
    // Several roles of one concept may interleave in a document, and positions count in the document's order.
    facts.aliases.sort_by_key(|alias| alias.element.start());
    facts.wheels.sort_by_key(|wheel| wheel.element.start());
    facts.sounds.sort_by_key(|sound| sound.element.start());
    facts
        .animations
        .sort_by_key(|animation| animation.element.start());
    facts
        .controls
        .sort_by_key(|control| control.element.start());
    beside(reader, &mut facts.animations);
    for animation in &mut facts.animations {
        animation
            .channels
            .sort_by_key(|channel| channel.element.start());
    }
    (facts, conformity)
}

fn has_moved_values(dialect: &Dialect) -> bool {
    let elements = dialect.elements().iter();
    let mut values = elements.flat_map(|element| element.attributes.iter().chain(&element.text));
    values.any(|value| matches!(value.value.item, ItemType::MovedValue { .. }))
}

/// Adds the channels that stand in an animation. `chain`: down to its element; `attributes`: where those of the channels
/// go.
fn inside<'t>(
    reader: &Reader<'t>,
    chain: &Chain<'t>,
    attributes: &mut Attributes<'t>,
    animation: &mut Animation,
) {
    let channels = reader.dialect.roles.channels.iter();
    for role in channels.filter(|role| role.animation.is_none()) {
        for inner in reader.elements(chain, &role.at) {
            let here = reader.here(&inner, attributes);
            animation
                .channels
                .extend(here.map(|here| channel(here, role)));
        }
    }
}

/// Adds the channels that stand elsewhere and name their animation. `animations`: in the order of the document.
fn beside(reader: &Reader<'_>, animations: &mut [Animation]) {
    let mut by_name: HashMap<Arc<str>, usize> = HashMap::default();
    for (at, animation) in animations.iter().enumerate() {
        if let Some(name) = &animation.name {
            by_name.entry(name.value.clone()).or_insert(at);
        }
    }
    let mut attributes = Attributes::default();
    for role in &reader.dialect.roles.channels {
        let Some(path) = &role.animation else {
            continue;
        };
        for chain in reader.elements(&[], &role.at) {
            let here = reader.here(&chain, &mut attributes);
            let Some((here, found)) = here.and_then(|here| Some((here, here.value(path)?))) else {
                continue;
            };
            // A channel may belong to several animations.
            for item in found.items(reader.dialect, None) {
                let at = match &found.value_type().item {
                    ItemType::PositionOf { first, .. } => {
                        let number = item.text.parse::<usize>().ok();
                        number.and_then(|number| number.checked_sub(*first as usize))
                    }
                    _ => by_name.get(item.text).copied(),
                };
                if let Some(animation) = at.and_then(|at| animations.get_mut(at)) {
                    animation.channels.push(channel(here, role));
                }
            }
        }
    }
}

fn value<T>(spanned: Spanned<T>) -> T {
    spanned.value
}

fn spanned(found: &Found<'_>) -> Spanned<Arc<str>> {
    Spanned {
        value: found.text.as_ref().into(),
        range: found.range,
    }
}

fn text_at(here: Here<'_, '_>, path: &Path) -> Option<Spanned<Arc<str>>> {
    let found = here.value(path)?;
    (!found.text.is_empty()).then(|| spanned(&found))
}

/// A name that is mostly one that the element gives by its grammar, too: noted already, and kept once.
fn name_at(here: Here<'_, '_>, path: Option<&Path>, facts: &Facts) -> Option<Spanned<Arc<str>>> {
    let found = here.value(path?)?;
    if found.text.is_empty() {
        return None;
    }
    let element = here.at.element.range();
    let given = facts.definitions.iter().rev();
    let given = given
        .take_while(|given| given.element == element)
        .map(|given| &given.name)
        .find(|name| name.range == found.range && *name.value == *found.text);
    Some(given.map_or_else(|| spanned(&found), Clone::clone))
}

/// A name that is referred to, without what stands around it.
fn reference_at(here: Here<'_, '_>, path: &Path) -> Option<Spanned<Arc<str>>> {
    let found = here.value(path)?;
    let mut items = found.items(here.reader.dialect, None);
    items.next().map(|item| Spanned {
        value: item.text.into(),
        range: item.range,
    })
}

fn optional_text(here: Here<'_, '_>, path: Option<&Path>) -> Option<Spanned<Arc<str>>> {
    text_at(here, path?)
}

fn optional_number(
    here: Here<'_, '_>,
    path: Option<&Path>,
    quantity: Option<Quantity>,
) -> Option<Spanned<f64>> {
    here.number(path?, quantity)
}

fn default_number(here: Here<'_, '_>, path: Option<&Path>) -> Option<f64> {
    let (value_type, text) = here.reader.default_value(here.chain, path?)?;
    here.reader.dialect.read_quantity(value_type, text, None)
}

/// The word that the game takes where none is written.
pub(crate) fn default_word<'t, T>(here: Here<'_, 't>, rule: &'t WordRule<T>) -> Option<&'t str> {
    // Where elements are open, what may stand in them is known only in a document.
    let own = || {
        let attribute = here.declared?.attribute(own_attribute(&rule.at)?)?;
        attribute.default.as_deref()
    };
    rule.default.as_deref().or_else(own)
}

pub(crate) fn word<T: Copy + PartialEq>(
    here: Here<'_, '_>,
    rule: &WordRule<T>,
) -> (Option<T>, Option<syntax::TextRange>) {
    match here.value(&rule.at) {
        Some(found) => (rule.meaning(&found.text), Some(found.range)),
        None => {
            let default = default_word(here, rule);
            (default.and_then(|word| rule.meaning(word)), None)
        }
    }
}

fn wheel_target(reader: &Reader<'_>, item: Spanned<Arc<str>>, item_type: &ItemType) -> WheelTarget {
    if let (ItemType::PositionOf { first, .. }, Ok(number)) = (item_type, item.value.parse::<i64>())
    {
        return WheelTarget::Position(number - i64::from(*first));
    }
    match reader.dialect.roles.wheels_by_node(item_type) {
        true => {
            let node = names::node_item(reader, item_type, &item.value, item.range);
            WheelTarget::Node(Box::new(node))
        }
        false => WheelTarget::Name(item.value),
    }
}

fn control(here: Here<'_, '_>, role: &ControlRole, index: usize) -> Control {
    let items = |path: Option<&Path>| {
        let found = path.map(|path| here.values(path)).unwrap_or_default();
        found.into_iter().flat_map(|found| {
            let items: Vec<_> = found
                .items(here.reader.dialect, None)
                .map(|item| Spanned {
                    value: item.text.into(),
                    range: item.range,
                })
                .collect();
            let element = found.at.element.range();
            let item_type = &found.value_type().item;
            items
                .into_iter()
                .map(move |item| (item, item_type, element))
        })
    };
    Control {
        kind: match &role.kind {
            Rule::Fixed(kind) => Some(*kind),
            Rule::Read(rule) => word(here, rule).0,
        },
        animation: reference_at(here, &role.animation),
        input: text_at(here, &role.input),
        gain: optional_number(here, role.gain.as_ref(), None),
        rate: optional_number(here, role.rate.as_ref(), None),
        default_gain: default_number(here, role.gain.as_ref()),
        default_rate: default_number(here, role.rate.as_ref()),
        node: role.node.as_ref().and_then(|path| here.node(path)),
        wheels: items(role.wheels.as_ref())
            .map(|(item, item_type, element)| WheelRef {
                range: item.range,
                target: wheel_target(here.reader, item, item_type),
                element,
            })
            .collect(),
        sounds: items(role.sounds.as_ref()).map(|(item, ..)| item).collect(),
        text: optional_text(here, role.text.as_ref()),
        element: here.at.element.range(),
        role: index,
    }
}
