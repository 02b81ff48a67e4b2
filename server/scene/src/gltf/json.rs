//! The parts of a glTF document that concern its node tree, and where in the file they are.

use std::borrow::Cow;
use std::fmt;

use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, Error, IgnoredAny, SeqAccess, Visitor,
};
use serde_json::value::RawValue;

use super::nodes::NodeEntry;
use super::quick::{self, Parts};
use crate::error::too_many_nodes;
use crate::{MOST_NODES_EVER, SceneError};

/// How many meshes or accessors a file may have.
const MOST_ENTRIES: usize = MOST_NODES_EVER;

/// A stretch of JSON and the byte of the file where it begins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece<'a> {
    pub(super) text: &'a str,
    pub(super) start: usize,
}

impl<'a> Piece<'a> {
    /// The place in the file of a value that was borrowed from this piece.
    fn inside(self, raw: &'a RawValue) -> Self {
        let text = raw.get();
        let distance = text
            .as_ptr()
            .addr()
            .saturating_sub(self.text.as_ptr().addr());
        Self {
            text,
            start: self.start + distance,
        }
    }

    /// One past its last byte.
    pub(super) fn end(self) -> usize {
        self.start + self.text.len()
    }

    /// Reads the piece as an object. `what` names it in messages.
    pub(super) fn object<T: Deserialize<'a>>(
        self,
        what: impl fmt::Display,
    ) -> Result<T, SceneError> {
        // serde would also take a list for a struct.
        if self.text.trim_ascii_start().starts_with('[') {
            return Err(SceneError::at(
                self.start,
                format!(
                    "{what} should be a JSON object, but it is a list. Export the scene again."
                ),
            ));
        }
        self.read(what)
    }

    fn read<T: Deserialize<'a>>(self, what: impl fmt::Display) -> Result<T, SceneError> {
        serde_json::from_str(self.text).map_err(|error| self.explain(&error, what))
    }

    fn explain(self, error: &serde_json::Error, what: impl fmt::Display) -> SceneError {
        let said = error
            .to_string()
            .replace("EOF while parsing", "the file ends inside");
        let reason = match said.rfind(" at line ") {
            Some(end) => &said[..end],
            None => &said,
        };
        let message = if error.is_data() {
            format!("{what} cannot be read: {reason}. Export the scene again.")
        } else {
            format!("The JSON is broken: {reason}. Mend it here, or export the scene again.")
        };
        SceneError::at(
            self.start + self.offset(error.line(), error.column()),
            message,
        )
    }

    /// serde_json counts lines from one; the column is the number of bytes of the line already taken.
    fn offset(self, line: usize, column: usize) -> usize {
        let before: usize = self
            .text
            .split_inclusive('\n')
            .take(line.saturating_sub(1))
            .map(str::len)
            .sum();
        let mut offset = (before + column).saturating_sub(1).min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

/// A glTF document; but for its nodes, the entries of its lists are not yet read.
#[derive(Debug)]
pub(super) struct Document<'a> {
    whole: Piece<'a>,
    scene: Option<u32>,
    scenes: Entries<'a>,
    pub(super) nodes: Vec<NodeEntry<'a>>,
    meshes: Entries<'a>,
    accessors: Entries<'a>,
}

#[derive(serde::Deserialize, Debug)]
#[serde(expecting = "an object")]
struct TopLevel<'a> {
    #[serde(borrow)]
    asset: Option<&'a RawValue>,
    scene: Option<Number>,
    #[serde(borrow)]
    scenes: Option<&'a RawValue>,
    #[serde(borrow)]
    nodes: Option<&'a RawValue>,
    #[serde(borrow)]
    meshes: Option<&'a RawValue>,
    #[serde(borrow)]
    accessors: Option<&'a RawValue>,
}

#[derive(serde::Deserialize)]
#[serde(expecting = "an object")]
struct Asset<'a> {
    #[serde(borrow)]
    version: Option<Cow<'a, str>>,
    #[serde(borrow, rename = "minVersion")]
    least: Option<Cow<'a, str>>,
}

