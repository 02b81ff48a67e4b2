//! A definition read portion by portion.
//!
//! What a portion says depends on the portion itself and on little around it ([`Inside`]). So after an edit only the
//! new portions are read; the others' facts are taken over from the outline of the text before. A dialect whose roles
//! look farther than that is read as a whole, each time; so is a document in which something is said in the tag of an
//! element that is cut up, of what stands in it.

mod earlier;
mod reading;
mod same;

use crate::{
    conformity::Conformity,
    document::{Chain, Located, Reader},
    facts::{Facts, LooseChannel, Sort, Sorts},
    reach::{self, Reach},
    read,
};
use dialect::{Context, Dialect, DocumentKind, Property};
use std::{
    hash::{Hash, Hasher},
    ops::Deref,
    sync::Arc,
};
use syntax::{Portion, TextSize, Tree};

/// It takes so many portions to be worth another thread.
pub const PORTIONS_AT_ONCE: usize = 128;

/// A document's portions in order, each with what it says.
#[derive(Debug, Default)]
pub struct Outline {
    entries: Vec<Entry>,
    places: Arc<Places>,
    /// How far the dialect's roles look, once that is known.
    reach: Option<Reach>,
}

/// Where what is among the entries of an outline. After a keystroke it mostly is where it was.
#[derive(Debug, Default)]
struct Places {
    /// By sort of facts: the entries that have some.
    saying: [Vec<u32>; Sort::ALL.len()],
    /// The entries that are tags of long elements.
    tags: Vec<u32>,
}

/// One portion of a document, where it stands in this version of it.
#[derive(Debug, Clone)]
pub struct Entry {
    pub portion: Portion,
    said: Arc<Said>,
}

/// What a portion says. An entry is this in its place: all versions of the document share it in which the portion, but
/// for what is in a long element, stands in the same surroundings. So thousands are quickly taken over after a keystroke.
#[derive(Debug, Clone)]
pub struct Said {
    /// Ranges relative to the start of [`Portion::range`]. That range stands for a long element's own.
    pub facts: Arc<Facts>,
    /// What the portion stands in. None at the top level.
    pub around: Option<Arc<Inside>>,
    /// What the portions in the long element stand in whose tag this is. None for items.
    inside: Option<Arc<Inside>>,
    /// Labels rise along the document. A portion keeps its label through edits as long as it is the same but for what is in
    /// a long element; after that, another portion may get it.
    pub label: u64,
    /// Which sorts of facts these are.
    pub sorts: Sorts,
    /// Doubtful for tags of long elements.
    pub conformity: Conformity,
}

impl Said {
    /// Whether another is the same, where both are of outlines that were made from each other and their facts are the same.
    fn says(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.facts, &other.facts)
            && is_same(self.around.as_ref(), other.around.as_ref())
            && is_same(self.inside.as_ref(), other.inside.as_ref())
            && self.label == other.label
            && self.conformity == other.conformity
    }
}

impl Deref for Entry {
    type Target = Said;

    fn deref(&self) -> &Said {
        &self.said
    }
}

impl Entry {
    /// What the long element moves as a channel whose tag this is, or else what a channel around it moves.
    pub fn property(&self) -> Option<Property> {
        self.inside.as_ref()?.property
    }

    /// What the grammar makes of the long element whose tag this is; None if it is in a foreign namespace.
    pub fn context(&self) -> Option<Context> {
        let (context, _) = self.inside.as_ref()?.located?;
        Some(context)
    }

    /// Whether two entries, of outlines that were made from each other, stand in the same surroundings.
    pub fn is_in_the_same_place(&self, other: &Self) -> bool {
        is_same(self.around.as_ref(), other.around.as_ref())
            && is_same(self.inside.as_ref(), other.inside.as_ref())
    }

    /// Where the portion begins in the document: facts have ranges relative to it.
    pub fn start(&self) -> TextSize {
        self.portion.range.start()
    }
}

/// What it means for a portion to stand in a long element. Two that are equal are the same in one outline and in
/// those that are made from it.
#[derive(Debug, PartialEq)]
pub struct Inside {
    around: Option<Arc<Inside>>,
    name: String,
    /// None: in a foreign namespace, where nothing is read.
    located: Option<(Context, bool)>,
    /// The prefixes that are declared here, with their namespaces.
    namespaces: Vec<(String, String)>,
    /// The start tag as written, where roles ask for more than names.
    tag: Option<String>,
    /// The element plays an animation.
    is_animation: bool,
    /// What the element moves as a channel, or else what a channel around it moves, where that is one thing.
    pub property: Option<Property>,
}

impl Eq for Inside {}

impl Hash for Inside {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.around.as_ref().map(Arc::as_ptr).hash(state);
        self.name.hash(state);
        self.tag.hash(state);
    }
}

impl Outline {
    /// Reads what a document says. `before`: an outline of an earlier text of the same document in the same dialect.
    pub fn read(
        tree: &Tree,
        dialect: &Dialect,
        kind: &DocumentKind,
        before: Option<&Outline>,
    ) -> Self {
        let reader = Reader::new(tree, dialect, kind);
        let known_reach = before.and_then(|before| before.reach);
        let reach = known_reach.unwrap_or_else(|| reach::of(dialect));
        let nothing = Self::default();
        let before = before.unwrap_or(&nothing);
        let entries = (reach != Reach::Document)
            .then(|| reading::entries(reader, reach, tree.portions(), before))
            .flatten();
        Self {
            reach: Some(reach),
            ..match entries {
                Some(entries) => Self::of(entries, before),
                None => Self::of_one(tree, &reader),
            }
        }
    }

