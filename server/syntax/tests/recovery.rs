//! What a person sees of broken documents: each `recovery/NAME.xml` with its errors and the outline of its tree in
//! `recovery/NAME.txt`. One mistake, one error, where one would look for it; what stands around it keeps its meaning.
//! The `sound-…` cases look odd but are well-formed: they have no errors. `UPDATE_EXPECT=1` writes the outcome anew.

mod common;

use std::path::{Path, PathBuf};

fn cases() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/recovery");
    let files = std::fs::read_dir(folder).expect("the folder of cases can be read");
    let paths = files.filter_map(|file| Some(file.ok()?.path()));
    let mut cases: Vec<_> = paths
        .filter(|path| path.extension().is_some_and(|end| end == "xml"))
        .collect();
    cases.sort();
    cases
}

#[test]
fn broken_documents_are_understood_as_people_understand_them() {
    let cases = cases();
    assert!(cases.len() > 60);
    for case in cases {
        let text = std::fs::read_to_string(&case).expect("a case can be read");
        expect_test::expect_file![case.with_extension("txt")].assert_eq(&common::report(&text));
    }
}

#[test]
fn sound_documents_have_no_errors() {
    for case in cases() {
        let name = case
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let text = std::fs::read_to_string(&case).expect("a case can be read");
        let errors = syntax::parse(&text).errors().len();
        assert_eq!(
            errors == 0,
            name.starts_with("sound-"),
            "{name} has {errors} errors"
        );
    }
}