#[derive(serde::Deserialize)]
#[serde(expecting = "an object")]
struct SceneEntry {
    nodes: Option<Vec<Number>>,
}

/// One of a document's lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum List {
    Scenes,
    Nodes,
    Meshes,
    Accessors,
}

impl List {
    /// One entry and the list.
    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Scenes => ("scene", "scenes"),
            Self::Nodes => ("node", "nodes"),
            Self::Meshes => ("mesh", "meshes"),
            Self::Accessors => ("accessor", "accessors"),
        }
    }
}

impl<'a> Document<'a> {
    pub(super) fn read(whole: Piece<'a>, most: usize) -> Result<Self, SceneError> {
        match quick::read(whole, most) {
            Some(parts) => Self::of(whole, parts),
            None => Self::read_carefully(whole, most),
        }
    }

    /// Reads what may be wrong, and says so.
    pub(super) fn read_carefully(whole: Piece<'a>, most: usize) -> Result<Self, SceneError> {
        let top: TopLevel<'a> = whole.object("The glTF document")?;
        let inside = |raw: Option<&'a RawValue>| raw.map(|raw| whole.inside(raw));
        let mut document = Self::of(
            whole,
            Parts {
                asset: inside(top.asset),
                scene: top.scene.map(|number| number.0),
                scenes: inside(top.scenes),
                nodes: None,
                meshes: inside(top.meshes),
                accessors: inside(top.accessors),
            },
        )?;
        let listed = inside(top.nodes);
        let nodes = entries_up_to(most, listed, List::Nodes)?;
        if nodes.0.len() > most {
            let start = listed.map_or(whole.start, |list| list.start);
            return Err(SceneError::at(start, too_many_nodes(most)));
        }
        for (index, raw) in nodes.0.into_iter().enumerate() {
            let piece = whole.inside(raw);
            let written = piece.object(format_args!("Node {index}"))?;
            document.nodes.push(NodeEntry { piece, written });
        }
        Ok(document)
    }

    pub(super) fn of(whole: Piece<'a>, parts: Parts<'a>) -> Result<Self, SceneError> {
        // First of all: the lists of glTF 1.0 are no lists.
        check_version(parts.asset)?;
        Ok(Self {
            whole,
            scene: parts.scene,
            scenes: entries(parts.scenes, List::Scenes)?,
            nodes: parts.nodes.unwrap_or_default(),
            meshes: entries(parts.meshes, List::Meshes)?,
            accessors: entries(parts.accessors, List::Accessors)?,
        })
    }

    /// How many entries a list has.
    pub(super) fn count(&self, list: List) -> usize {
        match list {
            List::Nodes => self.nodes.len(),
            List::Scenes => self.scenes.0.len(),
            List::Meshes => self.meshes.0.len(),
            List::Accessors => self.accessors.0.len(),
        }
    }

    /// An entry of a list.
    pub(super) fn entry(&self, list: List, index: usize) -> Option<Piece<'a>> {
        let entries = match list {
            List::Nodes => return self.nodes.get(index).map(|node| node.piece),
            List::Scenes => &self.scenes,
            List::Meshes => &self.meshes,
            List::Accessors => &self.accessors,
        };
        Some(self.whole.inside(entries.0.get(index)?))
    }

    /// The root nodes of the default scene, or of the first scene, and where they are listed.
    /// `None` if the file has no scene at all.
    pub(super) fn scene_roots(&self) -> Result<Option<(Vec<u32>, Piece<'a>)>, SceneError> {
        let chosen = self.scene;
        let index = chosen.unwrap_or_default();
        match (self.entry(List::Scenes, index as usize), chosen) {
            (Some(piece), _) => {
                let entry: SceneEntry = piece.object(format_args!("Scene {index}"))?;
                let roots = entry.nodes.unwrap_or_default();
                Ok(Some((
                    roots.into_iter().map(|number| number.0).collect(),
                    piece,
                )))
            }
            (None, None) => Ok(None),
            (None, Some(_)) => Err(SceneError::new(format!(
                "The default scene is scene {index}, but the file has {}. Export the scene again.",
                counted(self.count(List::Scenes), List::Scenes)
            ))),
        }
    }
}

