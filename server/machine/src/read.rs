//! From a tree to a [`Machine`], through a dialect's roles.

use crate::{
    model::{
        Alias, Animation, Channel, Control, Counted, Machine, Motion, NodeRef, Sound, Spanned,
        Wheel, WheelRef, WheelTarget, Window,
    },
    names,
    select::{Chain, Found, ListItem, Located, Reader},
};
use dialect::{
    AnimationRole, ChannelRole, ControlRole, Dialect, DocumentKind, Easing, EndValue, Ends,
    ItemType, Kind, Path, Property, Quantity, Rule, ValueType, WordRule,
};
use std::collections::{BTreeSet, HashMap};
use syntax::Tree;

/// Reads what a document of this kind says.
pub fn read(tree: &Tree, dialect: &Dialect, kind: &DocumentKind) -> Machine {
    let reader = Reader::new(tree, dialect, kind);
    let mut machine = Machine {
        document: kind.name.clone(),
        is_manifest: kind.is_manifest,
        ..Machine::default()
    };
    names::collect(&reader, &mut machine);
    let roles = &dialect.roles;
    machine.scene = roles.scenes.iter().find_map(|role| {
        first(&reader, &role.at, |chain| {
            text_at(&reader, chain, &role.file)
        })
    });
    for role in &roles.aliases {
        machine
            .aliases
            .extend(each(&reader, &role.at, |chain, at| Alias {
                name: text_at(&reader, chain, &role.name),
                path: node_at(&reader, chain, &role.path),
                element: at.element.range(),
            }));
    }
    for role in &roles.wheels {
        machine
            .wheels
            .extend(each(&reader, &role.at, |chain, at| Wheel {
                name: optional_text(&reader, chain, role.name.as_ref()),
                node: node_at(&reader, chain, &role.node),
                radius: optional_number(
                    &reader,
                    chain,
                    role.radius.as_ref(),
                    Some(Quantity::Length),
                )
                .map(value),
                width: optional_number(&reader, chain, role.width.as_ref(), Some(Quantity::Length))
                    .map(value),
                element: at.element.range(),
            }));
    }
    for role in &roles.sounds {
        machine
            .sounds
            .extend(each(&reader, &role.at, |chain, at| Sound {
                name: optional_text(&reader, chain, role.name.as_ref()),
                file: optional_text(&reader, chain, role.file.as_ref()),
                element: at.element.range(),
            }));
    }
    for role in &roles.animations {
        machine
            .animations
            .extend(each(&reader, &role.at, |chain, at| {
                animation(&reader, chain, at, role)
            }));
    }
    for (index, role) in roles.controls.iter().enumerate() {
        machine
            .controls
            .extend(each(&reader, &role.at, |chain, at| {
                control(&reader, chain, at, role, index)
            }));
    }
    for role in &roles.listings {
        let listed = each(&reader, &role.at, |chain, _| {
            text_at(&reader, chain, &role.file)
        });
        machine.listings.extend(listed.into_iter().flatten());
    }
    in_document_order(&mut machine);
    name_what_plays_a_role(&mut machine);
    count(&mut machine, dialect);
    machine
}

/// A name may stand in a child element; what it names is the element that plays the role.
fn name_what_plays_a_role(machine: &mut Machine) {
    let aliases = machine
        .aliases
        .iter()
        .map(|part| (&part.name, part.element));
    let wheels = machine.wheels.iter().map(|part| (&part.name, part.element));
    let sounds = machine.sounds.iter().map(|part| (&part.name, part.element));
    let animations = machine
        .animations
        .iter()
        .map(|part| (&part.name, part.element));
    let named: HashMap<_, _> = aliases
        .chain(wheels)
        .chain(sounds)
        .chain(animations)
        .filter_map(|(name, element)| Some((name.as_ref()?.range.start(), element)))
        .collect();
    for definition in &mut machine.definitions {
        if let Some(element) = named.get(&definition.name.range.start()) {
            definition.element = *element;
        }
    }
}

/// Notes what positions count: all that plays a role, named or not, and whatever else has a name.
fn count(machine: &mut Machine, dialect: &Dialect) {
    let roles = &dialect.roles;
    let kinds = |kinds: Vec<&Kind>| kinds.into_iter().cloned().collect::<BTreeSet<Kind>>();
    let groups = [
        (
            kinds(roles.aliases.iter().map(|role| &role.kind).collect()),
            machine
                .aliases
                .iter()
                .map(|part| part.element)
                .collect::<Vec<_>>(),
        ),
        (
            kinds(roles.wheels.iter().map(|role| &role.kind).collect()),
            machine.wheels.iter().map(|part| part.element).collect(),
        ),
        (
            kinds(roles.sounds.iter().map(|role| &role.kind).collect()),
            machine.sounds.iter().map(|part| part.element).collect(),
        ),
        (
            kinds(roles.animations.iter().map(|role| &role.kind).collect()),
            machine.animations.iter().map(|part| part.element).collect(),
        ),
    ];
    let named = machine.definitions.iter().map(|definition| Counted {
        kind: definition.kind.clone(),
        element: definition.element,
    });
    let mut counted: Vec<Counted> = named
        .filter(|thing| !groups.iter().any(|(kinds, _)| kinds.contains(&thing.kind)))
        .collect();
    for (kinds, elements) in groups {
        for kind in kinds {
            counted.extend(elements.iter().map(|element| Counted {
                kind: kind.clone(),
                element: *element,
            }));
        }
    }
    counted.sort_by_key(|thing| thing.element.start());
    machine.counted = counted;
}

