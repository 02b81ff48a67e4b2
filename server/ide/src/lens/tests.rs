use super::{Lens, LensKind, lenses};
use crate::fixture::Fixture;
use dialect::Dialect;
use project::View;
use std::sync::Arc;

const BODY: &str = r#"<aliases><alias name="mast" path="0/2"/><alias name="hook" path="0/2/0"/></aliases>
<animations><animation id="mast">
<channel target="mast" property="translation" begin="0" end="2" from="0 1 0" to="0 2 0"/>
<channel target="mast" property="rotation" begin="0" end="2" from="0 0 0" to="0 2 0"/>
</animation></animations>
<controls><lever animation="mast" input="pointer.x"/><switch animation="none" input="button.open"/></controls>"#;

/// What each says, beside the text that it stands above.
fn told(view: &View) -> Vec<String> {
    let told = |lens: &Lens| {
        let name = &view.text()[lens.range];
        match &lens.kind {
            LensKind::Uses(count) => format!("{name}: {count}"),
            LensKind::Play(animation) => format!("{name}: play {animation}"),
            LensKind::Precedents(machines) => format!("{name}: in {machines} machines"),
        }
    };
    lenses(view).iter().map(told).collect()
}

#[test]
fn names_tell_their_uses_and_animations_can_be_played() {
    let told = told(&Fixture::rig(BODY).view());
    // The alias and the animation of one name are two things; what is not there cannot be played.
    let expected = [
        "mast: 2",
        "hook: 0",
        "mast: 1",
        "mast: play mast",
        "mast: play mast",
    ];
    assert_eq!(
        told.iter()
            .filter(|one| !one.starts_with("rig"))
            .collect::<Vec<_>>(),
        expected.iter().collect::<Vec<_>>()
    );
}

/// Nobody needs to read twice that it can be played, or that it is not used.
#[test]
fn an_animation_with_its_control_inside_has_one_lens() {
    let toml = r#"
[dialect]
name = "reed"
format = 1
[[document]]
name = "reed"
root = "reed"
[element.reed]
children = ["bend*"]
[element.bend]
children = ["hold?"]
attributes.id = { type = "name", of = "bend", required = true }
[element.hold]
attributes.by = "input"
[[role.animation]]
at = "reed/bend"
name = "@id"
[[role.control]]
at = "reed/bend/hold"
kind = "analog"
animation = "../@id"
input = "@by"
"#;
    let dialect = Dialect::read(toml, None).expect("it is sound");
    let text = r#"<reed><bend id="a"><hold by="x"/></bend><bend id="b"/></reed>"#;
    let view = Fixture::of(text, vec![Arc::new(dialect)]).view();
    assert_eq!(told(&view), ["a: play a", "b: 0", "b: play b"]);
}

/// A machine of a library with this in it.
fn other(body: &str) -> String {
    format!(
        "<machine xmlns='urn:trunnion:machine:1' id='other' scene='other.gltf'>{body}</machine>"
    )
}

/// Those that lead into the library.
fn into_the_library(fixture: Fixture) -> Vec<String> {
    let mut told = told(&fixture.view());
    told.retain(|one| one.contains("machines"));
    told
}

#[test]
fn animations_and_controls_tell_how_many_machines_have_such() {
    let others = [
        "<animations><animation id='a'/><animation id='b'/></animations>",
        "<animations><animation id='a'/></animations><controls><lever animation='a'/></controls>",
        "<aliases><alias name='a' path='0'/></aliases>",
    ]
    .map(other);
    let others: Vec<&str> = others.iter().map(String::as_str).collect();
    assert_eq!(
        into_the_library(Fixture::rig(BODY).library(&others)),
        // No machine of the library has a switch; aliases are none of those that are looked up.
        ["animation: in 2 machines", "lever: in 1 machines"]
    );
    assert_eq!(into_the_library(Fixture::rig(BODY).library(&[])), [""; 0]);
}

#[test]
fn a_long_animation_and_one_whose_values_stand_in_elements_lead_into_the_library() {
    let channel =
        r#"<channel target="mast" property="scale" begin="0" end="1" from="1 1 1" to="1 1 2"/>"#;
    let long = format!(
        "<animations><animation id=\"long\">{}</animation></animations>",
        channel.repeat(500)
    );
    let others = [other("<animations><animation id='a'/></animations>")];
    assert_eq!(
        into_the_library(Fixture::rig(&long).library(&[&others[0]])),
        ["animation: in 1 machines"]
    );
    let hands = "<hands><hand><stroke>up</stroke><grip>palm</grip></hand></hands>";
    let rig = format!("<rig>{hands}</rig>");
    assert_eq!(
        into_the_library(Fixture::yard(hands).library(&[&rig, &rig.replace("up", "down")])),
        ["hand: in 2 machines"]
    );
}

#[test]
fn the_settings_switch_them_off() {
    let others = other("<animations><animation id='a'/></animations>");
    let mut view = Fixture::rig(BODY).library(&[&others]).view();
    view.settings.config.has_lenses = false;
    assert_eq!(lenses(&view), []);
}
