//! Styles that differ in how motions are written: keyframes, changes, numbers axis by axis.

use super::{Channel, Ends, Machine, Node, Style, joined, plain, row};
use std::fmt::Write as _;

fn path(path: &[u32]) -> String {
    joined(path, 1, ".")
}

pub(super) fn node(node: &Node) -> String {
    match node {
        Node::Alias(name) => name.clone(),
        Node::Path(at) => path(at),
    }
}

/// All but the animations, which are written by `channel`. `size`: how many units of length a metre has.
pub(super) fn shell(machine: &Machine, size: f64, channel: impl Fn(&Channel) -> String) -> String {
    let mut aliases = String::new();
    for (name, at) in &machine.aliases {
        let _ = writeln!(aliases, "  <nam da=\"{name}\" ro=\"{}\"/>", path(at));
    }
    shell_with(machine, size, &aliases, node, channel)
}

/// `aliases`: the elements that name nodes. `node`: how nodes are called elsewhere.
pub(super) fn shell_with(
    machine: &Machine,
    size: f64,
    aliases: &str,
    node: impl Fn(&Node) -> String,
    channel: impl Fn(&Channel) -> String,
) -> String {
    let mut out = format!("<brig hull=\"{}.gltf\">\n{aliases}", machine.name);
    for (name, at, radius, width) in &machine.wheels {
        let [radius, width] = [radius, width].map(|metres| plain(metres * size, 4));
        let _ = writeln!(
            out,
            "  <orb da=\"{name}\" ul=\"{}\" es=\"{radius}\" et=\"{width}\"/>",
            node(at)
        );
    }
    // What looks like motions and is none: reaches, colours, curves over something else than time.
    for (at, (_, lamp, ..)) in machine.wheels.iter().enumerate() {
        let tint = ["1 0.9 0.6", "1 1 1", "0.8 0.2 0"][at % 3];
        let (lamp, far) = (node(lamp), 10 + at);
        let _ = writeln!(
            out,
            "  <glim ul=\"{lamp}\" nigh=\"{}\" far=\"{far}\" tint=\"{tint}\"/>",
            at / 2
        );
        let _ = writeln!(
            out,
            "  <haul ul=\"{lamp}\"><rev at=\"0\" tug=\"{}\"/><rev at=\"{}\" tug=\"{}\"/></haul>",
            at + 3,
            900 + at,
            at * 40
        );
    }
    for (name, file) in &machine.sounds {
        let _ = writeln!(out, "  <hum da=\"{name}\" ix=\"{file}\"/>");
    }
    for animation in &machine.animations {
        let channels: String = animation.channels.iter().map(&channel).collect();
        // Channels that stand elsewhere say to which animation they belong.
        let (inside, behind) = match channels.contains(OWNER) {
            true => (String::new(), channels.replace(OWNER, &animation.name)),
            false => (channels, String::new()),
        };
        let _ = writeln!(
            out,
            "  <feat da=\"{}\">{inside}</feat>\n{behind}",
            animation.name
        );
    }
    for animation in &machine.animations {
        let name = if animation.analog { "pull" } else { "push" };
        let gain = if animation.analog { " vo=\"0.6\"" } else { "" };
        let wheels = animation
            .wheels
            .iter()
            .map(|at| machine.wheels[*at].0.clone());
        let wheels = match wheels.collect::<Vec<_>>().join(",") {
            none if none.is_empty() => none,
            wheels => format!(" orbs=\"{wheels}\""),
        };
        let sound = animation.sound.as_ref();
        let sound = sound.map_or(String::new(), |sound| format!(" hum=\"{sound}\""));
        let _ = writeln!(
            out,
            "  <{name} feat=\"{}\" wit=\"{}\"{gain} say=\"{}\"{sound}{wheels}/>",
            animation.name, animation.input, animation.text
        );
    }
    out + "</brig>\n"
}

/// Stands for the name of a channel's animation.
const OWNER: &str = "OWNER";

