//! What the documents of a library look like: kinds of documents, elements, values.

mod elements;

use crate::colours;
use crate::content::{self, Makeup};
use crate::contexts::ContextId;
use crate::exceptions;
use crate::files::{self, Files};
use crate::forms::{self, Place, Sort};
use crate::habits::{self, Habits};
use crate::keys;
use crate::kinds;
use crate::musts::Musts;
use crate::names::{Names, SlotRef};
use crate::node_paths::{self, NodePaths};
use crate::roles::{Ground, Roles};
use crate::rules::Content;
use crate::scenes::{self, XmlScenes};
use crate::settings::Settings;
use crate::shapes::Marks;
use crate::spread;
use crate::surroundings::Surroundings;
use crate::survey::Survey;
use crate::symbols::Symbol;
use crate::told::Told;
use crate::types::Look;
use crate::values::{Tally, Values};
use dialect::{Dialect, ItemType, Kind, NameScope, Notation, ValueType, XmlSceneFormat};
use elements::Evidence;
use foldhash::HashMap;

/// What the documents of a library look like.
#[derive(Clone, Debug)]
pub struct Structure {
    pub documents: Vec<DocumentForm>,
    /// In the order in which they are met from the roots down.
    pub elements: Vec<ElementForm>,
    pub notation: Notation,
    /// Within what names belong to one thing only, for kinds where it is not the document.
    pub scopes: Vec<(Kind, NameScope)>,
    pub roles: Roles,
    /// How scenes are written, if XML documents are scenes, with why and what was assumed in sentences.
    pub scene_format: Option<(XmlSceneFormat, Vec<String>)>,
    by_place: HashMap<Place, usize>,
}

/// A kind of document.
#[derive(Clone, Debug)]
pub struct DocumentForm {
    /// A word for it, unique.
    pub name: String,
    pub root: Symbol,
    /// `None`: any.
    pub namespace: Option<Symbol>,
    /// Other namespaces whose elements belong to it.
    pub inner: Vec<Symbol>,
    /// The groups of the survey that it is made of.
    pub groups: Vec<usize>,
    /// Patterns for the names of its files; may be empty.
    pub files: Vec<String>,
    /// What tells it from others with the same root.
    pub marks: Marks,
    /// Whether it is the manifest of a mod.
    pub is_manifest: bool,
    /// How many files are of this kind.
    pub seen: u32,
    /// How many have this root.
    pub of: u32,
    /// Some of them: indices into [`Corpus::documents`].
    pub examples: Vec<u32>,
}

/// Elements of one sort.
#[derive(Clone, Debug)]
pub struct ElementForm {
    /// Local name.
    pub name: Symbol,
    /// The dialect's keys for it: ends of paths. Never empty.
    pub keys: Vec<String>,
    /// Where it stands.
    pub places: Vec<Place>,
    pub seen: Tally,
    /// How many elements of other namespaces stand in them.
    pub foreign: u32,
    /// Where the first few stand: index into [`Corpus::documents`], and line from 0.
    pub examples: Vec<(u32, u32)>,
    /// Where the first few stand that do not hold what they should.
    pub exceptions: Vec<(u32, u32)>,
    pub content: Content,
    /// What all of them hold, if some do not hold what they should.
    pub kept: Option<Kept>,
    /// The text, if there is any, and the attributes in the order in which they were met.
    pub values: Vec<ValueForm>,
}

/// What all elements of a sort keep, where some do not keep what nearly all do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    pub content: Content,
    /// Whether some have text although they should have none.
    pub text: bool,
}

/// The values of an attribute or a text.
#[derive(Clone, Debug)]
pub struct ValueForm {
    /// The attribute's name; `None` is the text.
    pub attribute: Option<Symbol>,
    pub slots: Vec<SlotRef>,
    pub value_type: ValueType,
    pub required: bool,
    /// How often it was seen.
    pub seen: Tally,
    /// In how many elements it could have been.
    pub of: u32,
    /// Least and greatest number.
    pub observed: Option<(f64, f64)>,
    /// The most frequent values with how often they were seen; empty where every place has its own.
    pub values: Vec<(Symbol, u32)>,
    /// What most places have.
    pub usual: Option<Symbol>,
    /// Where the first few stand that do not fit: index into [`Corpus::documents`](crate::Corpus), and line from 0.
    pub exceptions: Vec<(u32, u32)>,
    /// If there are any, what they say that is not of the type; `None` if that is too much to tell.
    pub besides: Option<Vec<Symbol>>,
}

