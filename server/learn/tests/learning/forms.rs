//! Elements of one name in several places: when what is seldom in one is known from another.

use crate::learnt::{corpus, reported};

/// The types of the texts and attributes with this path, with the count of numbers in a row.
fn types(texts: impl Iterator<Item = String>, paths: &[&str]) -> Vec<String> {
    let report = reported(&corpus(texts));
    let shown = paths.iter().map(|path| {
        let mut known = report.attributes.iter();
        let known = known.find(|known| known.value.path == *path);
        let known = known.unwrap_or_else(|| panic!("{path} is known"));
        let count = known
            .count
            .map_or(String::new(), |count| format!(" of {count}"));
        let list = if known.list { " list" } else { "" };
        format!("{}{count}{list}", known.value_type)
    });
    shown.collect()
}

#[test]
fn a_few_values_of_another_shape_are_another_sort() {
    let texts = (0..24).map(|n| {
        let mut text = format!("<raft><crate><size>{n} 1.5 {}</size></crate>", n % 5);
        if n % 8 == 0 {
            text += &format!("<sheet><size>{n}.5 2</size></sheet><mast><size>stout</size></mast>");
        }
        if n % 9 == 0 {
            text += &format!("<box><size>1 {n} 0.25</size></box>");
        }
        text + "</raft>"
    });
    let paths = [
        "raft/crate/size",
        "raft/sheet/size",
        "raft/mast/size",
        "raft/box/size",
    ];
    assert_eq!(
        types(texts, &paths),
        ["vector of 3", "vector of 2", "text", "vector of 3"]
    );
}
