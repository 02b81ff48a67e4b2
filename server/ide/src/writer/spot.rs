//! Where in a document a new element goes.

use super::{
    complete::{Names, complete},
    element::{NewElement, NewItem},
    lines::Lines,
    print::{Print, Printed},
    set::{Down, Unwritable, down},
};
use dialect::{Context, Dialect, Predicate, Step, StepKind};
use machine::{Chain, Located, Machine, Reader};
use syntax::{Element, Item, Style, TextEdit, TextRange, TextSize};

/// The element that a new one goes into, as far as it exists.
#[derive(Debug, Clone)]
pub(crate) struct Parent<'t> {
    /// From the root down to the deepest element that exists; never empty.
    pub(crate) chain: Chain<'t>,
    /// What has to be made between that one and the new element.
    missing: Vec<Made>,
    last: Made,
    /// The element to follow, if there is one of its role.
    after: Option<Element<'t>>,
}

/// An element that a path asks for.
#[derive(Debug, Clone)]
struct Made {
    name: String,
    predicates: Vec<Predicate>,
}

impl Made {
    fn named(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            predicates: Vec::new(),
        }
    }

    fn context(&self, dialect: &Dialect, above: Context) -> Context {
        dialect.context_where(above, &self.name, &self.predicates)
    }
}

/// Where elements that a path's steps lead to, from an element or (an empty
/// chain) from the document, are to be added.
pub(crate) fn parent_for<'t>(
    reader: &Reader<'t>,
    from: &[Located<'t>],
    steps: &[Step],
) -> Result<Parent<'t>, Unwritable> {
    let steps = steps.iter();
    let steps: Vec<&Step> = steps.filter(|step| step.kind != StepKind::Itself).collect();
    let vague = || {
        let names: Vec<String> = steps.iter().map(|step| step_name(step)).collect();
        Unwritable::Vague(names.join("/"))
    };
    let (last, above) = steps.split_last().ok_or_else(vague)?;
    if let Some(parent) = where_the_last_is(reader, from, &steps, last) {
        return Ok(parent);
    }
    let (chain, there) = as_far_as_there_is_something(reader, from, above);
    let mut missing: Vec<Made> = Vec::new();
    for step in &steps[there..] {
        missing.extend(expand(reader.dialect, &chain, &missing, step).ok_or_else(vague)?);
    }
    let last = missing.pop().ok_or_else(vague)?;
    // Without a root element there is no document to add to.
    let has_root = !chain.is_empty();
    let parent = has_root.then_some(Parent {
        chain,
        missing,
        last,
        after: None,
    });
    parent.ok_or_else(vague)
}

/// Behind the last of the elements that the steps lead to.
fn where_the_last_is<'t>(
    reader: &Reader<'t>,
    from: &[Located<'t>],
    steps: &[&Step],
    last_step: &Step,
) -> Option<Parent<'t>> {
    let existing = steps.iter().fold(vec![from.to_vec()], |chains, step| {
        let next = chains.iter().flat_map(|chain| reader.step(chain, step));
        next.collect()
    });
    let (last, chain) = existing.last()?.split_last()?;
    let name = match &last_step.kind {
        StepKind::Child(Some(name)) | StepKind::Descendant(Some(name)) => name.as_str(),
        // `*`: as the one before.
        _ => last.element.local_name(),
    };
    let mut parent = Parent::inside(chain.to_vec(), name);
    parent.last.predicates.clone_from(&last_step.predicates);
    parent.after = Some(last.element);
    (!chain.is_empty()).then_some(parent)
}

/// How far down there is something to go to, and how many steps that takes.
fn as_far_as_there_is_something<'t>(
    reader: &Reader<'t>,
    from: &[Located<'t>],
    steps: &[&Step],
) -> (Chain<'t>, usize) {
    let mut chain = from.to_vec();
    for (at, step) in steps.iter().enumerate() {
        let Some(next) = reader.step(&chain, step).pop() else {
            return (chain, at);
        };
        chain = next;
    }
    (chain, steps.len())
}

fn step_name(step: &Step) -> String {
    match &step.kind {
        StepKind::Child(name) => name.clone().unwrap_or_else(|| "*".to_owned()),
        StepKind::Descendant(name) => format!("/{}", name.as_deref().unwrap_or("*")),
        StepKind::Parent => "..".to_owned(),
        StepKind::Itself => ".".to_owned(),
    }
}

