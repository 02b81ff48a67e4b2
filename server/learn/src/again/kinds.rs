//! Kinds of documents that share a root: which of them the short key of the root's element means.
//!
//! Learning gives the short key, `[element.sheet]`, to any one of the kinds, and keys with a kind's name to the others.
//! When a library that had one kind shows several, or they come in another order, the short key must go on meaning
//! what it meant in the person's file, since what the person wrote there is kept.

use super::Names;
use super::parts::{self, File, Owner};
use dialect::NAME_KEY;
use std::collections::BTreeMap;
use toml_edit::{DocumentMut, Item};

/// Lets short keys of roots mean in `new` what they mean in `file`.
pub(super) fn settle(file: &File, new: &mut File) {
    for (root, kinds) in kinds(new.toml()) {
        let short = Owner::Element(root.clone());
        let meant = parts::listed(file, std::slice::from_ref(&short));
        let long = |kind: &String| Owner::Element(format!("{kind}:/{root}"));
        let (others, own): (Vec<&String>, Vec<&String>) = kinds
            .iter()
            .partition(|kind| parts::keys(new, &long(kind)).is_some());
        let [own] = own[..] else { continue };
        let likeness =
            |owner: &Owner| shared(&parts::listed(new, std::slice::from_ref(owner)), &meant);
        let closest = others.into_iter().max_by_key(|kind| likeness(&long(kind)));
        if let Some(closest) = closest.filter(|kind| likeness(&long(kind)) > likeness(&short)) {
            parts::rename_element(new, &root, &format!("{own}:/{root}"));
            parts::rename_element(new, &format!("{closest}:/{root}"), &root);
        }
    }
}

/// The names of documents by root, where several have one.
fn kinds(file: &DocumentMut) -> Vec<(String, Vec<String>)> {
    let documents = file.get("document").and_then(Item::as_array_of_tables);
    let mut kinds: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for document in documents.into_iter().flatten() {
        let text = |key| document.get(key).and_then(Item::as_str);
        if let (Some(root), Some(name)) = (text("root"), text(NAME_KEY)) {
            kinds
                .entry(root.to_owned())
                .or_default()
                .push(name.to_owned());
        }
    }
    kinds
        .into_iter()
        .filter(|(_, kinds)| kinds.len() > 1)
        .collect()
}

fn shared(one: &Names, other: &Names) -> usize {
    one.intersection(other).count()
}
