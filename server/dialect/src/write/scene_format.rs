//! Writes `[scene]`.

use super::toml::{line, one_or_array, quoted, remarks, table, texts_line};
use crate::notation::{EulerOrder, Notation};
use crate::path::Path;
use crate::scene_format::{MatrixOrder, RotationForm, SceneBounds, XmlSceneFormat};
use crate::units::Quantity;

/// `notation`: the dialect's, which need not be said again.
pub(super) fn write(
    out: &mut String,
    format: &XmlSceneFormat,
    above: &[String],
    notation: &Notation,
) {
    out.push('\n');
    remarks(out, above);
    out.push_str("[scene]\n");
    line(out, "root", &quoted(&format.document.root));
    if let Some(namespace) = &format.document.namespace {
        line(out, "namespace", &quoted(namespace));
    }
    texts_line(out, "files", &format.document.files);
    texts_line(out, "node", &format.node_names);
    let (places, forms) = (places(format), forms(format, notation));
    for (key, value) in places.into_iter().chain(forms) {
        line(out, key, &value);
    }
    write_notation(out, format, notation);
}

/// Where things stand.
fn places(format: &XmlSceneFormat) -> Vec<(&'static str, String)> {
    let ways = [("top", &format.top), ("children", &format.children)];
    let ways = ways.into_iter().filter(|(_, path)| path.as_str() != ".");
    let ways = ways.map(|(key, path)| (key, quoted(path.as_str())));
    let (list, min, max) = match &format.bounds {
        None => (None, None, None),
        Some(SceneBounds::List(list)) => (Some(list), None, None),
        Some(SceneBounds::Pair { min, max }) => (None, Some(min), Some(max)),
    };
    let values: [(&str, Option<&Path>); 9] = [
        ("name", format.name.as_ref()),
        ("translation", format.translation.as_ref()),
        ("rotation", format.rotation.as_ref()),
        ("scale", format.scale.as_ref()),
        ("matrix", format.matrix.as_ref()),
        ("visible", format.visible.as_ref()),
        ("bounds", list),
        ("bounds-min", min),
        ("bounds-max", max),
    ];
    let values = values.into_iter().filter_map(|(key, path)| {
        // A path to an element means its text.
        let path = path?.as_str();
        let path = path.strip_suffix("/text()").unwrap_or(path);
        Some((key, quoted(path)))
    });
    ways.chain(values).collect()
}

/// What rotations and matrices are.
fn forms(format: &XmlSceneFormat, notation: &Notation) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    let rotation = match format.rotation_form {
        RotationForm::Euler(order) if order == notation.euler => None,
        RotationForm::Euler(order) => {
            let mut known = EulerOrder::ALL.iter();
            let order = known.find(|(_, known)| *known == order);
            order.map(|(name, _)| ("euler", quoted(name)))
        }
        RotationForm::QuaternionXyzw => Some(("rotation-form", quoted("quaternion-xyzw"))),
        RotationForm::QuaternionWxyz => Some(("rotation-form", quoted("quaternion-wxyz"))),
        RotationForm::AxisAngle => Some(("rotation-form", quoted("axis-angle"))),
    };
    let is_euler = matches!(format.rotation_form, RotationForm::Euler(_));
    lines.extend(rotation.filter(|_| is_euler || format.rotation.is_some()));
    if format.matrix.is_some() && format.matrix_order == MatrixOrder::Columns {
        lines.push(("matrix-order", quoted("columns")));
    }
    lines
}

/// How it is written, where that differs.
fn write_notation(out: &mut String, format: &XmlSceneFormat, notation: &Notation) {
    if format.numbers.decimal_marks != notation.numbers.decimal_marks {
        let marks = format.numbers.decimal_marks.iter().map(char::to_string);
        let marks: Vec<String> = marks.collect();
        line(out, "decimal-mark", &one_or_array(&marks));
    }
    if format.numbers.vector_separator != notation.numbers.vector_separator {
        let mark = format.numbers.vector_separator.written();
        line(out, "vector-separator", &quoted(mark));
    }
    for (key, here, usual) in [
        ("yes", &format.yes, &notation.yes),
        ("no", &format.no, &notation.no),
    ] {
        if here != usual {
            line(out, key, &one_or_array(here));
        }
    }
    // Scenes have no other quantities.
    let units = [Quantity::Length, Quantity::Angle];
    let units = units.iter().filter_map(|quantity| {
        let here = format.units.of(*quantity);
        (here != notation.units.of(*quantity)).then(|| (quantity.as_str(), quoted(&here.name)))
    });
    let units: Vec<(&str, String)> = units.collect();
    if !units.is_empty() {
        line(out, "units", &table(&units));
    }
}
