//! Scenes that are XML documents: documents whose elements nest without end, carry names and transforms, and in whose
//! trees index paths of other documents lead somewhere.

mod fields;
mod meaning;
mod rendered;
mod shape;

use crate::files::Files;
use crate::names::SlotRef;
use crate::node_names;
use crate::node_paths;
use crate::structure::DocumentForm;
use crate::surroundings::{self, Surroundings};
use crate::survey::Survey;
use crate::symbols::Symbol;
use dialect::{
    Dialect, DocumentKind, Leaf, Marks, MatrixOrder, Notation, Path, Quantity, RotationForm,
    StepKind, Unit, Units, XmlSceneFormat,
};
use foldhash::{HashMap, HashMapExt as _};
use scene::Scene;
use shape::{Family, Shape};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The scenes of a library by the documents of the corpus that drive them.
pub(crate) type ByDocument<'s> = HashMap<u32, Vec<&'s Scene>>;

/// So many documents of a kind are looked at to find out how it is written.
const LOOKED_AT: usize = 100;

/// Fewer nodes are no tree to speak of.
const ENOUGH: usize = 3;

/// A way to read documents as scenes, and what comes of it.
#[derive(Debug)]
pub(crate) struct XmlScenes {
    /// The group of the survey whose documents are scenes.
    pub(crate) group: usize,
    pub(crate) format: XmlSceneFormat,
    /// By path of the document's file.
    pub(crate) scenes: HashMap<String, Scene>,
    /// Why, in sentences.
    pub(crate) reasons: Vec<String>,
    /// What could not be told, in sentences.
    pub(crate) assumed: Vec<String>,
}

impl XmlScenes {
    /// Where the names of nodes stand.
    pub(crate) fn names_of_nodes(&self, survey: &Survey<'_>) -> impl Iterator<Item = SlotRef> {
        let group = self.group;
        let slots = 0..survey.groups[group].slots.len();
        let slots = slots.map(move |slot| SlotRef { group, slot });
        slots.filter(|slot| self.names_nodes(survey, *slot))
    }

    fn names_nodes(&self, survey: &Survey<'_>, place: SlotRef) -> bool {
        let Some(name) = &self.format.name else {
            return false;
        };
        let (group, slot) = (&survey.groups[place.group], place.of(survey));
        let attribute = slot.attribute.map(|name| survey.corpus.text(name));
        let is_leaf = match name.leaf() {
            Leaf::Attribute(name) => attribute == Some(name),
            Leaf::Text | Leaf::Element => attribute.is_none(),
        };
        let around = group.contexts.chain(Some(slot.context));
        let mut around = around.map(|context| survey.corpus.text(group.contexts.name(context)));
        let mut steps = name.steps().iter().rev();
        let leads = steps.all(|step| match &step.kind {
            StepKind::Child(Some(child)) => around.next() == Some(child),
            _ => false,
        });
        is_leaf
            && leads
            && around
                .next()
                .is_some_and(|name| self.format.node_names.iter().any(|node| node == name))
    }

    /// The format, with its reasons and assumptions as sentences. `documents`: all kinds of documents.
    pub(crate) fn told(
        self,
        documents: &[DocumentForm],
        notation: &Notation,
    ) -> (XmlSceneFormat, Vec<String>) {
        let mut format = self.format;
        if format.visible.is_none() {
            format.no.clone_from(&notation.no);
        }
        if format.visible.is_none() || format.yes.is_empty() {
            format.yes.clone_from(&notation.yes);
            format.yes.retain(|yes| !format.no.contains(yes));
        }
        let kind = documents
            .iter()
            .find(|kind| kind.groups.contains(&self.group));
        if let Some(kind) = kind {
            format.document.files.clone_from(&kind.files);
        }
        let mut said = vec![format!("Learnt. Because: {}.", self.reasons.join("; "))];
        if !self.assumed.is_empty() {
            said.push(format!("Assumed: {}", self.assumed.join(" ")));
        }
        (format, said)
    }
}

