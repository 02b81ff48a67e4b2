//! What elements of one context hold: how often which children, attributes and texts were there,
//! and in which order.

use crate::contexts::ContextId;
use crate::corpus::{Corpus, Document};
use crate::ordered::Ordered;
use crate::own::own_elements;
use crate::sets::Sets;
use crate::spread::Spread;
use crate::survey::Group;
use crate::symbols::Symbol;
use foldhash::HashMap;

/// Parents with more different children are not looked at for their order.
const MOST_ORDERED: usize = 48;

/// How the elements of one context, or of several, are made.
#[derive(Clone, Debug, Default)]
pub(crate) struct Makeup {
    pub(crate) elements: u32,
    pub(crate) files: u32,
    /// In how many elements each attribute is there, in the order in which they were met.
    pub(crate) attributes: Ordered<u32>,
    /// How many elements of other namespaces stand in them.
    pub(crate) foreign: u32,
    /// How many elements have text of their own.
    pub(crate) texts: u32,
    /// In the order in which they were met.
    pub(crate) children: Ordered<Occurrence>,
    /// In how many elements some child of the first name stands before one of the second.
    pub(crate) before: HashMap<(Symbol, Symbol), u32>,
    /// How many elements have children of several names.
    pub(crate) mixed: u32,
    /// Whether some have so many that their order was not looked at.
    pub(crate) unordered: bool,
    /// Which children were met together.
    pub(crate) sets: Sets,
    pub(crate) spread: Spread,
    /// Where the first few stand: indices of document (of the corpus) and lines.
    pub(crate) places: Vec<(u32, u32)>,
    last_file: Option<u32>,
}

/// How often children of one name stand in a parent.
#[derive(Copy, Clone, Debug, Default)]
pub(crate) struct Occurrence {
    /// In how many parents there is any.
    pub(crate) parents: u32,
    /// In how many there are several.
    pub(crate) several: u32,
    /// In how many files there is any.
    pub(crate) files: u32,
    last_file: Option<u32>,
}

const PLACES: usize = 3;

/// The makeup of each context of a group. `firsts` and `origins`: per document of the corpus, the first that says the
/// same, and where it comes from.
pub(crate) fn of_group(
    group: &Group,
    corpus: &Corpus,
    firsts: &[u32],
    origins: &[u32],
) -> Vec<Makeup> {
    let mut makeups = vec![Makeup::default(); group.contexts.len()];
    for (at, document) in group.documents.iter().enumerate() {
        if group.trusts(at as u32) {
            let contexts = &group.elements[at];
            let first = firsts[*document as usize];
            add(
                &group.inner,
                *document,
                (first, origins[first as usize]),
                &corpus.documents[*document as usize],
                corpus,
                contexts,
                &mut makeups,
            );
        }
    }
    makeups
}

/// `inner`: namespaces that count besides the root's. `file`: the document's index. `shown_by`: the first file that says the same, and where that comes from.
fn add(
    inner: &[Symbol],
    file: u32,
    shown_by: (u32, u32),
    document: &Document,
    corpus: &Corpus,
    contexts: &[ContextId],
    makeups: &mut [Makeup],
) {
    let own = own_elements(document, inner);
    let children = children_of(document, &own);
    let mut row = Row::default();
    for (at, element) in document.elements.iter().enumerate() {
        if !own[at] {
            if let Some(parent) = element.parent.filter(|parent| own[*parent as usize]) {
                makeups[contexts[parent as usize].index()].foreign += 1;
            }
            continue;
        }
        let makeup = &mut makeups[contexts[at].index()];
        makeup.elements += 1;
        if makeup.last_file.replace(file) != Some(file) {
            makeup.files += 1;
            makeup.spread.add(shown_by.0, shown_by.1);
            if makeup.places.len() < PLACES {
                makeup.places.push((file, element.line));
            }
        }
        makeup.texts += u32::from(element.text != Symbol::EMPTY);
        for attribute in document.attributes_of(element) {
            *makeup.attributes.entry(attribute.name) += 1;
        }
        row.fill(
            children
                .of(at)
                .map(|child| corpus.plain(document.elements[child as usize].name)),
        );
        makeup.add_children(&row, file);
        if !row.sorted.is_empty() {
            makeup.sets.add(&row.sorted, 1);
        }
    }
}

