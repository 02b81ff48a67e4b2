//! Documents so long that comparing something with everything would be felt. No clock is asked, since others use the machine
//! as well: what is held is that all findings are there.

use super::*;

const MANY: usize = 4_000;

/// Checks a body of many lines, which must yield `code` as often as `expected` says.
fn finds_all(code: &str, body: impl Fn(usize) -> String, expected: impl Fn(usize) -> usize) {
    let findings = super::super::run(&rig(&body(MANY)).view());
    let found = findings.iter().filter(|finding| finding.code == code);
    assert_eq!(found.count(), expected(MANY));
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
    finds_all("unknown-name", body, |count| count);
}

#[test]
fn names_of_which_some_are_unused() {
    let body = |count| {
        let aliases = lines(count, |n| format!("<alias name=\"a{n}\" path=\"0/2\"/>\n"));
        let used = lines(count, |n| match n % 7 {
            0 => String::new(),
            _ => format!("<body node=\"a{n}\" mass=\"1\"/>\n"),
        });
        format!("<aliases>{aliases}</aliases><bodies>{used}</bodies>")
    };
    finds_all("unused-alias", body, |count| count.div_ceil(7));
}

#[test]
fn names_that_are_all_the_same() {
    let body = |count| {
        format!(
            "<aliases>{}</aliases>",
            lines(count, |_| "<alias name=\"a\" path=\"0/2\"/>\n".to_owned())
        )
    };
    finds_all("duplicate-name", body, |count| count - 1);
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
    finds_all("lopsided", body, |count| count / 2);
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
    finds_all("contested-part", body, |count| count - 1);
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
    finds_all("wheel-left-behind", body, |_| 1);
}

#[test]
fn elements_that_are_all_unknown() {
    let body = |count| {
        format!(
            "<aliases>{}</aliases>",
            lines(count, |n| format!("<alas nam=\"a{n}\"/>\n"))
        )
    };
    finds_all("unknown-element", body, |count| count);
}

#[test]
fn one_element_with_attributes_that_are_all_unknown() {
    let body = |count| format!("<aliases{}/>", lines(count, |n| format!(" a{n}=\"\"")));
    finds_all("unknown-attribute", body, |count| count);
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
    finds_all("unclosed-comment", body, |count| count / 2);
}

#[test]
fn of_too_many_findings_the_gravest_are_told() {
    let count = super::super::MOST_FINDINGS + 10;
    let unused = lines(count, |n| format!("<alias name=\"a{n}\" path=\"0/2\"/>\n"));
    let body =
        format!("<aliases>{unused}</aliases><bodies><body node=\"nowhere\" mass=\"1\"/></bodies>");
    let findings = super::super::run(&rig(&body).view());
    let told = |code: &str| {
        findings
            .iter()
            .filter(|finding| finding.code == code)
            .count()
    };
    assert_eq!(told("unknown-name"), 1);
    assert_eq!(told("unused-alias"), super::super::MOST_FINDINGS - 1);
    assert_eq!(told("too-many-errors"), 1);
}

#[test]
fn motions_of_many_animations_looked_at_on_one_core_or_on_all() {
    // Each moves both parts, not alike, then jumps; some contest what others drive.
    let channels = |of: usize| {
        lines(MANY / 8, |n| {
            let (target, begin) = (n % 3, 2 * (n / 3) + of % 2);
            let (from, to) = (n % 7, n % 5 + of);
            format!(
                "<channel target=\"0/{target}\" property=\"translation\" begin=\"{begin}\" end=\"{}\" from=\"{from} 0 0\" to=\"{to} 0 0\"/>\n",
                begin + 1
            )
        })
    };
    // More than are looked at before what was found is put in its place.
    let animations = lines(82, |of| {
        format!(
            "<animation id=\"a{of}\" duration=\"9\">{}</animation>\n",
            channels(of)
        )
    });
    let fixture = rig(&format!("<animations>{animations}</animations>"));
    let view = fixture.view();
    let on_all = super::super::run(&view);
    for code in ["lopsided", "jump", "contested-part", "past-duration"] {
        assert!(on_all.iter().any(|finding| finding.code == code), "{code}");
    }
    // What is one of many is not divided again.
    let mut on_one = machine::in_parallel(2, 1, |_| super::super::run(&view));
    assert!(on_one.all(|found| found == on_all));
}
