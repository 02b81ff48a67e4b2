//! Any text as a dialect; what can be read as one is used on a document.
#![no_main]

use std::path::PathBuf;
use std::sync::Arc;

use dialect::{Context, Dialect};
use libfuzzer_sys::fuzz_target;
use project::{Document, Settings, View};

const VALUES: [&str; 12] = [
    "",
    "0",
    "-1,5",
    "1e999",
    "0/1/2",
    "#1:2.3",
    "true",
    "0 1 2",
    "1;2;3 -> 4;5;6",
    "a b",
    "ü",
    "\u{1}",
];

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    let dialect = match Dialect::read(&text, None) {
        Ok(dialect) => Arc::new(dialect),
        Err(problems) => {
            assert!(!problems.is_empty(), "a refusal has a reason");
            for problem in problems {
                assert!(
                    text.get(std::ops::Range::<usize>::from(problem.range))
                        .is_some()
                );
                assert!(!problem.message.is_empty());
            }
            return;
        }
    };
    for kind in &dialect.documents {
        let root = dialect.child_context(Context::DOCUMENT, &kind.root);
        let mut body = String::new();
        if let Some(element) = dialect.element(root) {
            for value in VALUES {
                body.push_str(&format!("<{}", kind.root));
                for attribute in &element.attributes {
                    dialect.check_value(&attribute.value, value, None);
                    body.push_str(&format!(
                        " {}='{}'",
                        attribute.name,
                        syntax::escape::attribute(value, '\'')
                    ));
                }
                body.push_str(&format!(">{value}"));
                for child in &element.children {
                    body.push_str(&format!("<{0}>{value}</{0}>", child.name));
                }
                body.push_str(&format!("</{}>", kind.root));
            }
        }
        let file = kind
            .files
            .first()
            .cloned()
            .unwrap_or_default()
            .replace(['*', '?'], "x");
        let document = Document::new(PathBuf::from(file), None, body);
        let settings = Settings {
            dialects: vec![dialect.clone()],
            ..Settings::default()
        };
        let view = View::without_disk(document, settings, None, &[]);
        ide::checks::run(&view);
    }
});
