//! The things of a dialect file that are renewed one by one: documents, elements and their values,
//! and the keys of the other tables.

use super::{Names, RECORD, is_counted, strings};
use dialect::NAME_KEY;
use std::collections::{HashMap, HashSet};
use std::fmt;
use toml_edit::{DocumentMut, Item, Table, TableLike, TomlError};

/// Something with keys.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Owner {
    /// A table at the top: `notation`.
    Table(String),
    /// A document, by root and namespace, and by its name where more than these tells it from others.
    Document(String, Option<String>, Option<String>),
    /// An element, by its key.
    Element(String),
}

/// A key of an owner.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Key {
    Plain(String),
    /// An attribute of an element.
    Attribute(String),
}

impl fmt::Display for Owner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Table(name) => write!(f, "{name}"),
            Self::Document(root, namespace, name) => {
                write!(f, "{DOCUMENT} {root}")?;
                let more = [("", namespace), ("is ", name)];
                more.into_iter()
                    .filter_map(|(word, text)| Some((word, text.as_ref()?)))
                    .try_for_each(|(word, text)| write!(f, " {word}{text}"))
            }
            Self::Element(key) => write!(f, "{ELEMENT} {key}"),
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plain(name) => write!(f, "{name}"),
            Self::Attribute(name) => write!(f, "@{name}"),
        }
    }
}

const DOCUMENT: &str = "document";
const ELEMENT: &str = "element";
const ATTRIBUTES: &str = "attributes";

impl Key {
    /// Whether it says what an element holds besides attributes and text.
    pub(super) fn is_content(&self) -> bool {
        let content = ["children", "order", "open"];
        matches!(self, Self::Plain(name) if content.contains(&name.as_str()))
    }
}

impl Owner {
    pub(super) fn is_element(&self) -> bool {
        matches!(self, Self::Element(_))
    }

    /// Whether they are documents with the same root.
    fn has_root_of(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Document(root, namespace, _), Self::Document(other, its, _)) => {
                root == other && namespace == its
            }
            _ => false,
        }
    }

    /// The local name of an element; empty for others.
    pub(super) fn element_name(&self) -> &str {
        match self {
            Self::Element(key) => dialect::name_of_key(key),
            _ => "",
        }
    }
}

/// A dialect file, and where its documents stand in it: they are asked for by what tells them apart, each of them for each
/// of its keys.
pub(super) struct File {
    toml: DocumentMut,
    places: HashMap<Owner, usize>,
}

impl File {
    /// # Errors
    /// If it is no TOML.
    pub(super) fn read(text: &str) -> Result<Self, TomlError> {
        let toml = text.parse()?;
        let places = places(&toml);
        Ok(Self { toml, places })
    }

    pub(super) fn toml(&self) -> &DocumentMut {
        &self.toml
    }

    pub(super) fn into_toml(self) -> DocumentMut {
        self.toml
    }

    /// Adds a document behind the others.
    fn push(&mut self, owner: &Owner, table: Table) {
        let there = self
            .toml
            .entry(DOCUMENT)
            .or_insert_with(|| Item::ArrayOfTables(Default::default()));
        let Some(there) = there.as_array_of_tables_mut() else {
            return;
        };
        there.push(table);
        let at = there.len() - 1;
        // What another one with its root is known by changes with it.
        match self.places.keys().any(|other| other.has_root_of(owner)) {
            true => self.places = places(&self.toml),
            false => _ = self.places.insert(owner.clone(), at),
        }
    }
}

/// Everything in a file that has keys, in its order.
pub(super) fn owners(file: &File) -> Vec<Owner> {
    let mut owners = Vec::new();
    for (name, item) in file.toml.iter() {
        match name {
            RECORD => {}
            DOCUMENT => owners.extend(documents(&file.toml).into_iter().flatten()),
            ELEMENT => {
                let elements = item
                    .as_table_like()
                    .into_iter()
                    .flat_map(|table| table.iter());
                owners.extend(elements.map(|(key, _)| Owner::Element(key.to_owned())));
            }
            name if item.is_table_like() => owners.push(Owner::Table(name.to_owned())),
            _ => {}
        }
    }
    owners
}

