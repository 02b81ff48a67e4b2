//! Questions about a document and their answers as protocol types: one file per kind of question.

pub(super) mod capabilities;
mod closing;
mod colours;
mod completion;
mod definition;
mod folding;
mod hover;
mod inlay;
mod lens;
mod linked_editing;
mod links;
mod references;
mod rename;
mod selection;
mod signature;
mod symbols;
pub(super) mod tokens;

use std::sync::Arc;

use ide::SharedName;
use project::{Below, View};
use syntax::TextSize;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{MarkupContent, Position};

use super::client::ClientSupport;
use super::convert::{self, Places};
use super::documents::Open;
use super::log::Log;

pub(super) use closing::closing;
pub(super) use colours::{colour_presentation, colours};
pub(super) use completion::{about, completion, document_of};
pub(super) use definition::{definition, implementation};
pub(super) use folding::folding;
pub(super) use hover::hover;
pub(super) use inlay::inlay;
pub(super) use lens::lens;
pub(super) use linked_editing::linked_editing;
pub(super) use links::links;
pub(super) use references::{highlight, references};
pub(super) use rename::{prepare_rename, rename};
pub(super) use selection::selection;
pub(super) use signature::help as signature_help;
pub(super) use symbols::{outline, workspace_symbols};

/// A document that a client asks about, with all that it takes to answer.
#[derive(Clone, Debug)]
pub(super) struct Question {
    pub(super) open: Open,
    pub(super) view: Arc<View>,
    pub(super) client: ClientSupport,
    /// For what an answer cannot say.
    log: Log,
}

impl Question {
    /// May read the disk: on a thread that may wait.
    pub(super) fn new(open: Open, client: ClientSupport, log: Log) -> Result<Self> {
        let view = open.view()?;
        Ok(Self {
            open,
            view,
            client,
            log,
        })
    }

    pub(super) fn places(&self) -> Places<'_> {
        self.open.places(self.client.encoding)
    }

    fn few_places(&self) -> Places<'_> {
        self.open.few_places(self.client.encoding)
    }

    /// The other documents of the mod, open or not, if they share the name at an offset. Reads the disk.
    fn sharing(&self, offset: TextSize) -> Below {
        let path = &self.view.document.path;
        if !path.is_absolute() || SharedName::at(&self.view, offset).is_none() {
            return Below::default();
        }
        let snapshot = self.open.snapshot();
        let mut below = snapshot.views_around(std::slice::from_ref(path));
        below.views.retain(|view| view.document.path != *path);
        below
    }

    fn offset(&self, position: Position) -> Result<TextSize> {
        let offset = self.few_places().offset(position);
        offset.map_err(|error| Error::invalid_params(error.to_string()))
    }
}

/// Text for people, as the client can show it.
fn prose(prose: &ide::Prose, markdown: bool) -> MarkupContent {
    let text = if markdown {
        prose.markdown()
    } else {
        prose.plain()
    };
    convert::markup(text, markdown)
}
