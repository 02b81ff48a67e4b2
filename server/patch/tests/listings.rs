//! Long elements are listed portion by portion, and the lists are kept: after thousands of operations each still finds what
//! its path says.

use std::fmt::Write as _;

struct Item {
    name: &'static str,
    number: usize,
    mark: String,
}

impl Item {
    fn is_log(&self) -> bool {
        self.name != "bark"
    }

    fn written(&self) -> String {
        let Self { name, number, mark } = self;
        format!("<{name} n='{number}' mark='{mark}'><id>i{number}</id></{name}>")
    }
}

/// Each on a line of its own, which stays when it is removed.
type Items = Vec<Option<Item>>;

fn document(items: &Items, more: &str) -> String {
    let mut text = format!("<yard xmlns='urn:y' xmlns:w='urn:y'{more}>\n");
    for item in items {
        let written = item.as_ref().map(Item::written).unwrap_or_default();
        let _ = writeln!(text, "{written}");
    }
    text + "</yard>\n"
}

/// Logs by two names that mean the same, and bark.
fn items(count: usize) -> Items {
    let item = |number| Item {
        name: ["log", "bark", "w:log"][number % 3],
        number,
        mark: format!("m{}", number % 7),
    };
    (0..count).map(|number| Some(item(number))).collect()
}

/// The place in the list of one that is like this, `nth` of them, counted from 0.
fn place(items: &Items, nth: usize, is_like: impl Fn(&Item) -> bool) -> Option<usize> {
    let like = items.iter().enumerate();
    let mut like = like.filter(|(_, item)| item.as_ref().is_some_and(&is_like));
    like.nth(nth).map(|(at, _)| at)
}

#[test]
fn what_is_listed_follows_what_changes() {
    let mut list = items(1500);
    let before = document(&list, "");
    let mut patch = "<diff xmlns='urn:y' xmlns:p='urn:y'>\n".to_owned();
    let mut seed = 7_usize;
    let mut below = |limit: usize| {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % limit
    };
    for step in 0..400 {
        let nth = below(400);
        let log = place(&list, nth, Item::is_log).unwrap();
        let number = list[log].as_ref().unwrap().number;
        let (at, path) = match step % 7 {
            0 => (log, format!("p:log[{}]", nth + 1)),
            1 => (
                place(&list, nth, |_| true).unwrap(),
                format!("*[{}]", nth + 1),
            ),
            2 => (log, format!("*[@n='{number}']")),
            3 => (log, format!("p:log[p:id='i{number}']")),
            4 => {
                let nth = nth % 50;
                let at = place(&list, nth, |item| item.is_log() && item.mark == "m2").unwrap();
                (at, format!("p:log[@mark='m2'][{}]", nth + 1))
            }
            5 => {
                let _ = writeln!(patch, "<remove sel='p:yard/p:log[{}]'/>", nth + 1);
                list[log] = None;
                continue;
            }
            _ => {
                let new = Item {
                    name: "log",
                    number: 10_000 + step,
                    mark: "m2".to_owned(),
                };
                let sel = format!("p:yard/*[@n=\"{number}\"][.=\"i{number}\"]");
                let _ = writeln!(
                    patch,
                    "<add sel='{sel}' pos='before'>{}\n</add>",
                    new.written()
                );
                list.insert(log, Some(new));
                continue;
            }
        };
        let mark = format!("s{step}");
        let _ = writeln!(
            patch,
            "<replace sel=\"p:yard/{path}/@mark\">{mark}</replace>"
        );
        list[at].as_mut().unwrap().mark = mark;
    }
    let after = patch::apply(&before, &(patch + "</diff>")).unwrap();
    assert_eq!(after, document(&list, ""));
}

/// A place beyond the last is no place, and a value that nothing has is none.
#[test]
fn what_is_not_listed_is_not_found() {
    let before = document(&items(1500), "");
    let patch = |path: &str| {
        patch::apply(
            &before,
            &format!("<diff xmlns:p=\"urn:y\"><remove sel=\"p:yard/{path}\"/></diff>"),
        )
    };
    assert!(
        patch("p:log[1000]").is_ok() && patch("p:bark[500]").is_ok() && patch("*[1500]").is_ok()
    );
    for path in [
        "p:log[1001]",
        "p:bark[501]",
        "*[1501]",
        "p:log[@n='1']",
        "*[@n='1500']",
        "log[1]",
    ] {
        assert!(patch(path).is_err(), "{path}");
    }
    assert!(patch("p:log[@mark='m2']").is_err());
}

/// A prefix that an element declares for itself means what it says there, in its place among the others, too.
#[test]
fn an_element_may_declare_its_own_prefix() {
    let text = document(&items(1500), "");
    let at = text.find("<log n='600'").unwrap();
    let before = format!(
        "{}<w:log xmlns:w='urn:other' n='x'/>{}",
        &text[..at],
        &text[at..]
    );
    let place = (0..=600).filter(|number| number % 3 != 1).count();
    let patch = format!(
        "<diff xmlns:p=\"urn:y\"><replace sel=\"p:yard/p:log[{place}]/@mark\">here</replace></diff>"
    );
    let after = patch::apply(&before, &patch).unwrap();
    assert!(after.contains("<log n='600' mark='here'>"));
}
