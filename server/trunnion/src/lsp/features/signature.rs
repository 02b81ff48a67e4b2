//! The attributes of a tag, in the form that LSP has for the parameters of a function.

use ide::signature::signature;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::{
    Documentation, ParameterInformation, ParameterLabel, Position, SignatureHelp,
    SignatureInformation,
};

use super::{Question, prose};

pub(crate) fn help(question: &Question, at: Position) -> Result<Option<SignatureHelp>> {
    let support = &question.client.signature;
    let found = signature(&question.view, question.offset(at)?);
    Ok(found.map(|found| {
        let doc = |text: &ide::Prose| {
            (!text.is_empty()).then(|| Documentation::MarkupContent(prose(text, support.markdown)))
        };
        let label = |range: &std::ops::Range<usize>| {
            // LSP 3.17, "ParameterInformation": offsets count UTF-16 code units, whatever the encoding of positions.
            let units = |end: usize| syntax::Encoding::Utf16.units(&found.label[..end]);
            match support.label_offsets {
                true => ParameterLabel::LabelOffsets([units(range.start), units(range.end)]),
                false => ParameterLabel::Simple(found.label[range.clone()].to_owned()),
            }
        };
        let parameters = found
            .attributes
            .iter()
            .map(|attribute| ParameterInformation {
                label: label(&attribute.range),
                documentation: doc(&attribute.doc),
            });
        // A number past the last means none.
        let active = found.active.unwrap_or(found.attributes.len());
        SignatureHelp {
            signatures: vec![SignatureInformation {
                documentation: doc(&found.doc),
                parameters: Some(parameters.collect()),
                active_parameter: None,
                label: found.label.clone(),
            }],
            active_signature: Some(0),
            active_parameter: u32::try_from(active).ok(),
        }
    }))
}
