//! `trunnion motion` and `trunnion fit` as a person or a script runs them.

use acceptance::program::run_in_project as trunnion;
use acceptance::yard::Yard;
use serde_json::Value;

const BRAM: &str = "corpus/ternholt/machines/bram-6.machine.xml";
const YARD: &str = "corpus/dialects/yard/rigs/dorrik-9.rig.xml";

fn told(arguments: &[&str], code: i32) -> String {
    let output = trunnion(arguments);
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{error}");
    let out = match code {
        2 => &output.stderr,
        _ => &output.stdout,
    };
    String::from_utf8(out.clone()).unwrap()
}

#[test]
fn the_report_of_the_carrier() {
    let report = told(&["motion", BRAM], 0);
    for line in [
        "Stowed:\n  3 m wide, 4.3 m high, 5.5 m long\n",
        "Deployed:\n  3.64 m wide, 6.1 m high, 5.5 m long\n",
        "  ground clearance 0.2 m, under bram-6/legs/leg.left/ladder.left\n",
        "  bram-6/mast moves 1.8 m from 0 to 6 s, 0.3 m per s\n",
        "  bram-6/beacon turns 360 deg from 0 to 1.2 s, 300 deg per s\n",
        "  track width of front.left and front.right: 2.6 m at the start, 3.24 m at the end\n",
        "Control of hooks.close: 1.875 s from end to end.\n",
    ] {
        assert!(report.contains(line), "{line}{report}");
    }
}

#[test]
fn another_dialect_in_its_own_units() {
    let report = told(&["motion", YARD], 0);
    assert!(
        report.contains("\n  track width of wheel 3 and wheel 4: 255 cm\n"),
        "{report}"
    );
    assert!(report.contains(" ms:\n"), "{report}");
}

const TIDE: &str = r#"
[dialect]
name = "tide"
format = 1
[[document]]
name = "tide"
root = "tide"
[element.tide]
children = ["line*"]
attributes = { scene = "file", id = { type = "name", of = "tide" } }
[element.line]
children = ["mark*"]
attributes.node = "node"
[element.mark]
attributes = { at = "number", x = "number", y = "number" }
[[role.scene]]
at = "tide"
file = "@scene"
[[role.animation]]
at = "tide"
name = "@id"
[[role.channel]]
at = "line"
node = "@node"
[[role.channel.motion]]
property = "translation"
keyframes = { at = "mark", time = "@at", value = { x = "@x", y = "@y" } }
"#;

#[test]
fn entities_of_the_file_are_read_where_nothing_is_changed() {
    let quay = Yard::with_demo();
    let file = "quay/machines/bram-6.machine.xml";
    let plain = quay.ends_with(0, &["motion", file]);
    let text = quay.text(file);
    let declared = "?>\n<!DOCTYPE machine [<!ENTITY leg \"leg\"><!ENTITY out \"1.62 0\"><!ENTITY d \"0/0/0\">]>";
    let text = text.replacen("?>", declared, 1);
    let text = text.replace("target=\"leg.left\"", "target=\"&leg;.left\"");
    let text = text.replace("to=\"1.62 0 0\"", "to=\"&out; 0\"");
    let text = text.replace("path=\"0/0/0\"", "path=\"&d;\"");
    assert_eq!(text.matches(['&']).count(), 3);
    quay.write(file, text);
    assert_eq!(quay.ends_with(0, &["motion", file]), plain);
    let refused = quay.ends_with(1, &["adjust", file, "leg.left"]);
    assert!(
        refused.contains("write it out where it is used"),
        "{refused}"
    );
}

#[test]
fn nothing_is_told_of_keyframes_between_which_a_node_waits() {
    let quay = Yard::empty();
    quay.write("trunnion.toml", "dialects = [\"t.dialect.toml\"]");
    quay.write("t.dialect.toml", TIDE);
    quay.write(
        "a.gltf",
        r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"name":"boom"}]}"#,
    );
    quay.write(
        "t.xml",
        r#"<tide scene="a.gltf" id="out"><line node="0"><mark at="0" x="0" y="0"/><mark at="1" x="2"/><mark at="2" x="2" y="3"/><mark at="3" y="3"/></line></tide>"#,
    );
    let report = quay.ends_with(0, &["motion", "t.xml"]);
    let moves = report.lines().filter(|line| line.contains("boom moves"));
    assert_eq!(
        moves.collect::<Vec<_>>(),
        [
            "  boom moves 2 m from 0 to 1 s, 2 m per s",
            "  boom moves 3 m from 0 to 2 s, 1.5 m per s"
        ],
        "{report}"
    );
}

