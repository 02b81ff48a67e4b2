//! Where the documents themselves contradict what was learnt from them.
//!
//! What nearly all of them keep is learnt, so that slips do not spoil it. Here they are looked through once more as a
//! dialect sees them: how often children stand, in which order, what values say, that names are given once in a document
//! and that references lead to one of them.

use crate::content::children_of;
use crate::corpus::Document;
use crate::forms::Place;
use crate::own::own_elements;
use crate::rules::{Choice, Content};
use crate::structure::{Structure, ValueForm};
use crate::survey::Survey;
use crate::symbols::Symbol;
use dialect::{Dialect, ItemType, Kind, NameScope};
use foldhash::{HashMap, HashMapExt as _, HashSet};

/// Places that are told for each declaration, at most.
const MOST: usize = 3;

/// More values that do not fit are not told: what they have in common is not known.
const MOST_BESIDES: usize = 12;

/// Nor are longer ones, in bytes.
const LONGEST_BESIDES: usize = 80;

/// Writes down the first few exceptions with the declarations that they contradict. `dialect`: its notation counts.
pub(crate) fn find(survey: &Survey<'_>, structure: &mut Structure, dialect: &Dialect) {
    let mut found = Found {
        elements: vec![Exceptions::default(); structure.elements.len()],
        values: structure
            .elements
            .iter()
            .map(|element| vec![Vec::new(); element.values.len()])
            .collect(),
    };
    let mut reader = Reader {
        survey,
        structure,
        dialect,
        fits: HashMap::new(),
    };
    for (at, group) in survey.groups.iter().enumerate() {
        for document in 0..group.documents.len() {
            if group.trusts(document as u32) {
                reader.document(at, document, &mut found);
            }
        }
    }
    let mut besides = besides(survey, reader.fits);
    let values = structure.elements.iter_mut().zip(found.values);
    for (form, ((element, values), found)) in values.zip(found.elements).enumerate() {
        element.kept = element.kept.take().filter(|_| found.is_kept());
        if let Some(kept) = &mut element.kept {
            kept.text = found.has_stray;
        }
        element.exceptions = found.places;
        for (at, (value, places)) in element.values.iter_mut().zip(values).enumerate() {
            let misfits = besides.remove(&(form, at)).unwrap_or_default();
            let are_short = |misfits: &[Symbol]| {
                let mut texts = misfits.iter().map(|misfit| survey.corpus.text(*misfit));
                texts.all(|text| text.len() <= LONGEST_BESIDES)
            };
            let is_told =
                !places.is_empty() && misfits.len() <= MOST_BESIDES && are_short(&misfits);
            value.besides = is_told.then_some(misfits);
            value.exceptions = places;
        }
    }
}

/// By place in the structure: the values that do not fit, in the order of their letters.
fn besides(survey: &Survey<'_>, fits: HashMap<(At, Symbol), bool>) -> HashMap<At, Vec<Symbol>> {
    let mut besides: HashMap<At, Vec<Symbol>> = HashMap::new();
    for ((at, said), _) in fits.into_iter().filter(|(_, fits)| !fits) {
        besides.entry(at).or_default().push(said);
    }
    for values in besides.values_mut() {
        values.sort_unstable_by_key(|value| survey.corpus.text(*value));
    }
    besides
}

/// What was found about the elements of one sort.
#[derive(Clone, Debug, Default)]
struct Exceptions {
    /// Indices of document and lines.
    places: Vec<(u32, u32)>,
    /// Whether some have text that should have none.
    has_stray: bool,
    /// Whether some do not even hold what all should.
    is_unruly: bool,
}

impl Exceptions {
    fn is_kept(&self) -> bool {
        !self.places.is_empty() && !self.is_unruly
    }
}

/// By element and by value of the structure; of values, indices of document and lines.
struct Found {
    elements: Vec<Exceptions>,
    values: Vec<Vec<Vec<(u32, u32)>>>,
}

/// A value's place in the structure: indices of its element and of itself.
type At = (usize, usize);

struct Reader<'r, 'c> {
    survey: &'r Survey<'c>,
    structure: &'r Structure,
    dialect: &'r Dialect,
    /// Whether a value fits its type.
    fits: HashMap<(At, Symbol), bool>,
}

/// What a document says about names.
#[derive(Default)]
struct Names<'n> {
    given: HashMap<&'n Kind, HashSet<&'n str>>,
    /// Each with its place in the structure and its line.
    asked: Vec<(&'n [Kind], &'n str, At, u32)>,
}

