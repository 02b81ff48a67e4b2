use super::{LensKind, lenses};
use crate::fixture::Fixture;

const BODY: &str = r#"<aliases><alias name="mast" path="0/2"/><alias name="hook" path="0/2/0"/></aliases>
<animations><animation id="mast">
<channel target="mast" property="translation" begin="0" end="2" from="0 1 0" to="0 2 0"/>
<channel target="mast" property="rotation" begin="0" end="2" from="0 0 0" to="0 2 0"/>
</animation></animations>
<controls><lever animation="mast" input="pointer.x"/><switch animation="none" input="button.open"/></controls>"#;

#[test]
fn names_tell_their_uses_and_animations_can_be_played() {
    let view = Fixture::rig(BODY).view();
    let told: Vec<String> = lenses(&view)
        .iter()
        .map(|lens| {
            let name = &view.text()[lens.range];
            match &lens.kind {
                LensKind::Uses(count) => format!("{name}: {count}"),
                LensKind::Play(animation) => format!("{name}: play {animation}"),
            }
        })
        .collect();
    // The alias and the animation of one name are two things; what is not there cannot be played.
    let expected = [
        "rig: 0",
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
        expected[1..].iter().collect::<Vec<_>>()
    );
}

#[test]
fn the_settings_switch_them_off() {
    let mut view = Fixture::rig(BODY).view();
    view.settings.config.has_lenses = false;
    assert_eq!(lenses(&view), []);
}
