//! Styles in which motions are single numbers along or about an axis, or count from where things rest.

use super::moving::{SIDES, around, around_without_aliases, frames, node, shell};
use super::{Channel, Ends, Machine, Style, plain, row};
use std::fmt::Write as _;

/// Axes as words that say nothing, numbers as nodes rest; centimetres.
pub(crate) const WORDED: Style = Style {
    name: "worded",
    write: worded,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go end", "@fin"),
        ("channel brig/feat/go property", "@sort"),
        ("channel brig/feat/go property.translation", "gad"),
        ("channel brig/feat/go property.rotation", "gyr"),
        ("channel brig/feat/go from.along", "@wey"),
        ("channel brig/feat/go from.along.x", "mun"),
        ("channel brig/feat/go from.along.y", "zib"),
        ("channel brig/feat/go from.along.z", "lor"),
        ("channel brig/feat/go from.amount", "@ab"),
        ("channel brig/feat/go to.along", "@wey"),
        ("channel brig/feat/go to.along.x", "mun"),
        ("channel brig/feat/go to.along.y", "zib"),
        ("channel brig/feat/go to.along.z", "lor"),
        ("channel brig/feat/go to.amount", "@an"),
    ),
    notation: &["length = \"cm\""],
};

/// What changes along each axis, and what is moved.
fn turns(channel: &Channel) -> Vec<(bool, usize, [f64; 2])> {
    let (is_turn, [from, to]) = match &channel.ends {
        Ends::Shift(ends) => (false, *ends),
        Ends::Turn(ends) => (true, *ends),
        Ends::Size(_) | Ends::Show(_) => return Vec::new(),
    };
    let axes = (0..3).filter(|axis| (from[*axis] - to[*axis]).abs() > 1e-9);
    axes.map(|axis| (is_turn, axis, [from[axis], to[axis]]))
        .collect()
}

fn worded(machine: &Machine) -> String {
    shell(machine, 100.0, |channel| {
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        let mut out = String::new();
        for (is_turn, axis, ends) in turns(channel) {
            let (sort, size) = if is_turn {
                ("gyr", 1.0)
            } else {
                ("gad", 100.0)
            };
            let [from, to] = ends.map(|end| plain(end * size, 4));
            let _ = writeln!(
                out,
                "    <go whom=\"{}\" sort=\"{sort}\" wey=\"{}\" tem=\"{begin}\" fin=\"{end}\" ab=\"{from}\" an=\"{to}\"/>",
                node(&channel.node),
                ["mun", "zib", "lor"][axis]
            );
        }
        out
    })
}

/// Axes as vectors, an element for each sort of motion, numbers from where nodes rest.
pub(crate) const VECTORED: Style = Style {
    name: "vectored",
    write: vectored,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/swing node", "@whom"),
        ("channel brig/feat/swing begin", "@tem"),
        ("channel brig/feat/swing end", "@fin"),
        ("channel brig/feat/swing property", "rotation"),
        ("channel brig/feat/swing from-rest", "yes"),
        ("channel brig/feat/swing from.along", "@wey"),
        ("channel brig/feat/swing from.amount", "@ab"),
        ("channel brig/feat/swing to.along", "@wey"),
        ("channel brig/feat/swing to.amount", "@an"),
        ("channel brig/feat/slide node", "@whom"),
        ("channel brig/feat/slide begin", "@tem"),
        ("channel brig/feat/slide end", "@fin"),
        ("channel brig/feat/slide property", "translation"),
        ("channel brig/feat/slide from-rest", "yes"),
        ("channel brig/feat/slide from.along", "@wey"),
        ("channel brig/feat/slide from.amount", "@ab"),
        ("channel brig/feat/slide to.along", "@wey"),
        ("channel brig/feat/slide to.amount", "@an"),
    ),
    notation: &[],
};

fn vectored(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        let mut out = String::new();
        for (is_turn, axis, [from, to]) in turns(channel) {
            let sort = if is_turn { "swing" } else { "slide" };
            let mut way = [0.0; 3];
            way[axis] = 1.0;
            let _ = writeln!(
                out,
                "    <{sort} whom=\"{}\" wey=\"{}\" tem=\"{begin}\" fin=\"{end}\" ab=\"0\" an=\"{}\"/>",
                node(&channel.node),
                row(way, 1.0, 0, " "),
                plain(to - from, 4)
            );
        }
        out
    })
}

/// Both ends in one list along an axis that a letter says, in an element for each sort of motion; millimetres.
pub(crate) const PAIRED: Style = Style {
    name: "paired",
    write: |machine| {
        within(machine, |[from, to], axis| {
            format!(" wey=\"{axis}\">{from} ~ {to}")
        })
    },
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go end", "@fin"),
        ("channel brig/feat/go property", "translation"),
        ("channel brig/feat/go ends.along", "gad/@wey"),
        ("channel brig/feat/go ends.along.x", "X"),
        ("channel brig/feat/go ends.along.y", "Y"),
        ("channel brig/feat/go ends.amount", "gad"),
        ("channel brig/feat/go property-2", "rotation"),
        ("channel brig/feat/go ends-2.along", "gyr/@wey"),
        ("channel brig/feat/go ends-2.along.x", "X"),
        ("channel brig/feat/go ends-2.along.y", "Y"),
        ("channel brig/feat/go ends-2.along.z", "Z"),
        ("channel brig/feat/go ends-2.amount", "gyr"),
    ),
    notation: &["length = \"mm\""],
};

