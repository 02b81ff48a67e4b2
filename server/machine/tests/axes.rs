//! Of which axes a value speaks that is one number along an axis.

use dialect::{Dialect, EndValue};

const DIALECT: &str = r#"
[dialect]
name = "sleds"
format = 1

[[document]]
name = "sled"
root = "sled"

[element.sled]
children = ["feat*"]

[element.feat]
children = ["go*"]

[element.go.attributes]
limb = "node"
since = "number"
until = "number"
way = { type = "vector", count = 3 }
far = "number"

[[role.animation]]
at = "sled/feat"

[[role.channel]]
at = "go"
node = "@limb"
begin = "@since"
end = "@until"

[[role.channel.motion]]
property = "translation"
to = { along = "@way", amount = "@far" }
"#;

fn said(way: &str) -> (Option<[bool; 3]>, Option<EndValue>) {
    let dialect = Dialect::read(DIALECT, None).unwrap();
    let kind = dialect.document_for(Some((None, "sled")), "a.xml").unwrap();
    let text = format!(
        "<sled><feat><go limb=\"0/0\" since=\"0\" until=\"2\" way=\"{way}\" far=\"5\"/></feat></sled>"
    );
    let machine = machine::read(&syntax::parse(&text), &dialect, kind);
    let motion = &machine.animations[0].channels[0].motions[0];
    (motion.axes, motion.to.as_ref().map(|end| end.value))
}

#[test]
fn nothing_is_said_of_axes_that_a_vector_does_not_point_along() {
    let (axes, to) = said("0 3 4");
    assert_eq!(axes, Some([false, true, true]));
    assert_eq!(to, Some(EndValue::Vector([0.0, 3.0, 4.0])));
    assert_eq!(said("0 0 -2").0, Some([false, false, true]));
    assert_eq!(said("1 1 1").0, Some([true; 3]));
}

#[test]
fn a_vector_that_points_nowhere_says_nothing() {
    assert_eq!(said("0 0 0").1, None);
}

/// Both ends in one list, for an axis that a word says and for each axis by itself.
#[test]
fn lists_of_two_numbers_are_both_ends() {
    let attributes = |ends: &str| {
        let dialect = DIALECT
            .replace("far = \"number\"", "way-2 = { type = \"word\", words = [\"up\", \"left\"] }\nfar = { type = \"number\", list = { separator = \"~\" } }")
            .replace("to = { along = \"@way\", amount = \"@far\" }", ends);
        let dialect = Dialect::read(&dialect, None).unwrap();
        let kind = dialect.document_for(Some((None, "sled")), "a.xml").unwrap();
        let text = "<sled><feat><go limb=\"0/0\" since=\"0\" until=\"2\" way-2=\"up\" far=\"5 ~ -7.5\"/></feat></sled>";
        let machine = machine::read(&syntax::parse(text), &dialect, kind);
        let motion = &machine.animations[0].channels[0].motions[0];
        let value = |end: &Option<machine::Spanned<EndValue>>| {
            let end = end.as_ref().unwrap();
            (
                end.value,
                text[std::ops::Range::<usize>::from(end.range)].to_owned(),
            )
        };
        (motion.axes.unwrap(), value(&motion.from), value(&motion.to))
    };
    let expected = |from: [f64; 3], to: [f64; 3], axes: [bool; 3]| {
        let end = |vector, text: &str| (EndValue::Vector(vector), text.to_owned());
        (axes, end(from, "5"), end(to, "-7.5"))
    };
    let up = "ends = { along = { at = \"@way-2\", y = \"up\", x = \"left\" }, amount = \"@far\" }";
    let along = expected([0.0, 5.0, 0.0], [0.0, -7.5, 0.0], [false, true, false]);
    assert_eq!(attributes(up), along);
    let axes = expected([5.0, 0.0, 5.0], [-7.5, 0.0, -7.5], [true, false, true]);
    assert_eq!(attributes("ends = { x = \"@far\", z = \"@far\" }"), axes);
}

/// What cannot be read, or is not written yet, does not make the other value one along all axes.
#[test]
fn a_value_alone_is_along_its_axis() {
    let dialect = DIALECT
        .replace("far = \"number\"", "from = \"number\"\nto = \"number\"")
        .replace(
            "to = { along = \"@way\", amount = \"@far\" }",
            "from = { along = \"@way\", amount = \"@from\" }\nto = { along = \"@way\", amount = \"@to\" }",
        );
    let dialect = Dialect::read(&dialect, None).unwrap();
    let kind = dialect.document_for(Some((None, "sled")), "a.xml").unwrap();
    for to in ["to=\"5\"", "to=\"far\"", "to=\"\"", ""] {
        let text = format!(
            "<sled><feat><go limb=\"0/0\" since=\"0\" until=\"2\" way=\"0 0 1\" from=\"3\" {to}/></feat></sled>"
        );
        let machine = machine::read(&syntax::parse(&text), &dialect, kind);
        let motion = &machine.animations[0].channels[0].motions[0];
        assert_eq!(motion.axes, Some([false, false, true]), "{to}");
        assert!(motion.from.is_some(), "{to}");
    }
}
