//! The carrier, written down in a shape.

use super::{KEYFRAMES, Shape};
use std::fmt::Write as _;

impl Shape {
    fn path(&self, path: &str) -> String {
        match self.paths {
            0 => path.to_owned(),
            _ => {
                let numbers = path
                    .split('/')
                    .map(|number| (number.parse::<u32>().expect("a number") + 1).to_string());
                format!("^{}", numbers.collect::<Vec<_>>().join("-"))
            }
        }
    }

    fn with_id(&self, element: &str, id: &str, attributes: &str, content: &str) -> String {
        match (self.names, content) {
            (0, "") => format!("<{element} id=\"{id}\"{attributes}/>\n"),
            (0, _) => format!("<{element} id=\"{id}\"{attributes}>\n{content}</{element}>\n"),
            _ => format!("<{element}{attributes}>\n<id>{id}</id>\n{content}</{element}>\n"),
        }
    }

    fn channel(&self, node: &str, times: (f64, f64), ends: [&str; 2]) -> String {
        let time = |seconds: f64| {
            (if self.units {
                seconds * 1000.0
            } else {
                seconds
            })
            .to_string()
        };
        let (begin, end) = (time(times.0), time(times.1));
        let mut attributes = format!(" node=\"{}\"", self.path(node));
        let mut content = String::new();
        match self.times {
            0 => drop(write!(attributes, " t0=\"{begin}\" t1='{end}'")),
            1 => drop(write!(attributes, " span=\"{begin} .. {end}\"")),
            2 => drop(write!(attributes, " span=\"{begin}  {end}\"")),
            3 => drop(writeln!(content, "<span> {begin}..{end} </span>")),
            _ => {}
        }
        if self.property < 2 {
            attributes.push_str(" what=\"place\"");
        }
        let numbers = |vector: &str| -> Vec<f64> {
            let numbers = vector
                .split(' ')
                .map(|number| number.parse::<f64>().expect("a number"));
            let scaled = numbers.map(|number| if self.units { number * 100.0 } else { number });
            scaled.collect()
        };
        let row = |numbers: &[f64]| {
            let texts: Vec<String> = numbers.iter().map(f64::to_string).collect();
            texts.join(" ")
        };
        let [first, last] = ends.map(numbers);
        let [from, to] = [&first, &last].map(|numbers| row(numbers));
        match self.ends {
            0 => drop(write!(attributes, " from=\"{from}\" to=\"{to}\"")),
            1 => drop(write!(attributes, " ends=\"{from} | {to}\"")),
            2 => drop(writeln!(content, "<from>{from}</from>\n<to>{to}</to>")),
            3 => drop(writeln!(content, "<ends>{from} | {to}</ends>")),
            4 => {
                let change: Vec<f64> = first.iter().zip(&last).map(|(a, b)| b - a).collect();
                let _ = write!(attributes, " by=\"{}\"", row(&change));
            }
            5 => drop(write!(attributes, " to=\"{to}\"")),
            6 => drop(write!(
                attributes,
                " x0=\"{}\" x1=\"{}\" y0=\"{}\" y1=\"{}\"",
                first[0], last[0], first[1], last[1]
            )),
            7 => {
                for (name, of) in [("from", &first), ("to", &last)] {
                    let _ = writeln!(
                        content,
                        "<{name}>\n<x>{}</x>\n<y>{}</y>\n</{name}>",
                        of[0], of[1]
                    );
                }
            }
            _ => {
                // Most of the way at once, then a rest, then on.
                let on_the_way: Vec<f64> = first
                    .iter()
                    .zip(&last)
                    .map(|(a, b)| a + (b - a) * 0.75)
                    .collect();
                let (begin, end) = times;
                let lasts = end - begin;
                let keys = [
                    (begin, &first),
                    (begin + lasts * 0.25, &on_the_way),
                    (begin + lasts * 0.5, &on_the_way),
                    (end, &last),
                ];
                for (at, value) in keys {
                    let at = time(at);
                    let _ = match self.ends {
                        KEYFRAMES => writeln!(content, "<key t=\"{at}\">{}</key>", row(value)),
                        _ => writeln!(
                            content,
                            "<key t=\"{at}\" x=\"{}\" y='{}'/>",
                            value[0], value[1]
                        ),
                    };
                }
            }
        }
        let element = match content.is_empty() {
            true => format!("<go{attributes}/>\n"),
            false => format!("<go{attributes}>\n{content}</go>\n"),
        };
        match self.times {
            4 => format!("<group span=\"{begin}..{end}\">\n{element}</group>\n"),
            _ => element,
        }
    }