/// One end beside the axis, the other as the text of the element.
pub(crate) const MIXED: Style = Style {
    name: "mixed",
    write: |machine| {
        within(machine, |[from, to], axis| {
            format!(" wey=\"{axis}\" ab=\"{from}\">{to}")
        })
    },
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go end", "@fin"),
        ("channel brig/feat/go property", "translation"),
        ("channel brig/feat/go from.along", "gad/@wey"),
        ("channel brig/feat/go from.along.x", "X"),
        ("channel brig/feat/go from.along.y", "Y"),
        ("channel brig/feat/go from.amount", "gad/@ab"),
        ("channel brig/feat/go to.along", "gad/@wey"),
        ("channel brig/feat/go to.along.x", "X"),
        ("channel brig/feat/go to.along.y", "Y"),
        ("channel brig/feat/go to.amount", "gad"),
        ("channel brig/feat/go property-2", "rotation"),
        ("channel brig/feat/go from-2.along", "gyr/@wey"),
        ("channel brig/feat/go from-2.along.x", "X"),
        ("channel brig/feat/go from-2.along.y", "Y"),
        ("channel brig/feat/go from-2.along.z", "Z"),
        ("channel brig/feat/go from-2.amount", "gyr/@ab"),
        ("channel brig/feat/go to-2.along", "gyr/@wey"),
        ("channel brig/feat/go to-2.along.x", "X"),
        ("channel brig/feat/go to-2.along.y", "Y"),
        ("channel brig/feat/go to-2.along.z", "Z"),
        ("channel brig/feat/go to-2.amount", "gyr"),
    ),
    notation: &["length = \"mm\""],
};

/// `inside`: the rest of the tag and the text of what moves.
fn within(machine: &Machine, inside: impl Fn([String; 2], char) -> String) -> String {
    shell(machine, 1000.0, |channel| {
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        let mut out = String::new();
        for (is_turn, axis, ends) in turns(channel) {
            let (sort, size) = if is_turn {
                ("gyr", 1.0)
            } else {
                ("gad", 1000.0)
            };
            let ends = ends.map(|end| plain(end * size, 2));
            let inside = inside(ends, ['X', 'Y', 'Z'][axis]);
            let _ = writeln!(
                out,
                "    <go whom=\"{}\" tem=\"{begin}\" fin=\"{end}\"><{sort}{inside}</{sort}></go>",
                node(&channel.node)
            );
        }
        out
    })
}

/// Keyframes with a number about an axis that a letter on the channel says.
pub(crate) const LETTERED: Style = Style {
    name: "lettered",
    write: lettered,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/lope node", "@whom"),
        ("channel brig/feat/lope property", "@sort"),
        ("channel brig/feat/lope property.translation", "gad"),
        ("channel brig/feat/lope property.rotation", "gyr"),
        ("channel brig/feat/lope keyframes.at", "nick"),
        ("channel brig/feat/lope keyframes.time", "@tem"),
        ("channel brig/feat/lope keyframes.value.along", "../@wey"),
        ("channel brig/feat/lope keyframes.value.along.x", "X"),
        ("channel brig/feat/lope keyframes.value.along.y", "Y"),
        ("channel brig/feat/lope keyframes.value.along.z", "Z"),
        ("channel brig/feat/lope keyframes.value.amount", "text()"),
    ),
    notation: &[],
};

fn lettered(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let mut out = String::new();
        for (is_turn, axis, [from, to]) in turns(channel) {
            let sort = if is_turn { "gyr" } else { "gad" };
            let _ = writeln!(
                out,
                "    <lope whom=\"{}\" sort=\"{sort}\" wey=\"{}\">",
                node(&channel.node),
                ["X", "Y", "Z"][axis]
            );
            for (time, value) in frames(channel.window, &[[from; 3], [to; 3]]) {
                let (time, value) = (plain(time, 3), plain(value[0], 4));
                let _ = writeln!(out, "      <nick tem=\"{time}\">{value}</nick>");
            }
            out += "    </lope>\n";
        }
        out
    })
}

/// Vectors that count from where nodes rest.
pub(crate) const RESTED: Style = Style {
    name: "rested",
    write: rested,
    sides: SIDES,
    parts: around!(
        ("channel brig/feat/go node", "@whom"),
        ("channel brig/feat/go begin", "@tem"),
        ("channel brig/feat/go end", "@fin"),
        ("channel brig/feat/go property", "@sort"),
        ("channel brig/feat/go property.translation", "gad"),
        ("channel brig/feat/go property.rotation", "gyr"),
        ("channel brig/feat/go from", "@ab"),
        ("channel brig/feat/go to", "@an"),
        ("channel brig/feat/go from-rest", "yes"),
        ("channel brig/feat/go property-2", "@sort"),
        ("channel brig/feat/go property-2.visibility", "gli"),
        ("channel brig/feat/go from-2", "@ab"),
        ("channel brig/feat/go to-2", "@an"),
    ),
    notation: &[],
};

fn rested(machine: &Machine) -> String {
    shell(machine, 1.0, |channel| {
        let change = |[from, to]: &[[f64; 3]; 2]| {
            let change = [0, 1, 2].map(|axis| to[axis] - from[axis]);
            ["0 0 0".to_owned(), row(change, 1.0, 4, " ")]
        };
        let (sort, [from, to]) = match &channel.ends {
            Ends::Shift(ends) => ("gad", change(ends)),
            Ends::Turn(ends) => ("gyr", change(ends)),
            Ends::Show(ends) => (
                "gli",
                ends.map(|shown| if shown { "ju" } else { "na" }.to_owned()),
            ),
            Ends::Size(_) => return String::new(),
        };
        let [begin, end] = channel.window.map(|time| plain(time, 3));
        format!(
            "    <go whom=\"{}\" tem=\"{begin}\" fin=\"{end}\" sort=\"{sort}\" ab=\"{from}\" an=\"{to}\"/>\n",
            node(&channel.node),
        )
    })
}
