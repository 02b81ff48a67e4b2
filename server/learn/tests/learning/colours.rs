//! Which values are colours, and which are not.

use crate::learnt::{corpus, learnt_from};
use dialect::ItemType;
use learn::Surroundings;

/// The types of the attributes of lamps with these values; `N` is another number from 0 to 9 in each.
fn types(attributes: &str) -> Vec<String> {
    let texts = (0..12).map(|file| {
        let lamps = (0..4).map(|lamp| {
            let number = (file * 7 + lamp * 3) % 10;
            format!("<lamp {}/>", attributes.replace('N', &number.to_string()))
        });
        format!("<pier>{}</pier>", lamps.collect::<String>())
    });
    let dialect = learnt_from(&corpus(texts), &Surroundings::default());
    let lamp = dialect.elements().iter().find(|one| one.key == "lamp");
    let attributes = lamp.expect("lamps are declared").attributes.iter();
    attributes
        .map(|attribute| match &attribute.value.item {
            ItemType::Colour(_) => {
                format!("{}: {}", attribute.name, dialect.describe(&attribute.value))
            }
            _ => format!("{}: no colour", attribute.name),
        })
        .collect()
}

#[test]
fn a_hash_or_a_word_tells() {
    let told = types(
        r##"glow="#ff8N00" haze='#FFN0A0C0' rimColour="0xffN000" tint="0.N 1 0.5" lens-rgb="1N5, 128, 0, 255" paint="ffN0aa""##,
    );
    assert_eq!(
        told,
        [
            "glow: a colour such as `#ff8000`, with or without two more digits for alpha",
            "haze: a colour such as `#ff8000`, with or without two more digits for alpha",
            "rimColour: a colour such as `0xff8000`, with or without two more digits for alpha",
            "tint: a colour: 3 or 4 numbers, from 0 to 1",
            "lens-rgb: a colour: 3 or 4 whole numbers separated by `,`, from 0 to 255",
            "paint: a colour such as `ff8000`, with or without two more digits for alpha",
        ]
    );
}

/// Three shares of 1 may be anything, and what is called a colour may be its name.
#[test]
fn chance_does_not_tell() {
    let told = types(
        r##"at="0.N 1 0.5" up="0 1 0" code="ffN0aa" colour="red-N" hue="N0" goal="#berth-N""##,
    );
    for said in &told {
        assert!(said.ends_with("no colour"), "{told:#?}");
    }
    assert_eq!(told.len(), 6);
}
