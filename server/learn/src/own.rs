//! Which elements of documents a dialect is about: those in the root's namespace, and, where a root is only the cover of
//! what stands in it, those in the namespaces of that.

use crate::corpus::{Corpus, Document};
use crate::symbols::Symbol;
use std::collections::BTreeMap;

/// Whether each element is one that the dialect is about: in the root's namespace or an inner one, with nothing but such
/// around it.
pub(crate) fn own_elements(document: &Document, inner: &[Symbol]) -> Vec<bool> {
    let root = document.elements.first().map(|root| root.namespace);
    let mut own: Vec<bool> = Vec::with_capacity(document.elements.len());
    for element in &document.elements {
        let is_within = element.parent.is_none_or(|parent| own[parent as usize]);
        let namespace = element.namespace;
        own.push(is_within && (Some(namespace) == root || inner.contains(&namespace)));
    }
    own
}

/// Documents with more namespaces than these in them are no cover of anything.
const MOST_INNER: usize = 8;

/// How often a namespace occurs.
#[derive(Default)]
struct Counts {
    elements: usize,
    documents: usize,
    last: Option<u32>,
}

/// The namespaces that documents of one kind are about besides that of their roots: those that have more elements than it,
/// in half of the documents at least. None if there are too many such.
pub(crate) fn inner_namespaces(corpus: &Corpus, documents: &[u32]) -> Vec<Symbol> {
    let mut in_roots = 0;
    let mut others: BTreeMap<Symbol, Counts> = BTreeMap::new();
    for at in documents {
        let document = &corpus.documents[*at as usize];
        let root = document.elements.first().map(|root| root.namespace);
        for element in &document.elements {
            if Some(element.namespace) == root {
                in_roots += 1;
                continue;
            }
            let counts = others.entry(element.namespace).or_default();
            counts.elements += 1;
            counts.documents += usize::from(counts.last.replace(*at) != Some(*at));
        }
    }
    let others = others.into_iter().filter(|(_, counts)| {
        counts.elements > in_roots && 2 * counts.documents >= documents.len()
    });
    let mut inner: Vec<Symbol> = others.map(|(namespace, _)| namespace).collect();
    if inner.len() > MOST_INNER {
        inner.clear();
    }
    inner
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    fn inner(texts: &[&str]) -> Vec<String> {
        let mut corpus = Corpus::default();
        for text in texts {
            let (file, member) = ("one.xml".into(), None);
            assert!(corpus.add(Source { file, member }, text));
        }
        let documents: Vec<u32> = (0..texts.len() as u32).collect();
        let inner = inner_namespaces(&corpus, &documents);
        let text = |namespace: Symbol| corpus.text(namespace).to_owned();
        inner.into_iter().map(text).collect()
    }

    #[test]
    fn a_cover_shows_what_is_in_it() {
        let letter =
            "<c:letter xmlns:c='urn:cover'><plan xmlns='urn:plan'><task/><task/></plan></c:letter>";
        assert_eq!(inner(&[letter]), ["urn:plan"]);
        let plain = "<c:letter xmlns:c='urn:cover'><plan><task/><task/></plan></c:letter>";
        assert_eq!(inner(&[plain]), [""]);
    }

    #[test]
    fn a_namespace_for_each_part_is_no_content() {
        let parts: String = (0..=MOST_INNER)
            .map(|at| format!("<part xmlns='urn:{at}'/><part xmlns='urn:{at}'/>"))
            .collect();
        assert_eq!(inner(&[&format!("<rig>{parts}</rig>")]), [""; 0]);
    }

    #[test]
    fn notes_of_others_are_no_content() {
        let noted = "<rig xmlns:n='urn:note'><spar/><n:note/><spar/></rig>";
        assert_eq!(inner(&[noted]), [""; 0]);
        // Somebody has many notes, most have none.
        let much = "<rig xmlns:n='urn:note'><n:note/><n:note/><n:note/><n:note/><n:note/></rig>";
        assert_eq!(inner(&[much, "<rig/>", "<rig/>"]), [""; 0]);
    }
}
