use ide::colours;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{Color, ColorInformation, ColorPresentation, Range, TextEdit};

use super::Question;

pub(crate) fn colours(question: &Question) -> Result<Vec<ColorInformation>> {
    let places = question.places();
    let found = colours::colours(&question.view).into_iter();
    let found = found.map(|one| ColorInformation {
        range: places.range(one.range),
        color: Color {
            red: one.colour.red as f32,
            green: one.colour.green as f32,
            blue: one.colour.blue as f32,
            alpha: one.colour.alpha.unwrap_or(1.0) as f32,
        },
    });
    Ok(found.collect())
}

pub(crate) fn colour_presentation(
    question: &Question,
    range: Range,
    colour: Color,
) -> Result<Vec<ColorPresentation>> {
    let places = question.places();
    let within = places
        .text_range(range)
        .map_err(|error| Error::invalid_params(error.to_string()))?;
    let colour = dialect::Colour {
        red: f64::from(colour.red),
        green: f64::from(colour.green),
        blue: f64::from(colour.blue),
        alpha: Some(f64::from(colour.alpha)),
    };
    let text = colours::presentation(&question.view, within, colour);
    let presentation = text.map(|text| ColorPresentation {
        text_edit: Some(TextEdit::new(places.range(within), text.clone())),
        label: text,
        additional_text_edits: None,
    });
    Ok(presentation.into_iter().collect())
}