/// The ways in which documents of the library may be scenes that other documents name.
pub(crate) fn candidates(
    survey: &Survey<'_>,
    files: &Files,
    notation: &Notation,
) -> Vec<XmlScenes> {
    let mut paths: HashMap<String, u32> = HashMap::new();
    for (at, document) in survey.corpus.documents.iter().enumerate() {
        paths.insert(surroundings::path(&document.source), at as u32);
    }
    let named = files.named.values().flatten();
    let named: std::collections::HashSet<u32> =
        named.filter_map(|path| paths.get(path).copied()).collect();
    let mut found = Vec::new();
    for group in 0..survey.groups.len() {
        let known = &survey.groups[group];
        // A scene is named by a definition, or called as one.
        let is_beside = survey.groups.len() > 1;
        if !is_beside || !known.documents.iter().any(|at| named.contains(at)) {
            continue;
        }
        found.extend(of_group(survey, group, notation));
    }
    found
}

fn of_group(survey: &Survey<'_>, group: usize, notation: &Notation) -> Vec<XmlScenes> {
    let corpus = survey.corpus;
    let known = &survey.groups[group];
    let trusted = (0..known.documents.len()).filter(|at| known.trusts(*at as u32));
    let step = known.documents.len().div_ceil(LOOKED_AT).max(1);
    let families: Vec<Family<'_>> = trusted
        .step_by(step)
        .map(|at| Family::of(&corpus.documents[known.documents[at] as usize]))
        .collect();
    let leaves = |shape: &Shape, names: &_| like_nodes(survey, &families, shape, names);
    let shapes = shape::shapes(&families, leaves);
    let mut found = Vec::new();
    for shape in shapes {
        let (fields, count) = fields::of(corpus, &families, &shape);
        let nested = families
            .iter()
            .flat_map(|family| family.nodes(&shape))
            .filter(|(_, depth)| *depth > 0);
        if count < ENOUGH || nested.count() == 0 {
            continue;
        }
        let Some(mut format) = bare_format(survey, group, &shape, notation) else {
            continue;
        };
        let (mut reasons, mut assumed) = meaning::note(&mut format, &fields, count);
        let has_transforms = format.translation.is_some() || format.matrix.is_some();
        if !has_transforms && format.name.is_none() {
            continue;
        }
        reasons.insert(
            0,
            format!("elements nest: {count} nodes in {} files", families.len()),
        );
        let mut scenes = read_all(survey, group, &format);
        if let Some(unit) = length_by_size(scenes.values()) {
            assumed.push(format!(
                "Lengths of scenes are in {}, by how large machines are.",
                unit.label
            ));
            let is_base = unit == Quantity::Length.base_unit();
            format.units.set(unit);
            if !is_base {
                scenes = read_all(survey, group, &format);
            }
        }
        found.push(XmlScenes {
            group,
            format,
            scenes,
            reasons,
            assumed,
        });
    }
    found
}

