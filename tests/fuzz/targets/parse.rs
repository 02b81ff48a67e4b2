//! Any bytes: decoded, parsed, and every part of the tree asked for.
#![no_main]

use acceptance::trees;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let text = match syntax::decode::bytes(data) {
        Ok(text) => text,
        Err(_) => String::from_utf8_lossy(data).into_owned(),
    };
    let tree = syntax::parse(&text);
    assert_eq!(tree.text(), text, "the tree holds the whole text");
    trees::check(&tree, &text);
});