fn expand(dialect: &Dialect, chain: &Chain<'_>, made: &[Made], step: &Step) -> Option<Vec<Made>> {
    let context = made.iter().fold(chain.last()?.context, |context, made| {
        made.context(dialect, context)
    });
    match down(dialect, context, step)? {
        Down::Stay => Some(Vec::new()),
        Down::Up => None,
        Down::Through(names) => {
            let last = names.len().saturating_sub(1);
            let made = names.into_iter().enumerate().map(|(at, name)| Made {
                name,
                predicates: if at == last {
                    step.predicates.clone()
                } else {
                    Vec::new()
                },
            });
            Some(made.collect())
        }
    }
}

impl<'t> Parent<'t> {
    /// Right behind this element, which is in the deepest existing one.
    pub(crate) fn behind(chain: &[Located<'t>], sibling: Element<'t>) -> Self {
        Self {
            after: Some(sibling),
            ..Self::inside(chain.to_vec(), sibling.local_name())
        }
    }

    /// In an existing element, where its grammar wants a child of this name.
    pub(crate) fn inside(chain: Chain<'t>, name: &str) -> Self {
        Self {
            chain,
            missing: Vec::new(),
            last: Made::named(name),
            after: None,
        }
    }

    /// The existing element that the new one follows, if any.
    pub(crate) fn sibling(&self) -> Option<Element<'t>> {
        self.after
    }

    /// The new element, with what the path to it asks for and nothing else.
    pub(crate) fn element(&self, dialect: &Dialect) -> Result<NewElement, Unwritable> {
        let vague = || Unwritable::Vague(self.last.name.clone());
        let above = self.chain.last().ok_or_else(vague)?.context;
        let context = self
            .missing
            .iter()
            .chain([&self.last])
            .fold(above, |context, made| made.context(dialect, context));
        let mut element = NewElement::new(&self.last.name, context);
        element.satisfy(dialect, &self.last.predicates)?;
        Ok(element)
    }

    /// The contexts from the root down to the new element.
    pub(crate) fn contexts(&self, dialect: &Dialect) -> Vec<dialect::Context> {
        let mut contexts: Vec<_> = self.chain.iter().map(|located| located.context).collect();
        for made in self.missing.iter().chain([&self.last]) {
            if let Some(above) = contexts.last() {
                contexts.push(made.context(dialect, *above));
            }
        }
        contexts
    }
}

/// An edit that writes something new, with the places in it to fill in.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Insertion {
    pub(crate) edit: TextEdit,
    /// Bytes in the inserted text.
    pub(crate) places: Vec<std::ops::Range<usize>>,
}

/// Writes new elements where they belong, with the elements around them that
/// do not exist yet.
pub(crate) fn insertion(
    reader: &Reader<'_>,
    machine: &Machine,
    text: &str,
    style: &Style,
    parent: &Parent<'_>,
    elements: Vec<NewElement>,
    names: &mut Names,
) -> Result<Insertion, Unwritable> {
    let vague = || Unwritable::Vague(parent.last.name.clone());
    let above = parent.chain.last().ok_or_else(vague)?;
    let dialect = reader.dialect;
    let mut contexts = vec![above.context];
    for made in &parent.missing {
        let context = made.context(dialect, *contexts.last().unwrap_or(&above.context));
        contexts.push(context);
    }
    let mut outer = elements;
    for (made, context) in parent.missing.iter().zip(contexts.iter().skip(1)).rev() {
        let mut wrapper = NewElement::new(&made.name, *context);
        wrapper
            .content
            .extend(outer.into_iter().map(NewItem::Element));
        wrapper.satisfy(dialect, &made.predicates)?;
        complete(dialect, machine, &mut wrapper, names, "");
        outer = vec![wrapper];
    }
    super::order::in_order(reader, &mut outer);
    let name = outer
        .first()
        .map(|first| first.name.clone())
        .ok_or_else(vague)?;
    has_room(dialect, above, &outer)?;
    let after = parent.after.filter(|_| parent.missing.is_empty());
    let spot = Spot::in_parent(reader, text, above, &name, after, style).ok_or_else(vague)?;
    Ok(spot.write(style, above.element.prefix(), &outer))
}

