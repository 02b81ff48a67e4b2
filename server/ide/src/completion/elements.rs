//! Elements that may stand at a place.

use super::{
    About, Completion, CompletionItem, CompletionKind,
    element_template::{Form, Writer},
    end_tags, habits, seen, word_before,
};
use crate::{
    hover::element_doc,
    precedents,
    spot::{chain, declaration},
    template::Template,
};
use dialect::{ChildRule, Choice, Context, Dialect, ElementDecl, Order};
use project::View;
use syntax::{Element, Style, TextRange, TextSize};

/// Behind a `<`. The last of `path` is the element being typed.
pub(super) fn in_tag(view: &View, path: &[Element<'_>], range: TextRange) -> Option<Completion> {
    let (typed, parents) = path.split_last()?;
    let form = match typed.attributes().next().is_some() || typed.is_start_tag_closed() {
        true => Form::NameOnly,
        false => Form::WithoutBracket,
    };
    if parents.is_empty() {
        let is_root = view.tree().root() == Some(*typed);
        return is_root.then(|| Completion::new(range, root_items(view, form)));
    }
    let mut items = children(view, parents, Some(*typed), range.start(), form);
    if form == Form::WithoutBracket && range.is_empty() {
        items.extend(end_tags::closing(view, parents, range.start(), "/"));
    }
    Some(Completion::new(range, items))
}

/// In the content of an element, where no `<` is typed yet.
pub(super) fn in_content(
    view: &View,
    path: &[Element<'_>],
    range: TextRange,
    offset: TextSize,
) -> Option<Completion> {
    let range = word_before(view, range, offset);
    let mut items = children(view, path, None, range.start(), Form::Whole);
    if range.is_empty() {
        items.extend(end_tags::closing(view, path, range.start(), "</"));
    }
    Some(Completion::new(range, items))
}

/// Outside the root element: the root, if there is none.
pub(super) fn roots(view: &View, range: TextRange, offset: TextSize) -> Option<Completion> {
    if view.tree().root().is_some() {
        return None;
    }
    let range = word_before(view, range, offset);
    Some(Completion::new(range, root_items(view, Form::Whole)))
}

fn root_items(view: &View, form: Form) -> Vec<CompletionItem> {
    let fitting = view
        .meaning
        .as_ref()
        .map(|meaning| (&*meaning.dialect, vec![&meaning.kind]));
    let all = view
        .settings
        .dialects
        .iter()
        .map(|dialect| (&**dialect, dialect.documents.iter().collect()));
    let known: Vec<(&Dialect, Vec<_>)> = match fitting {
        Some(fitting) => vec![fitting],
        None => all.collect(),
    };
    let style = Style::of(view.tree());
    let mut items = Vec::new();
    for (dialect, kinds) in known {
        for kind in kinds {
            let Some(declared) = dialect.element(dialect.root_context(kind)) else {
                continue;
            };
            let namespace = kind
                .namespace
                .as_deref()
                .filter(|namespace| !namespace.is_empty());
            let writer = Writer {
                form,
                style: &style,
                prefix: "",
            };
            let insert = writer.element(dialect, dialect.root_context(kind), declared, namespace);
            items.push(item(&kind.root, declared, insert).detail(dialect.title.clone()));
        }
    }
    items
}

/// The children that may still come in the last of `path`.
fn children(
    view: &View,
    path: &[Element<'_>],
    typed: Option<Element<'_>>,
    at: TextSize,
    form: Form,
) -> Vec<CompletionItem> {
    let Some(parent) = path.last() else {
        return Vec::new();
    };
    let chain = chain(view, path);
    let declared = chain.as_ref().and_then(|chain| declaration(view, chain));
    let prefix = parent
        .prefix()
        .map(|prefix| format!("{prefix}:"))
        .unwrap_or_default();
    let style = Style::of(view.tree());
    let writer = Writer {
        form,
        style: &style,
        prefix: &prefix,
    };
    let mut items = Vec::new();
    if let (Some(dialect), Some(chain), Some(declared)) = (view.dialect(), &chain, declared) {
        let context = chain.last().map_or(Context::ELSEWHERE, |last| last.context);
        let rules = open_rules(declared, *parent, typed, at);
        for (rule, _) in &rules {
            let name = format!("{prefix}{}", rule.name);
            let context = dialect.child_context(context, &rule.name);
            items.push(match dialect.element(context) {
                Some(child) => item(&name, child, writer.element(dialect, context, child, None)),
                None => CompletionItem::new(CompletionKind::Element, &name, writer.unknown(&name)),
            });
        }
        if let Some(spot) = precedents::spot(view, path) {
            let is_missing = |item: &CompletionItem| {
                let name = item.label.strip_prefix(&prefix).unwrap_or_default();
                rules
                    .iter()
                    .any(|(rule, missing)| *missing && rule.name == name)
            };
            let habits = spot.children();
            habits::of_names(&mut items, is_missing, &habits, spot.machines());
        }
    }
    if declared.is_none_or(|declared| declared.open) {
        let allowed = items.len();
        for name in seen::children(view, parent.name(), typed) {
            if items[..allowed].iter().all(|known| known.label != name) {
                let insert = writer.unknown(name);
                items.push(
                    CompletionItem::new(CompletionKind::Element, name, insert)
                        .detail("used in this file"),
                );
            }
        }
    }
    items
}

fn item(name: &str, declared: &ElementDecl, insert: Template) -> CompletionItem {
    let about = element_doc(name, declared);
    CompletionItem::new(CompletionKind::Element, name, insert).about(About::Text(about))
}

/// The rules that allow one more child at an offset, and whether it must come: those first.
fn open_rules<'d>(
    declared: &'d ElementDecl,
    parent: Element<'_>,
    typed: Option<Element<'_>>,
    at: TextSize,
) -> Vec<(&'d ChildRule, bool)> {
    let mut counts = vec![0_u32; declared.children.len()];
    let (mut least, mut greatest) = (0, declared.children.len());
    // A tag that is not closed yet may have taken its following siblings in.
    let taken_in = typed.filter(|typed| !typed.is_start_tag_closed());
    let inside = taken_in.into_iter().flat_map(|typed| typed.children());
    for sibling in parent
        .children()
        .filter(|child| Some(*child) != typed)
        .chain(inside)
    {
        let Some(rule) = declared.children.place_of(sibling.local_name()) else {
            continue;
        };
        counts[rule] += 1;
        if declared.order == Order::Listed {
            let rank = declared.rank(rule);
            if sibling.range().start() < at {
                least = least.max(rank);
            } else {
                greatest = greatest.min(rank + 1);
            }
        }
    }
    let open = |&(index, rule): &(usize, &ChildRule)| {
        rule.max.is_none_or(|max| counts[index] < max)
            && (least..greatest).contains(&declared.rank(index))
            && declared
                .choice_of(index)
                .is_none_or(|choice| has_room(choice, index, &counts))
    };
    let mut rules: Vec<(usize, &ChildRule)> =
        declared.children.iter().enumerate().filter(open).collect();
    let is_missing = |(index, rule): &(usize, &ChildRule)| {
        counts[*index] < rule.min
            || declared
                .choice_of(*index)
                .is_some_and(|choice| choice.count(&counts) < choice.min)
    };
    rules.sort_by_key(|rule| !is_missing(rule));
    let rules = rules.into_iter();
    rules.map(|rule| (rule.1, is_missing(&rule))).collect()
}

/// Whether one more child, the one with this index, leaves a choice a choice.
fn has_room(choice: &Choice, child: usize, counts: &[u32]) -> bool {
    let mut counts = counts.to_vec();
    counts[child] += 1;
    choice.max.is_none_or(|max| choice.count(&counts) <= max)
}
