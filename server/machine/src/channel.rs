//! What channels say: when their motions run, and between which values.

use crate::{
    model::{Channel, Motion, Spanned, Window},
    read::{node_at, optional_number, word},
    select::{Chain, Found, ListItem, Located, Reader},
};
use dialect::{
    AxisSaid, ChannelRole, Direction, Easing, EndValue, Ends, ItemType, Keyframes, Path, Place,
    Property, Quantity, Rule, ValueType,
};
use syntax::TextRange;

/// The channel that the element at the end of `chain` is in this role.
pub(crate) fn channel<'t>(
    reader: &Reader<'t>,
    chain: &Chain<'t>,
    role: &ChannelRole,
) -> Option<Channel> {
    let at = chain.last()?;
    let whole = role.window.as_ref();
    let whole = whole.map_or_else(Window::default, |path| window(reader, chain, path));
    // A motion is large, and most channels have one: no room is kept for more.
    let mut motions = Vec::with_capacity(role.motions.len());
    for motion in &role.motions {
        let (property, property_range) = match &motion.property {
            Rule::Fixed(property) => (Some(*property), None),
            Rule::Read(rule) => word(reader, chain, rule),
        };
        // Of several motions, those take place to which the word belongs.
        if property.is_none() && property_range.is_some() && role.motions.len() > 1 {
            continue;
        }
        let own = motion.window.as_ref();
        let own = own.map(|path| window(reader, chain, path));
        let empty = Motion {
            property,
            property_range,
            window: own.map_or_else(|| whole.clone(), |own| own.or(&whole)),
            from: None,
            to: None,
            starts_here: matches!(motion.ends, Ends::To(_) | Ends::By(_)),
            by: None,
            axes: None,
            from_rest: motion.from_rest,
            is_keyed: false,
        };
        if let Ends::Keyframes(keyframes) = &motion.ends {
            motions.extend(between_keyframes(reader, chain, keyframes, &empty));
            continue;
        }
        let is_written = |path: &Path| reader.value(chain, path).is_some();
        if matches!(motion.property, Rule::Read(_)) || motion.ends.paths().any(is_written) {
            motions.push(ends(reader, chain, &motion.ends, empty));
        }
    }
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
            lasts: match self.end {
                Some(_) => self.lasts,
                None => whole.lasts,
            },
            end: self.end.or_else(|| whole.end.clone()),
        }
    }
}

fn window<'t>(reader: &Reader<'t>, chain: &[Located<'t>], window: &dialect::Window) -> Window {
    match window {
        dialect::Window::Pair { begin, end } => Window {
            begin: optional_number(reader, chain, Some(begin), Some(Quantity::Time)),
            end: optional_number(reader, chain, Some(end), Some(Quantity::Time)),
            lasts: false,
        },
        dialect::Window::Lasting { begin, duration } => {
            let begin = optional_number(reader, chain, Some(begin), Some(Quantity::Time));
            let lasts = optional_number(reader, chain, Some(duration), Some(Quantity::Time));
            let end = begin.as_ref().zip(lasts).map(|(begin, lasts)| Spanned {
                value: begin.value + lasts.value,
                range: lasts.range,
            });
            Window {
                begin,
                end,
                lasts: true,
            }
        }
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
                lasts: false,
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
            ..
        } => separator
            .split(&found.text)
            .map(|part| ListItem {
                text: found.text[part.clone()].trim(),
                range: found.part(part),
            })
            .collect(),
        _ => found.items(reader.dialect, property).collect(),
    }
}

/// A value, and along which axes it says something, where it says it axis by axis.
#[derive(Clone, Debug, Default)]
struct Value {
    value: Option<Spanned<EndValue>>,
    axes: Option<[bool; 3]>,
}

/// A motion with its values.
fn ends<'t>(reader: &Reader<'t>, chain: &[Located<'t>], ends: &Ends, mut motion: Motion) -> Motion {
    let Some(property) = motion.property else {
        return motion;
    };
    let value = |place: &Place| value(reader, chain, place, property);
    match ends {
        Ends::Pair { from, to } => {
            let (from, to) = (value(from), value(to));
            motion.axes = common(from.axes, to.axes);
            (motion.from, motion.to) = (from.value, to.value);
        }
        Ends::To(place) => {
            Value {
                value: motion.to,
                axes: motion.axes,
            } = value(place)
        }
        Ends::By(place) => {
            Value {
                value: motion.by,
                axes: motion.axes,
            } = value(place)
        }
        Ends::List(path) => {
            if let Some(found) = reader.value(chain, path) {
                let parts = members(reader, &found, Some(property));
                let mut values = parts
                    .iter()
                    .map(|item| end(reader, &found, item.text, item.range, property));
                motion.from = values.next().flatten();
                motion.to = values.next().flatten();
            }
        }
        Ends::Keyframes(_) => {}
    }
    motion
}

