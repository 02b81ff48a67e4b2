//! Writes `[scene]`.

use super::toml::{line, one_or_array, quoted, remarks, table, texts_line};
use crate::notation::{EulerOrder, Notation};
use crate::scene_format::{MatrixOrder, RotationForm, SceneBounds, XmlSceneFormat};
use crate::units::Quantity;

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
    for (key, path) in [("top", &format.top), ("children", &format.children)] {
        if path.as_str() != "." {
            line(out, key, &quoted(path.as_str()));
        }
    }
    let mut path = |key: &str, path: Option<&crate::path::Path>| {
        if let Some(path) = path {
            // A path to an element means its text.
            let text = path.as_str();
            line(
                out,
                key,
                &quoted(text.strip_suffix("/text()").unwrap_or(text)),
            );
        }
    };
    path("name", format.name.as_ref());
    path("translation", format.translation.as_ref());
    path("rotation", format.rotation.as_ref());
    path("scale", format.scale.as_ref());
    path("matrix", format.matrix.as_ref());
    path("visible", format.visible.as_ref());
    match &format.bounds {
        None => {}
        Some(SceneBounds::List(list)) => path("bounds", Some(list)),
        Some(SceneBounds::Pair { min, max }) => {
            path("bounds-min", Some(min));
            path("bounds-max", Some(max));
        }
    }
    let form = match format.rotation_form {
        RotationForm::Euler(_) => None,
        RotationForm::QuaternionXyzw => Some("quaternion-xyzw"),
        RotationForm::QuaternionWxyz => Some("quaternion-wxyz"),
        RotationForm::AxisAngle => Some("axis-angle"),
    };
    if let Some(form) = form.filter(|_| format.rotation.is_some()) {
        line(out, "rotation-form", &quoted(form));
    }
    if let RotationForm::Euler(order) = format.rotation_form
        && order != notation.euler
        && let Some((name, _)) = EulerOrder::ALL.iter().find(|(_, known)| *known == order)
    {
        line(out, "euler", &quoted(name));
    }
    if format.matrix.is_some() && format.matrix_order == MatrixOrder::Columns {
        line(out, "matrix-order", &quoted("columns"));
    }
    if format.numbers.decimal_marks != notation.numbers.decimal_marks {
        let marks = format.numbers.decimal_marks.iter().map(char::to_string);
        line(
            out,
            "decimal-mark",
            &one_or_array(&marks.collect::<Vec<_>>()),
        );
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