    fn of(entries: Vec<Entry>, before: &Self) -> Self {
        let is_alike = |(new, old): (&Entry, &Entry)| {
            Arc::ptr_eq(&new.said, &old.said)
                || new.sorts == old.sorts && new.inside.is_some() == old.inside.is_some()
        };
        let are_alike = entries.len() == before.entries.len()
            && entries.iter().zip(&before.entries).all(is_alike);
        let places = match are_alike {
            true => before.places.clone(),
            false => Arc::new(Places::of(&entries)),
        };
        Self {
            entries,
            places,
            reach: None,
        }
    }

    /// All of the document as one portion.
    fn of_one(tree: &Tree, reader: &Reader<'_>) -> Self {
        let portion = tree.whole();
        let (facts, conformity) = read::whole(reader);
        let said = Arc::new(Said {
            sorts: facts.sorts(),
            facts: Arc::new(facts),
            around: None,
            inside: None,
            label: 1,
            conformity,
        });
        Self::of(vec![Entry { portion, said }], &Self::default())
    }

    /// The portions, in the order of the document.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// How many entries at the front and at the back say the same as those of another outline, with the same portions,
    /// but for the content of long elements, in the same surroundings. There may be others between them.
    pub fn taken_over(&self, before: &Self) -> (usize, usize) {
        let same = |(new, old): &(&Entry, &Entry)| Arc::ptr_eq(&new.said, &old.said);
        let (new, old) = (&self.entries, &before.entries);
        let front = new.iter().zip(old).take_while(same).count();
        let from_back = new[front..].iter().rev().zip(old[front..].iter().rev());
        (front, from_back.take_while(same).count())
    }

    /// The portions that say something of a sort, with their places, in the order of the document.
    pub fn saying(&self, sort: Sort) -> impl Iterator<Item = (usize, &Entry)> + Clone {
        let places = self.places.saying[sort as usize].iter();
        places.map(|at| (*at as usize, &self.entries[*at as usize]))
    }

    /// The tags of the long elements, with their places, in the order of the document.
    pub fn tags(&self) -> impl Iterator<Item = (usize, &Entry)> {
        let places = self.places.tags.iter();
        places.map(|at| (*at as usize, &self.entries[*at as usize]))
    }

    /// The entry with this label.
    pub fn labelled(&self, label: u64) -> Option<&Entry> {
        let at = self
            .entries
            .binary_search_by_key(&label, |entry| entry.label);
        Some(&self.entries[at.ok()?])
    }

    /// The long elements around an entry, the outermost first. None if it stands in a foreign namespace.
    pub fn chain(&self, entry: usize) -> Option<Chain<'_>> {
        chain(&self.entries, self.entries.get(entry)?.portion.holder)
    }

    /// The entry of the animation that a loose channel of this entry belongs to.
    pub fn animation_around(&self, entry: usize, loose: &LooseChannel) -> Option<usize> {
        let mut holders = Vec::new();
        let mut holder = self.entries.get(entry)?.portion.holder;
        while let Some(at) = holder {
            holders.push(at);
            holder = self.entries[at].portion.holder;
        }
        holders
            .len()
            .checked_sub(loose.depth)
            .and_then(|from_inside| holders.get(from_inside))
            .copied()
    }

    /// The entries right below a long element, by that of its tag: without those that are in another one in it.
    pub fn right_below(&self, entry: usize) -> impl Iterator<Item = usize> {
        let end = entry + self.extent(entry);
        let from = move |at: usize| (at < end).then_some(at);
        std::iter::successors(from(entry + 1), move |at| from(at + self.extent(*at)))
    }

    /// How many entries the long element has whose tag is at `entry`, the tag included.
    pub fn extent(&self, entry: usize) -> usize {
        let Some(element) = self.entries[entry].portion.element() else {
            return 1;
        };
        let end = element.range().end();
        self.entries[entry..].partition_point(|inner| inner.start() < end)
    }
}

impl Places {
    fn of(entries: &[Entry]) -> Self {
        let mut sizes = [0; Sort::ALL.len()];
        for sort in entries.iter().flat_map(|entry| entry.sorts.numbers()) {
            sizes[sort] += 1;
        }
        let mut places = Self {
            saying: sizes.map(Vec::with_capacity),
            tags: Vec::new(),
        };
        for (at, entry) in (0..).zip(entries) {
            if entry.inside.is_some() {
                places.tags.push(at);
            }
            for sort in entry.sorts.numbers() {
                places.saying[sort].push(at);
            }
        }
        places
    }
}

/// From the outermost long element to that of `holder`.
fn chain(entries: &[Entry], holder: Option<usize>) -> Option<Chain<'_>> {
    let mut chain = Vec::new();
    let mut holder = holder;
    while let Some(at) = holder {
        let entry = &entries[at];
        let (context, default_is_ours) = entry.inside.as_ref()?.located?;
        chain.push(Located::new(
            entry.portion.element()?,
            context,
            default_is_ours,
        ));
        holder = entry.portion.holder;
    }
    chain.reverse();
    Some(chain)
}

fn is_same(new: Option<&Arc<Inside>>, old: Option<&Arc<Inside>>) -> bool {
    new.map(Arc::as_ptr) == old.map(Arc::as_ptr)
}
