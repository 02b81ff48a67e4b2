//! What the documents of a library look like: kinds of documents, elements, values.

use crate::content::{self, Makeup};
use crate::contexts::ContextId;
use crate::exceptions;
use crate::files;
use crate::forms::{self, Form, Place, Sort};
use crate::habits::{self, Habits};
use crate::keys;
use crate::kinds;
use crate::musts::Musts;
use crate::names::{Names, SlotRef};
use crate::node_paths;
use crate::roles::{Ground, Roles};
use crate::rules::{self, Content, Slips};
use crate::scenes;
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
use foldhash::{HashMap, HashMapExt as _, HashSet};

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
        let habits = Habits::of(values.iter().flatten(), corpus);
        let look = Look {
            corpus,
            habits: &habits,
            settings,
        };
        let named_kinds = forms::kinds(survey, names);
        let files = files::of(survey, around);
        let xml_scenes = scenes::best(survey, around, &files, habits.notation());
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
        let mut played = roles.types();
        if let Some(xml) = &xml_scenes {
            // Any text is the name of some node.
            let given = |slot: &SlotRef| {
                let mut kinds = names.kinds.iter();
                kinds.any(|kind| kind.defined_by.contains(slot))
            };
            for slot in xml.names_of_nodes(survey).filter(|slot| !given(slot)) {
                let text = ValueType::single(ItemType::Text);
                played.entry(slot).or_insert(text);
            }
        }
        let told = |slot: SlotRef| {
            let told = played.get(&slot).or_else(|| paths.types.get(&slot));
            told.or_else(|| files.types.get(&slot))
        };
        let sorts: Vec<Vec<Sort>> = values
            .iter()
            .zip(named_kinds)
            .enumerate()
            .map(|(group, (values, kinds))| {
                let sorts = values.iter().zip(kinds).enumerate();
                sorts
                    .map(|(slot, (values, kinds))| {
                        let slot = SlotRef { group, slot };
                        let told = told(slot).cloned();
                        let told =
                            told.or_else(|| crate::colours::told(&look, survey, slot, values));
                        let value_type = told.unwrap_or_else(|| look.value_type(values));
                        Sort::new(value_type, values.all.places, kinds)
                    })
                    .collect()
            })
            .collect();
        drop(values);
        let origins = spread::origins(corpus);
        let firsts = spread::firsts(corpus);
        let makeups: Vec<Vec<Makeup>> = survey
            .groups
            .iter()
            .map(|group| content::of_group(group, corpus, &firsts, &origins))
            .collect();
        let forms = forms::of(survey, &makeups, &sorts);
        let named = Told::of(survey, names, &paths, &files, &played);
        let documents = kinds::of(survey);
        let forms = keys::given(survey, &documents, forms);
        let musts = Musts::of(forms.iter().map(|(form, _)| form), settings.required);
        let mut elements: Vec<ElementForm> = forms
            .into_iter()
            .map(|(form, keys)| element(survey, &look, &named, &musts, form, keys))
            .collect();
        elements.sort_by_key(|element| element.places.iter().min().copied());
        forget_unnamed(survey, &look, &played, &mut elements);
        let by_place = elements.iter().enumerate();
        let by_place =
            by_place.flat_map(|(at, element)| element.places.iter().map(move |place| (*place, at)));
        let by_place = by_place.collect();
        let mut structure = Self {
            documents,
            elements,
            notation: habits.notation().clone(),
            scopes: named.scopes(),
            roles,
            scene_format: None,
            by_place,
        };
        structure.notation.files = files.notation;
        if let Some(notation) = paths.notation {
            structure.notation.index_path = notation;
        }
        if let Some(notation) = paths.names {
            structure.notation.node_names = notation;
        }
        structure.roles.note(&mut structure.notation);
        for document in &mut structure.documents {
            document.is_manifest = files
                .manifest
                .is_some_and(|group| document.groups.contains(&group));
            // From a machine in the same mod, it is found by its name.
            if document.is_manifest && document.files.is_empty() && document.seen > 1 {
                document.files = kinds::names(survey, &survey.groups[document.groups[0]]);
            }
        }
        structure.scene_format =
            xml_scenes.map(|xml| xml.told(&structure.documents, &structure.notation));
        structure.count_files(survey);
        let mut dialect = Dialect::default();
        dialect.notation = structure.notation.clone();
        exceptions::find(survey, &mut structure, &dialect);
        structure
    }

    /// The form of the elements in a context.
    pub fn element_at(&self, group: usize, context: ContextId) -> Option<&ElementForm> {
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

/// Values that refer to kinds that nothing gives names to after all are told by themselves.
fn forget_unnamed(
    survey: &Survey<'_>,
    look: &Look<'_>,
    played: &HashMap<SlotRef, ValueType>,
    elements: &mut [ElementForm],
) {
    let values = elements.iter().flat_map(|element| &element.values);
    let named: HashSet<Kind> = values
        .filter_map(|value| match &value.value_type.item {
            ItemType::NameOf(kind) => Some(*kind),
            _ => None,
        })
        .collect();
    let only_named = |kinds: &[Kind]| -> Vec<Kind> {
        let kinds = kinds.iter().filter(|kind| named.contains(*kind));
        kinds.cloned().collect()
    };
    for value in elements.iter_mut().flat_map(|element| &mut element.values) {
        let is_unnamed = match &mut value.value_type.item {
            ItemType::Reference(kinds) => {
                *kinds = only_named(kinds).into();
                kinds.is_empty()
            }
            ItemType::Node {
                aliases,
                index_path,
                node_name,
            } => {
                *aliases = only_named(aliases).into();
                aliases.is_empty() && !*index_path && !*node_name
            }
            // What plays a role can be counted without names.
            ItemType::PositionOf { kind, .. } => {
                let slots = value.slots.iter();
                !named.contains(kind) && !slots.into_iter().any(|slot| played.contains_key(slot))
            }
            _ => false,
        };
        if is_unnamed {
            let slots = value.slots.iter();
            let slots = slots.map(|slot| (&survey.groups[slot.group], slot.of(survey)));
            value.value_type = look.value_type(&Values::of(slots));
        }
    }
}

fn element(
    survey: &Survey<'_>,
    look: &Look<'_>,
    named: &Told<'_>,
    musts: &Musts,
    form: Form,
    keys: Vec<String>,
) -> ElementForm {
    let makeup = &form.makeup;
    let mut slots: HashMap<Option<Symbol>, Vec<SlotRef>> = HashMap::new();
    for Place { group, context } in &form.places {
        let known = &survey.groups[*group];
        for slot in known.slot_range(*context) {
            let attribute = known.slots[slot].attribute;
            slots.entry(attribute).or_default().push(SlotRef {
                group: *group,
                slot,
            });
        }
    }
    let mut values = Vec::new();
    // A text in a few of many elements that have children is a stray one.
    let is_stray = makeup.children.len() > 0 && makeup.texts <= rules::slips(makeup.elements);
    if makeup.texts > 0 && !is_stray {
        let slots = slots.remove(&None).unwrap_or_default();
        values.push(value(
            survey,
            look,
            named,
            None,
            slots,
            makeup.texts,
            (makeup, musts),
        ));
    }
    for (name, count) in makeup.attributes.iter() {
        // Attributes with a prefix are other people's notes.
        if look.corpus.text(name).contains(':') {
            continue;
        }
        let slots = slots.remove(&Some(name)).unwrap_or_default();
        values.push(value(
            survey,
            look,
            named,
            Some(name),
            slots,
            *count,
            (makeup, musts),
        ));
    }
    ElementForm {
        name: form.name,
        keys,
        seen: Tally {
            places: makeup.elements,
            files: makeup.files,
        },
        foreign: makeup.foreign,
        examples: makeup.places.clone(),
        exceptions: Vec::new(),
        content: rules::content(makeup, musts, Slips::Few),
        // As long as nothing is known of exceptions, in case there are any.
        kept: Some(Kept {
            content: rules::content(makeup, musts, Slips::None),
            text: false,
        }),
        values,
        places: form.places,
    }
}

fn value(
    survey: &Survey<'_>,
    look: &Look<'_>,
    named: &Told<'_>,
    attribute: Option<Symbol>,
    slots: Vec<SlotRef>,
    with: u32,
    (makeup, musts): (&Makeup, &Musts),
) -> ValueForm {
    let of = makeup.elements;
    let values = Values::of(
        slots
            .iter()
            .map(|slot| (&survey.groups[slot.group], slot.of(survey))),
    );
    let naming = named.value_type(&slots);
    let is_naming = naming.is_some();
    let colour = || crate::colours::told(look, survey, *slots.first()?, &values);
    let value_type = naming.or_else(colour);
    let value_type = value_type.unwrap_or_else(|| look.value_type(&values));
    let frequent = crate::usual::frequent(&values, look.corpus).filter(|_| !is_naming);
    let usual = crate::usual::usual(&values).filter(|usual| {
        let text = look.corpus.text(*usual);
        !is_naming
            && look
                .habits
                .dialect
                .check_value(&value_type, text, None)
                .is_empty()
    });
    ValueForm {
        attribute,
        observed: look.observed(&value_type, &values),
        required: rules::is_required(with, of)
            && musts.ask_for_value(
                makeup.spread.files(),
                crate::usual::usual(&values).is_some(),
            ),
        seen: values.all,
        of,
        values: frequent.unwrap_or_default(),
        usual,
        exceptions: Vec::new(),
        besides: None,
        value_type,
        slots,
    }
}
