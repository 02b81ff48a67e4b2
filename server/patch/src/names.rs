//! What prefixes mean at a place.

use std::collections::BTreeMap;

use syntax::Element;

/// From a prefix (None: the default namespace) to a namespace; "" is none.
pub(crate) type Bindings = BTreeMap<Option<String>, String>;

/// What is bound inside the last element of a path from the root.
pub(crate) fn bindings(path: &[Element<'_>]) -> Bindings {
    let mut bindings = Bindings::from([
        (None, String::new()),
        (Some("xml".to_owned()), syntax::namespaces::XML.to_owned()),
    ]);
    for attribute in path.iter().flat_map(Element::attributes) {
        if let Some(prefix) = attribute.declared_prefix() {
            bindings.insert(prefix.map(str::to_owned), attribute.value().into_owned());
        }
    }
    bindings
}