/// The names whose elements have what nodes have: a name, and a transform or nodes in them.
fn like_nodes(
    survey: &Survey<'_>,
    families: &[Family<'_>],
    shape: &Shape,
    names: &BTreeSet<Symbol>,
) -> Vec<Symbol> {
    let (known, count) = fields::of(survey.corpus, families, shape);
    let Some(mut format) = bare_format(survey, 0, shape, &Notation::default()) else {
        return Vec::new();
    };
    meaning::note(&mut format, &known, count);
    let of = |path: &Option<Path>| path.as_ref().map(|path| value_path(path.as_str()));
    let named = of(&format.name);
    let moved = [&format.translation, &format.matrix, &format.rotation].map(of);
    // By name: how many elements there are, and how many of them are like nodes.
    let mut counts: BTreeMap<Symbol, (usize, usize)> = BTreeMap::new();
    for family in families {
        for at in 1..family.children.len() as u32 {
            let name = family.name(at);
            if !names.contains(&name) {
                continue;
            }
            let (mut has_name, mut is_moved) = (named.is_none(), false);
            fields::of_element(survey.corpus, family, Some(shape), at, &mut |path, _| {
                has_name |= Some(&path) == named.as_ref();
                is_moved |= moved.iter().flatten().any(|moved| *moved == path);
            });
            let holds = family.children[at as usize].iter().any(|child| {
                let name = family.name(*child);
                match shape.holder {
                    Some(holder) => name == holder,
                    None => shape.nodes.contains(&name),
                }
            });
            let (all, like) = counts.entry(name).or_default();
            *all += 1;
            *like += usize::from(has_name && (is_moved || (holds && named.is_some())));
        }
    }
    let like = counts
        .into_iter()
        .filter(|(_, (all, like))| like * 10 >= all * 9);
    like.map(|(name, _)| name).collect()
}

/// A path as fields have it: the text of a child is the child's path.
fn value_path(path: &str) -> String {
    match path.strip_suffix("/text()") {
        Some(way) => way.to_owned(),
        None => path.to_owned(),
    }
}

fn bare_format(
    survey: &Survey<'_>,
    group: usize,
    shape: &Shape,
    notation: &Notation,
) -> Option<XmlSceneFormat> {
    let corpus = survey.corpus;
    let known = survey.groups.get(group)?;
    let names = |names: &mut dyn Iterator<Item = &Symbol>| -> Vec<String> {
        names.map(|name| corpus.text(*name).to_owned()).collect()
    };
    let way = |names: Vec<String>| match names.is_empty() {
        true => Path::parse(".").ok(),
        false => Path::parse(&names.join("/")).ok(),
    };
    let namespace = corpus.text(known.namespace);
    Some(XmlSceneFormat {
        document: DocumentKind {
            name: corpus.text(known.root).to_owned(),
            doc: String::new(),
            root: corpus.text(known.root).to_owned(),
            namespace: (!namespace.is_empty()).then(|| namespace.to_owned()),
            inner_namespaces: Vec::new(),
            files: Vec::new(),
            marks: Marks::default(),
            is_manifest: false,
            learnt: None,
        },
        top: way(names(&mut shape.top.iter()))?,
        node_names: names(&mut shape.nodes.iter()),
        children: way(names(&mut shape.holder.iter()))?,
        name: None,
        translation: None,
        rotation: None,
        rotation_form: RotationForm::Euler(notation.euler),
        scale: None,
        matrix: None,
        matrix_order: MatrixOrder::default(),
        bounds: None,
        visible: None,
        units: Units::default(),
        numbers: notation.numbers.clone(),
        yes: notation.yes.clone(),
        no: notation.no.clone(),
    })
}

/// The documents of a group as scenes, read as the server will read them.
fn read_all(survey: &Survey<'_>, group: usize, format: &XmlSceneFormat) -> HashMap<String, Scene> {
    let mut dialect = Dialect::default();
    dialect.scene_format = Some(format.clone());
    let dialects = [Arc::new(dialect)];
    let documents = survey.groups[group].documents.iter();
    let documents = documents.map(|at| &survey.corpus.documents[*at as usize]);
    let read = documents
        .filter(|document| !document.broken)
        .filter_map(|document| {
            let path = surroundings::path(&document.source);
            let text = rendered::text(survey.corpus, document);
            let scene = scene::read(text.as_bytes(), &path, &dialects).ok()?;
            Some((path, scene))
        });
    read.collect()
}

/// The unit of lengths, by the size of machines: some metres.
fn length_by_size<'s>(scenes: impl Iterator<Item = &'s Scene>) -> Option<Unit> {
    let mut sizes: Vec<f64> = Vec::new();
    for scene in scenes {
        let places = scene.world_rests().into_iter().map(|rest| rest.w_axis);
        let reach = places.map(|at| at.truncate().abs().max_element());
        let reach = reach.fold(0.0, f64::max);
        if reach > 0.0 && reach.is_finite() {
            sizes.push(reach);
        }
    }
    sizes.sort_by(f64::total_cmp);
    match *sizes.get(sizes.len() / 2)? {
        reach if reach < 30.0 => Some(Quantity::Length.base_unit()),
        reach if reach < 1000.0 => Unit::known("cm"),
        _ => Unit::known("mm"),
    }
}

/// The way of reading in which index paths, or names, of other documents lead to most nodes.
pub(crate) fn best(
    survey: &Survey<'_>,
    around: &Surroundings,
    files: &Files,
    notation: &Notation,
) -> Option<XmlScenes> {
    let tried = candidates(survey, files, notation).into_iter();
    let scored = tried.filter_map(|mut candidate| {
        let scenes = node_paths::scenes(survey, around, files, Some(&candidate));
        let paths = node_paths::notation(survey, &scenes).map_or(0, |(count, _)| count);
        let names = node_names::score(survey, &scenes).unwrap_or(0);
        let (count, what) = match paths >= names {
            true => (paths, "index paths"),
            false => (names, "names"),
        };
        candidate.reasons.push(format!(
            "{count} different {what} of other documents lead to nodes"
        ));
        (count > 0).then_some((count, candidate))
    });
    let mut best: Option<(usize, XmlScenes)> = None;
    for (count, candidate) in scored {
        if best.as_ref().is_none_or(|(known, _)| count > *known) {
            best = Some((count, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}
