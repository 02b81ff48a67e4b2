//! A dialect to XML Schema 1.0 and RELAX NG.
//!
//! Both describe the documents of one namespace, so a dialect becomes as many schemas as its documents have namespaces.

mod grammar;
mod hints;
mod identity;
mod models;
mod orders;
mod rng;
mod values;
mod xml;
mod xsd;

use std::sync::Arc;

use dialect::{AttributeDecl, Dialect, DocumentKind};

use crate::note::{Note, Notes};
use grammar::{ElementType, Grammar};
use values::Data;

/// A schema language to write.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Language {
    /// XML Schema 1.0.
    Xsd,
    /// RELAX NG, in XML.
    Rng,
}

/// One schema of a dialect.
#[derive(Clone, Debug)]
pub struct Exported {
    /// The kinds of documents that it describes.
    pub documents: Vec<String>,
    /// The schema.
    pub text: String,
    /// What it says less strictly than the dialect, or not at all.
    pub notes: Vec<Note>,
}

/// Writes the grammar of a dialect as schemas, one for each namespace of its documents.
pub fn export(dialect: &Dialect, language: Language) -> Vec<Exported> {
    let grammars = grammar::grammars(dialect, &[]);
    let written = grammars.iter().map(|grammar| {
        let mut notes = Notes::default();
        whole(dialect, grammar, &mut notes);
        let text = match language {
            Language::Xsd => xsd::write(dialect, grammar, &mut notes),
            Language::Rng => rng::write(dialect, grammar, &mut notes),
        };
        let documents = grammar.roots.iter().map(|root| root.kind.name.clone());
        Exported {
            documents: documents.collect(),
            text,
            notes: notes.into_vec(),
        }
    });
    written.collect()
}

/// What no schema says, whichever the language.
fn whole(dialect: &Dialect, grammar: &Grammar<'_>, notes: &mut Notes) {
    for root in &grammar.roots {
        if root.kind.namespace.is_none() {
            notes.add_about(
                root.kind.name.as_str(),
                "a document of any namespace is described as one without namespace",
            );
        }
        if !root.kind.files.is_empty() {
            notes.add_about(root.kind.name.as_str(), "the names of files are not kept");
        }
    }
    let of_several = |kind: &&DocumentKind| !kind.inner_namespaces.is_empty();
    for kind in dialect.documents.iter().map(Arc::as_ref).filter(of_several) {
        notes.add_about(
            kind.name.as_str(),
            "a document with elements of several namespaces is not described",
        );
    }
    let roles = &dialect.roles;
    let has_roles = !(roles.aliases.is_empty()
        && roles.wheels.is_empty()
        && roles.animations.is_empty()
        && roles.controls.is_empty()
        && roles.sounds.is_empty());
    if has_roles {
        notes.add("roles, units and what is usual are not kept");
    }
    for one in &grammar.types {
        let values = one.declared.attributes.iter().chain(&one.declared.text);
        let loose = values
            .filter(|value| !value.strict)
            .map(|value| place(one, &value.name));
        let loose: Vec<String> = loose
            .chain((!one.declared.strict).then(|| one.name.clone()))
            .collect();
        for about in loose {
            notes.add_about(
                about,
                "what is only a hint in the dialect is binding in the schema, as far as all examples showed it",
            );
        }
    }
}

/// What the dialect says of itself, for the head of a schema.
fn heading(dialect: &Dialect) -> String {
    let about = [&dialect.title, &dialect.doc].map(|text| text.trim());
    let about = about.into_iter().filter(|text| !text.is_empty());
    about.collect::<Vec<_>>().join(". ")
}

/// The simple type of an attribute or text. `filled`: of a text, whether there must be some. What it does not say is noted.
fn simple_type(
    dialect: &Dialect,
    one: &ElementType<'_>,
    value: &AttributeDecl,
    filled: Option<bool>,
    notes: &mut Notes,
) -> Data {
    let besides = hints::besides(&one.declared, value);
    let data = values::data(dialect, &value.value, besides, filled);
    for lost in &data.lost {
        notes.add_about(place(one, &value.name), *lost);
    }
    data
}

/// How notes call an attribute or text.
fn place(one: &ElementType<'_>, value: &str) -> String {
    match value {
        "text()" => one.name.clone(),
        name => format!("{}/@{name}", one.name),
    }
}