/// In so many elements with one child of a kind each, that is how they are made.
const ALWAYS_ONE: u32 = 12;

/// Whether the grammar allows so many more children of each name. What was learnt and not promoted is no rule: another file
/// may well have one more; but what many elements have once is not put into one twice.
fn has_room(dialect: &Dialect, parent: &Located<'_>, new: &[NewElement]) -> Result<(), Unwritable> {
    let Some(declared) = dialect.element(parent.context) else {
        return Ok(());
    };
    let seen = declared.learnt.as_ref().filter(|_| !declared.strict);
    for (at, element) in new.iter().enumerate() {
        let name = element.name.as_str();
        let Some(max) = declared.child(name).and_then(|rule| rule.max) else {
            continue;
        };
        if seen.is_some_and(|learnt| max > 1 || learnt.seen < ALWAYS_ONE) {
            continue;
        }
        let children = parent.element.children();
        let there = children.filter(|child| child.local_name() == name).count();
        let more = new[..=at].iter().filter(|new| new.name == name).count();
        if !u32::try_from(there + more).is_ok_and(|all| all <= max) {
            return Err(Unwritable::Full {
                parent: parent.element.name().to_owned(),
                child: name.to_owned(),
            });
        }
    }
    Ok(())
}

/// A place in the text for a new element.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spot {
    replaced: TextRange,
    before: String,
    /// Between several new elements.
    between: String,
    after: String,
    /// Of the new element's lines; none: it shares its line with others.
    indent: Option<String>,
}

impl Spot {
    /// Where in an element a child of this name goes: behind `after`, or
    /// behind its like, or where the grammar has it.
    fn in_parent(
        reader: &Reader<'_>,
        text: &str,
        parent: &Located<'_>,
        name: &str,
        after: Option<Element<'_>>,
        style: &Style,
    ) -> Option<Self> {
        let lines = Lines::new(text);
        let children: Vec<Element<'_>> = parent.element.children().collect();
        let after = after.or_else(|| {
            children
                .iter()
                .rfind(|child| child.local_name() == name)
                .copied()
        });
        if let Some(after) = after {
            return Some(Self::behind(&lines, &children, after, style));
        }
        let rules = reader
            .dialect
            .element(parent.context)
            .map_or(&[][..], |declared| &declared.children);
        let rank = |name: &str| rules.iter().position(|rule| rule.name == name);
        if let Some(own) = rank(name) {
            let earlier =
                |child: &&Element<'_>| rank(child.local_name()).is_some_and(|rank| rank <= own);
            if let Some(before) = children.iter().rfind(earlier) {
                return Some(Self::behind(&lines, &children, *before, style));
            }
            if let Some(first) = children.first() {
                return Some(Self::ahead_of(
                    &lines,
                    parent.element,
                    &children,
                    *first,
                    style,
                ));
            }
        } else if let Some(last) = children.last() {
            return Some(Self::behind(&lines, &children, *last, style));
        }
        Self::in_empty(&lines, parent.element, style)
    }