/// From each keyframe to the next one. A single keyframe holds its value.
fn between_keyframes<'t>(
    reader: &Reader<'t>,
    chain: &Chain<'t>,
    keyframes: &Keyframes,
    empty: &Motion,
) -> Vec<Motion> {
    let mut frames: Vec<(Option<Spanned<f64>>, Value)> = Vec::new();
    for frame in reader.elements(chain, &keyframes.at) {
        let mut parts = keyframes.value.paths();
        if !parts.any(|path| reader.value(&frame, path).is_some()) {
            continue;
        }
        let time = optional_number(reader, &frame, Some(&keyframes.time), Some(Quantity::Time));
        let value = empty
            .property
            .map(|property| value(reader, &frame, &keyframes.value, property));
        frames.push((time, value.unwrap_or_default()));
    }
    let motion = |[(begin, from), (end, to)]: [(Option<Spanned<f64>>, Value); 2]| Motion {
        window: Window {
            begin,
            end,
            lasts: false,
        },
        axes: common(from.axes, to.axes),
        from: from.value,
        to: to.value,
        is_keyed: true,
        ..empty.clone()
    };
    if let [only] = &frames[..] {
        return vec![motion([only.clone(), only.clone()])];
    }
    let pairs = frames.windows(2);
    pairs
        .map(|pair| motion([pair[0].clone(), pair[1].clone()]))
        .collect()
}

/// Axes that only one of two values speaks of are left as they rest.
fn common(one: Option<[bool; 3]>, other: Option<[bool; 3]>) -> Option<[bool; 3]> {
    let (one, other) = (one?, other?);
    Some([0, 1, 2].map(|axis| one[axis] && other[axis]))
}

fn value<'t>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    place: &Place,
    property: Property,
) -> Value {
    let axes = match place {
        Place::Whole(path) => {
            let found = reader.value(chain, path);
            return Value {
                value: found
                    .and_then(|found| end(reader, &found, &found.text, found.range, property)),
                axes: None,
            };
        }
        Place::Along { axis, amount } => return along(reader, chain, axis, amount, property),
        Place::Axes(axes) => axes,
    };
    let mut vector = [if property == Property::Scale {
        1.0
    } else {
        0.0
    }; 3];
    let mut written = [false; 3];
    let mut range: Option<TextRange> = None;
    for (axis, path) in axes.iter().enumerate() {
        let Some(found) = path.as_ref().and_then(|path| reader.value(chain, path)) else {
            continue;
        };
        let number =
            reader
                .dialect
                .read_quantity(found.value_type(), &found.text, property.quantity());
        let Some(number) = number.filter(|_| property != Property::Visibility) else {
            return Value {
                value: None,
                axes: Some(written),
            };
        };
        (vector[axis], written[axis]) = (number, true);
        range.get_or_insert(found.range);
    }
    Value {
        value: range.map(|range| Spanned {
            value: EndValue::Vector(vector),
            range,
        }),
        axes: Some(written),
    }
}

/// A number along or about an axis. About slanted axes, angles cannot be said as three that add up.
fn along<'t>(
    reader: &Reader<'t>,
    chain: &[Located<'t>],
    axis: &AxisSaid,
    amount: &Path,
    property: Property,
) -> Value {
    let direction = match axis {
        AxisSaid::Word(rule) => word(reader, chain, rule).0.map(Direction::vector),
        AxisSaid::Vector(path) => reader.value(chain, path).and_then(|found| {
            let numbers = members(reader, &found, None).into_iter();
            let numbers = numbers.map(|item| reader.dialect.read_number(item.text));
            let numbers: Vec<f64> = numbers.collect::<Option<_>>()?;
            let numbers = <[f64; 3]>::try_from(numbers).ok()?;
            let length = numbers.iter().map(|part| part * part).sum::<f64>().sqrt();
            (length > 0.0 && length.is_finite()).then(|| numbers.map(|part| part / length))
        }),
    };
    let said = direction.map(|direction| direction.map(|part| part != 0.0));
    let is_slanted = said.is_some_and(|said| said.iter().filter(|said| **said).count() > 1);
    let number = optional_number(reader, chain, Some(amount), property.quantity());
    let (Some(direction), Some(number)) = (direction, number) else {
        return Value::default();
    };
    let value = match property {
        Property::Translation => direction.map(|part| part * number.value),
        Property::Rotation if !is_slanted => direction.map(|part| part * number.value),
        Property::Scale if !is_slanted => {
            direction.map(|part| if part == 0.0 { 1.0 } else { number.value })
        }
        Property::Rotation | Property::Scale | Property::Visibility => return Value::default(),
    };
    Value {
        value: Some(Spanned {
            value: EndValue::Vector(value),
            range: number.range,
        }),
        axes: said,
    }
}

fn end(
    reader: &Reader<'_>,
    found: &Found<'_>,
    text: &str,
    range: TextRange,
    property: Property,
) -> Option<Spanned<EndValue>> {
    let value = reader
        .dialect
        .read_end(found.value_type(), text, property)?;
    Some(Spanned { value, range })
}
