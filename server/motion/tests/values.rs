//! Where nodes stand whose motions are written as changes, as keyframes, or axis by axis.

use dialect::{Dialect, Property};
use glam::{DQuat, DVec3};
use motion::{Drive, Ends, Rig};
use scene::{NodeIndex, NodeParts, Rest, Scene, SceneBuilder};

const DIALECT: &str = r#"
[dialect]
name = "tide"
format = 1
[units]
length = "cm"
time = "ms"
[[document]]
name = "sloop"
root = "sloop"
[element.sloop]
children = ["tide*"]
[element.tide]
children = ["shift*", "lean*", "turn*", "grow*", "show*", "line*", "curve*"]
attributes = { id = { type = "name", of = "tide" } }
[element.shift]
children = ["way?"]
attributes = { node = "index-path", from = "number", until = "number", by = "moved-value", to = "moved-value" }
[element.way]
attributes = { x = "number", z = "number" }
[element.lean]
attributes = { node = "index-path", from = "number", until = "number", start = "moved-value", end = "moved-value", small = "moved-value", large = "moved-value", by = "moved-value" }
[element.turn]
attributes = { node = "index-path", from = "number", until = "number", y = "number" }
[element.grow]
attributes = { node = "index-path", from = "number", until = "number", by = "number" }
[element.show]
attributes = { node = "index-path", from = "number", until = "number", to = "boolean" }
[element.line]
children = ["mark*"]
attributes = { node = "index-path" }
[element.curve]
children = ["mark*"]
attributes = { node = "index-path" }
[element.mark]
attributes = { at = "number", place = "moved-value", up = "number", x = "number", y = "number", seen = "boolean" }
[[role.animation]]
at = "sloop/tide"
name = "@id"
[[role.channel]]
at = "shift"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
by = "@by"
[[role.channel.motion]]
property = "translation"
to = "@to"
[[role.channel.motion]]
property = "translation"
to = { x = "way/@x", z = "way/@z" }
[[role.channel]]
at = "lean"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
from = "@start"
to = "@end"
from-rest = true
[[role.channel.motion]]
property = "scale"
from = "@small"
to = "@large"
from-rest = true
[[role.channel.motion]]
property = "translation"
by = "@by"
from-rest = true
[[role.channel]]
at = "turn"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "rotation"
by = { y = "@y" }
[[role.channel]]
at = "grow"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "scale"
by = "@by"
[[role.channel]]
at = "show"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "visibility"
to = "@to"
[[role.channel]]
at = "line"
node = "@node"
[[role.channel.motion]]
property = "translation"
keyframes = { at = "mark", time = "@at", value = "@place" }
[[role.channel.motion]]
property = "scale"
keyframes = { at = "mark", time = "@at", value = { y = "@up" } }
[[role.channel.motion]]
property = "visibility"
keyframes = { at = "mark", time = "@at", value = "@seen" }
[[role.channel]]
at = "curve"
node = "@node"
[[role.channel.motion]]
property = "translation"
keyframes = { at = "mark", time = "@at", value = { x = "@x", y = "@y" } }
"#;

fn scene() -> Scene {
    of_one_node(rest(DQuat::IDENTITY))
}

fn rest(rotation: DQuat) -> Rest {
    Rest::of(
        DVec3::new(1.0, 2.0, 3.0),
        rotation,
        DVec3::new(2.0, 2.0, 3.0),
    )
}

fn of_one_node(rest: Rest) -> Scene {
    let mut builder = SceneBuilder::new();
    builder.leaf(NodeParts {
        rest,
        ..NodeParts::named("boom")
    });
    builder.finish()
}