#[test]
fn json_has_the_same_in_base_units_and_poses_with_matrices() {
    let report: Value = serde_json::from_str(&told(&["motion", YARD, "--json"], 0)).unwrap();
    let width = |stance: &str| report[stance]["axles"][1]["trackWidth"].as_f64().unwrap();
    assert!((width("stowed") - 1.9).abs() < 1e-6 && (width("deployed") - 2.55).abs() < 1e-6);

    let at = [
        "motion",
        BRAM,
        "--json",
        "--at",
        "mast.raise=0.2",
        "--at",
        "hooks.close=1",
    ];
    let pose: Value = serde_json::from_str(&told(&at, 0)).unwrap();
    let nodes = pose["nodes"].as_array().unwrap();
    let leg = nodes
        .iter()
        .find(|node| node["name"] == "leg.left")
        .unwrap();
    // 1.2 of 2 seconds: 60% of the way from 1.30 to 1.62.
    let x = leg["local"][12].as_f64().unwrap();
    assert!((x - 1.492).abs() < 1e-9, "{leg}");
}

#[test]
fn a_control_is_set_once() {
    let twice = ["mast.raise=0", "mast.raise = 1"];
    let said = told(&["motion", BRAM, "--at", twice[0], "--at", twice[1]], 2);
    assert!(said.contains("`mast.raise` is set twice"), "{said}");
}

#[test]
fn a_load_goes_between_the_legs_from_a_setting_on() {
    for length in ["2.55m", "255 cm", "2550mm", "8.366141732283465ft"] {
        let report = told(
            &["fit", BRAM, "--between", length, "--control", "mast.raise"],
            0,
        );
        assert!(
            report.starts_with("mast.raise fits 2.55 m between the sides from 0.18229 to 1.\n"),
            "{length}: {report}"
        );
    }
    let both = [
        "fit",
        BRAM,
        "--between",
        "2.4m",
        "--outer",
        "3.3m",
        "--control",
        "Raise mast",
    ];
    let report = told(&both, 0);
    // The legs go 2 of 6 seconds: 0.2 m more room after 0.3125 of their way, 0.3 m more width after 0.46875.
    assert!(report.contains(" from 0.10417 to 0.15625.\n"), "{report}");
}

#[test]
fn why_nothing_fits_is_told() {
    let report = told(
        &["fit", BRAM, "--between", "9.5ft", "--control", "mast.raise"],
        1,
    );
    assert!(
        report.contains(
            "The room between the sides is at most 2.84 m, at 0.33333: 0.0556 m too little."
        ),
        "{report}"
    );
    let each = [
        "fit",
        BRAM,
        "--between",
        "2.8m",
        "--outer",
        "3.1m",
        "--control",
        "mast.raise",
    ];
    let report = told(&each, 1);
    assert!(
        report.contains("The outer width alone suffices from 0 to 0.052083."),
        "{report}"
    );
}

#[test]
fn mistakes_are_told() {
    let which = told(&["fit", BRAM, "--between", "2m"], 2);
    assert!(
        which.contains("which control? There are: mast.raise, hooks.close, beacon.turn."),
        "{which}"
    );
    let unit = told(&["fit", BRAM, "--between", "2"], 2);
    assert!(unit.contains("`2` does not tell its unit"), "{unit}");
    let nothing = told(&["fit", BRAM, "--control", "mast.raise"], 2);
    assert!(nothing.contains("--between"), "{nothing}");
    let setting = told(&["motion", BRAM, "--at", "mast.raise=2"], 2);
    assert!(
        setting.contains("`mast.raise=2` is not a setting."),
        "{setting}"
    );
    let scene = told(&["motion", "corpus/ternholt/mod.xml"], 2);
    assert!(scene.contains("it names no scene"), "{scene}");
}
