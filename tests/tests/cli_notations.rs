//! What dialects may say in their own ways, as somebody who has only a dialect, a definition and a scene meets it.

use acceptance::yard::{Yard, said};

/// A scene with a mast that carries a hook, as glTF.
const SCENE: &str = r#"{"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}],
"nodes": [{"name": "hull", "children": [1]}, {"name": "mast", "translation": [0, 2, 0], "children": [2]},
{"name": "hook", "translation": [0, 1, 0]}]}"#;

/// All of a dialect but its way to say what moves: `@` stands for what a `go` has, its channel's role, and notation.
fn dialect(go: &str, channel: &str, notation: &str) -> String {
    format!(
        r#"
[dialect]
name = "sled"
format = 1

[[document]]
name = "sled"
root = "sled"
files = "*.sled.xml"

{notation}

[inputs.analog]
wheel-1 = "The first hand wheel."
wheel-2 = "The second hand wheel."
wheel-3 = "The third hand wheel."

[element."/sled"]
attributes.shape = {{ type = "file", required = true }}
children = ["feat*", "hold*"]

[element.feat]
attributes.call = {{ type = "name", of = "feat", required = true }}
children = ["go*"]

[element.go]
{go}

[element.hold.attributes]
feat = {{ type = "reference", of = "feat", required = true }}
wheel = {{ type = "input", kind = "analog", required = true }}

[[role.scene]]
at = "sled"
file = "@shape"

[[role.animation]]
at = "sled/feat"
name = "@call"

[[role.channel]]
at = "go"
{channel}

[[role.control]]
at = "sled/hold"
kind = "analog"
animation = "@feat"
input = "@wheel"
"#
    )
}

/// A mod with a dialect of its own and a scene.
fn yard(dialect: &str) -> Yard {
    let yard = Yard::empty();
    yard.write("sled.dialect.toml", dialect);
    yard.write("trunnion.toml", "dialects = [\"sled.dialect.toml\"]\n");
    yard.write("hull.gltf", SCENE);
    yard
}

/// A mod of one definition, in which `check` has nothing to find, and `adjust` writes `expected` for the hook.
fn tried(dialect: &str, gos: &str, expected: &str) -> Yard {
    let yard = yard(dialect);
    let text = format!(
        "<sled shape=\"hull.gltf\">\n  <feat call=\"reach\">\n{gos}\n  </feat>\n  <hold feat=\"reach\" wheel=\"wheel-1\"/>\n</sled>\n"
    );
    yard.write("a.sled.xml", text);
    let found = yard.ends_with(0, &["check", "a.sled.xml", "--format", "json"]);
    assert_eq!(found.trim(), "[]");
    let made = yard.ends_with(0, &["adjust", "a.sled.xml", "hook"]);
    for line in expected.lines() {
        assert!(made.lines().any(|made| made == line), "{line}\n{made}");
    }
    yard
}

#[test]
fn nodes_go_by_their_names_in_the_scene() {
    let go = r#"attributes.limb = { type = "node-name", required = true }
attributes.since = { type = "number", required = true }
attributes.until = { type = "number", required = true }
attributes.from = { type = "moved-value", required = true }
attributes.to = { type = "moved-value", required = true }"#;
    let channel = r#"node = "@limb"
begin = "@since"
end = "@until"
motion = [{ property = "translation", from = "@from", to = "@to" }]"#;
    let notation = "[notation.node-name]\nseparator = \"/\"\n";
    let yard = tried(
        &dialect(go, channel, notation),
        r#"    <go limb="mast" since="0" until="2" from="0 2 0" to="0 3 0"/>
    <go limb="mast/hook" since="1" until="2" from="0 1 0" to="0 1.5 0"/>"#,
        r#"-    <go limb="mast/hook" since="1" until="2" from="0 1 0" to="0 1.5 0"/>
+    <go limb="mast/hook" since="0" until="1" from="0 1 0" to="0 1.5 0"/>
+  <hold feat="hook.raise" wheel="wheel-2"/>"#,
    );
    // A part may be asked for as the definition writes it.
    let adjusted = |part: &str| yard.ends_with(0, &["adjust", "a.sled.xml", part]);
    assert_eq!(adjusted("mast/hook"), adjusted("hook"));
    let said = said(&yard.run(&["adjust", "a.sled.xml", "hull/hook"]));
    assert!(said.contains("no node `hull/hook`"), "{said}");
}

