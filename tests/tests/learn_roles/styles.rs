//! The tide workers' machines in other styles of writing.

mod along;
mod moving;
mod named;
mod vague;

use acceptance::outside::files_below;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

pub(crate) use along::{LETTERED, MIXED, PAIRED, RESTED, VECTORED, WORDED};
pub(crate) use moving::{BESIDE, CHANGES, KEYED, LAYERED, SORTED, SPLIT};
pub(crate) use named::{NAMED, TRAILED};
pub(crate) use vague::VAGUE;

/// How machines are written down, and what should be learnt from that.
pub(crate) struct Style {
    pub(crate) name: &'static str,
    pub(crate) write: fn(&Machine) -> String,
    /// What the two side arms are called, which are the first two children of the first root.
    pub(crate) sides: [&'static str; 2],
    pub(crate) parts: &'static [(&'static str, &'static str)],
    /// Lines of the dialect file.
    pub(crate) notation: &'static [&'static str],
}

/// A machine: metres, degrees, seconds.
pub(crate) struct Machine {
    pub(crate) name: String,
    pub(crate) is_unseen: bool,
    pub(crate) scene: Vec<u8>,
    aliases: Vec<(String, Vec<u32>)>,
    /// Name, node, radius, width.
    wheels: Vec<(String, Node, f64, f64)>,
    /// Name and file.
    pub(crate) sounds: BTreeMap<String, String>,
    animations: Vec<Animation>,
}

impl Machine {
    /// The names of nodes in the scene, from the root down to this one.
    fn names(&self, node: &Node) -> Vec<String> {
        let path = match node {
            Node::Path(path) => path,
            Node::Alias(name) => {
                let mut aliases = self.aliases.iter();
                &aliases.find(|(known, _)| known == name).unwrap().1
            }
        };
        let scene: serde_json::Value = serde_json::from_slice(&self.scene).unwrap();
        let mut children = &scene["scenes"][0]["nodes"];
        let steps = path.iter().map(|step| {
            let node = children[*step as usize].as_u64().unwrap() as usize;
            let node = &scene["nodes"][node];
            children = &node["children"];
            node["name"].as_str().unwrap().to_owned()
        });
        steps.collect()
    }
}

enum Node {
    Alias(String),
    Path(Vec<u32>),
}

struct Animation {
    name: String,
    channels: Vec<Channel>,
    analog: bool,
    input: String,
    text: String,
    wheels: Vec<usize>,
    sound: Option<String>,
}

struct Channel {
    node: Node,
    window: [f64; 2],
    ends: Ends,
}

enum Ends {
    Shift([[f64; 3]; 2]),
    Turn([[f64; 3]; 2]),
    Size([[f64; 3]; 2]),
    Show([bool; 2]),
}

/// All machines of the library that are files of their own and sound, and the one that is not in it.
pub(crate) fn machines(folder: &Path) -> Vec<Machine> {
    let files = files_below(folder, &[".contrivance.xml"]);
    let machines = files.iter().filter_map(|file| {
        let text = std::fs::read_to_string(file).unwrap();
        let document = roxmltree::Document::parse(&text).ok()?;
        let scene = file.with_file_name(document.root_element().attribute("timbers")?);
        Some(machine(
            &document,
            std::fs::read(&scene).unwrap(),
            file.to_string_lossy().contains("unseen"),
        ))
    });
    machines.collect()
}

fn number(text: &str) -> f64 {
    text.replace(',', ".").parse().unwrap()
}

fn index_path(text: &str) -> Option<Vec<u32>> {
    let steps = text.strip_prefix('^')?.split('|');
    Some(steps.map(|step| step.parse::<u32>().unwrap() - 1).collect())
}

