//! A schema is often several files: those that it includes or imports belong to it.

use std::collections::{HashSet, VecDeque};

use roxmltree::{Document, Node, ParsingOptions};

use super::{File, ImportError, XS};
use crate::note::Notes;

/// Files of one schema, at most.
const MOST_FILES: usize = 1_000;
/// Nodes of one file, at most.
const MOST_NODES: u32 = 4_000_000;
/// Levels of elements in a file, at most. What is nested is read level by level.
const DEEPEST: usize = 100;

/// The text of a file, and the namespace that it is read in.
#[derive(Debug)]
pub(super) struct Source {
    pub(super) file: File,
    /// The namespace of what it declares.
    namespace: Option<String>,
    /// It declares none itself and takes that of whoever includes it.
    adopted: bool,
}

/// A file of the schema, ready to be read.
#[derive(Debug)]
pub(super) struct Schema<'a> {
    pub(super) document: Document<'a>,
    /// The namespace of what it declares.
    pub(super) namespace: Option<&'a str>,
    /// Names without prefix that are in no namespace mean the adopted one.
    pub(super) adopted: bool,
}

/// The main file and all it leads to. `load` gets the name of a file and a location that it mentions.
pub(super) fn gather(
    main: File,
    load: &mut dyn FnMut(&str, &str) -> Result<File, String>,
    notes: &mut Notes,
) -> Result<Vec<Source>, ImportError> {
    let mut sources: Vec<Source> = Vec::new();
    let mut known: HashSet<(String, Option<String>)> = HashSet::new();
    // Each file with the namespace to adopt: that of who includes it.
    let mut waiting = VecDeque::from([(main, None)]);
    while let Some((file, adopt)) = waiting.pop_front() {
        let found = match look(&file) {
            Ok(found) => found,
            Err(problem) if sources.is_empty() => {
                return Err(ImportError::new(&file.name, problem));
            }
            Err(problem) => {
                notes.add_about(file.name, format!("a file was left out, since {problem}"));
                continue;
            }
        };
        let adopted = found.namespace.is_none() && adopt.is_some();
        let namespace = found.namespace.or(adopt);
        if !known.insert((file.name.clone(), namespace.clone())) {
            continue;
        }
        for mention in found.mentions {
            let Some(location) = mention.location else {
                continue;
            };
            if sources.len() + waiting.len() >= MOST_FILES {
                notes.add_about(location, "there are too many files; this one was left out");
                continue;
            }
            match load(&file.name, &location) {
                Ok(file) => {
                    let adopt = mention.includes.then(|| namespace.clone()).flatten();
                    waiting.push_back((file, adopt));
                }
                Err(reason) => {
                    notes.add_about(location, format!("a file was left out, since {reason}"));
                }
            }
        }
        sources.push(Source {
            file,
            namespace,
            adopted,
        });
    }
    Ok(sources)
}

struct Look {
    namespace: Option<String>,
    mentions: Vec<Mention>,
}

/// An `include`, `redefine` or `import`.
struct Mention {
    location: Option<String>,
    includes: bool,
}

/// Whether it is a schema, what it declares, and which files it mentions.
fn look(file: &File) -> Result<Look, String> {
    let document = parse(&file.text)?;
    let root = document.root_element();
    if !root.has_tag_name((XS, "schema")) {
        let name = root.tag_name().name();
        return Err(format!(
            "it is no XML Schema: it begins with <{name}>, not with <schema> in the namespace {XS}"
        ));
    }
    if let Some(problem) = misnamed(&document) {
        return Err(problem);
    }
    let is_mention = |node: &Node| {
        ["include", "redefine", "import"]
            .map(|name| (XS, name))
            .iter()
            .any(|name| node.has_tag_name(*name))
    };
    let mentions = root.children().filter(is_mention).map(|node| Mention {
        location: node
            .attribute("schemaLocation")
            .map(|text| text.trim().to_owned()),
        includes: !node.has_tag_name((XS, "import")),
    });
    Ok(Look {
        namespace: root.attribute("targetNamespace").map(str::to_owned),
        mentions: mentions.collect(),
    })
}

/// What is wrong with the first name of an element or attribute that no document could have.
fn misnamed(document: &Document<'_>) -> Option<String> {
    document.descendants().find_map(|node| {
        let sort = ["element", "attribute"]
            .into_iter()
            .find(|sort| node.has_tag_name((XS, *sort)))?;
        let name = node.attribute("name")?.trim();
        let line = document.text_pos_at(node.range().start).row;
        let is_name = dialect::is_name(name);
        (!is_name).then(|| format!("`{name}` in line {line} cannot be the name of an {sort}"))
    })
}

/// A document that is not nested too deeply.
fn parse(text: &str) -> Result<Document<'_>, String> {
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document = Document::parse_with_options(text, options)
        .map_err(|error| format!("it is not well-formed: {error}"))?;
    let mut depths = vec![(document.root_element(), 1)];
    while let Some((node, depth)) = depths.pop() {
        if depth > DEEPEST {
            return Err(format!(
                "its elements are nested in more than {DEEPEST} levels"
            ));
        }
        depths.extend(
            node.children()
                .filter(Node::is_element)
                .map(|child| (child, depth + 1)),
        );
    }
    Ok(document)
}

impl Source {
    pub(super) fn parse(&self) -> Option<Schema<'_>> {
        Some(Schema {
            // It could be parsed before.
            document: parse(&self.file.text).ok()?,
            namespace: self.namespace.as_deref(),
            adopted: self.adopted,
        })
    }
}
