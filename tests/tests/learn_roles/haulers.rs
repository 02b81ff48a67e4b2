//! A library whose scenes have no shapes, whose wheels are called by the nodes they turn on, and whose machines all use
//! the same few names. Lengths in centimetres, times in milliseconds.

use serde_json::{Value, json};

/// What roles are to be found in it.
pub(crate) const PARTS: &[(&str, &str)] = &[
    ("scene hauler/frame file", "@built"),
    ("alias hauler/spots/spot name", "@call"),
    ("alias hauler/spots/spot path", "@where"),
    ("wheel hauler/rollers/roller node", "@spot"),
    ("wheel hauler/rollers/roller radius", "@half"),
    ("sound hauler/hums/hum name", "@call"),
    ("sound hauler/hums/hum file", "@played"),
    ("animation hauler/courses/course name", "@call"),
    ("animation hauler/courses/course duration", "@lasts"),
    ("channel hauler/courses/course/part node", "@spot"),
    ("channel hauler/courses/course/part begin", "@leaves"),
    ("channel hauler/courses/course/part end", "@arrives"),
    ("channel hauler/courses/course/part property", "@does"),
    (
        "channel hauler/courses/course/part property.rotation",
        "swings",
    ),
    (
        "channel hauler/courses/course/part property.translation",
        "slides",
    ),
    ("channel hauler/courses/course/part from", "@a"),
    ("channel hauler/courses/course/part to", "@b"),
    ("control hauler/grips/grip kind", "analog"),
    ("control hauler/grips/grip animation", "@course"),
    ("control hauler/grips/grip input", "@call"),
    ("control hauler/grips/grip rate", "@pace"),
    ("control hauler/grips/grip wheels", "rollers"),
    ("control hauler/grips/grip sounds", "@hum"),
];

/// Name, parent and place in metres of the scene's nodes; the machine's number moves them about.
fn nodes(number: usize) -> Vec<(String, Option<&'static str>, [f64; 3])> {
    let wide = 0.8 + 0.05 * (number % 4) as f64;
    let mut nodes = vec![("bed".to_owned(), None, [0.0, 0.0, 0.0])];
    if number % 2 == 1 {
        nodes.push(("lamp".to_owned(), Some("bed"), [0.0, 2.0, 0.0]));
    }
    for (side, sign) in [("p", 1.0), ("s", -1.0)] {
        let strut = if sign > 0.0 { "strut-p" } else { "strut-s" };
        nodes.push((strut.to_owned(), Some("bed"), [sign * wide, 0.4, -1.0]));
        nodes.push((format!("gate-{side}"), Some("bed"), [sign * 0.5, 1.0, 1.0]));
        nodes.push((format!("fore-{side}"), Some("bed"), [sign, 0.5, 1.5]));
        nodes.push((format!("aft-{side}"), Some(strut), [sign * 0.1, 0.1, -0.5]));
    }
    nodes.push(("scoop".to_owned(), Some("gate-p"), [0.0, 0.2, 1.0]));
    nodes
}

/// A glTF scene with no meshes.
pub(crate) fn scene(number: usize) -> String {
    let nodes = nodes(number);
    let children = |parent: Option<&str>| -> Vec<usize> {
        let all = nodes.iter().enumerate();
        all.filter(|(_, (_, above, _))| *above == parent)
            .map(|(at, _)| at)
            .collect()
    };
    let written: Vec<Value> = nodes
        .iter()
        .map(|(name, _, place)| {
            let below = children(Some(name));
            match below.is_empty() {
                true => json!({ "name": name, "translation": place }),
                false => json!({ "name": name, "translation": place, "children": below }),
            }
        })
        .collect();
    let roots = children(None);
    json!({ "asset": { "version": "2.0" }, "scene": 0, "scenes": [{ "nodes": roots }], "nodes": written })
        .to_string()
}

/// `#1:3`: from one, with a mark for the root.
fn path(number: usize, name: &str) -> String {
    let nodes = nodes(number);
    let mut steps = Vec::new();
    let mut at = Some(name);
    while let Some(name) = at {
        let (_, parent, _) = nodes.iter().find(|(known, ..)| known == name).unwrap();
        let mut siblings = nodes.iter().filter(|(_, above, _)| above == parent);
        steps.push(siblings.position(|(known, ..)| known == name).unwrap() + 1);
        at = *parent;
    }
    let steps: Vec<String> = steps.iter().rev().map(ToString::to_string).collect();
    format!("#{}", steps.join(":"))
}

/// A machine's definition; its scene is `NUMBER.gltf`.
pub(crate) fn definition(number: usize) -> String {
    let nodes = nodes(number);
    let centimetres = |name: &str| {
        let (_, _, place) = nodes.iter().find(|(known, ..)| known == name).unwrap();
        place.map(|length| (length * 100.0).round())
    };
    let lasts = 2000 + 1000 * (number % 3);
    let spots: String = nodes[1..]
        .iter()
        .map(|(name, ..)| {
            format!(
                "    <spot call=\"{name}\" where=\"{}\"/>\n",
                path(number, name)
            )
        })
        .collect();
    let half = ["50", "55", "50", "45"][number % 4];
    let rollers: String = ["fore-p", "fore-s", "aft-p", "aft-s"]
        .iter()
        .map(|spot| format!("    <roller spot=\"{spot}\" half=\"{half}\"/>\n"))
        .collect();
    let struts: String = [("strut-p", 1.0), ("strut-s", -1.0)]
        .iter()
        .map(|(spot, sign)| {
            let [x, y, z] = centimetres(spot);
            let out = x + sign * (40.0 + 5.0 * (number % 5) as f64);
            format!(
                "      <part spot=\"{spot}\" does=\"slides\" leaves=\"{}\" arrives=\"{lasts}\" a=\"{x} {y} {z}\" b=\"{out} {y} {z}\"/>\n",
                lasts / 2
            )
        })
        .collect();
    let gates: String = ["gate-p", "gate-s"]
        .iter()
        .map(|spot| {
            format!(
                "      <part spot=\"{spot}\" does=\"swings\" leaves=\"0\" arrives=\"{}\" a=\"0 0 0\" b=\"-{} 0 0\"/>\n",
                lasts / 2,
                30 + 10 * (number % 3)
            )
        })
        .collect();
    let [first, second] = [number % 7, 7 + number % 6];
    format!(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<hauler titled=\"Hauler {number}\">\n  <frame built=\"{number}.gltf\"/>\n  <spots>\n{spots}  </spots>\n  <rollers>\n{rollers}  </rollers>\n  <hums>\n    <hum call=\"pump\" played=\"pump.wav\"/>\n    <hum call=\"motor\" played=\"motor.wav\"/>\n  </hums>\n  <courses>\n    <course call=\"unfold\" lasts=\"{lasts}\">\n      <!-- gates first -->\n{gates}{struts}    </course>\n    <course call=\"scoop\" lasts=\"1500\">\n      <part spot=\"scoop\" does=\"swings\" leaves=\"0\" arrives=\"1500\" a=\"0 0 0\" b=\"60 0 0\"/>\n    </course>\n  </courses>\n  <grips>\n    <grip course=\"unfold\" call=\"knob-{first}\" pace=\"0.5\" hum=\"pump\">\n      <rollers>aft-p aft-s</rollers>\n    </grip>\n    <grip course=\"scoop\" call=\"knob-{second}\" pace=\"1\" hum=\"pump\"/>\n  </grips>\n</hauler>\n"
    )
}
