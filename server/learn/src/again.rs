//! Learning again: what a person changed in a learnt dialect file stays, the rest becomes new.
//!
//! A learnt file ends with a table `[learnt]` of fingerprints, one for each thing that learning
//! wrote. What still has its fingerprint is learning's own and is renewed, or removed if it is seen no
//! more. What has another, or none, is the person's, and what has a fingerprint but is not there was
//! removed by the person and does not come back. Explanations (`doc`), comments and the order of
//! things are the person's in any case, records of evidence (`learnt`) are learning's.

mod fingerprints;
mod kinds;
mod parts;

use crate::roles::{Verdict, Verdicts};
use fingerprints::{Fingerprints, fingerprint};
use parts::{File, Key, Owner};
use std::collections::HashSet;
use toml_edit::{DocumentMut, Item, TomlError};

/// What the person has in the file, for the message that says so.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// Things that are as the person wrote them, not as they would be learnt.
    pub changed: usize,
    /// Things that the person removed.
    pub removed: usize,
}

/// A dialect file that is learnt for the first time, with fingerprints.
///
/// # Errors
/// If it is no TOML.
pub fn first(learnt: &str) -> Result<String, TomlError> {
    let file = File::read(learnt)?;
    Ok(Fingerprints::of(&file).put(file))
}

/// The file that is there, renewed by what is learnt now.
///
/// # Errors
/// If one of them is no TOML.
pub fn again(there: &str, learnt: &str) -> Result<(String, Kept), TomlError> {
    let mut file = File::read(there)?;
    let mut new = File::read(learnt)?;
    kinds::settle(&file, &mut new);
    let before = Fingerprints::read(file.toml());
    let removed = before.without(&Fingerprints::of(&file));
    let mut kept = Kept::default();
    let mut added = Vec::new();
    for owner in parts::owners(&new) {
        if parts::keys(&file, &owner).is_some() {
            // What was not learnt is left alone.
            if before.knows(&owner) {
                renew(&mut file, &new, &owner, &before, &mut kept);
            }
        } else if before.knows(&owner) {
            kept.removed += 1;
        } else {
            parts::copy(&mut file, &new, &owner);
            added.push(owner);
        }
    }
    remove_unseen(&mut file, &new, &before);
    remove_unlisted(&mut file, added);
    let mut now = Fingerprints::of(&new);
    now.keep_only(&file);
    now.take_in(removed);
    Ok((now.put(file), kept))
}

fn renew(file: &mut File, new: &File, owner: &Owner, before: &Fingerprints, kept: &mut Kept) {
    let now = parts::keys(new, owner).unwrap_or_default();
    let here = parts::keys(file, owner).unwrap_or_default();
    let is_promoted = is_promoted(file, owner, before);
    // In the order of the new file, so that what is added comes in its order.
    let new_ones: HashSet<&Key> = now.iter().collect();
    let order = now
        .iter()
        .chain(here.iter().filter(|key| !new_ones.contains(*key)));
    for key in order {
        let known = before.get(owner, key);
        let old_item = parts::get(file, owner, key);
        let is_own = old_item.is_some_and(|item| known == Some(&fingerprint(item)))
            && !(is_promoted && key.is_content())
            && !old_item.is_some_and(is_confirmed);
        match (old_item.is_some(), parts::get(new, owner, key)) {
            (false, Some(_)) if known.is_some() => kept.removed += 1,
            (false, Some(item)) => parts::set(file, owner, key, item.clone()),
            (true, Some(item)) if is_own => parts::renew(file, owner, key, item),
            (true, Some(item)) => {
                let differs = old_item.is_some_and(|old| fingerprint(old) != fingerprint(item));
                kept.changed += usize::from(differs);
                parts::renew_record(file, owner, key, item);
            }
            (true, None) if is_own => parts::remove(file, owner, key),
            _ => {}
        }
    }
    parts::renew_own_record(file, new, owner);
}

/// Whether a file is a dialect, or has nothing in it yet.
///
/// # Errors
/// If it is no TOML.
pub fn may_become_dialect(there: &str) -> Result<bool, TomlError> {
    let file: DocumentMut = there.parse()?;
    Ok(file.is_empty() || file.contains_key("dialect"))
}

/// The roles that a person has confirmed in a file. None if it is no TOML.
pub fn confirmed(file: &str) -> Vec<String> {
    let Ok(file) = file.parse::<DocumentMut>() else {
        return Vec::new();
    };
    let roles = file.get(ROLE).and_then(Item::as_table_like);
    let roles = roles.into_iter().flat_map(|roles| roles.iter());
    let confirmed = roles.filter(|(_, tables)| is_confirmed(tables));
    confirmed.map(|(role, _)| role.to_owned()).collect()
}