    fn behind(
        lines: &Lines<'_>,
        siblings: &[Element<'_>],
        sibling: Element<'_>,
        style: &Style,
    ) -> Self {
        let range = sibling.range();
        let Some(indent) = lines.indent(range.start()) else {
            let gap = TextRange::new(lines.blanks_before(range.start()), range.start());
            let gap = lines.slice(gap).to_owned();
            return Self {
                replaced: TextRange::empty(range.end()),
                before: gap.clone(),
                between: gap,
                after: String::new(),
                indent: None,
            };
        };
        let line_break = match are_set_apart(lines, siblings, range) {
            true => style.newline.repeat(2),
            false => style.newline.to_owned(),
        };
        let gap = format!("{line_break}{indent}");
        Self {
            replaced: TextRange::empty(lines.tail(range.end()).unwrap_or(range.end())),
            before: gap.clone(),
            between: gap,
            after: String::new(),
            indent: Some(indent.to_owned()),
        }
    }

    /// Before an element and the comments that lead up to it.
    fn ahead_of(
        lines: &Lines<'_>,
        parent: Element<'_>,
        siblings: &[Element<'_>],
        sibling: Element<'_>,
        style: &Style,
    ) -> Self {
        let mut start = sibling.range().start();
        let Some(indent) = lines.indent(start) else {
            return Self {
                replaced: TextRange::empty(start),
                before: String::new(),
                between: String::new(),
                after: String::new(),
                indent: None,
            };
        };
        let comments: Vec<TextRange> = parent
            .items()
            .filter(|item| matches!(item, Item::Comment(_)))
            .map(|item| item.range())
            .collect();
        for comment in comments
            .iter()
            .rev()
            .filter(|comment| comment.end() <= sibling.range().start())
        {
            let gap = TextRange::new(comment.end(), start);
            let is_attached = lines.slice(gap).trim().is_empty() && !lines.has_empty_line(gap);
            if !is_attached || lines.indent(comment.start()).is_none() {
                break;
            }
            start = comment.start();
        }
        let line_break = match are_set_apart(lines, siblings, sibling.range()) {
            true => style.newline.repeat(2),
            false => style.newline.to_owned(),
        };
        Self {
            replaced: TextRange::empty(lines.start(start)),
            before: indent.to_owned(),
            between: format!("{line_break}{indent}"),
            after: line_break,
            indent: Some(indent.to_owned()),
        }
    }

    /// In an element without child elements.
    fn in_empty(lines: &Lines<'_>, parent: Element<'_>, style: &Style) -> Option<Self> {
        let outer = lines.indent(parent.range().start());
        let indent = outer.map(|outer| format!("{outer}{}", style.indent));
        let into = |line: &Option<String>| {
            line.as_ref()
                .map_or_else(String::new, |indent| format!("{}{indent}", style.newline))
        };
        let back = outer.map_or_else(String::new, |outer| format!("{}{outer}", style.newline));
        if parent.is_self_closing() {
            return Some(Self {
                replaced: closing_mark(lines, parent),
                before: format!(">{}", into(&indent)),
                between: into(&indent),
                after: format!("{back}</{}>", parent.name()),
                indent,
            });
        }
        let content = parent.content_range()?;
        parent.end_tag()?;
        let filled = lines.slice(content).trim_end();
        if filled.is_empty() {
            return Some(Self {
                replaced: content,
                before: into(&indent),
                between: into(&indent),
                after: back,
                indent,
            });
        }
        // Comments or text: the new element comes last. A line break before the end tag is kept.
        let end = content.start() + TextSize::of(filled);
        let has_break = lines
            .slice(TextRange::new(end, content.end()))
            .contains(['\n', '\r']);
        Some(Self {
            replaced: TextRange::empty(end),
            before: into(&indent),
            between: into(&indent),
            after: if has_break { String::new() } else { back },
            indent,
        })
    }

    fn write(&self, style: &Style, prefix: Option<&str>, elements: &[NewElement]) -> Insertion {
        let print = Print {
            style,
            prefix,
            indent: self.indent.as_deref(),
        };
        let mut out = Printed::default();
        out.push(&self.before);
        for (at, element) in elements.iter().enumerate() {
            if at > 0 {
                out.push(&self.between);
            }
            print.element(element, &mut out);
        }
        out.push(&self.after);
        Insertion {
            edit: TextEdit::replace(self.replaced, out.text),
            places: out.places,
        }
    }
}

/// The `/>` of an element that closes itself, with the blanks before it.
pub(super) fn closing_mark(lines: &Lines<'_>, element: Element<'_>) -> TextRange {
    let tag = element.start_tag_range();
    let text = lines.slice(tag);
    let before = text.rfind('/').map_or(text, |mark| &text[..mark]);
    TextRange::new(
        lines.blanks_before(tag.start() + TextSize::of(before)),
        tag.end(),
    )
}

/// Whether the elements around one are set apart by empty lines.
fn are_set_apart(lines: &Lines<'_>, siblings: &[Element<'_>], range: TextRange) -> bool {
    let at = siblings.iter().position(|sibling| sibling.range() == range);
    let gap = |first: Option<usize>| {
        let first = first?;
        let (one, next) = (siblings.get(first)?, siblings.get(first + 1)?);
        Some(TextRange::new(one.range().end(), next.range().start()))
    };
    let next = gap(at);
    let before = gap(at.and_then(|at| at.checked_sub(1)));
    next.or(before).is_some_and(|gap| lines.has_empty_line(gap))
}