/// Begin and end, beside the animations, which they name.
pub(crate) const BESIDE: Style = Style {
    name: "beside",
    write: beside,
    sides: SIDES,
    parts: around!(
        ("channel brig/go animation", "@feat"),
        ("channel brig/go node", "@whom"),
        ("channel brig/go begin", "@tem"),
        ("channel brig/go end", "@fin"),
        ("channel brig/go property", "@sort"),
        ("channel brig/go property.translation", "gad"),
        ("channel brig/go property.rotation", "gyr"),
        ("channel brig/go from", "@ab"),
        ("channel brig/go to", "@an"),
    ),
    notation: &[],
};

fn beside(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let go = go(channel, &node(&channel.node));
        go.replace("<go ", &format!("<go feat=\"{OWNER}\" "))
    })
}

/// What a channel shifts or turns, in one element; nothing for others. `whom`: how the node is called.
pub(super) fn go(channel: &Channel, whom: &str) -> String {
    let Some((sort, ends)) = shifted_or_turned(channel) else {
        return String::new();
    };
    let [from, to] = ends.map(|end| row(end, 1.0, 4, " "));
    let [begin, end] = channel.window.map(|time| plain(time, 3));
    format!(
        "    <go whom=\"{whom}\" tem=\"{begin}\" fin=\"{end}\" sort=\"{sort}\" ab=\"{from}\" an=\"{to}\"/>\n"
    )
}

fn shifted_or_turned(channel: &Channel) -> Option<(&'static str, [[f64; 3]; 2])> {
    match &channel.ends {
        Ends::Shift(ends) => Some(("gad", *ends)),
        Ends::Turn(ends) => Some(("gyr", *ends)),
        Ends::Size(_) | Ends::Show(_) => None,
    }
}

pub(super) const SIDES: [&str; 2] = ["port arm", "1.2"];

macro_rules! around {
    ($($part:expr),* $(,)?) => {
        around_without_aliases!(
            ("alias brig/nam name", "@da"),
            ("alias brig/nam path", "@ro"),
            $($part),*
        )
    };
}

macro_rules! around_without_aliases {
    ($($part:expr),* $(,)?) => {
        &[
            ("scene brig file", "@hull"),
            ("wheel brig/orb name", "@da"),
            ("wheel brig/orb node", "@ul"),
            ("wheel brig/orb radius", "@es"),
            ("wheel brig/orb width", "@et"),
            ("sound brig/hum name", "@da"),
            ("sound brig/hum file", "@ix"),
            ("animation brig/feat name", "@da"),
            ("control brig/pull kind", "analog"),
            ("control brig/pull animation", "@feat"),
            ("control brig/pull input", "@wit"),
            ("control brig/pull gain", "@vo"),
            ("control brig/pull sounds", "@hum"),
            ("control brig/pull wheels", "@orbs"),
            ("control brig/pull text", "@say"),
            ("control brig/push kind", "digital"),
            ("control brig/push animation", "@feat"),
            ("control brig/push input", "@wit"),
            ("control brig/push sounds", "@hum"),
            ("control brig/push wheels", "@orbs"),
            ("control brig/push text", "@say"),
            $($part),*
        ]
    };
}

pub(super) use {around, around_without_aliases};

/// Begin, most of the way, a wait, and the end.
pub(super) fn frames([begin, end]: [f64; 2], ends: &[[f64; 3]; 2]) -> [(f64, [f64; 3]); 4] {
    let [from, to] = *ends;
    let on_the_way = [0, 1, 2].map(|axis| from[axis] * 0.25 + to[axis] * 0.75);
    let lasts = end - begin;
    [
        (begin, from),
        (begin + lasts * 0.25, on_the_way),
        (begin + lasts * 0.5, on_the_way),
        (end, to),
    ]
}

/// A list of keyframes for each property; milliseconds, centimetres.
pub(crate) const KEYED: Style = Style {
    name: "keyed",
    write: keyed,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/lope node", "@whom"),
        ("channel brig/feat/lope property", "@sort"),
        ("channel brig/feat/lope property.translation", "gad"),
        ("channel brig/feat/lope property.rotation", "gyr"),
        ("channel brig/feat/lope property.scale", "gro"),
        ("channel brig/feat/lope property.visibility", "gli"),
        ("channel brig/feat/lope keyframes.at", "nick"),
        ("channel brig/feat/lope keyframes.time", "@tem"),
        ("channel brig/feat/lope keyframes.value", "text()"),
    ),
    notation: &["length = \"cm\"", "time = \"ms\""],
};