/// The roles that learning once found and a person took out of a file. None if it is no TOML.
pub fn refused(file: &str) -> Vec<String> {
    let Ok(file) = file.parse::<DocumentMut>() else {
        return Vec::new();
    };
    let prints = file.get(RECORD).and_then(|record| record.get(ROLE));
    let known = prints.and_then(Item::as_table_like).into_iter();
    let is_there = |role: &str| {
        file.get(ROLE)
            .is_some_and(|roles| roles.get(role).is_some())
    };
    known
        .flat_map(|known| known.iter())
        .map(|(role, _)| role.to_owned())
        .filter(|role| !is_there(role))
        .collect()
}

/// Keeps in mind which roles a person has refused altogether, so that they do not come back.
///
/// # Errors
/// If the file is no TOML.
pub fn without(file: &str, verdicts: &Verdicts) -> Result<String, TomlError> {
    let mut file: DocumentMut = file.parse()?;
    let given = verdicts.given.iter();
    let refused = given.filter(|(.., verdict)| *verdict == Verdict::No);
    for (role, ..) in refused {
        let is_there = file
            .get(ROLE)
            .is_some_and(|roles| roles.get(role).is_some());
        if let (false, Some(table)) = (is_there, file.get_mut(RECORD).and_then(Item::as_table_mut))
        {
            let prints = table
                .entry(ROLE)
                .or_insert_with(|| Item::Value(toml_edit::InlineTable::new().into()));
            if let Some(prints) = prints.as_inline_table_mut() {
                prints.insert(*role, REFUSED.into());
            }
        }
    }
    Ok(file.to_string())
}

/// The table of roles, and its fingerprints.
const ROLE: &str = "role";

/// Stands for the fingerprint of what was never written.
const REFUSED: &str = "refused";

/// Whether these are tables of roles of which a person has confirmed some.
fn is_confirmed(item: &Item) -> bool {
    let mut tables = item.as_array_of_tables().into_iter().flatten();
    tables.any(|table| {
        let record = table.get(RECORD).and_then(Item::as_table_like);
        let confirmed = record.and_then(|record| record.get("confirmed"));
        confirmed.and_then(Item::as_bool) == Some(true)
    })
}

/// Whether the person takes the content of an element for granted: it is no longer `strict = false`. Then
/// it must not change under the person's hands.
fn is_promoted(file: &File, owner: &Owner, before: &Fingerprints) -> bool {
    let key = Key::Plain("strict".to_owned());
    let was_learnt = before.get(owner, &key).is_some();
    let is_strict = parts::get(file, owner, &key).and_then(Item::as_bool) != Some(false);
    owner.is_element() && was_learnt && is_strict
}

/// Removes what was learnt, is as it was learnt, and is seen no more. An element stays that something still lists and
/// nothing else declares there.
fn remove_unseen(file: &mut File, new: &File, before: &Fingerprints) {
    let is_own = |owner: &Owner| {
        let keys = parts::keys(file, owner).unwrap_or_default();
        before.knows(owner)
            && keys.iter().all(|key| {
                parts::get(file, owner, key)
                    .is_some_and(|item| before.get(owner, key) == Some(&fingerprint(item)))
            })
    };
    let (mut unseen, mut staying): (Vec<Owner>, Vec<Owner>) = parts::owners(file)
        .into_iter()
        .partition(|owner| parts::keys(new, owner).is_none() && is_own(owner));
    loop {
        let undeclared = parts::undeclared(file, &staying);
        let (listed, rest): (Vec<Owner>, Vec<Owner>) = unseen
            .into_iter()
            .partition(|owner| undeclared.contains(owner.element_name()));
        unseen = rest;
        if listed.is_empty() {
            break;
        }
        staying.extend(listed);
    }
    parts::remove_owners(file, &unseen);
}

/// Removes elements that are new and that the person's lists of children leave out.
fn remove_unlisted(file: &mut File, mut added: Vec<Owner>) {
    loop {
        let listed = parts::listed(file, &parts::owners(file));
        let (unlisted, rest): (Vec<Owner>, Vec<Owner>) = added
            .into_iter()
            .partition(|owner| owner.is_element() && !listed.contains(owner.element_name()));
        if unlisted.is_empty() {
            return;
        }
        parts::remove_owners(file, &unlisted);
        added = rest;
    }
}

/// Keys that only people write, and those that only learning writes: no fingerprint counts them.
const UNCOUNTED: [&str; 2] = ["doc", RECORD];

/// The record of evidence.
const RECORD: &str = "learnt";

fn is_counted(key: &str) -> bool {
    !UNCOUNTED.contains(&key)
}

type Names = HashSet<String>;

fn strings(item: Option<&Item>) -> Vec<String> {
    match item {
        Some(Item::Value(toml_edit::Value::Array(array))) => array
            .iter()
            .filter_map(|value| value.as_str().map(str::to_owned))
            .collect(),
        Some(item) => item.as_str().map(str::to_owned).into_iter().collect(),
        None => Vec::new(),
    }
}

#[cfg(test)]
mod tests;