fn machine(document: &roxmltree::Document<'_>, scene: Vec<u8>, is_unseen: bool) -> Machine {
    let root = document.root_element();
    let all = |name: &'static str| {
        root.descendants()
            .filter(move |node| node.has_tag_name(name))
    };
    let text = |node: roxmltree::Node<'_, '_>, name: &str| node.attribute(name).unwrap().to_owned();
    let node =
        |text: &str| index_path(text).map_or_else(|| Node::Alias(text.to_owned()), Node::Path);
    let wheels: Vec<_> = all("trundle")
        .map(|wheel| {
            let size = |name: &str| number(&text(wheel, name)) / 1000.0;
            (
                text(wheel, "tag"),
                node(&text(wheel, "sits")),
                size("stout"),
                size("broad"),
            )
        })
        .collect();
    let animations = all("gesture").map(|gesture| {
        let name = text(gesture, "tag");
        let control = root
            .descendants()
            .find(|node| node.attribute("plays") == Some(&name))
            .unwrap();
        let drags = control.attribute("drags").unwrap_or_default().split(", ");
        let at = |name: &str| wheels.iter().position(|(known, ..)| known == name);
        Animation {
            channels: gesture
                .children()
                .filter(|node| node.is_element())
                .map(|stir| {
                    let window = ["dawn", "dusk"]
                        .map(|name| (number(&text(stir, name)) * 60.0 * 100.0).round() / 100.0);
                    let both = ["whence", "whither"].map(|name| text(stir, name));
                    let vectors = |size: f64| {
                        both.clone().map(|text| {
                            let parts: Vec<f64> =
                                text.split('~').map(|part| number(part) * size).collect();
                            [parts[0], parts[1], parts[2]]
                        })
                    };
                    Channel {
                        node: node(&text(stir, "whom")),
                        window,
                        ends: match stir.attribute("manner").unwrap() {
                            "heave" => Ends::Shift(vectors(0.001)),
                            "veer" => Ends::Turn(vectors(360.0)),
                            "burgeon" => Ends::Size(vectors(1.0)),
                            _ => Ends::Show(both.map(|text| text == "abroad")),
                        },
                    }
                })
                .collect(),
            analog: control.has_tag_name("helm"),
            input: text(control, "grasp"),
            text: text(control, "caption"),
            wheels: drags.filter_map(at).collect(),
            sound: control
                .children()
                .find_map(|hark| hark.attribute("din").map(str::to_owned)),
            name,
        }
    });
    let animations = animations.collect();
    Machine {
        name: text(root, "timbers").replace(".gltf", ""),
        is_unseen,
        scene,
        aliases: all("byname")
            .map(|alias| {
                (
                    text(alias, "says"),
                    index_path(&text(alias, "lies")).unwrap(),
                )
            })
            .collect(),
        sounds: all("din")
            .map(|din| (text(din, "tag"), text(din, "reel")))
            .collect(),
        wheels,
        animations,
    }
}

