//! Reads a dialect file: all of it, reporting everything that is wrong.
//!
//! The order follows what depends on what: habits of writing, then words, then elements and
//! their values, then documents, and last the roles, whose paths are walked over the
//! declarations. Names of kinds can only be checked when all else is known.

mod channels;
mod children;
mod elements;
mod expect;
mod header;
mod notation;
mod role_paths;
mod roles;
mod scene_format;
mod section;
mod site;
mod usual;
mod value_types;

pub use header::is_name;
use std::path::PathBuf;
use std::sync::Arc;

use toml::de::DeTable;

use crate::grammar::Grammar;
use crate::kinds::Kind;
use crate::model::Dialect;
use crate::nearest::nearest;
use crate::notation::Notation;
use crate::problem::{DialectProblem, Problems};
use crate::scope::NameScope;
use crate::units::Unit;
use crate::value_type::WordList;
use elements::ElementPlaces;
use section::{Placed, Section};
use usual::PlacedValue;
use value_types::{INDEX_PATH, NODE_NAME};

pub(crate) fn read(toml: &str, origin: Option<PathBuf>) -> Result<Dialect, Vec<DialectProblem>> {
    let mut problems = Problems::new(toml);
    let (table, errors) = DeTable::parse_recoverable(toml);
    for error in &errors {
        let place = error.span().unwrap_or(0..0);
        let message = match error.message() {
            "duplicate key" => {
                "this key or table stands here for the second time; join both".into()
            }
            other => format!("this is not TOML: {other}"),
        };
        problems.report(place, message);
    }
    if !errors.is_empty() {
        // What was recovered around a slip in the notation would only raise false alarms.
        return Err(problems.into_sorted());
    }
    let file = Section::new("the file", 0..0, table.get_ref());
    let reader = Reader {
        problems,
        notation: Notation::default(),
        own_units: Vec::new(),
        word_lists: Vec::new(),
        kinds_defined: Vec::new(),
        kinds_used: Vec::new(),
        scopes: Vec::new(),
        values: Vec::new(),
        element_places: Vec::new(),
        unreadable: Vec::new(),
    };
    reader.file(file, origin)
}

/// What is known so far.
struct Reader<'t> {
    problems: Problems<'t>,
    notation: Notation,
    own_units: Vec<Unit>,
    word_lists: Vec<Arc<WordList>>,
    /// Kinds that some `name` value defines.
    kinds_defined: Vec<Kind>,
    /// Kinds whose scope is said.
    scopes: Vec<(Kind, NameScope)>,
    /// Kinds that something refers to, to be checked in the end.
    kinds_used: Vec<Placed<Kind>>,
    /// Values in the dialect's notation, to be checked in the end.
    values: Vec<PlacedValue>,
    /// By element declaration.
    element_places: Vec<ElementPlaces>,
    /// Attributes and texts whose type could not be read: element and name.
    unreadable: Vec<(usize, String)>,
}

impl Reader<'_> {
    fn file(
        mut self,
        mut file: Section<'_>,
        origin: Option<PathBuf>,
    ) -> Result<Dialect, Vec<DialectProblem>> {
        // Fingerprints, which learning again goes by.
        file.allow(&["learnt"]);
        let header = self.header(&mut file);
        self.own_units(&mut file);
        self.notation(&mut file);
        let inputs = self.inputs(&mut file);
        self.word_lists(&mut file);
        let elements = self.elements(&mut file);
        let documents = self.documents(&mut file);
        let scene_format = self.scene_format(&mut file);
        let mut grammar = Grammar::new(elements);
        self.check_children(&grammar, &documents);
        let roles = self.roles(&mut file, &mut grammar, &documents);
        file.finish(&mut self.problems);
        self.check_kinds(&roles);
        let mut dialect = Dialect {
            name: header.name,
            title: header.title,
            doc: header.doc,
            origin,
            documents: documents
                .into_iter()
                .map(|kind| kind.value.into())
                .collect(),
            notation: std::mem::take(&mut self.notation),
            inputs,
            word_lists: std::mem::take(&mut self.word_lists),
            scopes: std::mem::take(&mut self.scopes),
            roles,
            scene_format,
            grammar,
        };
        self.fill_aliases(&mut dialect);
        self.check_values(&dialect);
        match self.problems.is_empty() {
            true => Ok(dialect),
            false => Err(self.problems.into_sorted()),
        }
    }

    /// Every kind that is referred to must be defined somewhere.
    fn check_kinds(&mut self, roles: &crate::roles::Roles) {
        let mut known = self.kinds_defined.clone();
        // A role without names still counts its things.
        known.extend(roles.wheels.iter().map(|role| role.kind));
        known.extend(roles.sounds.iter().map(|role| role.kind));
        known.extend(roles.animations.iter().map(|role| role.kind));
        for used in std::mem::take(&mut self.kinds_used) {
            if known.contains(&used.value) {
                continue;
            }
            let names = known
                .iter()
                .map(Kind::as_str)
                .chain([INDEX_PATH, NODE_NAME]);
            let meant = match self.problems.are_many() {
                true => None,
                false => nearest(used.value.as_str(), names),
            };
            let advice = match meant {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!(
                    "some attribute or text must have `type = \"name\", of = \"{}\"`",
                    used.value
                ),
            };
            let message = format!(
                "nothing gives a name to the kind `{}`; {advice}",
                used.value
            );
            self.problems.report(used.place, message);
        }
    }
}