/// The documents of a file, in its order; `None` where one has no root.
fn documents(file: &DocumentMut) -> Vec<Option<Owner>> {
    let tables = file.get(DOCUMENT).and_then(Item::as_array_of_tables);
    let tables: Vec<&Table> = tables.into_iter().flatten().collect();
    let text = |table: &Table, key| table.get(key).and_then(Item::as_str).map(str::to_owned);
    let key = |table: &Table| (text(table, "root"), text(table, "namespace"));
    let mut counts: HashMap<_, usize> = HashMap::new();
    for table in &tables {
        *counts.entry(key(table)).or_default() += 1;
    }
    let owner = |table: &&Table| {
        let key = key(table);
        let has_rival = counts[&key] > 1;
        let (root, namespace) = key;
        let has_marks = ["holds", "root-attributes"]
            .iter()
            .any(|key| table.contains_key(key));
        let name = text(table, NAME_KEY).filter(|_| has_rival || has_marks);
        // The one without marks is the one that was there before there were others.
        let name = name.filter(|name| has_marks || Some(name) != text(table, "root").as_ref());
        Some(Owner::Document(root?, namespace, name))
    };
    tables.iter().map(owner).collect()
}

/// Per document, its place among those of the file; of some that nothing tells apart, that of the first.
fn places(file: &DocumentMut) -> HashMap<Owner, usize> {
    let mut places = HashMap::new();
    for (at, document) in documents(file).into_iter().enumerate() {
        if let Some(document) = document {
            places.entry(document).or_insert(at);
        }
    }
    places
}

fn table<'f>(file: &'f File, owner: &Owner) -> Option<&'f dyn TableLike> {
    let File { toml, places } = file;
    match owner {
        Owner::Table(name) => toml.get(name)?.as_table_like(),
        Owner::Element(key) => toml
            .get(ELEMENT)?
            .as_table_like()?
            .get(key)?
            .as_table_like(),
        Owner::Document(..) => {
            let place = *places.get(owner)?;
            let found = toml.get(DOCUMENT)?.as_array_of_tables()?.get(place)?;
            Some(found)
        }
    }
}

fn table_mut<'f>(file: &'f mut File, owner: &Owner) -> Option<&'f mut dyn TableLike> {
    let File { toml, places } = file;
    match owner {
        Owner::Table(name) => toml.get_mut(name)?.as_table_like_mut(),
        Owner::Element(key) => {
            let elements = toml.get_mut(ELEMENT)?.as_table_like_mut()?;
            elements.get_mut(key)?.as_table_like_mut()
        }
        Owner::Document(..) => {
            let place = *places.get(owner)?;
            let documents = toml.get_mut(DOCUMENT)?.as_array_of_tables_mut()?;
            let found = documents.get_mut(place)?;
            Some(found)
        }
    }
}

/// The keys of an owner that fingerprints count; `None` if it is not there.
pub(super) fn keys(file: &File, owner: &Owner) -> Option<Vec<Key>> {
    let table = table(file, owner)?;
    let mut keys = Vec::new();
    // What the file as a whole is about, learning says too.
    let counts = |key: &str| is_counted(key) || matches!(owner, Owner::Table(_)) && key != RECORD;
    for (key, item) in table.iter().filter(|(key, _)| counts(key)) {
        match key {
            ATTRIBUTES if owner.is_element() => {
                let attributes = item
                    .as_table_like()
                    .into_iter()
                    .flat_map(|table| table.iter());
                keys.extend(attributes.map(|(name, _)| Key::Attribute(name.to_owned())));
            }
            key => keys.push(Key::Plain(key.to_owned())),
        }
    }
    Some(keys)
}

pub(super) fn get<'f>(file: &'f File, owner: &Owner, key: &Key) -> Option<&'f Item> {
    let table = table(file, owner)?;
    match key {
        Key::Plain(name) => table.get(name),
        Key::Attribute(name) => table.get(ATTRIBUTES)?.as_table_like()?.get(name),
    }
}