/// A number with few decimals.
fn plain(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

fn row(vector: [f64; 3], size: f64, decimals: usize, mark: &str) -> String {
    vector
        .map(|number| plain(number * size + 0.0, decimals))
        .join(mark)
}

fn joined(path: &[u32], first: u32, mark: &str) -> String {
    let steps: Vec<String> = path.iter().map(|step| (step + first).to_string()).collect();
    steps.join(mark)
}

/// Everything in texts; an element for each property; windows as lists; wheels by number.
pub(crate) const TEXTS: Style = Style {
    name: "texts",
    write: texts,
    sides: ["port arm", "0.1"],
    parts: &[
        ("scene zorb/skein file", "text()"),
        ("alias zorb/plums/plum name", "ka"),
        ("alias zorb/plums/plum path", "lo"),
        ("wheel zorb/wubs/wub node", "on"),
        ("wheel zorb/wubs/wub radius", "ra"),
        ("wheel zorb/wubs/wub width", "wi"),
        ("sound zorb/tunks/tunk name", "bo"),
        ("sound zorb/tunks/tunk file", "fi"),
        ("animation zorb/dorrs/dorr name", "@ident"),
        ("channel zorb/dorrs/dorr/gliss node", "on"),
        ("channel zorb/dorrs/dorr/gliss window", "span"),
        ("channel zorb/dorrs/dorr/gliss property", "translation"),
        ("channel zorb/dorrs/dorr/gliss ends", "way"),
        ("channel zorb/dorrs/dorr/twirr node", "on"),
        ("channel zorb/dorrs/dorr/twirr window", "span"),
        ("channel zorb/dorrs/dorr/twirr property", "rotation"),
        ("channel zorb/dorrs/dorr/twirr ends", "way"),
        ("channel zorb/dorrs/dorr/bloff node", "on"),
        ("channel zorb/dorrs/dorr/bloff window", "span"),
        ("channel zorb/dorrs/dorr/bloff property", "scale"),
        ("channel zorb/dorrs/dorr/bloff ends", "way"),
        ("channel zorb/dorrs/dorr/kek node", "on"),
        ("channel zorb/dorrs/dorr/kek window", "span"),
        ("channel zorb/dorrs/dorr/kek property", "visibility"),
        ("channel zorb/dorrs/dorr/kek ends", "way"),
        ("control zorb/grabs/grab kind", "mode"),
        ("control zorb/grabs/grab kind.analog", "ju"),
        ("control zorb/grabs/grab kind.digital", "ka"),
        ("control zorb/grabs/grab animation", "who"),
        ("control zorb/grabs/grab input", "paw"),
        ("control zorb/grabs/grab gain", "vim"),
        ("control zorb/grabs/grab wheels", "along"),
        ("control zorb/grabs/grab sounds", "tunk"),
        ("control zorb/grabs/grab text", "nib"),
    ],
    notation: &["separator = \".\""],
};

fn texts(machine: &Machine) -> String {
    let node = |node: &Node| match node {
        Node::Alias(name) => name.clone(),
        Node::Path(path) => joined(path, 0, "."),
    };
    let mut out = format!("<zorb>\n<skein>{}.gltf</skein>\n<plums>\n", machine.name);
    for (name, path) in &machine.aliases {
        let _ = writeln!(
            out,
            "<plum><ka>{name}</ka><lo>{}</lo></plum>",
            joined(path, 0, ".")
        );
    }
    out += "</plums>\n<wubs>\n";
    for (_, at, radius, width) in &machine.wheels {
        let _ = writeln!(
            out,
            "<wub><on>{}</on><ra>{radius}</ra><wi>{width}</wi></wub>",
            node(at)
        );
    }
    out += "</wubs>\n<tunks>\n";
    for (name, file) in &machine.sounds {
        let _ = writeln!(out, "<tunk><bo>{name}</bo><fi>{file}</fi></tunk>");
    }
    out += "</tunks>\n<dorrs>\n";
    for animation in &machine.animations {
        let _ = writeln!(out, "<dorr ident=\"{}\">", animation.name);
        for channel in &animation.channels {
            let rows = |ends: &[[f64; 3]; 2], decimals| {
                ends.map(|end| row(end, 1.0, decimals, " ")).join(" : ")
            };
            let (name, way) = match &channel.ends {
                Ends::Shift(ends) => ("gliss", rows(ends, 4)),
                Ends::Turn(ends) => ("twirr", rows(ends, 2)),
                Ends::Size(ends) => ("bloff", rows(ends, 3)),
                Ends::Show(ends) => (
                    "kek",
                    ends.map(|shown| if shown { "fo" } else { "gri" })
                        .join(" : "),
                ),
            };
            let [begin, end] = channel.window.map(|time| plain(time, 2));
            let _ = writeln!(
                out,
                "<{name}><on>{}</on><span>{begin} {end}</span><way>{way}</way></{name}>",
                node(&channel.node)
            );
        }
        out += "</dorr>\n";
    }
    out += "</dorrs>\n<grabs>\n";
    for animation in &machine.animations {
        let mode = if animation.analog { "ju" } else { "ka" };
        let _ = write!(
            out,
            "<grab><who>{}</who><mode>{mode}</mode><paw>{}</paw>",
            animation.name,
            animation.input.replace('.', "")
        );
        if animation.analog {
            out += "<vim>0.6</vim>";
        }
        if !animation.wheels.is_empty() {
            let wheels: Vec<String> = animation
                .wheels
                .iter()
                .map(|wheel| (wheel + 1).to_string())
                .collect();
            let _ = write!(out, "<along>{}</along>", wheels.join(" "));
        }
        if let Some(sound) = &animation.sound {
            let _ = write!(out, "<tunk>{sound}</tunk>");
        }
        let _ = writeln!(out, "<nib>{}</nib></grab>", animation.text);
    }
    out + "</grabs>\n</zorb>\n"
}

/// Controls stand in the animations that they drive; a channel has a child for each property; centimetres, radians,
/// milliseconds.
pub(crate) const NESTED: Style = Style {
    name: "nested",
    write: nested,
    sides: ["port arm", "/1/2"],
    parts: &[
        ("scene quib file", "@hask"),
        ("alias quib/nam name", "@da"),
        ("alias quib/nam path", "text()"),
        ("wheel quib/orb name", "@da"),
        ("wheel quib/orb node", "@ul"),
        ("wheel quib/orb radius", "@es"),
        ("wheel quib/orb width", "@et"),
        ("sound quib/hum name", "@da"),
        ("sound quib/hum file", "@ix"),
        ("animation quib/feat name", "@da"),
        ("channel quib/feat/limn node", "@ul"),
        ("channel quib/feat/limn window", "@tem"),
        ("channel quib/feat/limn property", "translation"),
        ("channel quib/feat/limn from", "sli/@a"),
        ("channel quib/feat/limn to", "sli/@b"),
        ("channel quib/feat/limn property-2", "rotation"),
        ("channel quib/feat/limn from-2", "swa/@a"),
        ("channel quib/feat/limn to-2", "swa/@b"),
        ("channel quib/feat/limn property-3", "scale"),
        ("channel quib/feat/limn from-3", "fet/@a"),
        ("channel quib/feat/limn to-3", "fet/@b"),
        ("channel quib/feat/limn property-4", "visibility"),
        ("channel quib/feat/limn from-4", "pip/@a"),
        ("channel quib/feat/limn to-4", "pip/@b"),
        ("control quib/feat/pull kind", "analog"),
        ("control quib/feat/pull animation", "../@da"),
        ("control quib/feat/pull input", "@wit"),
        ("control quib/feat/pull gain", "@vo"),
        ("control quib/feat/pull sounds", "@hum"),
        ("control quib/feat/pull wheels", "orb/@ref"),
        ("control quib/feat/pull text", "@say"),
        ("control quib/feat/push kind", "digital"),
        ("control quib/feat/push animation", "../@da"),
        ("control quib/feat/push input", "@wit"),
        ("control quib/feat/push sounds", "@hum"),
        ("control quib/feat/push wheels", "orb/@ref"),
        ("control quib/feat/push text", "@say"),
    ],
    notation: &["length = \"cm\"", "angle = \"rad\"", "time = \"ms\""],
};

fn nested(machine: &Machine) -> String {
    let path = |path: &[u32]| format!("/{}", joined(path, 1, "/"));
    let node = |node: &Node| match node {
        Node::Alias(name) => name.clone(),
        Node::Path(at) => path(at),
    };
    let mut out = format!("<quib hask=\"{}.gltf\">\n", machine.name);
    for (name, at) in &machine.aliases {
        let _ = writeln!(out, "  <nam da=\"{name}\">{}</nam>", path(at));
    }
    for (name, at, radius, width) in &machine.wheels {
        let (radius, width) = (plain(radius * 100.0, 2), plain(width * 100.0, 2));
        let _ = writeln!(
            out,
            "  <orb da=\"{name}\" ul=\"{}\" es=\"{radius}\" et=\"{width}\"/>",
            node(at)
        );
    }
    for (name, file) in &machine.sounds {
        let _ = writeln!(out, "  <hum da=\"{name}\" ix=\"{file}\"/>");
    }
    for animation in &machine.animations {
        let _ = writeln!(out, "  <feat da=\"{}\">", animation.name);
        for channel in &animation.channels {
            let rows = |ends: &[[f64; 3]; 2], size: f64, decimals| {
                ends.map(|end| row(end, size, decimals, "; "))
            };
            let (name, [a, b]) = match &channel.ends {
                Ends::Shift(ends) => ("sli", rows(ends, 100.0, 2)),
                Ends::Turn(ends) => ("swa", rows(ends, std::f64::consts::PI / 180.0, 5)),
                Ends::Size(ends) => ("fet", rows(ends, 1.0, 3)),
                Ends::Show(ends) => (
                    "pip",
                    ends.map(|shown| if shown { "y" } else { "n" }.to_owned()),
                ),
            };
            let [begin, end] = channel.window.map(|time| plain(time * 1000.0, 0));
            let _ = writeln!(
                out,
                "    <limn ul=\"{}\" tem=\"{begin}>{end}\"><{name} a=\"{a}\" b=\"{b}\"/></limn>",
                node(&channel.node)
            );
        }
        let name = if animation.analog { "pull" } else { "push" };
        let gain = if animation.analog { " vo=\"0.6\"" } else { "" };
        let sound = animation
            .sound
            .as_ref()
            .map_or(String::new(), |sound| format!(" hum=\"{sound}\""));
        let _ = write!(
            out,
            "    <{name} wit=\"{}\"{gain} say=\"{}\"{sound}>",
            animation.input, animation.text
        );
        for wheel in &animation.wheels {
            let _ = write!(out, "<orb ref=\"{}\"/>", machine.wheels[*wheel].0);
        }
        let _ = writeln!(out, "</{name}>\n  </feat>");
    }
    out + "</quib>\n"
}
