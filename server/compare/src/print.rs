//! A patch as a document.

use crate::bindings::{Bindings, free};
use crate::operations::Operation;

/// The namespace of patches (RFC 5261, appendix A.18).
const DIFF: &str = "urn:ietf:params:xml:ns:diff";

pub(crate) fn patch(operations: &[Operation], common: &Bindings) -> String {
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    // Where the document has a default namespace, the operations must not be in it.
    let default = common.get(&None).filter(|default| !default.is_empty());
    let prefix = default.map(|_| {
        let mut taken = common.clone();
        for operation in operations {
            taken.extend(operation.bindings.clone());
        }
        free(&taken, "p")
    });
    let verb = |name: &str| match &prefix {
        Some(prefix) => format!("{prefix}:{name}"),
        None => name.to_owned(),
    };
    let root = verb("diff");
    text.push_str(&format!("<{root}"));
    if let Some(prefix) = &prefix {
        text.push_str(&format!(" xmlns:{prefix}=\"{DIFF}\""));
    }
    for (prefix, namespace) in common {
        declare(&mut text, prefix.as_deref(), namespace, "");
    }
    text.push('>');
    for operation in operations {
        let name = verb(operation.verb);
        let path = syntax::escape::attribute(&operation.selector, '"');
        text.push_str(&format!("\n  <{name} sel=\"{path}\""));
        if let Some((what, value)) = &operation.more {
            text.push_str(&format!(" {what}=\"{value}\""));
        }
        for (prefix, namespace) in &operation.bindings {
            let known = common.get(prefix).map_or("", String::as_str);
            declare(&mut text, prefix.as_deref(), namespace, known);
        }
        match operation.content.as_str() {
            "" => text.push_str("/>"),
            content => text.push_str(&format!(">{content}</{name}>")),
        }
    }
    text.push_str(&format!("\n</{root}>\n"));
    text
}

/// Declares a prefix that does not mean that already.
fn declare(text: &mut String, prefix: Option<&str>, namespace: &str, known: &str) {
    if namespace == known {
        return;
    }
    let name = prefix.map_or("xmlns".to_owned(), |prefix| format!("xmlns:{prefix}"));
    let value = syntax::escape::attribute(namespace, '"');
    text.push_str(&format!(" {name}=\"{value}\""));
}
