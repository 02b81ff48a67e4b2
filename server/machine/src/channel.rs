//! What channels say: when their motions run, and between which values.

use crate::{
    attributes::Attributes,
    document::Reader,
    found::{Found, ListItem},
    here::Here,
    model::{Channel, Motion, Spanned, Window},
    read::{default_word, word},
};
use dialect::{
    AxisSaid, ChannelRole, Direction, Easing, EndValue, Ends, ItemType, Keyframes, Path, Place,
    Property, Quantity, Rule, ValueType,
};
use syntax::TextRange;

/// The channel that the element is in this role.
pub(crate) fn channel(here: Here<'_, '_>, role: &ChannelRole) -> Channel {
    let whole = role.window.as_ref();
    let whole = whole.map_or_else(Window::default, |path| window(here, path));
    // A motion is large, and most channels have one: no room is kept for more.
    let mut motions = Vec::with_capacity(role.motions.len());
    let mut unwritten = None;
    for motion in &role.motions {
        let (property, property_range) = match &motion.property {
            Rule::Fixed(property) => (Some(*property), None),
            Rule::Read(rule) => word(here, rule),
        };
        // Of several motions, those take place to which the word belongs.
        let has_word = || match &motion.property {
            Rule::Read(rule) => property_range.is_some() || default_word(here, rule).is_some(),
            Rule::Fixed(_) => false,
        };
        if property.is_none() && role.motions.len() > 1 && has_word() {
            continue;
        }
        let own = motion.window.as_ref();
        let own = own.map(|path| window(here, path));
        let empty = Motion {
            property,
            property_range: property_range.into(),
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
            motions.extend(between_keyframes(here, keyframes, &empty));
            continue;
        }
        let is_written = |path: &Path| here.value(path).is_some();
        if motion.ends.paths().any(is_written) {
            motions.push(ends(here, &motion.ends, empty));
        } else if matches!(motion.property, Rule::Read(_)) {
            unwritten.get_or_insert(empty);
        }
    }
    // A word without any values is a motion that somebody is about to write.
    if motions.is_empty() {
        motions.extend(unwritten);
    }
    Channel {
        node: here.node(&role.node),
        easing: role
            .easing
            .as_ref()
            .and_then(|rule| word(here, rule).0)
            .unwrap_or(Easing::Linear),
        motions,
        element: here.at.element.range(),
    }
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

fn window(here: Here<'_, '_>, window: &dialect::Window) -> Window {
    match window {
        dialect::Window::Pair { begin, end } => Window {
            begin: here.number(begin, Some(Quantity::Time)),
            end: here.number(end, Some(Quantity::Time)),
            lasts: false,
        },
        dialect::Window::Lasting { begin, duration } => {
            let begin = here.number(begin, Some(Quantity::Time));
            let lasts = here.number(duration, Some(Quantity::Time));
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
            let [begin, end] = numbers(here, path, Some(Quantity::Time));
            Window {
                begin,
                end,
                lasts: false,
            }
        }
    }
}

/// The numbers of a list of two, in base units.
fn numbers(
    here: Here<'_, '_>,
    path: &Path,
    quantity: Option<Quantity>,
) -> [Option<Spanned<f64>>; 2] {
    let Some(found) = here.value(path) else {
        return [None, None];
    };
    let mut items = members(here.reader, &found, None).into_iter();
    [(); 2].map(|()| {
        let item = items.next()?;
        let dialect = here.reader.dialect;
        Some(Spanned {
            value: dialect.read_quantity(found.value_type(), item.text, quantity)?,
            range: item.range,
        })
    })
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
        } => {
            let places = found.places();
            let parts = separator.split(&found.text);
            let items = parts.map(|part| ListItem {
                text: found.text[part.clone()].trim_ascii(),
                range: places.of(part),
            });
            items.collect()
        }
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
fn ends(here: Here<'_, '_>, ends: &Ends, mut motion: Motion) -> Motion {
    let Some(property) = motion.property else {
        return motion;
    };
    let value = |place: &Place| value(here, place, property, None);
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
            let by = value(place);
            (motion.by, motion.axes) = (by.value.map(Box::new), by.axes);
        }
        Ends::List(Place::Whole(path)) => {
            if let Some(found) = here.value(path) {
                let parts = members(here.reader, &found, Some(property));
                let mut values = parts
                    .iter()
                    .map(|item| end(here.reader, &found, item.text, item.range, property));
                motion.from = values.next().flatten();
                motion.to = values.next().flatten();
            }
        }
        Ends::List(place) => {
            let [from, to] = [0, 1].map(|at| self::value(here, place, property, Some(at)));
            motion.axes = common(from.axes, to.axes);
            (motion.from, motion.to) = (from.value, to.value);
        }
        Ends::Keyframes(_) => {}
    }
    motion
}