impl<'r> Reader<'r, '_> {
    fn document(&mut self, group: usize, at: usize, found: &mut Found) {
        let known = &self.survey.groups[group];
        let file = known.documents[at];
        let corpus = self.survey.corpus;
        let document = &corpus.documents[file as usize];
        let own = own_elements(document, &known.inner);
        let children = children_of(document, &own);
        let mut names = Names::default();
        let mut row: Vec<Symbol> = Vec::new();
        for (index, element) in document.elements.iter().enumerate() {
            let context = known.elements[at][index];
            let form = match own[index] {
                true => self.structure.form_at(&Place { group, context }),
                false => None,
            };
            let Some(form) = form else {
                continue;
            };
            let declared = &self.structure.elements[form];
            row.clear();
            row.extend(
                children
                    .of(index)
                    .map(|child| corpus.plain(document.elements[child as usize].name)),
            );
            let has_text = element.text != Symbol::EMPTY;
            let is_stray = has_text
                && !declared.content.open
                && declared
                    .values
                    .iter()
                    .all(|value| value.attribute.is_some());
            let found_here = &mut found.elements[form];
            found_here.has_stray |= is_stray;
            let is_fit = fits(&declared.content, &row);
            if let Some(kept) = &declared.kept {
                found_here.is_unruly |= match kept.content == declared.content {
                    true => !is_fit,
                    false => !fits(&kept.content, &row),
                };
            }
            if is_stray || !is_fit {
                note(&mut found_here.places, file, element.line);
            }
            for (value, form_of_value) in declared.values.iter().enumerate() {
                if let Some((said, line)) = said(document, index, form_of_value)
                    && !self.value((form, value), said, line, &mut names)
                {
                    note(&mut found.values[form][value], file, line);
                }
            }
        }
        for (kinds, name, (form, value), line) in names.asked {
            let is_given = |kind| {
                names
                    .given
                    .get(kind)
                    .is_some_and(|given| given.contains(name))
            };
            if !kinds.iter().any(is_given) {
                note(&mut found.values[form][value], file, line);
            }
        }
    }

    /// Whether a value says what it may; of names, what is known so far.
    fn value(&mut self, at: At, said: Symbol, line: u32, names: &mut Names<'r>) -> bool {
        let (structure, dialect) = (self.structure, self.dialect);
        let value_type = &structure.elements[at.0].values[at.1].value_type;
        let text = self.survey.corpus.text(said);
        let fits = match (&value_type.item, &value_type.list) {
            (ItemType::Text, None) => true,
            _ => *self
                .fits
                .entry((at, said))
                .or_insert_with(|| dialect.check_value(value_type, text, None).is_empty()),
        };
        match &value_type.item {
            ItemType::NameOf(kind) => {
                let is_new = names.given.entry(kind).or_default().insert(text.trim());
                fits && (is_new || structure.scope(kind) == NameScope::Parent)
            }
            // Others may be given in other documents, or by things that are not looked for here.
            ItemType::Reference(kinds)
                if kinds
                    .iter()
                    .all(|kind| structure.scope(kind) == NameScope::Document) =>
            {
                let members = dialect.items(value_type, text, None);
                let asked = members.into_iter().filter_map(|member| text.get(member));
                names
                    .asked
                    .extend(asked.map(|name| (&**kinds, name, at, line)));
                fits
            }
            _ => fits,
        }
    }
}

/// What stands in an element where this form says something: once at most, with its line.
fn said(document: &Document, element: usize, form: &ValueForm) -> Option<(Symbol, u32)> {
    let element = &document.elements[element];
    match form.attribute {
        None => Some((element.text, element.line)).filter(|(text, _)| *text != Symbol::EMPTY),
        Some(name) => {
            let mut attributes = document.attributes_of(element).iter();
            let found = attributes.find(|attribute| attribute.name == name)?;
            Some((found.value, found.line))
        }
    }
}

/// Whether children may stand like this.
fn fits(content: &Content, children: &[Symbol]) -> bool {
    let mut counts = vec![0_u32; content.children.len()];
    let mut furthest = 0;
    for child in children {
        let Some(place) = content
            .children
            .iter()
            .position(|known| known.name == *child)
        else {
            match content.open {
                true => continue,
                false => return false,
            }
        };
        counts[place] += 1;
        let choice = content
            .choices
            .iter()
            .find(|choice| choice.members.contains(&place));
        let rank = choice.map_or(place, |choice| choice.members.start);
        if content.ordered && rank < furthest {
            return false;
        }
        furthest = furthest.max(rank);
    }
    let is_met = |choice: &Choice| {
        let counts = &counts[choice.members.clone()];
        let count: u32 = match choice.max {
            Some(1) => counts.iter().filter(|count| **count > 0).count() as u32,
            _ => counts.iter().sum(),
        };
        count >= choice.min && choice.max.is_none_or(|max| count <= max)
    };
    let mut counted = content.children.iter().zip(&counts);
    content.choices.iter().all(is_met)
        && counted
            .all(|(child, count)| *count >= child.min && child.max.is_none_or(|max| *count <= max))
}

fn note(places: &mut Vec<(u32, u32)>, document: u32, line: u32) {
    if places.len() < MOST {
        places.push((document, line));
    }
}
