//! Documents in which comparing something with everything would show: eight times as long must not take much more
//! than eight times as much, and sixty-four times if each of something is compared with each.

use std::time::{Duration, Instant};

use super::*;

const FEW: usize = 500;
const MANY: usize = 8 * FEW;

/// Checks a body of a few and of many lines; the many must yield `code` as often as `expected` says.
fn grows_with_its_size(
    code: &str,
    body: impl Fn(usize) -> String,
    expected: impl Fn(usize) -> usize,
) {
    let (few, many) = (rig(&body(FEW)).view(), rig(&body(MANY)).view());
    let found = super::super::run(&many)
        .iter()
        .filter(|finding| finding.code == code)
        .count();
    assert_eq!(found, expected(MANY));
    let took = |view: &project::View| {
        let started = Instant::now();
        super::super::run(view);
        started.elapsed()
    };
    // Other work on the machine may disturb one measurement, hardly all.
    let mut ratios = (0..5).map(|_| {
        let few = took(&few).max(Duration::from_micros(500));
        took(&many).as_secs_f64() / few.as_secs_f64()
    });
    assert!(
        ratios.any(|ratio| ratio < 24.0),
        "{code}: eight times the lines take far more time"
    );
}

fn lines(count: usize, make: impl Fn(usize) -> String) -> String {
    (0..count).map(make).collect()
}

#[test]
fn names_that_are_all_unknown_among_names_that_are_all_unused() {
    let body = |count| {
        let aliases = lines(count, |n| format!("<alias name=\"a{n}\" path=\"0/2\"/>\n"));
        let bodies = lines(count, |n| format!("<body node=\"b{n}\" mass=\"1\"/>\n"));
        format!("<aliases>{aliases}</aliases><bodies>{bodies}</bodies>")
    };
    // The first of the unknown names get suggestions, which takes the same time however many there are.
    grows_with_its_size("unknown-name", body, |count| count);
}

#[test]
fn names_that_are_all_the_same() {
    let body = |count| {
        format!(
            "<aliases>{}</aliases>",
            lines(count, |_| "<alias name=\"a\" path=\"0/2\"/>\n".to_owned())
        )
    };
    grows_with_its_size("duplicate-name", body, |count| count - 1);
}

#[test]
fn motions_of_one_pair() {
    let body = |count| {
        let channels = lines(count, |n| {
            let (target, begin, end) = (n % 2, n / 2, n / 2 + 1);
            format!(
                "<channel target=\"0/{target}\" property=\"translation\" begin=\"{begin}\" end=\"{end}\" from=\"1 0 0\" to=\"2 0 0\"/>\n"
            )
        });
        format!("<animations><animation id=\"a\">{channels}</animation></animations>")
    };
    grows_with_its_size("lopsided", body, |count| count / 2);
}

#[test]
fn animations_that_contest_one_part_and_controls_one_input() {
    let body = |count| {
        let channel = "<channel target=\"0/2\" property=\"translation\" begin=\"0\" end=\"1\" from=\"0 1 0\" to=\"0 2 0\"/>";
        let animations = lines(count, |n| {
            format!("<animation id=\"a{n}\">{channel}</animation>\n")
        });
        let controls = lines(count, |n| {
            format!("<switch animation=\"a{n}\" input=\"button.raise\"/>\n")
        });
        format!("<animations>{animations}</animations><controls>{controls}</controls>")
    };
    grows_with_its_size("contested-part", body, |count| count - 1);
}

#[test]
fn wheels_that_are_all_carried_by_one_control_and_left_behind_by_another() {
    let body = |count| {
        let wheels = lines(count, |n| {
            format!("<wheel id=\"w{n}\" node=\"0/2/0\" radius=\"1\" width=\"1\"/>\n")
        });
        let carried = lines(count, |n| format!("<carry wheel=\"w{n}\"/>\n"));
        let channel = "<channel target=\"0/2\" property=\"translation\" begin=\"0\" end=\"1\" from=\"0 1 0\" to=\"0 2 0\"/>";
        format!(
            "<wheels>{wheels}</wheels><animations><animation id=\"a\">{channel}</animation></animations>
             <controls><switch animation=\"a\" input=\"button.raise\">{carried}</switch><switch animation=\"a\" input=\"button.lower\"/></controls>"
        )
    };
    grows_with_its_size("wheel-left-behind", body, |_| 1);
}

#[test]
fn elements_that_are_all_unknown() {
    let body = |count| {
        format!(
            "<aliases>{}</aliases>",
            lines(count, |n| format!("<alas nam=\"a{n}\"/>\n"))
        )
    };
    grows_with_its_size("unknown-element", body, |count| count);
}

#[test]
fn one_element_with_attributes_that_are_all_unknown() {
    let body = |count| format!("<aliases{}/>", lines(count, |n| format!(" a{n}=\"\"")));
    grows_with_its_size("unknown-attribute", body, |count| count);
}

#[test]
fn tags_that_are_all_broken_and_comments_that_are_all_open() {
    let body = |count| {
        format!(
            "<aliases>{}</aliases>",
            lines(count / 2, |n| format!(
                "<alias name=\"a{n} path=\"0\"/>\n<!-- {n}\n"
            ))
        )
    };
    grows_with_its_size("unclosed-comment", body, |count| count / 2);
}
