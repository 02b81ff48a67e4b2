//! Names that all documents of a mod share: one file gives them, the others use them.

use dialect::{Dialect, NameScope};
use project::View;
use syntax::{TextRange, TextSize};

use crate::location::Location;
use crate::occurrences::{Form, Occurrence, Subject, occurrences, subject_at};
use crate::owners::named_element;

/// A name that all documents of a mod share.
#[derive(Debug)]
pub struct SharedName<'v> {
    dialect: &'v Dialect,
    subject: Subject,
    /// Where it was asked about.
    pub(crate) range: TextRange,
}

impl<'v> SharedName<'v> {
    /// The one that the place at an offset speaks of.
    pub fn at(view: &'v View, offset: TextSize) -> Option<Self> {
        let dialect = view.dialect()?;
        let (subject, range) = subject_at(view, offset)?;
        let Subject::Name { kind, .. } = &subject else {
            return None;
        };
        (dialect.name_scope(kind) == NameScope::Folder).then_some(Self {
            dialect,
            subject,
            range,
        })
    }

    /// Whether a document knows it. Dialects have their names to themselves.
    pub(crate) fn is_known_to(&self, other: &View) -> bool {
        let dialect = other.dialect();
        dialect.is_some_and(|dialect| dialect.name == self.dialect.name)
    }

    /// Where another document of the mod speaks of it. `with_definition`: also where it gives the name.
    pub fn references(&self, other: &View, with_definition: bool) -> Vec<TextRange> {
        let places = self.occurrences(other).into_iter();
        places
            .filter(|place| with_definition || place.form != Form::Given)
            .map(|place| place.range)
            .collect()
    }

    /// What has this name in another document of the mod.
    pub(crate) fn definitions(&self, other: &View) -> Vec<Location> {
        let (Some(meaning), Subject::Name { kind, name }, true) =
            (&other.meaning, &self.subject, self.is_known_to(other))
        else {
            return Vec::new();
        };
        let given = meaning.outline.definitions_called(name).into_iter();
        given
            .filter(|given| given.kind == *kind)
            .map(|given| Location {
                path: Some(other.document.path.clone()),
                range: named_element(other, &given),
                name: given.name.range,
            })
            .collect()
    }

    fn occurrences(&self, other: &View) -> Vec<Occurrence> {
        match self.is_known_to(other) {
            true => occurrences(other, &self.subject),
            false => Vec::new(),
        }
    }
}
