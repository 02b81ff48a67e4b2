//! Large, valid machine definitions in the house dialect: many groups, each with a left and a right arm with a wheel,
//! and a tool. Same size and seed, same text.

use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Ten animations, each played by a lever on an input of its own.
const INPUTS: [&str; 10] = [
    "stick.1.x",
    "stick.1.y",
    "stick.2.x",
    "stick.2.y",
    "stick.3.x",
    "stick.3.y",
    "stick.4.x",
    "stick.4.y",
    "pointer.x",
    "pointer.y",
];

/// A machine definition of about `bytes` bytes.
pub fn machine(bytes: usize, seed: u64) -> String {
    let mut random = Random(seed);
    let (mut aliases, mut wheels) = (String::new(), String::new());
    let mut channels = INPUTS.map(|_| String::new());
    let mut carried = INPUTS.map(|_| String::new());
    let mut group = 0;
    let mut used = 900;
    while used < bytes {
        let moved = group % INPUTS.len();
        let parts = [
            &mut aliases,
            &mut wheels,
            &mut channels[moved],
            &mut carried[moved],
        ];
        used += add_group(group, &mut random, parts);
        group += 1;
    }
    let mut out = String::with_capacity(bytes + bytes / 8);
    out.push_str(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <machine xmlns=\"urn:trunnion:machine:1\" id=\"big\" title=\"Generated\" scene=\"big.gltf\">\n",
    );
    section(&mut out, "aliases", &aliases);
    section(&mut out, "wheels", &wheels);
    let sounds: String = (0..4)
        .map(|n| format!("    <sound id=\"pump{n}\" file=\"sounds/pump{n}.ogg\" gain=\"0.8\"/>\n"))
        .collect();
    section(&mut out, "sounds", &sounds);
    let (mut animations, mut controls) = (String::new(), String::new());
    for (n, input) in INPUTS
        .iter()
        .enumerate()
        .filter(|(n, _)| !channels[*n].is_empty())
    {
        let _ = write!(
            animations,
            "    <animation id=\"deploy{n}\" duration=\"4\">\n{}    </animation>\n",
            channels[n]
        );
        let _ = write!(
            controls,
            "    <lever animation=\"deploy{n}\" input=\"{input}\" gain=\"0.6\" rate=\"1\" glyph=\"widen\" \
             text=\"Deploy {n} &amp; hold\">\n{}      <cue sound=\"pump{}\"/>\n    </lever>\n",
            carried[n],
            n % 4
        );
    }
    section(&mut out, "animations", &animations);
    section(&mut out, "controls", &controls);
    out.push_str("</machine>\n");
    out
}

fn section(out: &mut String, name: &str, content: &str) {
    let _ = write!(out, "  <{name}>\n{content}  </{name}>\n");
}

/// Adds the lines of one group to aliases, wheels, channels and carried wheels; how many bytes they are.
fn add_group(n: usize, random: &mut Random, parts: [&mut String; 4]) -> usize {
    let [aliases, wheels, channels, carried] = parts;
    let before = aliases.len() + wheels.len() + channels.len() + carried.len();
    let out = random.between(600, 1400);
    let reach = out + random.between(100, 500);
    let lift = 1000 + random.between(200, 2000);
    let [out, reach, lift] = [out, reach, lift].map(|thousandths| f64::from(thousandths) / 1000.0);
    for (index, name) in ["arm.left", "arm.right", "tool"].iter().enumerate() {
        let _ = writeln!(
            aliases,
            "    <alias name=\"g{n}.{name}\" path=\"{n}/{index}\"/>"
        );
    }
    let _ = writeln!(channels, "      <!-- group {n} -->");
    for (index, side, sign) in [(0, "left", ""), (1, "right", "-")] {
        let _ = writeln!(
            wheels,
            "    <wheel id=\"g{n}.wheel.{side}\" node=\"{n}/{index}/0\" radius=\"0.5\" width=\"0.3\" drive=\"true\"/>"
        );
        let _ = writeln!(
            channels,
            "      <channel target=\"g{n}.arm.{side}\" property=\"translation\" begin=\"0\" end=\"2\" \
             from=\"{sign}{out} 0 0\" to=\"{sign}{reach} 0 0\"/>"
        );
        let _ = writeln!(carried, "      <carry wheel=\"g{n}.wheel.{side}\"/>");
    }
    let _ = writeln!(
        channels,
        "      <channel target=\"g{n}.tool\" property=\"translation\" begin=\"1\" end=\"4\" from=\"0 1 -1.5\" \
         to=\"0 {lift} -1.5\" easing=\"smooth\"/>"
    );
    aliases.len() + wheels.len() + channels.len() + carried.len() - before
}

/// The scene that such a definition drives, as glTF: every index path resolves, and every motion starts at rest.
pub fn scene(definition: &str) -> String {
    // The channels stand by animation, not by group.
    let mut arms = BTreeMap::new();
    for line in definition.lines() {
        let Some((target, rest)) = line
            .trim_start()
            .strip_prefix("<channel target=\"g")
            .and_then(|line| line.split_once('"'))
        else {
            continue;
        };
        if let Some(group) = target
            .strip_suffix(".arm.left")
            .and_then(|group| group.parse::<usize>().ok())
        {
            let from = rest
                .split("from=\"")
                .nth(1)
                .and_then(|from| from.split(' ').next());
            arms.insert(group, from.unwrap_or("1"));
        }
    }
    let (mut nodes, mut roots) = (Vec::new(), Vec::new());
    for (group, from) in arms {
        let first = nodes.len();
        let node = |name: &str, place: &str, children: &str| {
            format!("{{\"name\":\"g{group}{name}\",\"translation\":[{place}]{children}}}")
        };
        let child = |at: usize| format!(",\"children\":[{}]", first + at);
        nodes.push(node("WheelLeft", "0.1,-0.5,0", ""));
        nodes.push(node("WheelRight", "-0.1,-0.5,0", ""));
        nodes.push(node("ArmLeft", &format!("{from},0,0"), &child(0)));
        nodes.push(node("ArmRight", &format!("-{from},0,0"), &child(1)));
        nodes.push(node("Tool", "0,1,-1.5", ""));
        let parts = format!(",\"children\":[{},{},{}]", first + 2, first + 3, first + 4);
        nodes.push(node("Carrier", &format!("0,1,{}", 3 * group), &parts));
        roots.push((first + 5).to_string());
    }
    format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[{}]}}],\"nodes\":[{}]}}",
        roots.join(","),
        nodes.join(",")
    )
}

/// A linear congruential generator: enough for lengths that vary.
struct Random(u64);

impl Random {
    fn between(&mut self, low: u32, high: u32) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        low + (self.0 >> 33) as u32 % (high - low)
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_generated_machine_is_well_formed_and_about_as_long_as_asked() {
        for bytes in [10_000, 100_000, 1_000_000] {
            let text = super::machine(bytes, 1);
            assert!(
                text.len().abs_diff(bytes) < 2_500 + bytes / 10,
                "{} for {bytes}",
                text.len()
            );
            assert_eq!(syntax::parse(&text).errors(), []);
        }
    }
}