/// Several roles of one concept may interleave in a document, and positions
/// count in the document's order.
fn in_document_order(machine: &mut Machine) {
    machine.aliases.sort_by_key(|alias| alias.element.start());
    machine.wheels.sort_by_key(|wheel| wheel.element.start());
    machine.sounds.sort_by_key(|sound| sound.element.start());
    machine
        .animations
        .sort_by_key(|animation| animation.element.start());
    machine
        .controls
        .sort_by_key(|control| control.element.start());
}

fn value<T>(spanned: Spanned<T>) -> T {
    spanned.value
}

fn each<'t, T>(
    reader: &Reader<'t>,
    at: &Path,
    make: impl Fn(&Chain<'t>, &Located<'t>) -> T,
) -> Vec<T> {
    reader
        .elements(&[], at)
        .iter()
        .filter_map(|chain| Some(make(chain, chain.last()?)))
        .collect()
}

fn first<'t, T>(
    reader: &Reader<'t>,
    at: &Path,
    make: impl Fn(&Chain<'t>) -> Option<T>,
) -> Option<T> {
    reader.elements(&[], at).iter().find_map(make)
}

fn spanned(found: &Found<'_>) -> Spanned<String> {
    Spanned {
        value: found.text.to_string(),
        range: found.range,
    }
}

fn text_at<'t>(reader: &Reader<'t>, chain: &[Located<'t>], path: &Path) -> Option<Spanned<String>> {
    let found = reader.value(chain, path)?;
    (!found.text.is_empty()).then(|| spanned(&found))
}

fn optional_text<'t>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    path: Option<&Path>,
) -> Option<Spanned<String>> {
    text_at(reader, chain, path?)
}

fn node_at<'t>(reader: &Reader<'t>, chain: &[Located<'t>], path: &Path) -> Option<NodeRef> {
    let found = reader.value(chain, path)?;
    (!found.text.is_empty()).then(|| names::node_ref(reader, &found))
}

fn optional_number<'t>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    path: Option<&Path>,
    quantity: Option<Quantity>,
) -> Option<Spanned<f64>> {
    let found = reader.value(chain, path?)?;
    Some(Spanned {
        value: reader
            .dialect
            .read_quantity(found.value_type(), &found.text, quantity)?,
        range: found.range,
    })
}

fn animation<'t>(
    reader: &Reader<'t>,
    chain: &Chain<'t>,
    at: &Located<'t>,
    role: &AnimationRole,
) -> Animation {
    let mut channels: Vec<Channel> = Vec::new();
    for role in &reader.dialect.roles.channels {
        for inner in reader.elements(chain, &role.at) {
            channels.extend(channel(reader, &inner, role));
        }
    }
    channels.sort_by_key(|channel| channel.element.start());
    Animation {
        name: optional_text(reader, chain, role.name.as_ref()),
        duration: optional_number(reader, chain, role.duration.as_ref(), Some(Quantity::Time)),
        channels,
        element: at.element.range(),
    }
}

fn channel<'t>(reader: &Reader<'t>, chain: &Chain<'t>, role: &ChannelRole) -> Option<Channel> {
    let at = chain.last()?;
    let whole = window(reader, chain, &role.window);
    let motions = role
        .motions
        .iter()
        .filter_map(|motion| {
            let (property, property_range) = match &motion.property {
                Rule::Fixed(property) => (Some(*property), None),
                Rule::Read(rule) => word(reader, chain, rule),
            };
            let (from, to) = ends(reader, chain, &motion.ends, property);
            let is_there = ends_written(reader, chain, &motion.ends)
                || matches!(motion.property, Rule::Read(_));
            let window = match &motion.window {
                Some(own) => window(reader, chain, own).or(&whole),
                None => whole.clone(),
            };
            is_there.then_some(Motion {
                property,
                property_range,
                window,
                from,
                to,
            })
        })
        .collect();
    Some(Channel {
        node: node_at(reader, chain, &role.node),
        easing: role
            .easing
            .as_ref()
            .and_then(|rule| word(reader, chain, rule).0)
            .unwrap_or(Easing::Linear),
        motions,
        element: at.element.range(),
    })
}

impl Window {
    /// Where a motion says only one end of its own window, the channel's
    /// stands for the other.
    fn or(self, whole: &Self) -> Self {
        Self {
            begin: self.begin.or_else(|| whole.begin.clone()),
            end: self.end.or_else(|| whole.end.clone()),
        }
    }
}

