//! Colours, for editors that show them and let people choose others.

use crate::spot::reader;
use dialect::{Colour, ColourNotation, ElementDecl, ItemType};
use machine::{Found, walk};
use project::View;
use syntax::TextRange;

/// A colour and where it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    pub range: TextRange,
    pub colour: Colour,
    notation: ColourNotation,
    /// As it stands there.
    text: String,
}

/// Nobody looks at more than these at once.
const MOST: usize = 10_000;

/// The colours of a document, in its order.
pub fn colours(view: &View) -> Vec<Written> {
    let mut found = Vec::new();
    let (Some(dialect), Some(reader)) = (view.dialect(), reader(view)) else {
        return found;
    };
    if !dialect.elements().iter().any(has_colours) {
        return found;
    }
    let mut add = |value: Option<Found<'_>>| {
        let Some(value) = value.filter(|_| found.len() < MOST) else {
            return;
        };
        let ItemType::Colour(notation) = &value.value_type().item else {
            return;
        };
        for item in value.items(dialect, None) {
            if let Some(colour) = notation.read(item.text, &dialect.notation.numbers) {
                found.push(Written {
                    range: item.range,
                    colour,
                    notation: notation.clone(),
                    text: item.text.to_owned(),
                });
            }
        }
    };
    walk(&reader, |chain| {
        let Some(at) = chain.last() else { return };
        let Some(declared) = dialect.element(at.context).filter(|one| has_colours(one)) else {
            return;
        };
        for attribute in at.element.attributes() {
            if declared.attribute(attribute.name()).is_some() {
                add(reader.attribute_value(at, attribute.name()));
            }
        }
        add(reader.text_value(at));
    });
    found
}

fn has_colours(declared: &ElementDecl) -> bool {
    let mut values = declared.attributes.iter().chain(&declared.text);
    values.any(|value| matches!(value.value.item, ItemType::Colour(_)))
}

/// What to write for a colour in place of the one that is written in a range; None if none is.
pub fn presentation(view: &View, range: TextRange, colour: Colour) -> Option<String> {
    let numbers = &view.dialect()?.notation.numbers;
    let written = colours(view).into_iter().find(|one| one.range == range)?;
    let text = written.notation.write(colour, &written.text, numbers);
    // A mark may be something that XML has a use for.
    (!text.contains(['&', '<', '"', '\''])).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Fixture;
    use ::dialect::Dialect;
    use std::sync::Arc;

    const DIALECT: &str = r#"
[dialect]
name = "paint"
format = 1
[[document]]
name = "hull"
root = "hull"
[element.hull]
children = ["lamp*", "coat*"]
[element.lamp.attributes]
glow = "colour"
at = "vector"
[element.coat]
text = { type = "colour", parts = "bytes", separator = "," }
[element.coat.attributes]
rim = { type = "colour", parts = "shares" }
both = { type = "colour", list = { separator = ";" } }
"#;

    #[test]
    fn colours_are_shown_and_chosen_in_their_notation() {
        let dialect = Dialect::read(DIALECT, None).expect("it is right");
        let text = "<hull><lamp glow=\"#FF8000\" at=\"1 0 0\"/><lamp glow=\"red\"/>\
                    <coat rim='0 0.5 1 0.25' both='#000000; #ffffff'> 255, 0,51 </coat></hull>";
        let fixture = Fixture::of(text, vec![Arc::new(dialect)]).at("x.xml");
        let view = fixture.view();
        let found = colours(&view);
        let texts: Vec<&str> = found.iter().map(|one| &text[one.range]).collect();
        assert_eq!(
            texts,
            ["#FF8000", "0 0.5 1 0.25", "#000000", "#ffffff", "255, 0,51"]
        );
        assert_eq!(found[4].colour.blue, 0.2);
        let chosen = Colour {
            red: 1.0,
            green: 0.6,
            blue: 0.0,
            alpha: Some(1.0),
        };
        let written: Vec<String> = found
            .iter()
            .filter_map(|one| presentation(&view, one.range, chosen))
            .collect();
        assert_eq!(
            written,
            ["#FF9900", "1 0.6 0 1", "#ff9900", "#ff9900", "255,153,0"]
        );
        let elsewhere = TextRange::empty(0.into());
        assert_eq!(presentation(&view, elsewhere, chosen), None);
    }
}
