//! What was learnt as a dialect file, to be read and edited by people.

use crate::corpus::Corpus;
use crate::names::Exception;
use crate::roles::{Part, PartValue, Proposal};
use crate::rules::{Child, Content};
use crate::shapes::Marks;
use crate::sorts::Sorts;
use crate::structure::{DocumentForm, ElementForm, Kept, Structure, ValueForm};
use crate::symbols::Symbol;
use dialect::{
    AttributeDecl, ChildRule, Choice, Dialect, DocumentKind, Draft, ElementDecl, ItemType, Learnt,
    Order, RoleDraft, RoleValue, ValueType, Word, WordList,
};
use std::path::PathBuf;

/// What stands at the head of the file.
#[derive(Clone, Debug)]
pub struct Head {
    /// Short name of the dialect, without blanks.
    pub name: String,
    /// Places are written from these folders on.
    pub roots: Vec<PathBuf>,
}

/// The dialect file of what was learnt. [`dialect::Dialect::read`] reads it once it is written.
pub fn draft(structure: &Structure, corpus: &Corpus, head: &Head) -> Draft {
    let writer = Writer { corpus, head };
    let files: u32 = structure
        .documents
        .iter()
        .map(|document| document.seen)
        .sum();
    let elements = structure.elements.iter().flat_map(|element| {
        let declared = writer.element(element);
        element.keys.iter().map(move |key| ElementDecl {
            key: key.clone(),
            ..declared.clone()
        })
    });
    // Longer keys go before shorter ones, wherever they stand.
    let elements = elements.chain(writer.vague_elements(structure));
    with_sound_roles(Draft {
        name: head.name.clone(),
        title: head.name.clone(),
        doc: match files {
            1 => "Learnt from one file.".to_owned(),
            files => format!("Learnt from {files} files."),
        },
        notation: structure.notation.clone(),
        scopes: structure.scopes.clone(),
        documents: structure
            .documents
            .iter()
            .map(|document| writer.document(document))
            .collect(),
        elements: elements.map(|element| (element, Vec::new())).collect(),
        remarks: structure.roles.remarks.clone(),
        inputs: structure.roles.inputs.clone(),
        scene_format: structure.scene_format.clone(),
        roles: structure.roles.proposals.iter().map(role).collect(),
        ..Draft::default()
    })
}

/// Leaves out roles that the rest of the file does not bear out: where the same elements were found to be of different
/// sorts, say. A dialect that cannot be read would be of no use at all.
fn with_sound_roles(mut draft: Draft) -> Draft {
    if draft.roles.is_empty() || Dialect::read(&draft.write(), None).is_ok() {
        return draft;
    }
    let mut left_out = Vec::new();
    for role in std::mem::take(&mut draft.roles) {
        draft.roles.push(role);
        if Dialect::read(&draft.write(), None).is_err() {
            left_out.extend(draft.roles.pop());
        }
    }
    let told = left_out.iter().map(|role| {
        let at = role.keys.iter().find(|(key, _)| key == AT);
        let at = match at {
            Some((_, RoleValue::Text(at))) => at,
            _ => "",
        };
        format!(
            "{at} seems to be what `{}` means, but its values do not fit.",
            role.name
        )
    });
    draft.remarks.extend(told);
    draft
}

const AT: &str = "at";

fn role(proposal: &Proposal) -> RoleDraft {
    let mut all = vec![(AT.to_owned(), RoleValue::Text(proposal.at.clone()))];
    all.extend(keys(&proposal.parts));
    let sure = format!("Learnt, {:.0} % sure.", proposal.confidence * 100.0);
    let because = (!proposal.reasons.is_empty())
        .then(|| format!("Because: {}.", proposal.reasons.join("; ")));
    let assumed =
        (!proposal.assumed.is_empty()).then(|| format!("Assumed: {}", proposal.assumed.join(" ")));
    let others = proposal.others.iter();
    let others = others.map(|(text, _)| format!("It might also be that {text}."));
    RoleDraft {
        remarks: [sure]
            .into_iter()
            .chain(because)
            .chain(assumed)
            .chain(others)
            .collect(),
        name: proposal.role.to_owned(),
        keys: all,
        motions: proposal.motions.iter().map(|parts| keys(parts)).collect(),
        confidence: Some(proposal.confidence),
        confirmed: proposal.confirmed,
    }
}