impl Structure {
    /// Looks through a survey. `names`: what was found out about names in it; `around`: what lies beside the documents.
    pub fn of(
        survey: &Survey<'_>,
        names: &Names,
        around: &Surroundings,
        settings: &Settings,
    ) -> Self {
        let corpus = survey.corpus;
        let values: Vec<Vec<Values>> = survey.groups.iter().map(habits::values_of).collect();
        let mut habits = Habits::of(values.iter().flatten(), corpus);
        let files = files::of(survey, around);
        let xml_scenes = scenes::best(survey, around, &files, habits.notation());
        if let Some(xml) = &xml_scenes {
            let others = values.iter().enumerate();
            let others = others.filter(|(group, _)| *group != xml.group);
            habits.write_as(others.flat_map(|(_, values)| values), corpus);
        }
        let scenes = node_paths::scenes(survey, around, &files, xml_scenes.as_ref());
        let paths = node_paths::of(survey, &scenes, names);
        let is_scene = |path: &str| {
            let is_xml = xml_scenes
                .as_ref()
                .is_some_and(|xml| xml.scenes.contains_key(path));
            is_xml || around.scene(path).is_some()
        };
        let notation = habits.notation();
        let ground = Ground::of(survey, names, &scenes, &is_scene, &files, &paths, notation);
        let roles = Roles::of(&ground, &settings.verdicts);
        drop(ground);

        let look = Look {
            corpus,
            habits: &habits,
            settings,
        };
        let played = played(survey, names, &roles, xml_scenes.as_ref());
        let told = Told::of(survey, names, &paths, &files, &played);
        let sorts = sorts(survey, names, &look, &told, &values);
        drop(values);
        let documents = documents(survey, &files);
        let forms = keys::given(
            survey,
            &documents,
            forms::of(survey, &makeups(survey), &sorts),
        );
        let musts = Musts::of(forms.iter().map(|(form, _)| form), settings.required);
        let evidence = Evidence {
            survey,
            look: &look,
            told: &told,
            musts: &musts,
        };
        let elements = evidence.elements(forms);

        let notation = self::notation(notation, &files, &paths, &roles);
        let scene_format = xml_scenes.map(|xml| xml.told(&documents, &notation));
        let places = elements.iter().enumerate();
        let by_place = places
            .flat_map(|(at, element)| element.places.iter().map(move |place| (*place, at)))
            .collect();
        let mut structure = Self {
            documents,
            elements,
            scopes: told.scopes(),
            roles,
            scene_format,
            by_place,
            notation,
        };
        structure.count_files(survey);
        let mut dialect = Dialect::default();
        dialect.notation = structure.notation.clone();
        exceptions::find(survey, &mut structure, &dialect);
        structure
    }

    /// The form of the elements in a context.
    pub(crate) fn element_at(&self, group: usize, context: ContextId) -> Option<&ElementForm> {
        let at = self.by_place.get(&Place { group, context })?;
        self.elements.get(*at)
    }

    /// The form of the values in a slot.
    pub fn value_at(&self, survey: &Survey<'_>, slot: SlotRef) -> Option<&ValueForm> {
        let found = slot.of(survey);
        let element = self.element_at(slot.group, found.context)?;
        element
            .values
            .iter()
            .find(|value| value.attribute == found.attribute)
    }

    /// Within what names of a kind belong to one thing.
    pub(crate) fn scope(&self, kind: &Kind) -> NameScope {
        let known = self.scopes.iter().find(|(known, _)| known == kind);
        known.map(|(_, scope)| *scope).unwrap_or_default()
    }

    /// The index of the form of the elements in a context.
    pub(crate) fn form_at(&self, place: &Place) -> Option<usize> {
        self.by_place.get(place).copied()
    }