fn word<'t, T: Copy + PartialEq>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    rule: &WordRule<T>,
) -> (Option<T>, Option<syntax::TextRange>) {
    match reader.value(chain, &rule.at) {
        Some(found) => (rule.meaning(&found.text), Some(found.range)),
        None => (None, None),
    }
}

fn window<'t>(reader: &Reader<'t>, chain: &[Located<'t>], window: &dialect::Window) -> Window {
    match window {
        dialect::Window::Pair { begin, end } => Window {
            begin: optional_number(reader, chain, Some(begin), Some(Quantity::Time)),
            end: optional_number(reader, chain, Some(end), Some(Quantity::Time)),
        },
        dialect::Window::List(path) => {
            let Some(found) = reader.value(chain, path) else {
                return Window::default();
            };
            let mut times = members(reader, &found, None).into_iter().map(|item| {
                let seconds = reader.dialect.read_quantity(
                    found.value_type(),
                    item.text,
                    Some(Quantity::Time),
                )?;
                Some(Spanned {
                    value: seconds,
                    range: item.range,
                })
            });
            Window {
                begin: times.next().flatten(),
                end: times.next().flatten(),
            }
        }
    }
}

/// The members of a list of two, also where the grammar calls it a vector.
fn members<'f>(
    reader: &Reader<'_>,
    found: &'f Found<'_>,
    property: Option<Property>,
) -> Vec<ListItem<'f>> {
    match found.value_type() {
        ValueType {
            list: None,
            item: ItemType::Vector { separator, .. },
        } => separator
            .split(&found.text)
            .into_iter()
            .map(|part| ListItem {
                text: found.text[part.clone()].trim(),
                range: found.part(part),
            })
            .collect(),
        _ => found.items(reader.dialect, property),
    }
}

fn ends_written<'t>(reader: &Reader<'t>, chain: &[Located<'t>], ends: &Ends) -> bool {
    match ends {
        Ends::Pair { from, to } => {
            reader.value(chain, from).is_some() || reader.value(chain, to).is_some()
        }
        Ends::List(path) => reader.value(chain, path).is_some(),
    }
}

type End = Option<Spanned<EndValue>>;

fn ends<'t>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    ends: &Ends,
    property: Option<Property>,
) -> (End, End) {
    let Some(property) = property else {
        return (None, None);
    };
    let end = |found: &Found<'_>, text: &str, range| {
        let value = reader
            .dialect
            .read_end(found.value_type(), text, property)?;
        Some(Spanned { value, range })
    };
    let one = |path: &Path| {
        let found = reader.value(chain, path)?;
        end(&found, &found.text, found.range)
    };
    match ends {
        Ends::Pair { from, to } => (one(from), one(to)),
        Ends::List(path) => {
            let Some(found) = reader.value(chain, path) else {
                return (None, None);
            };
            let parts = members(reader, &found, Some(property));
            let mut values = parts.iter().map(|item| end(&found, item.text, item.range));
            (values.next().flatten(), values.next().flatten())
        }
    }
}

fn control<'t>(
    reader: &Reader<'t>,
    chain: &Chain<'t>,
    at: &Located<'t>,
    role: &ControlRole,
    index: usize,
) -> Control {
    let items = |path: Option<&Path>| {
        let found = path
            .map(|path| reader.values(chain, path))
            .unwrap_or_default();
        found.into_iter().flat_map(|found| {
            let items: Vec<_> = found
                .items(reader.dialect, None)
                .into_iter()
                .map(|item| Spanned {
                    value: item.text.to_string(),
                    range: item.range,
                })
                .collect();
            let first = match found.value_type().item {
                ItemType::PositionOf { first, .. } => Some(first),
                _ => None,
            };
            items
                .into_iter()
                .map(move |item| (item, first, found.at.element.range()))
        })
    };
    Control {
        kind: match &role.kind {
            Rule::Fixed(kind) => Some(*kind),
            Rule::Read(rule) => word(reader, chain, rule).0,
        },
        animation: text_at(reader, chain, &role.animation),
        input: text_at(reader, chain, &role.input),
        gain: optional_number(reader, chain, role.gain.as_ref(), None),
        rate: optional_number(reader, chain, role.rate.as_ref(), None),
        node: role
            .node
            .as_ref()
            .and_then(|path| node_at(reader, chain, path)),
        wheels: items(role.wheels.as_ref())
            .map(|(item, first, element)| WheelRef {
                target: match first.map(|first| (item.value.parse::<i64>(), i64::from(first))) {
                    Some((Ok(number), first)) => WheelTarget::Position(number - first),
                    _ => WheelTarget::Name(item.value),
                },
                range: item.range,
                element,
            })
            .collect(),
        sounds: items(role.sounds.as_ref()).map(|(item, ..)| item).collect(),
        text: optional_text(reader, chain, role.text.as_ref()),
        element: at.element.range(),
        role: index,
    }
}