/// From each keyframe to the next one. A single keyframe holds its value.
fn between_keyframes(here: Here<'_, '_>, keyframes: &Keyframes, empty: &Motion) -> Vec<Motion> {
    let mut frames: Vec<Frame> = Vec::new();
    let mut attributes = Attributes::default();
    for frame in here.reader.elements(here.chain, &keyframes.at) {
        let Some(frame) = here.reader.here(&frame, &mut attributes) else {
            continue;
        };
        let mut parts = keyframes.value.paths();
        if !parts.any(|path| frame.value(path).is_some()) {
            continue;
        }
        let time = frame.number(&keyframes.time, Some(Quantity::Time));
        let value = empty
            .property
            .map(|property| value(frame, &keyframes.value, property, None));
        frames.push((time, value.unwrap_or_default()));
    }
    let motion = |[(begin, from), (end, to)]: [Frame; 2]| Motion {
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
    let mut motions = Vec::new();
    for frames in tracks(frames) {
        match &frames[..] {
            [only] => motions.push(motion([only.clone(), only.clone()])),
            _ => {
                let pairs = frames.windows(2);
                motions.extend(pairs.map(|pair| motion([pair[0].clone(), pair[1].clone()])));
            }
        }
    }
    motions
}

/// A time and the value that a property has then.
type Frame = (Option<Spanned<f64>>, Value);

/// The keyframes that count for each axis: those that speak of it, and those whose value cannot be read. Mostly these are
/// the same for all.
fn tracks(frames: Vec<Frame>) -> Vec<Vec<Frame>> {
    let read = || frames.iter().filter(|(_, value)| value.value.is_some());
    let said = |axis: usize| move |(_, value): &Frame| value.axes.is_some_and(|axes| axes[axis]);
    let first = read().next().and_then(|(_, value)| value.axes);
    if first.is_none() || read().all(|(_, value)| value.axes == first) {
        return vec![frames];
    }
    // The axes that are spoken of by the same keyframes, and which these are.
    let mut tracks: Vec<([bool; 3], Vec<bool>)> = Vec::new();
    for axis in (0..3).filter(|axis| read().any(said(*axis))) {
        let is_in = |frame: &Frame| frame.1.value.is_none() || said(axis)(frame);
        let own: Vec<bool> = frames.iter().map(is_in).collect();
        match tracks.iter_mut().find(|(_, known)| *known == own) {
            Some((axes, _)) => axes[axis] = true,
            None => {
                let mut axes = [false; 3];
                axes[axis] = true;
                tracks.push((axes, own));
            }
        }
    }
    let track = |(axes, own): ([bool; 3], Vec<bool>)| {
        let own = frames.iter().zip(own).filter(|(_, is_in)| *is_in);
        let frame = |((time, value), _): (&Frame, bool)| {
            let axes = Some(axes);
            (
                time.clone(),
                Value {
                    axes,
                    ..value.clone()
                },
            )
        };
        own.map(frame).collect()
    };
    tracks.into_iter().map(track).collect()
}

/// Axes that only one of two values speaks of are left as they rest.
fn common(one: Option<[bool; 3]>, other: Option<[bool; 3]>) -> Option<[bool; 3]> {
    let (one, other) = (one?, other?);
    Some([0, 1, 2].map(|axis| one[axis] && other[axis]))
}

/// The value at a place. `member`: which one, where lists stand there.
fn value(here: Here<'_, '_>, place: &Place, property: Property, member: Option<usize>) -> Value {
    let axes = match place {
        Place::Whole(path) => {
            return Value {
                value: here.end(path, property),
                axes: None,
            };
        }
        Place::Along { axis, amount } => {
            let number = match member {
                None => here.number(amount, property.quantity()),
                Some(member) => numbers(here, amount, property.quantity())[member].take(),
            };
            return along(here, axis, number, property);
        }
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
        let Some(found) = path.as_ref().and_then(|path| here.value(path)) else {
            continue;
        };
        let dialect = here.reader.dialect;
        let (text, place) = match member {
            None => (&*found.text, found.range),
            Some(member) => match members(here.reader, &found, None).get(member) {
                Some(item) => (item.text, item.range),
                None => ("", found.range),
            },
        };
        let number = dialect.read_quantity(found.value_type(), text, property.quantity());
        let Some(number) = number.filter(|_| property != Property::Visibility) else {
            return Value {
                value: None,
                axes: Some(written),
            };
        };
        (vector[axis], written[axis]) = (number, true);
        range.get_or_insert(place);
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
fn along(
    here: Here<'_, '_>,
    axis: &AxisSaid,
    number: Option<Spanned<f64>>,
    property: Property,
) -> Value {
    let direction = match axis {
        AxisSaid::Word(rule) => word(here, rule).0.map(Direction::vector),
        AxisSaid::Vector(path) => here.value(path).and_then(|found| {
            let numbers = members(here.reader, &found, None).into_iter();
            let numbers = numbers.map(|item| here.reader.dialect.read_number(item.text));
            let numbers: Vec<f64> = numbers.collect::<Option<_>>()?;
            let numbers = <[f64; 3]>::try_from(numbers).ok()?;
            let length = numbers.iter().map(|part| part * part).sum::<f64>().sqrt();
            (length > 0.0 && length.is_finite()).then(|| numbers.map(|part| part / length))
        }),
    };
    let said = direction.map(|direction| direction.map(|part| part != 0.0));
    let is_slanted = said.is_some_and(|said| said.iter().filter(|said| **said).count() > 1);
    let (Some(direction), Some(number)) = (direction, number) else {
        // The other value of the motion may be right, and is one along this axis.
        return Value {
            value: None,
            axes: said,
        };
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
