//! Fingerprints: short texts that tell whether something is still as it was written.

use super::parts::{self, File, Key, Owner};
use super::{RECORD, is_counted};
use std::collections::BTreeMap;
use toml_edit::{DocumentMut, InlineTable, Item, Table, Value};

/// By thing and key.
#[derive(Debug, Default)]
pub(super) struct Fingerprints {
    known: BTreeMap<String, BTreeMap<String, String>>,
}

/// What stands above them in the file.
const REMARK: &str = "
# Fingerprints of what was learnt. By them, learning again knows what you changed, and keeps it. Leave them as they are.
";

impl Fingerprints {
    /// Those of everything in a file.
    pub(super) fn of(file: &File) -> Self {
        let mut known = BTreeMap::new();
        for owner in parts::owners(file) {
            let keys = parts::keys(file, &owner).unwrap_or_default().into_iter();
            let prints = keys.filter_map(|key| {
                let item = parts::get(file, &owner, &key)?;
                Some((key.to_string(), fingerprint(item)))
            });
            known.insert(owner.to_string(), prints.collect());
        }
        Self { known }
    }

    /// Those that a file says it was learnt with.
    pub(super) fn read(file: &DocumentMut) -> Self {
        let table = file.get(RECORD).and_then(Item::as_table_like);
        let owners = table.into_iter().flat_map(|table| table.iter());
        let known = owners.filter_map(|(owner, prints)| {
            let prints = prints.as_table_like()?.iter();
            let prints = prints
                .filter_map(|(key, print)| Some((key.to_owned(), print.as_str()?.to_owned())));
            Some((owner.to_owned(), prints.collect()))
        });
        Self {
            known: known.collect(),
        }
    }

    /// The text of a file with them at its end.
    pub(super) fn put(&self, file: File) -> String {
        let mut file = file.into_toml();
        file.remove(RECORD);
        let mut table = Table::new();
        table.decor_mut().set_prefix(REMARK);
        table.set_position(Some(isize::MAX));
        for (owner, prints) in &self.known {
            let mut line = InlineTable::new();
            for (key, print) in prints {
                line.insert(key, Value::from(print.as_str()));
            }
            table.insert(owner, Item::Value(line.into()));
        }
        file.insert(RECORD, Item::Table(table));
        file.to_string()
    }

    /// Whether the thing was learnt.
    pub(super) fn knows(&self, owner: &Owner) -> bool {
        self.known.contains_key(&owner.to_string())
    }

    pub(super) fn get(&self, owner: &Owner, key: &Key) -> Option<&String> {
        self.known.get(&owner.to_string())?.get(&key.to_string())
    }

    /// Those of things that the others know nothing of.
    pub(super) fn without(&self, others: &Self) -> Self {
        let mut known = self.known.clone();
        for (owner, keys) in &mut known {
            if let Some(others) = others.known.get(owner) {
                keys.retain(|key, _| !others.contains_key(key));
            }
        }
        known.retain(|owner, keys| !keys.is_empty() || !others.known.contains_key(owner));
        Self { known }
    }

    /// Forgets what is not in the file.
    pub(super) fn keep_only(&mut self, file: &File) {
        let there = Self::of(file).known;
        for (owner, keys) in &mut self.known {
            keys.retain(|key, _| there.get(owner).is_some_and(|keys| keys.contains_key(key)));
        }
        self.known.retain(|owner, _| there.contains_key(owner));
    }

    pub(super) fn take_in(&mut self, others: Self) {
        for (owner, keys) in others.known {
            self.known.entry(owner).or_default().extend(keys);
        }
    }
}

/// Six hexadecimal digits that depend on what is said, not on how it is laid out.
pub(super) fn fingerprint(item: &Item) -> String {
    let mut said = String::new();
    say(item, &mut said);
    // FNV-1a, folded to 24 bits.
    let hash = said.bytes().fold(0x811c_9dc5_u32, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    });
    format!("{:06x}", (hash >> 24) ^ (hash & 0x00ff_ffff))
}

fn say(item: &Item, said: &mut String) {
    match item {
        Item::Value(Value::Array(array)) => {
            said.push('[');
            for value in array {
                say(&Item::Value(value.clone()), said);
                said.push(',');
            }
            said.push(']');
        }
        Item::ArrayOfTables(tables) => {
            for table in tables {
                say(&Item::Table(table.clone()), said);
            }
        }
        Item::Value(Value::String(text)) => {
            said.push('"');
            said.push_str(text.value());
        }
        Item::Value(Value::Integer(number)) => said.push_str(&number.value().to_string()),
        Item::Value(Value::Float(number)) => said.push_str(&number.value().to_string()),
        Item::Value(Value::Boolean(answer)) => said.push_str(&answer.value().to_string()),
        Item::Value(Value::Datetime(date)) => said.push_str(&date.value().to_string()),
        item => {
            let mut entries: Vec<(&str, &Item)> = match item.as_table_like() {
                Some(table) => table.iter().filter(|(key, _)| is_counted(key)).collect(),
                None => Vec::new(),
            };
            entries.sort_by_key(|(key, _)| *key);
            said.push('{');
            for (key, item) in entries {
                said.push_str(key);
                said.push('=');
                say(item, said);
                said.push(',');
            }
            said.push('}');
        }
    }
}
