//! Things that are called by their own text.

use super::check;
use crate::fixture::Fixture;
use expect_test::expect;

/// Where an alias is called by its own text, that is no name of the element around it; and where a wheel says its node so,
/// the wheel hangs on it and not the list of all wheels.
#[test]
fn what_is_named_by_its_own_text() {
    let toml = r#"
[dialect]
name = "berth"
format = 1

[[document]]
name = "berth"
root = "berth"

[element.berth]
children = ["pins", "rolls"]
attributes.form = "file"

[element.pins]
children = ["pin*"]

[element.pin]
text = { type = "name", of = "pin", required = true }
attributes.at = { type = "index-path", required = true }

[element.rolls]
children = ["roll*"]

[element.roll]
text = { type = "node", required = true }

[[role.scene]]
at = "berth"
file = "@form"

[[role.alias]]
at = "berth/pins/pin"
name = "text()"
path = "@at"

[[role.wheel]]
at = "berth/rolls/roll"
node = "text()"
"#;
    let dialect = dialect::Dialect::read(toml, None).expect("it is a dialect");
    let text = "<berth form=\"rig.gltf\"><pins><pin at=\"0/0\">arm</pin></pins><rolls><roll>ar$0m</roll></rolls></berth>";
    let fixture = Fixture::of(text, vec![std::sync::Arc::new(dialect)])
        .at("x.berth.xml")
        .scene("rig\n  arm 0 1 0\n");
    check(
        fixture,
        expect![[r#"
        at arm

        **pin** `arm`

        - Index path: `0/0`
        - Node: `rig/arm`
        - At rest: translation `0 1 0` metres
        - On it: roll 1

        **text of** `roll`

        - Required: the name of a pin or an index path such as `0/2/1`"#]],
    );
}