fn entries(list: Option<Piece<'_>>, of: List) -> Result<Entries<'_>, SceneError> {
    let entries = entries_up_to(MOST_ENTRIES, list, of)?;
    match (list, entries.0.get(MOST_ENTRIES)) {
        (Some(list), Some(_)) => {
            let (_, many) = of.words();
            let message = format!(
                "There are more than {MOST_ENTRIES} {many} here. Export the scene in smaller parts."
            );
            Err(SceneError::at(list.start, message))
        }
        _ => Ok(entries),
    }
}

/// The entries of a list, but not more than `most` and one.
fn entries_up_to(
    most: usize,
    list: Option<Piece<'_>>,
    of: List,
) -> Result<Entries<'_>, SceneError> {
    let Some(list) = list else {
        return Ok(Entries::default());
    };
    let (_, many) = of.words();
    let mut json = serde_json::Deserializer::from_str(list.text);
    let entries = UpTo(most.saturating_add(1)).deserialize(&mut json);
    let entries = entries.and_then(|entries| json.end().map(|()| entries));
    entries.map_err(|error| list.explain(&error, format_args!("“{many}”")))
}

/// Whether a reader of glTF 2.0 can read the file: any 2.x, unless it asks for more (section 3.2).
fn check_version(asset: Option<Piece<'_>>) -> Result<(), SceneError> {
    let Some(asset) = asset else {
        return Err(SceneError::new(
            "This JSON file does not say that it is glTF: “asset” is missing. Export the scene as glTF 2.0.",
        ));
    };
    let read: Asset<'_> = asset.object("“asset”")?;
    let Some(version) = read.version else {
        return Err(SceneError::at(
            asset.start,
            "“asset” does not say which version of glTF this is. Export the scene as glTF 2.0.",
        ));
    };
    let asked = read
        .least
        .unwrap_or_else(|| match version.starts_with("2.") {
            true => Cow::Borrowed("2.0"),
            false => version,
        });
    if asked == "2.0" {
        return Ok(());
    }
    Err(SceneError::at(
        asset.start,
        format!(
            "This file is glTF {asked}; only glTF 2.0 can be read. Export the scene as glTF 2.0."
        ),
    ))
}

/// “no nodes”, “1 node (number 0)”, “3 nodes (numbers 0 to 2)”.
pub(super) fn counted(count: usize, list: List) -> String {
    let (one, many) = list.words();
    match count {
        0 => format!("no {many}"),
        1 => format!("1 {one} (number 0)"),
        _ => format!("{count} {many} (numbers 0 to {})", count - 1),
    }
}

/// A whole number, not negative. `2.0` is one too: readers should take it (glTF 2.0, section 2.7).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Number(pub(super) u32);

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let number = f64::deserialize(deserializer)?;
        if number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number) {
            Ok(Self(number as u32))
        } else {
            Err(D::Error::custom(format_args!(
                "{number} is not a whole number from 0 up"
            )))
        }
    }
}

/// The entries of a list, not yet read.
#[derive(Debug, Default)]
struct Entries<'a>(Vec<&'a RawValue>);

/// Reads a list; keeps so many of its entries.
struct UpTo(usize);

impl<'a> DeserializeSeed<'a> for UpTo {
    type Value = Entries<'a>;

    fn deserialize<D: Deserializer<'a>>(self, json: D) -> Result<Entries<'a>, D::Error> {
        json.deserialize_seq(self)
    }
}

impl<'a> Visitor<'a> for UpTo {
    type Value = Entries<'a>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list")
    }

    fn visit_seq<A: SeqAccess<'a>>(self, mut list: A) -> Result<Entries<'a>, A::Error> {
        let mut entries = Vec::new();
        while entries.len() < self.0
            && let Some(entry) = list.next_element()?
        {
            entries.push(entry);
        }
        while list.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Entries(entries))
    }
}
