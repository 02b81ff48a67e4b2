//! Under which keys elements are declared: the shortest ends of their paths that tell forms apart.
//!
//! Where even whole paths are the same, in documents that are told apart by their shape, the kind of document stands
//! before the path. The dialect takes the longest key that fits. So of all forms with one name the most frequent may
//! have the bare name, and the others need ends that the frequent one does not have. Contexts are
//! cut back where names nest in themselves, so the paths of a form are not its contexts' paths: they
//! are all ways that lead to its contexts, as walked backwards here.

use crate::contexts::ContextId;
use crate::corpus::Corpus;
use crate::forms::{Form, Place};
use crate::structure::DocumentForm;
use crate::survey::Survey;
use crate::symbols::Symbol;
use foldhash::{HashMap, HashMapExt as _};
use std::collections::{BTreeMap, BTreeSet};

/// Longer ends are no help to anybody who reads them; forms that they would be needed for are joined.
const LONGEST: usize = 6;

/// More ways than these into the contexts of one name are not told apart.
const MOST_WAYS: usize = 4000;

/// Per group and context, which contexts elements stand in directly (`None`: they are the root).
type Parents = Vec<Vec<Vec<Option<ContextId>>>>;

/// Forms with their keys, each form with at least one. Forms that no keys tell apart are joined.
pub(crate) fn given(
    survey: &Survey<'_>,
    documents: &[DocumentForm],
    forms: Vec<Form>,
) -> Vec<(Form, Vec<String>)> {
    let parents = parents(survey);
    let mut kinds = vec![""; survey.groups.len()];
    for document in documents {
        for group in &document.groups {
            kinds[*group] = document.name.as_str();
        }
    }
    let mut names: Vec<Symbol> = Vec::new();
    let mut by_name: HashMap<Symbol, Vec<Form>> = HashMap::new();
    for form in forms {
        let known = by_name.entry(form.name).or_insert_with(|| {
            names.push(form.name);
            Vec::new()
        });
        known.push(form);
    }
    let mut given = Vec::new();
    for name in names {
        let mut forms = by_name.remove(&name).unwrap_or_default();
        loop {
            forms.sort_by_key(|form| std::cmp::Reverse(form.makeup.elements));
            match keys_of(survey, &parents, &kinds, &forms) {
                Ok(keys) => {
                    given.extend(forms.into_iter().zip(keys));
                    break;
                }
                Err((one, other)) => {
                    let other = forms.remove(other.max(one));
                    let one = one.min(forms.len() - 1);
                    forms[one].take_in(other);
                }
            }
        }
    }
    given
}

fn parents(survey: &Survey<'_>) -> Parents {
    let of_group = |group: &crate::survey::Group| {
        let mut parents = vec![Vec::new(); group.contexts.len()];
        for (parent, child) in group.contexts.steps() {
            parents[child.index()].push(parent);
        }
        for parents in &mut parents {
            parents.sort_unstable();
        }
        parents
    };
    survey.groups.iter().map(of_group).collect()
}

/// Ends of paths, read from the element upwards. Each with the forms that have it, and for each the
/// group and the context that is reached (`None`: above the root).
type Ends = BTreeMap<Vec<Symbol>, BTreeSet<(usize, usize, Option<ContextId>)>>;

/// The keys of each form; or two forms that cannot be told apart, the first before the second.
fn keys_of(
    survey: &Survey<'_>,
    parents: &Parents,
    kinds: &[&str],
    forms: &[Form],
) -> Result<Vec<Vec<String>>, (usize, usize)> {
    let corpus = survey.corpus;
    let mut keys = vec![Vec::new(); forms.len()];
    keys[0].push(corpus.text(forms[0].name).to_owned());
    if forms.len() == 1 {
        return Ok(keys);
    }
    let mut ends: Ends = BTreeMap::new();
    for (form, known) in forms.iter().enumerate() {
        for Place { group, context } in &known.places {
            let end = ends.entry(vec![known.name]).or_default();
            end.insert((form, *group, Some(*context)));
        }
    }
    for _ in 1..LONGEST {
        ends = told_apart(longer(survey, parents, ends), kinds, corpus, &mut keys)?;
        if ends.is_empty() {
            return Ok(keys);
        }
        if ends.values().map(BTreeSet::len).sum::<usize>() > MOST_WAYS {
            break;
        }
    }
    let undecided = ends.values().next();
    let mixed: BTreeSet<usize> = undecided
        .into_iter()
        .flatten()
        .map(|(form, ..)| *form)
        .collect();
    let first = mixed.iter().next().copied().unwrap_or(0);
    let last = mixed.iter().next_back().copied().unwrap_or(1);
    Err((first, last))
}

/// All ends with one step more.
fn longer(survey: &Survey<'_>, parents: &Parents, ends: Ends) -> Ends {
    let mut longer: Ends = BTreeMap::new();
    for (end, ways) in ends {
        for (form, group, context) in ways {
            let Some(context) = context else {
                continue;
            };
            for parent in &parents[group][context.index()] {
                let mut end = end.clone();
                // The empty name stands for the document.
                end.push(parent.map_or(Symbol::EMPTY, |parent| {
                    survey.groups[group].contexts.name(parent)
                }));
                let ways = longer.entry(end).or_default();
                ways.insert((form, group, *parent));
            }
        }
    }
    longer
}

/// Gives ends that one form only has to it as keys, but for the first form, which has the name alone. Back come the ends
/// that several have; or two forms that not even whole paths tell apart.
fn told_apart(
    ends: Ends,
    kinds: &[&str],
    corpus: &Corpus,
    keys: &mut [Vec<String>],
) -> Result<Ends, (usize, usize)> {
    let mut shared = BTreeMap::new();
    for (end, ways) in ends {
        let first = ways.iter().next().map_or(0, |(form, ..)| *form);
        let last = ways.iter().next_back().map_or(0, |(form, ..)| *form);
        if first == last {
            if first != 0 {
                keys[first].push(key(&end, corpus));
            }
            continue;
        }
        if end.last() != Some(&Symbol::EMPTY) {
            shared.insert(end, ways);
            continue;
        }
        // The whole path: only the kind of document can tell.
        let mut by_kind: BTreeMap<&str, usize> = BTreeMap::new();
        for (form, group, _) in &ways {
            let known = *by_kind.entry(kinds[*group]).or_insert(*form);
            if known != *form {
                return Err((known.min(*form), known.max(*form)));
            }
        }
        let told = by_kind.into_iter().filter(|(_, form)| *form != 0);
        let path = key(&end, corpus);
        for (kind, form) in told {
            keys[form].push(format!("{kind}:{path}"));
        }
    }
    Ok(shared)
}

fn key(end: &[Symbol], corpus: &Corpus) -> String {
    let steps: Vec<&str> = end.iter().rev().map(|step| corpus.text(*step)).collect();
    steps.join("/")
}