#[test]
fn a_number_goes_along_or_about_an_axis_that_a_word_says() {
    let go = r#"attributes.limb = "node"
attributes.since = { type = "number", required = true }
attributes.until = { type = "number", required = true }
attributes.sort = { type = "word", words = ["shift", "turn"], required = true }
attributes.around = { type = "word", words = ["across", "up", "ahead", "down"], required = true }
attributes.from = { type = "number", required = true }
attributes.to = { type = "number", required = true }"#;
    let axis =
        "along = { at = \"@around\", x = \"across\", y = \"up\", z = \"ahead\", -y = \"down\" }";
    let channel = format!(
        r#"node = "@limb"
begin = "@since"
end = "@until"
[[role.channel.motion]]
property = {{ at = "@sort", translation = "shift", rotation = "turn" }}
from = {{ {axis}, amount = "@from" }}
to = {{ {axis}, amount = "@to" }}
"#
    );
    tried(
        &dialect(go, &channel, ""),
        r#"    <go limb="0/0" sort="shift" around="up" since="0" until="2" from="2" to="3"/>
    <go limb="0/0/0" sort="turn" around="down" since="1" until="2" from="0" to="40"/>"#,
        r#"-    <go limb="0/0/0" sort="turn" around="down" since="1" until="2" from="0" to="40"/>
+    <go limb="0/0/0" sort="turn" around="down" since="0" until="1" from="0" to="40"/>
+  <feat call="hook.turn">
hook turns 40 deg, from 0 to 1 s."#,
    );
}

#[test]
fn a_number_goes_along_a_vector_from_where_the_node_rests() {
    let go = r#"attributes.limb = "node"
attributes.since = { type = "number", required = true }
attributes.until = { type = "number", required = true }
attributes.way = { type = "vector", count = 3, required = true }
attributes.far = { type = "vector", count = 3 }
attributes.from = { type = "number", required = true }
attributes.to = { type = "number", required = true }"#;
    let channel = r#"node = "@limb"
begin = "@since"
end = "@until"
[[role.channel.motion]]
property = "translation"
from = { along = "@way", amount = "@from" }
to = { along = "@way", amount = "@to" }
from-rest = true
"#;
    tried(
        &dialect(go, channel, ""),
        r#"    <go limb="0/0" way="0 2 0" since="0" until="2" from="0" to="1"/>
    <go limb="0/0/0" way="0 3 4" since="1" until="2" from="0" to="0.5"/>"#,
        r#"+    <go limb="0/0/0" way="0 3 4" since="0" until="1" from="0" to="0.5"/>
hook moves 0.5 m, from 0 to 1 s."#,
    );
}