fn get_mut<'f>(file: &'f mut File, owner: &Owner, key: &Key) -> Option<&'f mut Item> {
    let table = table_mut(file, owner)?;
    match key {
        Key::Plain(name) => table.get_mut(name),
        Key::Attribute(name) => table
            .get_mut(ATTRIBUTES)?
            .as_table_like_mut()?
            .get_mut(name),
    }
}

/// Adds a key.
pub(super) fn set(file: &mut File, owner: &Owner, key: &Key, item: Item) {
    let Some(table) = table_mut(file, owner) else {
        return;
    };
    match key {
        Key::Plain(name) => {
            table.insert(name, item);
        }
        Key::Attribute(name) => {
            let attributes = table
                .entry(ATTRIBUTES)
                .or_insert_with(|| Item::Table(Table::new()));
            if let Some(attributes) = attributes.as_table_like_mut() {
                attributes.insert(name, item);
            }
        }
    }
}

pub(super) fn remove(file: &mut File, owner: &Owner, key: &Key) {
    let Some(table) = table_mut(file, owner) else {
        return;
    };
    match key {
        Key::Plain(name) => {
            table.remove(name);
        }
        Key::Attribute(name) => {
            let attributes = table.get_mut(ATTRIBUTES).and_then(Item::as_table_like_mut);
            if let Some(attributes) = attributes {
                attributes.remove(name);
            }
        }
    }
}

/// Puts a new value in the place of an old one, which keeps its explanation, and the comments around it.
pub(super) fn renew(file: &mut File, owner: &Owner, key: &Key, new: &Item) {
    let Some(old) = get_mut(file, owner, key) else {
        return;
    };
    let mut new = new.clone();
    if let (Some(old), Some(new)) = (old.as_table_like(), new.as_table_like_mut()) {
        for (key, kept) in old
            .iter()
            .filter(|(key, _)| !is_counted(key) && *key != RECORD)
        {
            new.insert(key, kept.clone());
        }
    }
    if let (Some(old), Some(new)) = (old.as_value(), new.as_value_mut()) {
        *new.decor_mut() = old.decor().clone();
    }
    *old = new;
}

/// Puts the new record of evidence in the place of the old one, if there is one still.
pub(super) fn renew_record(file: &mut File, owner: &Owner, key: &Key, new: &Item) {
    let record = new.as_table_like().and_then(|new| new.get(RECORD));
    let old = get_mut(file, owner, key).and_then(Item::as_table_like_mut);
    put_record(old, record);
}

/// The same for the owner itself.
pub(super) fn renew_own_record(file: &mut File, new: &File, owner: &Owner) {
    let record = table(new, owner).and_then(|new| new.get(RECORD));
    put_record(table_mut(file, owner), record);
}

fn put_record(old: Option<&mut dyn TableLike>, record: Option<&Item>) {
    if let (Some(old), Some(record)) = (old, record)
        && let Some(there) = old.get_mut(RECORD)
    {
        let mut record = record.clone();
        if let (Some(old), Some(new)) = (there.as_value(), record.as_value_mut()) {
            *new.decor_mut() = old.decor().clone();
        }
        *there = record;
    }
}

/// A table that comes after everything that is there: the places of another file mean nothing here.
fn unplaced(table: &Table) -> Table {
    let mut table = table.clone();
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => *inner = unplaced(inner),
            Item::ArrayOfTables(inner) => {
                inner.iter_mut().for_each(|table| *table = unplaced(table))
            }
            _ => {}
        }
    }
    table
}