/// The children of each element, in document order.
pub(crate) struct Children {
    from: Vec<u32>,
    all: Vec<u32>,
}

impl Children {
    pub(crate) fn of(&self, element: usize) -> impl Iterator<Item = u32> + '_ {
        let range = self.from[element] as usize..self.from[element + 1] as usize;
        self.all[range].iter().copied()
    }
}

pub(crate) fn children_of(document: &Document, own: &[bool]) -> Children {
    let mut from = vec![0_u32; document.elements.len() + 1];
    let parents = || {
        let elements = document.elements.iter().enumerate();
        elements
            .filter(|(at, _)| own[*at])
            .filter_map(|(at, element)| Some((at, element.parent? as usize)))
    };
    for (_, parent) in parents() {
        from[parent + 1] += 1;
    }
    for at in 1..from.len() {
        from[at] += from[at - 1];
    }
    let mut next = from.clone();
    let mut all = vec![0; from.last().map_or(0, |count| *count as usize)];
    for (at, parent) in parents() {
        all[next[parent] as usize] = at as u32;
        next[parent] += 1;
    }
    Children { from, all }
}

/// The children of one element: each name with the first and the last place and how often.
#[derive(Default)]
struct Row {
    names: Ordered<Run>,
    sorted: Vec<Symbol>,
}

#[derive(Copy, Clone, Default)]
struct Run {
    first: u32,
    last: u32,
    count: u32,
}

impl Row {
    fn fill(&mut self, children: impl Iterator<Item = Symbol>) {
        self.names.clear();
        for (place, name) in children.enumerate() {
            let run = self.names.entry(name);
            run.last = place as u32;
            if run.count == 0 {
                run.first = run.last;
            }
            run.count += 1;
        }
        self.sorted.clear();
        self.sorted.extend(self.names.iter().map(|(name, _)| name));
        self.sorted.sort_unstable();
    }
}

impl Makeup {
    fn add_children(&mut self, row: &Row, file: u32) {
        for (name, run) in row.names.iter() {
            let child = self.children.entry(name);
            child.parents += 1;
            child.several += u32::from(run.count > 1);
            child.files += u32::from(child.last_file.replace(file) != Some(file));
        }
        if row.names.len() < 2 {
            return;
        }
        self.mixed += 1;
        if row.names.len() > MOST_ORDERED {
            self.unordered = true;
            return;
        }
        for (one, here) in row.names.iter() {
            for (other, there) in row.names.iter() {
                if one != other && here.first < there.last {
                    *self.before.entry((one, other)).or_default() += 1;
                }
            }
        }
    }

    /// Adds the elements of another context.
    pub(crate) fn take_in(&mut self, other: &Makeup) {
        self.elements += other.elements;
        self.files = self.files.max(other.files);
        self.foreign += other.foreign;
        self.texts += other.texts;
        self.mixed += other.mixed;
        self.unordered |= other.unordered;
        for (name, count) in other.attributes.iter() {
            *self.attributes.entry(name) += count;
        }
        for (name, child) in other.children.iter() {
            let known = self.children.entry(name);
            known.parents += child.parents;
            known.several += child.several;
            known.files = known.files.max(child.files);
        }
        for (pair, count) in &other.before {
            *self.before.entry(*pair).or_default() += count;
        }
        self.sets.take_in(&other.sets);
        self.spread.take_in(&other.spread);
        let room = PLACES.saturating_sub(self.places.len());
        self.places.extend(other.places.iter().take(room));
    }
}