/// Motions of one node at one time, each along an axis of its own, are no clash, and where it is follows all of them.
#[test]
fn channels_of_one_node_along_different_axes_go_together() {
    let go = r#"attributes.limb = "node"
attributes.since = { type = "number", required = true }
attributes.until = { type = "number", required = true }
attributes.side = { type = "word", words = ["across", "up"], required = true }
attributes.from = { type = "number", required = true }
attributes.to = { type = "number", required = true }"#;
    let axis = "along = { at = \"@side\", x = \"across\", y = \"up\" }";
    let channel = format!(
        r#"node = "@limb"
begin = "@since"
end = "@until"
[[role.channel.motion]]
property = "translation"
from = {{ {axis}, amount = "@from" }}
to = {{ {axis}, amount = "@to" }}
"#
    );
    let yard = yard(&dialect(go, &channel, ""));
    let text = |more: &str| {
        format!(
            r#"<sled shape="hull.gltf">
  <feat call="reach">
    <go limb="0/0/0" side="up" since="0" until="2" from="1" to="3"/>
    <go limb="0/0/0" side="across" since="1" until="3" from="0" to="2"/>{more}
  </feat>
  <feat call="lean"><go limb="0/0" side="up" since="0" until="1" from="2" to="3"/></feat>
  <feat call="sway"><go limb="0/0" side="across" since="0" until="1" from="0" to="1"/></feat>
  <hold feat="reach" wheel="wheel-1"/>
  <hold feat="lean" wheel="wheel-2"/>
  <hold feat="sway" wheel="wheel-3"/>
</sled>
"#
        )
    };
    let found = |more: &str| {
        yard.write("a.sled.xml", text(more));
        said(&yard.run(&["check", "a.sled.xml"]))
    };
    let clean = found("");
    assert!(!clean.contains("a.sled.xml:"), "{clean}");
    let report = yard.ends_with(0, &["motion", "a.sled.xml", "--json"]);
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    assert_eq!(report["contested"], serde_json::json!([]));
    let ends = ["lean=1", "sway=1", "reach=1"]
        .map(|one| ["--at", one])
        .concat();
    let pose = yard.ends_with(
        0,
        &[&["motion", "a.sled.xml", "--json"][..], &ends].concat(),
    );
    let pose: serde_json::Value = serde_json::from_str(&pose).unwrap();
    let place = |node: usize| [12, 13, 14].map(|at| pose["nodes"][node]["local"][at].as_f64());
    assert_eq!(place(1), [1.0, 3.0, 0.0].map(Some));
    assert_eq!(place(2), [2.0, 3.0, 0.0].map(Some));
    let again = r#"<go limb="0/0/0" side="up" since="1" until="3" from="3" to="2"/>"#;
    let clash = found(again);
    assert!(clash.contains("[jump]"), "{clash}");
}

/// Channels that stand beside their animations stay where they are, and name another one.
#[test]
fn channels_may_stand_elsewhere_and_name_their_animation() {
    let go = r#"attributes.of = { type = "reference", of = "feat", required = true }
attributes.limb = "node"
attributes.since = { type = "number", required = true }
attributes.until = { type = "number", required = true }
attributes.from = { type = "moved-value", required = true }
attributes.to = { type = "moved-value", required = true }"#;
    let channel = r#"animation = "@of"
node = "@limb"
begin = "@since"
end = "@until"
motion = [{ property = "translation", from = "@from", to = "@to" }]"#;
    let beside = dialect(go, channel, "")
        .replace("children = [\"go*\"]", "")
        .replace("\"feat*\", \"hold*\"", "\"feat*\", \"go*\", \"hold*\"")
        .replace("at = \"go\"", "at = \"sled/go\"");
    let yard = yard(&beside);
    let text = r#"<sled shape="hull.gltf">
  <feat call="reach"/>
  <go of="reach" limb="0/0" since="0" until="2" from="0 2 0" to="0 3 0"/>
  <go of="reach" limb="0/0/0" since="1" until="2" from="0 1 0" to="0 1.5 0"/>
  <hold feat="reach" wheel="wheel-1"/>
</sled>
"#;
    yard.write("a.sled.xml", text);
    let found = yard.ends_with(0, &["check", "a.sled.xml", "--format", "json"]);
    assert_eq!(found.trim(), "[]");
    let made = yard.ends_with(0, &["adjust", "a.sled.xml", "hook"]);
    for line in [
        "+  <feat call=\"hook.raise\"/>",
        "+  <go of=\"hook.raise\" limb=\"0/0/0\" since=\"0\" until=\"1\" from=\"0 1 0\" to=\"0 1.5 0\"/>",
        "+  <hold feat=\"hook.raise\" wheel=\"wheel-2\"/>",
    ] {
        assert!(made.lines().any(|made| made == line), "{line}\n{made}");
    }
    // Whoever names none moves nothing.
    yard.write(
        "a.sled.xml",
        text.replacen("of=\"reach\"", "of=\"roach\"", 1),
    );
    let said = said(&yard.run(&["check", "a.sled.xml"]));
    assert!(said.contains("[unknown-name]"), "{said}");
    // An animation of its own for each channel would be no reference.
    yard.write(
        "sled.dialect.toml",
        beside.replace("animation = \"@of\"", "animation = \"@limb\""),
    );
    let said = yard.run(&["check", "a.sled.xml"]);
    assert!(
        acceptance::yard::said(&said).contains("dialect-problem"),
        "{said:?}"
    );
}