/// Calls `look` with the rig of these animations.
fn with_rig<T>(scene: &Scene, animations: &[&str], look: impl FnOnce(&Rig<'_>) -> T) -> T {
    let dialect = Dialect::read(DIALECT, None).expect("it is right");
    let tide = |animation: &&str| format!("<tide>{animation}</tide>");
    let tides: String = animations.iter().map(tide).collect();
    let tree = syntax::parse(&format!("<sloop>{tides}</sloop>"));
    let machine = machine::read(&tree, &dialect, &dialect.documents[0]);
    look(&Rig::new(scene, &machine, &dialect.notation))
}

/// What a rig of this animation makes of the only node, which rests so, at a time in seconds.
fn at_from(rest: Rest, animation: &str, seconds: f64) -> (DVec3, DVec3, bool) {
    with_rig(&of_one_node(rest), &[animation], |rig| {
        let pose = rig.pose(&[(0, seconds)]);
        let axis = pose.world[0].transform_vector3(DVec3::X);
        (pose.place(NodeIndex(0)), axis, pose.visible[0])
    })
}

/// The same of the node as it mostly rests.
fn at(animation: &str, seconds: f64) -> (DVec3, DVec3, bool) {
    at_from(rest(DQuat::IDENTITY), animation, seconds)
}

fn place(animation: &str, seconds: f64) -> DVec3 {
    at(animation, seconds).0
}

fn near(one: DVec3, other: DVec3) {
    assert!(one.abs_diff_eq(other, 1e-9), "{one} is not {other}");
}

#[test]
fn a_change_starts_where_the_node_rests() {
    let animation = "<shift node='0' from='0' until='1000' by='0 50 0'/>";
    near(place(animation, 0.0), DVec3::new(1.0, 2.0, 3.0));
    near(place(animation, 0.5), DVec3::new(1.0, 2.25, 3.0));
    near(place(animation, 9.0), DVec3::new(1.0, 2.5, 3.0));
}

/// Whatever their order in the document.
#[test]
fn a_second_change_starts_where_the_first_ended() {
    let animation = "<shift node='0' from='2000' until='4000' by='100 0 0'/>\
                     <shift node='0' from='0' until='1000' by='0 50 0'/>";
    near(place(animation, 1.5), DVec3::new(1.0, 2.5, 3.0));
    near(place(animation, 3.0), DVec3::new(1.5, 2.5, 3.0));
    near(place(animation, 4.0), DVec3::new(2.0, 2.5, 3.0));
    let on = format!("{animation}<shift node='0' from='4000' until='5000' to='0 0 0'/>");
    near(place(&on, 4.5), DVec3::new(1.0, 1.25, 1.5));
}

#[test]
fn axes_that_nothing_is_said_of_stay() {
    let animation = "<shift node='0' from='0' until='1000'><way x='0'/></shift>";
    near(place(animation, 0.5), DVec3::new(0.5, 2.0, 3.0));
    near(place(animation, 1.0), DVec3::new(0.0, 2.0, 3.0));
    let turned = at("<turn node='0' from='0' until='1000' y='90'/>", 1.0).1;
    near(turned, DVec3::new(0.0, 0.0, -2.0));
}

#[test]
fn motions_of_one_property_along_different_axes_run_at_one_time() {
    let animation = "<shift node='0' from='0' until='1000'><way x='0'/></shift>\
                     <shift node='0' from='0' until='2000'><way z='500'/></shift>";
    near(place(animation, 0.5), DVec3::new(0.5, 2.0, 3.5));
    near(place(animation, 1.0), DVec3::new(0.0, 2.0, 4.0));
    near(place(animation, 9.0), DVec3::new(0.0, 2.0, 5.0));
    let three =
        format!("{animation}<curve node='0'><mark at='0' y='0'/><mark at='1000' y='100'/></curve>");
    near(place(&three, 0.5), DVec3::new(0.5, 0.5, 3.5));
    // Where the second says both, it counts along both, and goes on from where the first ends.
    let both = animation.replace("<way z", "<way x='300' z");
    near(place(&both, 1.0), DVec3::new(1.5, 2.0, 4.0));
    near(place(&both, 2.0), DVec3::new(3.0, 2.0, 5.0));
}

#[test]
fn what_ended_along_one_axis_holds_while_the_node_moves_along_another() {
    let animation = "<shift node='0' from='0' until='1000'><way x='0'/></shift>\
                     <shift node='0' from='2000' until='4000'><way z='500'/></shift>\
                     <shift node='0' from='4000' until='5000'><way x='100'/></shift>";
    near(place(animation, 1.5), DVec3::new(0.0, 2.0, 3.0));
    near(place(animation, 3.0), DVec3::new(0.0, 2.0, 4.0));
    near(place(animation, 4.5), DVec3::new(0.5, 2.0, 5.0));
}

/// It holds before, also while another motion moves the node along another axis.
#[test]
fn what_keyframes_begin_with_holds_before_they_do() {
    let keyframes = "<curve node='0'><mark at='2000' y='500'/><mark at='3000' y='600'/></curve>";
    let animation =
        format!("<shift node='0' from='0' until='1000'><way x='0'/></shift>{keyframes}");
    near(place(&animation, 0.5), DVec3::new(0.5, 5.0, 3.0));
    near(place(&animation, 2.5), DVec3::new(0.0, 5.5, 3.0));
}

/// More than 90 degrees about y are not found again in the turn that three angles make.
#[test]
fn animations_along_different_axes_are_combined_and_do_not_contest() {
    let dialect = DIALECT.replace("by = { y = \"@y\" }", "by = { x = \"@x\", y = \"@y\" }");
    let dialect = dialect.replace(
        "y = \"number\" }\n[element.grow]",
        "x = \"number\", y = \"number\" }\n[element.grow]",
    );
    let dialect = Dialect::read(&dialect, None).expect("it is right");
    let posed = |first: &str, second: &str| {
        let turn = |said| format!("<tide><turn node='0' from='0' until='1000' {said}/></tide>");
        let text = format!("<sloop>{}{}</sloop>", turn(first), turn(second));
        let machine = machine::read(&syntax::parse(&text), &dialect, &dialect.documents[0]);
        let scene = scene();
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        let world = rig.pose(&[(0, 1.0), (1, 1.0)]).world[0];
        (world.transform_vector3(DVec3::Y), rig.contested().len())
    };
    let (apart, free) = posed("y='120'", "x='30'");
    let (together, contested) = posed("y='40'", "x='30' y='120'");
    near(apart, together);
    assert_eq!((free, contested), (0, 1));
}

#[test]
fn animations_contest_where_they_speak_of_one_axis() {
    let shift = |way| format!("<shift node='0' from='0' until='1000'><way {way}/></shift>");
    let curve = |way| format!("<curve node='0'><mark at='0' {way}/></curve>");
    let (x, y, z) = (shift("x='0'"), curve("y='0'"), shift("z='0'"));
    let contested = |animations: &[&str]| {
        with_rig(&scene(), animations, |rig| {
            let numbers =
                |drives: &Vec<&Drive>| drives.iter().map(|drive| drive.animation).collect();
            let all: Vec<Vec<usize>> = rig.contested().iter().map(numbers).collect();
            all
        })
    };
    assert!(contested(&[&x, &y, &z]).is_empty());
    for both in [&x, &y, &z] {
        assert_eq!(contested(&[both, both]), [[0, 1]]);
    }
    // The third has nothing to do with it.
    assert_eq!(contested(&[&x, &x, &z]), [[0, 1]]);
    let grow = "<grow node='0' from='0' until='1000' by='2'/>";
    let two = format!("{x}{grow}");
    assert_eq!(contested(&[&two, &two]), [[0, 1], [0, 1]]);
}

#[test]
fn motions_that_begin_together_are_in_the_order_of_the_document() {
    let animation = "<shift node='0' from='0' until='1000' by='10 0 0'><way z='500'/></shift>\
                     <shift node='0' from='0' until='1000' by='0 0 100'/>";
    near(place(animation, 1.0), DVec3::new(1.1, 2.0, 6.0));
}

#[test]
fn what_is_added_to_how_a_node_rests_is_multiplied_of_its_scale() {
    let lean = |said: &str, seconds| {
        let animation = format!("<lean node='0' from='0' until='1000' {said}/>");
        let (place, axis, _) = at(&animation, seconds);
        (place, axis.x)
    };
    let shifted = |seconds| lean("start='0 50 0' end='0 100 0'", seconds).0;
    near(shifted(0.0), DVec3::new(1.0, 2.5, 3.0));
    near(shifted(1.0), DVec3::new(1.0, 3.0, 3.0));
    let grown = |seconds| lean("small='0.5 1 1' large='3 1 1'", seconds).1;
    assert_eq!((grown(0.0), grown(1.0)), (1.0, 6.0));
    // A change counts from where the node is, which is where it rests.
    near(lean("by='0 50 0'", 1.0).0, DVec3::new(1.0, 2.5, 3.0));
}

#[test]
fn a_change_of_angles_is_added_to_those_that_the_node_rests_in() {
    let turned = rest(DQuat::from_rotation_y(30_f64.to_radians()));
    let turn = "<turn node='0' from='0' until='1000' y='60'/>";
    near(at_from(turned, turn, 1.0).1, DVec3::new(0.0, 0.0, -2.0));
}

#[test]
fn a_node_is_shown_or_not_until_the_window_ends_as_it_was_before() {
    let show =
        |to: bool, from, until| format!("<show node='0' from='{from}' until='{until}' to='{to}'/>");
    let twice = show(false, 0, 1000) + &show(true, 1000, 2000);
    let seen = [0.5, 1.5, 2.0].map(|seconds| at(&twice, seconds).2);
    assert_eq!(seen, [true, false, true]);
    let mut hidden = rest(DQuat::IDENTITY);
    hidden.visible = Some(false);
    let seen = [0.5, 1.0].map(|seconds| at_from(hidden.clone(), &show(true, 0, 1000), seconds).2);
    assert_eq!(seen, [false, true]);
    let changes = |to| {
        with_rig(&scene(), &[&show(to, 0, 1000)], |rig| {
            rig.drives_of(0)[0].changes()
        })
    };
    assert!(changes(false) && !changes(true));
}

#[test]
fn factors_multiply_and_showing_starts_with_what_rests() {
    let grown = |seconds| at("<grow node='0' from='0' until='1000' by='1.5'/>", seconds).1;
    near(grown(0.0), DVec3::new(2.0, 0.0, 0.0));
    near(grown(1.0), DVec3::new(3.0, 0.0, 0.0));
    let shown = |seconds| at("<show node='0' from='0' until='1000' to='false'/>", seconds).2;
    assert_eq!((shown(0.5), shown(1.0)), (true, false));
}

#[test]
fn keyframes_hold_before_and_after_and_in_between_are_passed() {
    let animation = "<line node='0'><mark at='1000' place='0 0 0'/><mark at='2000' up='5'/>\
                     <mark at='3000' place='0 200 0'/><mark at='4000' place='0 200 0'/><mark at='4000' place='10 200 0'/></line>";
    near(place(animation, 0.0), DVec3::ZERO);
    near(place(animation, 2.0), DVec3::Y);
    near(place(animation, 3.5), DVec3::new(0.0, 2.0, 0.0));
    near(place(animation, 4.0), DVec3::new(0.1, 2.0, 0.0));
    near(place(animation, 9.0), DVec3::new(0.1, 2.0, 0.0));
}

#[test]
fn two_keyframes_at_once_leave_nothing_unsaid_between_them() {
    let jump = "<line node='0'><mark at='0' place='0 0 0'/><mark at='1000' place='0 0 0'/>\
                <mark at='1000' place='10 0 0'/></line>";
    with_rig(&scene(), &[jump], |rig| {
        let sweep = rig.sweep(0);
        assert_eq!((sweep.swept[0].error, sweep.moments), (0.0, 18));
    });
}

/// However far they are apart.
#[test]
fn both_ends_of_a_motion_are_exact() {
    let far =
        "<line node='0'><mark at='0' place='1e30 0 0'/><mark at='1000' place='100 0 0'/></line>";
    assert_eq!(place(far, 1.0).x, 1.0);
}

/// A keyframe that says nothing of an axis is passed along that axis, whatever it says of others.
#[test]
fn each_axis_has_the_keyframes_that_speak_of_it() {
    let curve = |marks: &str| format!("<curve node='0'>{marks}</curve>");
    let mixed = curve(
        "<mark at='0' x='0'/><mark at='1000' y='100'/><mark at='2000' x='200'/><mark at='3000' x='300' y='300'/>",
    );
    // The node rests at 1, 2, 3.
    for (seconds, x, y) in [
        (0.0, 0.0, 1.0),
        (1.0, 1.0, 1.0),
        (2.0, 2.0, 2.0),
        (2.5, 2.5, 2.5),
        (9.0, 3.0, 3.0),
    ] {
        near(place(&mixed, seconds), DVec3::new(x, y, 3.0));
    }
    let one_says_more = curve("<mark at='0' x='0'/><mark at='1000' x='100' y='500'/>");
    near(place(&one_says_more, 0.5), DVec3::new(0.5, 5.0, 3.0));
    // All speak of the same axes.
    let alike = curve("<mark at='0' x='0' y='0'/><mark at='1000' x='100' y='500'/>");
    near(place(&alike, 0.5), DVec3::new(0.5, 2.5, 3.0));
    let only_x = curve("<mark at='0' x='0'/><mark at='1000' x='100'/>");
    near(place(&only_x, 0.5), DVec3::new(0.5, 2.0, 3.0));
}

/// A number that cannot be read makes what is between it and its neighbours unknown, and no more.
#[test]
fn keyframes_that_cannot_be_read_are_none_of_an_axis() {
    let motions = |marks: &str| {
        let dialect = Dialect::read(DIALECT, None).expect("it is right");
        let text = format!("<sloop><tide id='a'><curve node='0'>{marks}</curve></tide></sloop>");
        let machine = machine::read(&syntax::parse(&text), &dialect, &dialect.documents[0]);
        let motions = machine.animations[0].channels[0].motions.iter();
        let shown =
            |motion: &machine::Motion| (motion.axes, motion.from.is_some(), motion.to.is_some());
        motions.map(shown).collect::<Vec<_>>()
    };
    let (x, y) = (Some([true, false, false]), Some([false, true, false]));
    let marks = "<mark at='0' x='0'/><mark at='1' x='a'/><mark at='2' x='1' y='1'/>";
    assert_eq!(
        motions(marks),
        [(x, true, false), (x, false, true), (y, false, true),]
    );
}

/// It holds from the start; along its other axes the node stays as it rests.
#[test]
fn a_single_keyframe_holds_its_value() {
    let line = "<line node='0'><mark at='500' up='5'/></line>";
    with_rig(&scene(), &[line], |rig| {
        let [drive] = rig.drives_of(0) else {
            panic!("one motion: {:?}", rig.drives_of(0));
        };
        let scale = DVec3::new(2.0, 5.0, 3.0);
        let ends = Ends::Vectors {
            from: scale,
            to: scale,
        };
        assert_eq!((drive.property, drive.ends), (Property::Scale, ends));
        assert_eq!((drive.begin, drive.end), (0.5, 0.5));
    });
}

#[test]
fn a_node_waits_between_keyframes_of_the_same_value_only() {
    let waits = |animation: &str| {
        with_rig(&scene(), &[animation], |rig| {
            let drives = rig.drives_of(0).iter();
            let waits: Vec<bool> = drives.map(|drive| drive.waits(rig.machine)).collect();
            waits
        })
    };
    let places = "<line node='0'><mark at='0' place='0 0 0'/><mark at='1' place='0 0 0'/><mark at='2' place='0 1 0'/></line>";
    assert_eq!(waits(places), [true, false]);
    let seen = "<line node='0'><mark at='0' seen='true'/><mark at='1' seen='true'/><mark at='2' seen='false'/></line>";
    assert_eq!(waits(seen), [true, false]);
    // It goes nowhere, but nobody has written two keyframes.
    assert_eq!(
        waits("<shift node='0' from='0' until='1' by='0 0 0'/>"),
        [false]
    );
}

/// One that cannot be read makes no motion, and takes no other one with it.
#[test]
fn what_is_broken_is_left_out() {
    let animation = "<line node='0'><mark at='0' place='0 0 0'/><mark at='x' place='0 1 0'/><mark at='2000' place='0 ? 0'/>\
                     <mark at='3000' place='0 100 0'/><mark at='4000' place='0 300 0'/></line>";
    near(place(animation, 3.5), DVec3::new(0.0, 2.0, 0.0));
    near(place("<line node='0'/>", 1.0), DVec3::new(1.0, 2.0, 3.0));
    // There is no such node.
    let other = "<shift node='7' from='0' until='1000' by='0 50 0'/>";
    let shift = "<shift node='0' from='0' until='1000' by='0 50 0'/>";
    near(
        place(&format!("{other}{shift}"), 1.0),
        DVec3::new(1.0, 2.5, 3.0),
    );
}

/// A pose is asked for at each of them: so no pose may look at all of them.
#[test]
fn a_hundred_thousand_keyframes_make_no_pose_slow() {
    let dialect = Dialect::read(DIALECT, None).expect("it is right");
    let scene = scene();
    let time = |keyframes: usize| {
        let marks = (0..keyframes).map(|at| format!("<mark at='{at}' place='0 {} 0'/>", at % 7));
        let marks: String = marks.collect();
        let text = format!("<sloop><tide id='a'><line node='0'>{marks}</line></tide></sloop>");
        let machine = machine::read(&syntax::parse(&text), &dialect, &dialect.documents[0]);
        let rig = Rig::new(&scene, &machine, &dialect.notation);
        assert_eq!(rig.drives_of(0).len(), keyframes - 1);
        let poses = || (0..200).for_each(|at| drop(rig.pose(&[(0, f64::from(at) / 1000.0)])));
        // The quickest of a few, since other programs run meanwhile.
        let runs = (0..5).map(|_| {
            let begin = std::time::Instant::now();
            poses();
            begin.elapsed()
        });
        runs.min().expect("there are some")
    };
    let (few, many) = (time(1000), time(100_000));
    assert!(many < few * 20, "{many:?} for many, {few:?} for few");
}
