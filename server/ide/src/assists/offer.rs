//! What an assist offers and what it makes.

use crate::{Finding, Trust};
use syntax::{TextEdit, TextRange};

/// A change that a person can choose. It is worked out by
/// [`make`](super::make).
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    pub key: OfferKey,
    pub title: String,
    pub trust: Trust,
    pub kind: OfferKind,
    /// The code of the finding that it repairs.
    pub code: Option<&'static str>,
    /// The range of that finding.
    pub finding: Option<TextRange>,
    /// Of several offers of a kind the one that most people want.
    pub is_preferred: bool,
    /// Worked out already, where that costs nothing.
    pub ready: Option<Change>,
    /// Why it cannot be done here, for those who looked for it.
    pub disabled: Option<String>,
}

/// Which offer was chosen: enough to find it again in the same version of the
/// document.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct OfferKey {
    /// Which assist.
    pub id: String,
    /// Where it was asked for.
    pub selection: TextRange,
    /// Which of the assist's offers there.
    pub choice: String,
}

/// What sort of change an offer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OfferKind {
    /// Repairs a finding.
    Quick,
    /// Makes something of its own out of a part.
    Extract,
    /// Puts something in the place of its name.
    Inline,
    /// Makes something else of what is there.
    Rewrite,
}

/// A change, worked out: one step to undo.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    pub edits: Vec<TextEdit>,
    /// Where something is left to fill in or to look at, in the text after
    /// the edits.
    pub places: Vec<TextRange>,
}

impl Offer {
    pub(crate) fn new(
        id: &str,
        selection: TextRange,
        choice: impl Into<String>,
        title: impl Into<String>,
    ) -> Self {
        Self {
            key: OfferKey {
                id: id.to_owned(),
                selection,
                choice: choice.into(),
            },
            title: title.into(),
            trust: Trust::Review,
            kind: OfferKind::Rewrite,
            code: None,
            finding: None,
            is_preferred: false,
            ready: None,
            disabled: None,
        }
    }

    /// As a repair of a finding.
    pub(crate) fn repairing(self, finding: &Finding) -> Self {
        Self {
            kind: OfferKind::Quick,
            code: Some(finding.code),
            finding: Some(finding.range),
            ..self
        }
    }
}

impl Change {
    /// For who writes in what is missing: a draft if something is left to fill in.
    pub(crate) fn trust(&self) -> Trust {
        match self.places.is_empty() {
            true => Trust::Review,
            false => Trust::Draft,
        }
    }
}

impl From<Vec<TextEdit>> for Change {
    fn from(edits: Vec<TextEdit>) -> Self {
        Self {
            edits,
            places: Vec::new(),
        }
    }
}
