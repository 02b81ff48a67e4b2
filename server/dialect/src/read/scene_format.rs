//! `[scene]`: how scenes in XML are written.

use super::Reader;
use super::header::{document_kind, is_name};
use super::notation::{answers, check_answers, number_notation};
use super::section::Section;
use crate::notation::EulerOrder;
use crate::path::{Leaf, Path};
use crate::problem::Problems;
use crate::scene_format::{MatrixOrder, RotationForm, SceneBounds, XmlSceneFormat};

impl Reader<'_> {
    /// `[scene]`
    pub(super) fn scene_format(&mut self, file: &mut Section<'_>) -> Option<XmlSceneFormat> {
        let mut section = file.section("scene", "`[scene]`", &mut self.problems)?;
        let units = section.section("units", "`[scene.units]`", &mut self.problems);
        let units = match units {
            Some(units) => self.units(units, self.notation.units.clone()),
            None => self.notation.units.clone(),
        };
        let problems = &mut self.problems;
        let document = document_kind(&mut section, problems, false);
        let numbers = number_notation(&mut section, self.notation.numbers.clone(), problems);
        let node_names = node_names(&mut section, problems);
        let euler = section.choice("euler", &EulerOrder::ALL, problems);
        let euler = euler.unwrap_or(self.notation.euler);
        let forms = [
            ("euler", RotationForm::Euler(euler)),
            ("quaternion-xyzw", RotationForm::QuaternionXyzw),
            ("quaternion-wxyz", RotationForm::QuaternionWxyz),
            ("axis-angle", RotationForm::AxisAngle),
        ];
        let rotation_form = section.choice("rotation-form", &forms, problems);
        let orders = [
            ("rows", MatrixOrder::Rows),
            ("columns", MatrixOrder::Columns),
        ];
        let matrix_order = section.choice("matrix-order", &orders, problems);
        let yes = answers(&mut section, "yes", problems);
        let no = answers(&mut section, "no", problems);
        let yes = yes.unwrap_or_else(|| self.notation.yes.clone());
        let no = no.unwrap_or_else(|| self.notation.no.clone());
        check_answers(&yes, &no, section.key_place("yes"), problems);
        let top = elements_path(&mut section, "top", problems);
        let children = elements_path(&mut section, "children", problems);
        let mut value = |key| value_path(&mut section, key, problems);
        let name = value("name");
        let translation = value("translation");
        let rotation = value("rotation");
        let scale = value("scale");
        let matrix = value("matrix");
        let visible = value("visible");
        let bounds = bounds(&mut section, problems);
        section.finish(problems);
        Some(XmlSceneFormat {
            document: document?,
            top: top?,
            node_names: node_names?,
            children: children?,
            name,
            translation,
            rotation,
            rotation_form: rotation_form.unwrap_or(RotationForm::Euler(euler)),
            scale,
            matrix,
            matrix_order: matrix_order.unwrap_or_default(),
            bounds,
            visible,
            units,
            numbers,
            yes,
            no,
        })
    }
}

fn bounds(section: &mut Section<'_>, problems: &mut Problems<'_>) -> Option<SceneBounds> {
    let keys = ["bounds", "bounds-min", "bounds-max"];
    let given = keys.map(|key| section.has(key));
    let [list, min, max] = keys.map(|key| value_path(section, key, problems));
    match given {
        [false, false, false] => None,
        [true, false, false] => list.map(SceneBounds::List),
        [false, true, true] => min
            .zip(max)
            .map(|(min, max)| SceneBounds::Pair { min, max }),
        _ => {
            let message = "write either `bounds-min` and `bounds-max`, or `bounds` for one \
                           list of six numbers";
            problems.report(section.place.clone(), message);
            None
        }
    }
}

fn node_names(section: &mut Section<'_>, problems: &mut Problems<'_>) -> Option<Vec<String>> {
    let Some(names) = section.strings("node", problems) else {
        if !section.has("node") {
            section.missing("node", problems, "\"node\"");
        }
        return None;
    };
    let mut found = Vec::new();
    for name in names.value {
        match is_name(name.value) {
            true => found.push(name.value.to_owned()),
            false => {
                let message = format!("`{}` is no name of an element", name.value);
                problems.report(name.place, message);
            }
        }
    }
    if found.is_empty() {
        problems.report(
            names.place,
            "`node` names no element; write, for example, \"node\"",
        );
        return None;
    }
    Some(found)
}

/// A path to the elements that hold nodes; where left out, the element itself.
fn elements_path(
    section: &mut Section<'_>,
    key: &'static str,
    problems: &mut Problems<'_>,
) -> Option<Path> {
    if !section.has(key) {
        section.take(key);
        return Path::parse(".").ok();
    }
    let path = section.path(key, problems)?;
    if *path.value.leaf() != Leaf::Element {
        let message =
            format!("`{key}` leads to elements; leave out `@name` or `text()` at the end");
        problems.report(path.place, message);
        return None;
    }
    Some(path.value)
}

/// A path to a value. A path to an element means its text.
fn value_path(
    section: &mut Section<'_>,
    key: &'static str,
    problems: &mut Problems<'_>,
) -> Option<Path> {
    let path = section.path(key, problems)?;
    Some(path.value.to_text())
}
