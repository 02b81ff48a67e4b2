//! Takes the scripts of the pages into the program if they have been built (`editor-clients/*/build` build them), and the
//! demo mod. Has the linker put side by side what usually runs, and such files aside.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

const CLIENTS: &str = "../../editor-clients";
const DEMO: &str = "../../corpus/ternholt";
const USUAL_CODE: &str = "usual-code.ld";

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    for page in ["preview-page", "try-page"] {
        let built = Path::new(CLIENTS).join(page).join("built");
        // The folder is always there, so that cargo sees when the script comes, and does not look again until then.
        println!("cargo::rerun-if-changed={}", built.display());
        let script = fs::read(built.join("page.js")).unwrap_or_default();
        let copy = out.join(format!("{page}.js"));
        fs::write(&copy, script).expect("OUT_DIR can be written");
        fs::write(out.join(format!("{page}.rs")), file(&copy)).expect("OUT_DIR can be written");
    }
    println!("cargo::rerun-if-changed={DEMO}");
    fs::write(out.join("demo.rs"), demo()).expect("OUT_DIR can be written");
    lay_out();
}

/// A file in Rust, as a static: it has a name by which the linker can lay it aside: a megabyte of files among the constants
/// makes the system map what lies between them.
fn file(path: &Path) -> String {
    let bytes = fs::metadata(path).expect("it can be read").len();
    format!("{{ static FILE: [u8; {bytes}] = *include_bytes!({path:?}); &FILE }}")
}

/// Hands the linker the list of what usually runs (`tests/benches/usual_code.rs` makes it), if it is the one that comes with
/// the compiler: not all take such lists. An unoptimised program gains nothing.
fn lay_out() {
    println!("cargo::rerun-if-changed={USUAL_CODE}");
    let is = |key: &str, value: &str| env::var(key).is_ok_and(|there| there == value);
    let is_usual = env::var_os("RUSTC_LINKER").is_none()
        && env::var("CARGO_ENCODED_RUSTFLAGS").is_ok_and(|flags| !flags.contains("link"));
    if is("TARGET", "x86_64-unknown-linux-gnu") && is("PROFILE", "release") && is_usual {
        let list = fs::canonicalize(USUAL_CODE).expect("the list is there");
        println!("cargo::rustc-link-arg-bins=-Wl,--script={}", list.display());
    }
}

/// A list of pairs in Rust: name below the mod's folder, content.
fn demo() -> String {
    let root = fs::canonicalize(DEMO).expect("the demo is there");
    let mut folders = vec![root.clone()];
    let mut files = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("it can be read") {
            let path = entry.expect("it can be read").path();
            match path.is_dir() {
                true => folders.push(path),
                false => files.push(path),
            }
        }
    }
    files.sort();
    let mut list = String::from("&[\n");
    for path in files {
        let name = path.strip_prefix(&root).expect("it is below");
        let name = name
            .to_str()
            .expect("the demo has plain names")
            .replace('\\', "/");
        let file = file(&path);
        writeln!(list, "    ({name:?}, {file}),").expect("a text takes text");
    }
    list.push(']');
    list
}
