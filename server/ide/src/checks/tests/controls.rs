use expect_test::expect;

use super::*;

const TWO: &str = r#"<animations>
  <animation id="raise"><channel target="0/2" property="translation" begin="0" end="1" from="0 1 0" to="0 2 0"/></animation>
  <animation id="turn"><channel target="0/2" property="rotation" begin="0" end="1" from="0 0 0" to="0 9 0"/></animation>
</animations>"#;

#[test]
fn the_later_of_two_controls_with_one_input_is_told() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="button.raise"/><switch animation="turn" input="button.raise"/></controls>"#
        ),
        expect![[r#"
            warning input-clash at `button.raise`: The input `button.raise` is taken already (for `raise`): both would move at once.
              see `button.raise`: taken here
        "#]],
    );
}

#[test]
fn controls_with_inputs_of_their_own_are_fine() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="button.raise"/><lever animation="turn" input="stick.1.x"/></controls>"#
        ),
        expect![""],
    );
}

#[test]
fn an_input_of_the_other_kind() {
    check(
        &format!(
            r#"{TWO}<controls><switch animation="raise" input="stick.1.x"/><lever animation="turn" input="button.raise"/></controls>"#
        ),
        expect![[r#"
            error wrong-input-kind at `stick.1.x`: `stick.1.x` is an axis, but `<switch>` needs a digital input (a button).
            error wrong-input-kind at `button.raise`: `button.raise` is a button, but `<lever>` needs an analog input (an axis).
        "#]],
    );
}

#[test]
fn an_input_that_only_the_role_can_judge() {
    let hand = |way: &str, grip: &str| {
        let body = format!(
            "<called>x</called><strokes><stroke><call>s</call></stroke></strokes>
             <hands><hand way=\"{way}\"><stroke>s</stroke><grip>{grip}</grip><tempo>1</tempo><label>x</label></hand></hands>"
        );
        let said = said(&Fixture::yard(&body).file("rig.limbs.xml"));
        said.lines()
            .filter(|line| line.contains("wrong-input-kind"))
            .map(str::to_owned)
            .collect::<Vec<_>>()
            .join("\n")
    };
    expect!["error wrong-input-kind at `key-a`: `key-a` is a button, but `<hand>` needs an analog input (an axis)."].assert_eq(&hand("axis", "key-a"));
    assert_eq!(hand("key", "key-a"), "");
}

#[test]
fn an_animation_that_nothing_plays_is_worth_a_note() {
    check(
        &format!(r#"{TWO}<controls><switch animation="raise" input="button.raise"/></controls>"#),
        expect![[r#"
            information unreachable-animation at `turn`: No control plays the animation `turn`.
        "#]],
    );
}

#[test]
fn an_animation_that_a_misspelled_name_means_is_played() {
    let said = said(&rig(&format!(
        r#"{TWO}<controls><switch animation="raise" input="button.raise"/><switch animation="trun" input="button.lower"/></controls>"#
    )));
    assert!(!said.contains("unreachable-animation"), "{said}");
}