fn keys(parts: &[Part]) -> Vec<(String, RoleValue)> {
    let parts = parts.iter();
    parts
        .map(|part| (part.key.to_owned(), value(&part.value)))
        .collect()
}

fn value(value: &PartValue) -> RoleValue {
    match value {
        PartValue::Path(path) => RoleValue::Text(path.clone()),
        PartValue::Word(word) => RoleValue::Text((*word).to_owned()),
        PartValue::Words { at, words } => RoleValue::Words {
            at: at.clone(),
            meanings: words
                .iter()
                .map(|(meaning, words)| ((*meaning).to_owned(), words.clone()))
                .collect(),
        },
        PartValue::Yes => RoleValue::Yes,
        PartValue::Parts(parts) => RoleValue::Table(keys(parts)),
    }
}

fn choices(content: &Content) -> Vec<Choice> {
    let choices = content.choices.iter();
    let choices = choices.map(|choice| Choice {
        members: choice.members.clone(),
        min: choice.min,
        max: choice.max,
    });
    choices.collect()
}

fn order(content: &Content) -> Order {
    match content.ordered {
        true => Order::Listed,
        false => Order::Any,
    }
}

struct Writer<'a> {
    corpus: &'a Corpus,
    head: &'a Head,
}

impl Writer<'_> {
    fn document(&self, document: &DocumentForm) -> DocumentKind {
        DocumentKind {
            name: document.name.clone(),
            doc: String::new(),
            root: self.text(document.root).to_owned(),
            namespace: document
                .namespace
                .map(|namespace| self.text(namespace).to_owned()),
            inner_namespaces: self.texts(&document.inner),
            files: document.files.clone(),
            marks: self.marks(&document.marks),
            is_manifest: document.is_manifest,
            learnt: (document.of > document.seen).then(|| Learnt {
                seen: document.seen,
                of: document.of,
                places: self.places(
                    &document
                        .examples
                        .iter()
                        .map(|at| (*at, 0))
                        .collect::<Vec<_>>(),
                ),
                ..Learnt::default()
            }),
        }
    }

    fn texts(&self, symbols: &[Symbol]) -> Vec<String> {
        let texts = symbols.iter().map(|symbol| self.text(*symbol).to_owned());
        texts.collect()
    }

    fn marks(&self, marks: &Marks) -> dialect::Marks {
        let attribute = marks.attribute.iter();
        dialect::Marks {
            holds: self.texts(&marks.holds),
            attributes: attribute
                .map(|(name, values)| (self.text(*name).to_owned(), self.texts(values)))
                .collect(),
        }
    }

    fn element(&self, element: &ElementForm) -> ElementDecl {
        let mut sorts = self.corpus.sorts.iter();
        let name = self.corpus.plain(element.name);
        let sorts = sorts.find(|sorts| sorts.name == name);
        let values = |text: bool| {
            let values = element.values.iter();
            let values = values.filter(move |value| value.attribute.is_none() == text);
            values.map(|value| match sorts {
                Some(sorts) if value.attribute == Some(sorts.attribute) => AttributeDecl {
                    learnt: None,
                    ..self.sort(sorts)
                },
                _ => self.value(value),
            })
        };
        let content = &element.content;
        let mut declared = ElementDecl {
            key: String::new(),
            name: self.text(name).to_owned(),
            doc: String::new(),
            children: self.children(content).into(),
            choices: choices(content),
            order: order(content),
            text: values(true).next(),
            attributes: values(false).collect(),
            open: content.open,
            strict: false,
            learnt: Some(Learnt {
                seen: element.seen.places,
                files: element.seen.files,
                places: self.places(&element.examples),
                exceptions: self.places(&element.exceptions),
                foreign: element.foreign,
                kept: element.kept.as_ref().map(|kept| self.kept(kept)),
                ..Learnt::default()
            }),
        };
        if let Some(sorts) = sorts.filter(|sorts| sorts.name == element.name) {
            // A few have no sort: what they have does not bind those whose sort is only not known.
            let attributes = declared.attributes.iter_mut();
            attributes.for_each(|attribute| attribute.required = false);
            declared.attributes.insert(0, self.sort(sorts));
            let children = declared.children.iter_mut();
            children.for_each(|child| child.min = 0);
            declared.choices.clear();
            declared.order = Order::Any;
            declared.open = true;
        }
        declared
    }

    /// Elements of a name that says little, as long as their sort is not said: they have what tells it, and anything else.
    fn vague_elements(&self, structure: &Structure) -> impl Iterator<Item = ElementDecl> {
        let sorts = self.corpus.sorts.iter();
        let undeclared = sorts.filter(|sorts| {
            let mut elements = structure.elements.iter();
            !elements.any(|element| element.name == sorts.name)
        });
        undeclared.map(|sorts| ElementDecl {
            key: self.text(sorts.name).to_owned(),
            name: self.text(sorts.name).to_owned(),
            doc: String::new(),
            children: Vec::new().into(),
            choices: Vec::new(),
            order: Order::Any,
            text: None,
            attributes: vec![self.sort(sorts)],
            open: true,
            strict: false,
            learnt: Some(Learnt {
                seen: sorts.elements,
                ..Learnt::default()
            }),
        })
    }

    /// The attribute that says of which sort an element is.
    fn sort(&self, sorts: &Sorts) -> AttributeDecl {
        let values = sorts.values.iter();
        let words = values.clone().map(|(value, _)| Word {
            text: self.text(*value).to_owned(),
            ..Word::default()
        });
        let list = WordList {
            name: None,
            words: words.collect(),
        };
        AttributeDecl {
            name: self.text(sorts.attribute).to_owned(),
            doc: String::new(),
            required: sorts.without == 0,
            value: ValueType::single(ItemType::Word(list.into())),
            usual: None,
            default: None,
            strict: false,
            learnt: Some(Learnt {
                seen: sorts.elements - sorts.without,
                of: sorts.elements,
                values: values
                    .map(|(value, count)| (self.text(*value).to_owned(), *count))
                    .collect(),
                ..Learnt::default()
            }),
        }
    }

    fn children(&self, content: &Content) -> Vec<ChildRule> {
        let children = content.children.iter();
        children.map(|child| self.child(child)).collect()
    }

    fn kept(&self, kept: &Kept) -> dialect::Kept {
        dialect::Kept {
            children: self.children(&kept.content),
            choices: choices(&kept.content),
            order: order(&kept.content),
            text: kept.text,
        }
    }

    fn child(&self, child: &Child) -> ChildRule {
        ChildRule {
            name: self.text(child.name).to_owned(),
            min: child.min,
            max: child.max,
        }
    }

    fn value(&self, value: &ValueForm) -> AttributeDecl {
        let name = value.attribute.map_or("text()", |name| self.text(name));
        let values = value.values.iter();
        let values = values.map(|(value, places)| (self.text(*value).to_owned(), *places));
        let besides = value.besides.as_ref();
        let besides = besides.map(|texts| texts.iter().map(|text| self.text(*text).to_owned()));
        AttributeDecl {
            name: name.to_owned(),
            doc: String::new(),
            required: value.required,
            value: value.value_type.clone(),
            usual: value.usual.map(|usual| self.text(usual).to_owned()),
            default: None,
            strict: false,
            learnt: Some(Learnt {
                seen: value.seen.places,
                of: value.of,
                files: value.seen.files,
                range: value.observed,
                values: values.collect(),
                places: Vec::new(),
                exceptions: self.places(&value.exceptions),
                besides: besides.map(|texts| texts.collect()),
                ..Learnt::default()
            }),
        }
    }

    fn text(&self, symbol: Symbol) -> &str {
        self.corpus.text(symbol)
    }

    /// Places as people write them: file and line.
    fn places(&self, places: &[(u32, u32)]) -> Vec<String> {
        let places = places.iter().map(|(document, line)| {
            let place = Exception {
                document: *document,
                line: *line,
                value: Symbol::EMPTY,
            };
            self.below_root(place.place(self.corpus))
        });
        places.collect()
    }

    /// A path from the library's folder on.
    fn below_root(&self, path: String) -> String {
        let path = path.replace('\\', "/");
        let roots = self.head.roots.iter();
        let roots = roots.map(|root| root.to_string_lossy().replace('\\', "/"));
        let below = roots.filter_map(|root| {
            let below = path.strip_prefix(root.trim_end_matches('/'))?;
            Some(below.strip_prefix('/')?.to_owned())
        });
        below.min_by_key(String::len).unwrap_or(path)
    }
}