fn keyed(machine: &Machine) -> String {
    shell(machine, 100.0, |channel| {
        let (sort, size, vectors) = match &channel.ends {
            Ends::Shift(ends) => ("gad", 100.0, Some(ends)),
            Ends::Turn(ends) => ("gyr", 1.0, Some(ends)),
            Ends::Size(ends) => ("gro", 1.0, Some(ends)),
            Ends::Show(_) => ("gli", 1.0, None),
        };
        let mut out = format!(
            "    <lope whom=\"{}\" sort=\"{sort}\">\n",
            node(&channel.node)
        );
        let mut nick = |time: f64, value: String| {
            let time = plain(time * 1000.0, 0);
            let _ = writeln!(out, "      <nick tem=\"{time}\">{value}</nick>");
        };
        match (vectors, &channel.ends) {
            (Some(ends), _) => {
                for (time, value) in frames(channel.window, ends) {
                    nick(time, row(value, size, 4, ","));
                }
            }
            (None, Ends::Show(ends)) => {
                for (time, shown) in channel.window.iter().zip(ends) {
                    nick(*time, if *shown { "ju" } else { "na" }.to_owned());
                }
            }
            _ => {}
        }
        out + "    </lope>\n"
    })
}

/// Keyframes below an element for each property, below an element for the node; a number for each axis; radians.
pub(crate) const LAYERED: Style = Style {
    name: "layered",
    write: layered,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/limb/gad node", "../@whom"),
        ("channel brig/feat/limb/gad property", "translation"),
        ("channel brig/feat/limb/gad keyframes.at", "k"),
        ("channel brig/feat/limb/gad keyframes.time", "@at"),
        ("channel brig/feat/limb/gad keyframes.value.x", "@x"),
        ("channel brig/feat/limb/gad keyframes.value.y", "@y"),
        ("channel brig/feat/limb/gad keyframes.value.z", "@z"),
        ("channel brig/feat/limb/gyr node", "../@whom"),
        ("channel brig/feat/limb/gyr property", "rotation"),
        ("channel brig/feat/limb/gyr keyframes.at", "k"),
        ("channel brig/feat/limb/gyr keyframes.time", "@at"),
        ("channel brig/feat/limb/gyr keyframes.value.x", "@x"),
        ("channel brig/feat/limb/gyr keyframes.value.y", "@y"),
        ("channel brig/feat/limb/gyr keyframes.value.z", "@z"),
        ("channel brig/feat/limb/gro node", "../@whom"),
        ("channel brig/feat/limb/gro property", "scale"),
        ("channel brig/feat/limb/gro keyframes.at", "k"),
        ("channel brig/feat/limb/gro keyframes.time", "@at"),
        ("channel brig/feat/limb/gro keyframes.value.x", "@x"),
        ("channel brig/feat/limb/gro keyframes.value.y", "@y"),
        ("channel brig/feat/limb/gro keyframes.value.z", "@z"),
    ),
    notation: &["angle = \"rad\""],
};

fn layered(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let (sort, size, ends) = match &channel.ends {
            Ends::Shift(ends) => ("gad", 1.0, ends),
            Ends::Turn(ends) => ("gyr", std::f64::consts::PI / 180.0, ends),
            Ends::Size(ends) => ("gro", 1.0, ends),
            Ends::Show(_) => return String::new(),
        };
        let mut out = format!("    <limb whom=\"{}\"><{sort}>\n", node(&channel.node));
        for (time, value) in frames(channel.window, ends) {
            let [x, y, z] = value.map(|number| plain(number * size, 5));
            let time = plain(time, 3);
            let _ = writeln!(
                out,
                "      <k at=\"{time}\" x=\"{x}\" y=\"{y}\" z=\"{z}\"/>"
            );
        }
        out + &format!("    </{sort}></limb>\n")
    })
}