/// Adds something that is not there yet.
pub(super) fn copy(file: &mut File, new: &File, owner: &Owner) {
    match owner {
        Owner::Table(name) => {
            if let Some(table) = new.toml.get(name).and_then(Item::as_table) {
                file.toml.insert(name, Item::Table(unplaced(table)));
            }
        }
        Owner::Element(key) => {
            let found = new.toml.get(ELEMENT).and_then(|elements| elements.get(key));
            let elements = file.toml.entry(ELEMENT).or_insert_with(|| {
                let mut table = Table::new();
                table.set_implicit(true);
                Item::Table(table)
            });
            if let (Some(found), Some(elements)) =
                (found.and_then(Item::as_table), elements.as_table_like_mut())
            {
                elements.insert(key, Item::Table(unplaced(found)));
            }
        }
        Owner::Document(..) => {
            let documents = new.toml.get(DOCUMENT).and_then(Item::as_array_of_tables);
            let found = documents.zip(new.places.get(owner));
            let found = found.and_then(|(documents, place)| documents.get(*place));
            if let Some(found) = found {
                file.push(owner, unplaced(found));
            }
        }
    }
}

/// Removes some of them.
pub(super) fn remove_owners(file: &mut File, owners: &[Owner]) {
    let mut documents: HashSet<usize> = HashSet::new();
    for owner in owners {
        match owner {
            Owner::Table(name) => _ = file.toml.remove(name),
            Owner::Element(key) => {
                let elements = file.toml.get_mut(ELEMENT).and_then(Item::as_table_like_mut);
                if let Some(elements) = elements {
                    elements.remove(key);
                }
            }
            Owner::Document(..) => documents.extend(file.places.get(owner)),
        }
    }
    if documents.is_empty() {
        return;
    }
    if let Some(tables) = file
        .toml
        .get_mut(DOCUMENT)
        .and_then(Item::as_array_of_tables_mut)
    {
        let mut places = 0..;
        tables.retain(|_| !places.next().is_some_and(|at| documents.contains(&at)));
    }
    file.places = places(&file.toml);
}

/// Gives an element another key; its place in the file stays.
pub(super) fn rename_element(file: &mut File, from: &str, to: &str) {
    if let Some(elements) = file.toml.get_mut(ELEMENT).and_then(Item::as_table_like_mut)
        && let Some(element) = elements.remove(from)
    {
        elements.insert(to, element);
    }
}

/// The names of elements that one of these documents has for its root, or one of these elements lists among its
/// children.
pub(super) fn listed(file: &File, owners: &[Owner]) -> Names {
    let owners = owners.iter();
    owners.flat_map(|owner| listed_by(file, owner)).collect()
}

/// Those of the names of [`listed`] that none of the owners declares for sure where they are listed.
pub(super) fn undeclared(file: &File, owners: &[Owner]) -> Names {
    let mut keys: HashMap<&str, HashSet<&str>> = HashMap::new();
    for owner in owners {
        if let Owner::Element(key) = owner {
            keys.entry(owner.element_name()).or_default().insert(key);
        }
    }
    let is_declared = |holder: &str, name: &str| {
        let place = format!("{holder}/{name}");
        let ends = place.match_indices('/').map(|(at, _)| &place[at + 1..]);
        let mut ends = std::iter::once(place.as_str()).chain(ends);
        // A key is a place, or the end of one.
        keys.get(name)
            .is_some_and(|keys| ends.any(|end| keys.contains(end)))
    };
    let mut undeclared = Names::new();
    for owner in owners {
        let holder = match owner {
            Owner::Element(key) => key,
            _ => "",
        };
        let names = listed_by(file, owner).into_iter();
        undeclared.extend(names.filter(|name| !is_declared(holder, name)));
    }
    undeclared
}

fn listed_by(file: &File, owner: &Owner) -> Vec<String> {
    match owner {
        Owner::Document(root, ..) => vec![root.clone()],
        Owner::Element(_) => {
            let children = table(file, owner).and_then(|table| table.get("children"));
            let children = strings(children).into_iter();
            let names = children.flat_map(|entry| {
                let rules = entry.split(['|', '(', ')']);
                let rules = rules.filter_map(|rule| rule.split(['?', '*', '+', '{']).next());
                rules.map(|name| name.trim().to_owned()).collect::<Vec<_>>()
            });
            names.collect()
        }
        Owner::Table(_) => Vec::new(),
    }
}