    pub(super) fn document(&self) -> String {
        let length = if self.units { "6000" } else { "6" };
        let mut channels = self.channel("0/1", (0.0, 6.0), ["0 1 0", "0 3 0"]);
        let legs = [
            ("0/0/0", ["1.3 0 0", "1.6 0 0"]),
            ("0/0/1", ["-1.3 0 0", "-1.6 0 0"]),
        ];
        for (node, ends) in legs {
            channels.push_str(&self.channel(node, (1.0, 3.5), ends));
        }
        let mut control = String::new();
        let element = if self.kinds == 1 { "hand" } else { "knob" };
        let _ = write!(control, "<{element} input=\"d1\"");
        if self.kinds == 1 {
            control.push_str(" kind=\"key\"");
        }
        if !self.is_inside() {
            match self.played_by {
                0 => control.push_str(" act=\"mast.raise\""),
                1 => control.push_str(" act=\"1\""),
                _ => {}
            }
        }
        match self.wheels {
            3 => control.push_str(" rolls=\"left, right\""),
            4 => control.push_str(" rolls=\"1 2\""),
            _ => {}
        }
        if self.sounds == 2 {
            control.push_str(" cues=\"pump\"");
        }
        match self.holder {
            1 => control.push_str(" on=\"mast\""),
            2 => drop(write!(control, " on=\"{}\"", self.path("0/1"))),
            _ => {}
        }
        control.push_str(">\n");
        if self.played_by == 2 && !self.is_inside() {
            control.push_str("<plays>mast.raise</plays>\n");
        }
        control.push_str(match self.wheels {
            0 => "<carry roll=\"left\"/>\n<carry roll=\"right\"/>\n",
            1 => "<carries>\n<roll>0</roll>\n<roll>1</roll>\n</carries>\n",
            2 => "<load>left right</load>\n",
            _ => "",
        });
        if self.sounds == 1 {
            control.push_str("<cue>pump</cue>\n");
        }
        let _ = writeln!(control, "</{element}>");
        if !self.has_control {
            control.clear();
        }
        let lasts = match self.duration {
            1 | 3 => format!(" lasts=\"{length}\""),
            _ => String::new(),
        };
        let mut inside = if self.duration == 2 {
            format!("<lasts>{length}</lasts>\n{channels}")
        } else {
            channels
        };
        if self.is_inside() {
            inside.push_str(&control);
        }
        let act = self.with_id("act", "mast.raise", &lasts, &inside);
        let roll = |id: &str, node: &str| {
            self.with_id("roll", id, &format!(" at=\"{}\"", self.path(node)), "")
        };
        let hands = if self.is_inside() || !self.has_control {
            String::new()
        } else {
            format!("<hands>\n{control}</hands>\n")
        };
        let lines = format!(
            "<rig scene=\"machines/rig.gltf\">\n<aliases>\n<alias name=\"mast\" path=\"{}\"/>\n</aliases>\n<rolls>\n{}{}</rolls>\n<sounds>\n{}</sounds>\n<acts>\n{act}</acts>\n{hands}</rig>\n",
            self.path("0/1"),
            roll("left", "0/0/0/0"),
            roll("right", "0/0/1/0"),
            self.with_id("sound", "pump", "", ""),
        );
        let lines = match self.namespace {
            0 => lines,
            1 => lines.replacen("<rig", "<rig xmlns='urn:shape'", 1),
            _ => {
                let prefixed = lines
                    .replace("</", "\u{1}")
                    .replace('<', "<r:")
                    .replace('\u{1}', "</r:");
                prefixed.replacen("<r:rig", "<r:rig xmlns:r='urn:shape'", 1)
            }
        };
        self.laid_out(&lines)
    }

    fn laid_out(&self, lines: &str) -> String {
        let (unit, line_break) = match self.layout {
            0 => ("  ", "\n"),
            1 => ("\t", "\r\n"),
            _ => return lines.replace('\n', ""),
        };
        let (mut depth, mut text) = (0_usize, String::new());
        for line in lines.lines() {
            if line.starts_with("</") {
                depth -= 1;
            }
            text.push_str(&unit.repeat(depth));
            text.push_str(line);
            text.push_str(line_break);
            let opens = !line.starts_with("</") && !line.ends_with("/>") && !line.contains("</");
            depth += usize::from(opens);
        }
        text
    }
}