/// Both values as elements with an element for each axis; begin and duration.
pub(crate) const SPLIT: Style = Style {
    name: "split",
    write: split,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go duration", "@dur"),
        ("channel brig/feat/go property", "@sort"),
        ("channel brig/feat/go property.translation", "gad"),
        ("channel brig/feat/go property.rotation", "gyr"),
        ("channel brig/feat/go property.scale", "gro"),
        ("channel brig/feat/go from.x", "ab/x"),
        ("channel brig/feat/go from.y", "ab/y"),
        ("channel brig/feat/go from.z", "ab/z"),
        ("channel brig/feat/go to.x", "an/x"),
        ("channel brig/feat/go to.y", "an/y"),
        ("channel brig/feat/go to.z", "an/z"),
    ),
    notation: &["length = \"mm\""],
};

fn split(machine: &Machine) -> String {
    shell(machine, 1000.0, |channel| {
        let (sort, size, ends) = match &channel.ends {
            Ends::Shift(ends) => ("gad", 1000.0, ends),
            Ends::Turn(ends) => ("gyr", 1.0, ends),
            Ends::Size(ends) => ("gro", 1.0, ends),
            Ends::Show(_) => return String::new(),
        };
        let [from, to] = ends.map(|end| {
            let [x, y, z] = end.map(|number| plain(number * size, 4));
            format!("<x>{x}</x><y>{y}</y><z>{z}</z>")
        });
        let [begin, end] = channel.window;
        let (begin, lasts) = (plain(begin, 3), plain(end - begin, 3));
        format!(
            "    <go whom=\"{}\" tem=\"{begin}\" dur=\"{lasts}\" sort=\"{sort}\"><ab>{from}</ab><an>{to}</an></go>\n",
            node(&channel.node)
        )
    })
}

/// Changes from where things rest; what moves is said in a word.
pub(crate) const CHANGES: Style = Style {
    name: "changes",
    write: changes,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go end", "@fin"),
        ("channel brig/feat/go property", "@sort"),
        ("channel brig/feat/go property.translation", "gad"),
        ("channel brig/feat/go property.rotation", "gyr"),
        ("channel brig/feat/go by", "@wey"),
    ),
    notation: &[],
};

fn changes(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let Some((sort, [from, to])) = shifted_or_turned(channel) else {
            return String::new();
        };
        let change = [0, 1, 2].map(|axis| to[axis] - from[axis]);
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        format!(
            "    <go whom=\"{}\" tem=\"{begin}\" fin=\"{end}\" sort=\"{sort}\" wey=\"{}\"/>\n",
            node(&channel.node),
            row(change, 1.0, 4, " ")
        )
    })
}

/// Changes from where things rest; what moves is said by what the element is called.
pub(crate) const SORTED: Style = Style {
    name: "sorted",
    write: sorted,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/push node", "@whom"),
        ("channel brig/feat/push begin", "@tem"),
        ("channel brig/feat/push end", "@fin"),
        ("channel brig/feat/push property", "translation"),
        ("channel brig/feat/push by", "@wey"),
        ("channel brig/feat/spin node", "@whom"),
        ("channel brig/feat/spin begin", "@tem"),
        ("channel brig/feat/spin end", "@fin"),
        ("channel brig/feat/spin property", "rotation"),
        ("channel brig/feat/spin by", "@wey"),
    ),
    notation: &[],
};

fn sorted(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let (sort, ends) = match &channel.ends {
            Ends::Shift(ends) => ("push", ends),
            Ends::Turn(ends) => ("spin", ends),
            Ends::Size(_) | Ends::Show(_) => return String::new(),
        };
        let [from, to] = *ends;
        let change = [0, 1, 2].map(|axis| to[axis] - from[axis]);
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        format!(
            "    <{sort} whom=\"{}\" tem=\"{begin}\" fin=\"{end}\" wey=\"{}\"/>\n",
            node(&channel.node),
            row(change, 1.0, 4, " ")
        )
    })
}
