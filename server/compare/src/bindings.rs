//! What prefixes mean at a place, and which of them a path or a piece of a document needs.

use std::collections::BTreeMap;

use crate::document::{Document, Id};

/// From a prefix (None: the default namespace) to a namespace; "" is none.
pub(crate) type Bindings = BTreeMap<Option<String>, String>;

/// What is bound in a node.
pub(crate) fn inside(document: &Document<'_>, id: Id) -> Bindings {
    let mut bindings = Bindings::from([(None, String::new())]);
    for element in document
        .way(id)
        .into_iter()
        .filter_map(|id| document.element(id))
    {
        for attribute in element.attributes() {
            if let Some(prefix) = attribute.declared_prefix() {
                bindings.insert(prefix.map(str::to_owned), attribute.value().into_owned());
            }
        }
    }
    bindings
}

/// A prefix that stands for a namespace; a new one if there is none. None: `allow_default`, and it is the default.
pub(crate) fn prefix_for(
    bindings: &mut Bindings,
    namespace: &str,
    allow_default: bool,
) -> Option<String> {
    let mut known = bindings.iter().filter(|(_, to)| *to == namespace);
    if let Some((prefix, _)) = known.find(|(prefix, _)| allow_default || prefix.is_some()) {
        return prefix.clone();
    }
    let prefix = free(bindings, "n");
    bindings.insert(Some(prefix.clone()), namespace.to_owned());
    Some(prefix)
}

/// A prefix that means nothing yet.
pub(crate) fn free(bindings: &Bindings, wish: &str) -> String {
    let taken = |prefix: &String| bindings.contains_key(&Some(prefix.clone()));
    let numbered = (2..).map(|number| format!("{wish}{number}"));
    let mut wishes = std::iter::once(wish.to_owned()).chain(numbered);
    wishes.find(|prefix| !taken(prefix)).unwrap_or_default()
}
