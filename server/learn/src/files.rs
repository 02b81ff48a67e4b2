//! Which values are names of files: those that lead to files of the library.

use crate::names::SlotRef;
use crate::surroundings::{self, Surroundings, extension};
use crate::survey::{Slot, Survey};
use dialect::{FileNotation, FilesFrom, ItemType, ValueType};
use foldhash::{HashMap, HashMapExt as _};
use std::collections::{BTreeMap, HashSet};

/// So many values of a slot are looked up.
const LOOKED_UP: usize = 300;

/// So many folders upwards names may start.
const HIGHEST: usize = 5;

/// A file slot with more sorts of files takes any.
const MOST_EXTENSIONS: usize = 6;

/// Longer values are no names of files.
const LONGEST: usize = 250;

/// What was found out about names of files.
#[derive(Debug, Default)]
pub(crate) struct Files {
    pub(crate) types: HashMap<SlotRef, ValueType>,
    pub(crate) notation: FileNotation,
    /// The group of the manifests.
    pub(crate) manifest: Option<usize>,
    /// By document: the files that it names.
    pub(crate) named: HashMap<u32, Vec<String>>,
}

/// What a slot's values lead to.
struct Leads {
    slot: SlotRef,
    looked_up: usize,
    /// How many lead to a file, by the number of folders upwards.
    found: [usize; HIGHEST],
    extensions: BTreeMap<String, usize>,
    /// How many begin with what stands for the game.
    in_game: usize,
    backslashes: usize,
    slashes: usize,
}

pub(crate) fn of(survey: &Survey<'_>, around: &Surroundings) -> Files {
    let documents = survey.corpus.documents.iter();
    let paths: Vec<String> = documents
        .map(|document| surroundings::path(&document.source))
        .collect();
    let documents: HashSet<&str> = paths.iter().map(String::as_str).collect();
    let prefix = game_prefix(survey, around);
    let mut files = Files::default();
    let mut leads: Vec<Leads> = Vec::new();
    let mut listed: HashMap<usize, usize> = HashMap::new();
    for (group, known) in survey.groups.iter().enumerate() {
        for at in 0..known.slots.len() {
            let slot = SlotRef { group, slot: at };
            let mut lead = Leads::new(slot);
            for (document, value) in sample(survey, slot) {
                let Some(name) = plain(value) else {
                    lead.looked_up += 1;
                    continue;
                };
                lead.note(value, prefix.as_deref());
                let own = &paths[document as usize];
                if let Some((level, path)) = look_up(around, own, &name) {
                    lead.found[level] += 1;
                    if path != *own && documents.contains(path.as_str()) {
                        *listed.entry(group).or_default() += 1;
                    }
                    files.named.entry(document).or_default().push(path);
                }
            }
            leads.push(lead);
        }
    }
    let (here, above) =
        leads
            .iter()
            .filter(|lead| lead.leads_somewhere())
            .fold((0, 0), |sum, lead| {
                let above: usize = lead.found[1..].iter().sum();
                (sum.0 + lead.found[0], sum.1 + above)
            });
    files.manifest = manifest(survey, &paths, &listed);
    files.notation.game_prefix = prefix;
    if above > here && files.manifest.is_some() {
        files.notation.from = FilesFrom::Mod;
    }
    let (mut backslashes, mut slashes) = (0, 0);
    for lead in leads {
        if lead.is_file(around, files.notation.from) {
            backslashes += lead.backslashes;
            slashes += lead.slashes;
            files.types.insert(lead.slot, lead.value_type());
        }
    }
    files.notation.folder_separators = match (slashes, backslashes) {
        (_, 0) => vec!['/'],
        (0, _) => vec!['\\'],
        (slashes, backslashes) if slashes >= backslashes => vec!['/', '\\'],
        _ => vec!['\\', '/'],
    };
    files
}

/// Some of a slot's values, evenly spread, each with its document.
fn sample<'s>(survey: &'s Survey<'_>, slot: SlotRef) -> impl Iterator<Item = (u32, &'s str)> {
    let group = &survey.groups[slot.group];
    let slot: &Slot = slot.of(survey);
    let step = slot.seen.len().div_ceil(LOOKED_UP).max(1);
    let trusted = slot
        .seen
        .iter()
        .step_by(step)
        .filter(|seen| group.trusts(seen.document));
    trusted.map(|seen| {
        let document = group.documents[seen.document as usize];
        (document, survey.corpus.text(seen.value))
    })
}

/// A value as a path with slashes, if it may be one.
fn plain(value: &str) -> Option<String> {
    let may_be = value.len() <= LONGEST
        && extension(value).is_some()
        && !value.contains(|c: char| c.is_control() || "<>|?*\"".contains(c));
    may_be.then(|| value.replace('\\', "/"))
}

/// The file that a document at `own` calls so, and how many folders upwards it is found.
fn look_up(around: &Surroundings, own: &str, name: &str) -> Option<(usize, String)> {
    let mut folder = surroundings::split(own).0;
    for level in 0..HIGHEST {
        if let Some(found) = around.find(folder, name) {
            return Some((level, found.path.to_owned()));
        }
        if folder.is_empty() {
            return None;
        }
        folder = surroundings::split(folder).0;
    }
    None
}

