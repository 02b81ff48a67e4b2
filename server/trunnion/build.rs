//! Takes the preview's script into the program if it has been built; `editor-clients/preview-page/build` builds it.

use std::path::Path;
use std::{env, fs};

fn main() {
    let built = Path::new("../../editor-clients/preview-page/built");
    // The folder is always there, so that cargo sees when the script comes, and does not look again until then.
    println!("cargo::rerun-if-changed={}", built.display());
    let script = fs::read(built.join("page.js")).unwrap_or_default();
    let out = env::var_os("OUT_DIR").expect("cargo sets OUT_DIR");
    fs::write(Path::new(&out).join("page.js"), script).expect("OUT_DIR can be written");
}