    /// Counts the files that elements stand in: contexts of one form share files.
    fn count_files(&mut self, survey: &Survey<'_>) {
        let mut last = vec![None; self.elements.len()];
        for element in &mut self.elements {
            element.seen.files = 0;
        }
        for (at, group) in survey.groups.iter().enumerate() {
            let forms: Vec<Option<usize>> = group
                .contexts
                .all()
                .map(|context| self.by_place.get(&Place { group: at, context }).copied())
                .collect();
            let documents = group
                .documents
                .iter()
                .zip(&group.elements)
                .zip(&group.trusted);
            for ((document, contexts), _) in documents.filter(|(_, trusted)| **trusted) {
                for form in contexts.iter().filter_map(|context| forms[context.index()]) {
                    if last[form].replace(*document) != Some(*document) {
                        self.elements[form].seen.files += 1;
                    }
                }
            }
        }
    }
}

/// The types of values that play a part of a role, and of the names of nodes in scenes.
fn played(
    survey: &Survey<'_>,
    names: &Names,
    roles: &Roles,
    xml_scenes: Option<&XmlScenes>,
) -> HashMap<SlotRef, ValueType> {
    let mut played = roles.types();
    // Any text is the name of some node.
    let nodes = xml_scenes.map(|xml| xml.names_of_nodes(survey));
    let is_given = |slot: &SlotRef| {
        let mut kinds = names.kinds.iter();
        kinds.any(|kind| kind.defined_by.contains(slot))
    };
    for slot in nodes.into_iter().flatten().filter(|slot| !is_given(slot)) {
        let text = ValueType::single(ItemType::Text);
        played.entry(slot).or_insert(text);
    }
    played
}

/// By group and slot, what sort of value stands there. `values`: these values, in the same order.
fn sorts(
    survey: &Survey<'_>,
    names: &Names,
    look: &Look<'_>,
    told: &Told<'_>,
    values: &[Vec<Values>],
) -> Vec<Vec<Sort>> {
    let groups = values.iter().zip(forms::kinds(survey, names)).enumerate();
    let sorts = groups.map(|(group, (values, kinds))| {
        let sorts = values.iter().zip(kinds).enumerate();
        let sorts = sorts.map(|(slot, (values, kinds))| {
            let slot = SlotRef { group, slot };
            let told = told.of_slot(slot).cloned();
            let told = told.or_else(|| colours::told(look, survey, slot, values));
            let value_type = told.unwrap_or_else(|| look.value_type(values));
            Sort::new(value_type, values.all.places, kinds)
        });
        sorts.collect()
    });
    sorts.collect()
}

/// What elements are made of, by group and context.
fn makeups(survey: &Survey<'_>) -> Vec<Vec<Makeup>> {
    let corpus = survey.corpus;
    let (origins, firsts) = (spread::origins(corpus), spread::firsts(corpus));
    let groups = survey.groups.iter();
    groups
        .map(|group| content::of_group(group, corpus, &firsts, &origins))
        .collect()
}

/// The kinds of documents, with the manifest among them.
fn documents(survey: &Survey<'_>, files: &Files) -> Vec<DocumentForm> {
    let mut documents = kinds::of(survey);
    for document in &mut documents {
        document.is_manifest = files
            .manifest
            .is_some_and(|group| document.groups.contains(&group));
        // From a machine in the same mod, it is found by its name.
        if document.is_manifest && document.files.is_empty() && document.seen > 1 {
            document.files = kinds::names(survey, &survey.groups[document.groups[0]]);
        }
    }
    documents
}

/// How things are written: as values show, and as files, paths to nodes and roles do.
fn notation(values: &Notation, files: &Files, paths: &NodePaths, roles: &Roles) -> Notation {
    let mut notation = values.clone();
    notation.files = files.notation.clone();
    if let Some(index_path) = &paths.notation {
        notation.index_path = index_path.clone();
    }
    if let Some(node_names) = &paths.names {
        notation.node_names = node_names.clone();
    }
    roles.note(&mut notation);
    notation
}