impl Leads {
    fn new(slot: SlotRef) -> Self {
        Self {
            slot,
            looked_up: 0,
            found: [0; HIGHEST],
            extensions: BTreeMap::new(),
            in_game: 0,
            backslashes: 0,
            slashes: 0,
        }
    }

    fn note(&mut self, value: &str, prefix: Option<&str>) {
        self.looked_up += 1;
        self.backslashes += usize::from(value.contains('\\'));
        self.slashes += usize::from(value.contains('/'));
        self.in_game += usize::from(prefix.is_some_and(|prefix| value.starts_with(prefix)));
        if let Some(extension) = extension(value) {
            *self.extensions.entry(extension).or_default() += 1;
        }
    }

    fn leads_somewhere(&self) -> bool {
        let found: usize = self.found.iter().sum();
        found > 0 && (found + self.in_game) * 2 >= self.looked_up
    }

    /// Names of files lead to files; where none is there, their ends must be those of files.
    fn is_file(&self, around: &Surroundings, from: FilesFrom) -> bool {
        let found: usize = match from {
            FilesFrom::Document => self.found[0],
            FilesFrom::Mod => self.found.iter().sum(),
        };
        if found > 0 && (found + self.in_game) * 2 >= self.looked_up {
            return true;
        }
        let ended: usize = self.extensions.values().sum();
        let known = self.extensions.keys().all(|end| around.has_extension(end));
        let is_path = (self.slashes + self.backslashes) * 2 > self.looked_up;
        let is_sort = self.extensions.len() <= MOST_EXTENSIONS && ended * 20 >= self.looked_up * 19;
        is_sort && ended > 1 && (known || is_path || self.in_game * 2 > self.looked_up)
    }

    fn value_type(&self) -> ValueType {
        let ended: usize = self.extensions.values().sum();
        let few = self.extensions.len() <= MOST_EXTENSIONS && ended * 20 >= self.looked_up * 19;
        let extensions = self.extensions.keys().filter(|_| few).cloned();
        ValueType::single(ItemType::File {
            extensions: extensions.collect(),
        })
    }
}

/// What files of the game itself begin with: a word and a mark in front of many paths that lead nowhere.
fn game_prefix(survey: &Survey<'_>, around: &Surroundings) -> Option<String> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for (group, known) in survey.groups.iter().enumerate() {
        for slot in 0..known.slots.len() {
            let values = sample(survey, SlotRef { group, slot });
            let prefixes = values.filter_map(|(_, value)| prefix(value, around));
            prefixes.for_each(|prefix| *seen.entry(prefix).or_default() += 1);
        }
    }
    let most = seen.into_iter().max_by_key(|(_, count)| *count);
    most.filter(|(_, count)| *count > 2)
        .map(|(prefix, _)| prefix.to_owned())
}

/// `$quay/` of `$quay/sounds/pump.ogg`, `yard:` of `yard:pump.ogg`.
fn prefix<'v>(value: &'v str, around: &Surroundings) -> Option<&'v str> {
    let end = value.find([':', '/', '\\'])?;
    let word = &value[..end];
    let is_marked = word.starts_with(|c: char| c.is_ascii_punctuation() && c != '.');
    let is_scheme = value[end..].starts_with(':') && word.len() > 1;
    let rest = value[end..].trim_start_matches([':', '/', '\\']);
    // What begins with the name of a host is on the net.
    let is_address = value[end..].starts_with("://")
        && rest
            .split('/')
            .next()
            .is_some_and(|host| host.contains('.'));
    let named = word.trim_start_matches(|c: char| c.is_ascii_punctuation());
    let fits = (is_marked || is_scheme)
        && !is_address
        && named
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
        && extension(rest)
            .is_some_and(|end| around.has_extension(&end) || rest.contains(['/', '\\']));
    fits.then(|| &value[..value.len() - rest.len()])
}

/// The group of manifests: one in a folder, always under one name, and it lists other documents. `listed`: how
/// many other documents the documents of a group name.
fn manifest(
    survey: &Survey<'_>,
    paths: &[String],
    listed: &HashMap<usize, usize>,
) -> Option<usize> {
    let is_one = |group: &usize| {
        let documents = &survey.groups[*group].documents;
        let mut places = documents
            .iter()
            .map(|document| surroundings::split(&paths[*document as usize]));
        let Some((_, name)) = places.clone().next() else {
            return false;
        };
        let mut folders = HashSet::new();
        places.all(|(folder, other)| other.eq_ignore_ascii_case(name) && folders.insert(folder))
            // One that lies above others, not beside all of them.
            && survey.groups.len() > 1
    };
    let groups = listed
        .iter()
        .filter(|(group, count)| **count > 0 && is_one(group));
    groups
        .max_by_key(|(group, count)| (**count, std::cmp::Reverse(**group)))
        .map(|(group, _)| *group)
}
