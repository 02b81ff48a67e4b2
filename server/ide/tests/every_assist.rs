//! Everything that is offered anywhere in the corpus, sound files and faulty ones: it can be made or says why not,
//! its edits fit, and it makes nothing worse.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use ide::{Trust, assists, checks};
use project::{Disk, SettingsStore};
use syntax::{TextRange, TextSize};

fn definitions() -> Vec<PathBuf> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../corpus");
    let (mut folders, mut files) = (vec![corpus], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            match entry.path() {
                path if path.is_dir() => folders.push(path),
                path if path.extension().is_some_and(|end| end == "xml") => files.push(path),
                _ => {}
            }
        }
    }
    files.sort();
    files
}

#[test]
fn whatever_is_offered_can_be_made_or_says_why_not() {
    let (disk, settings) = (Disk::default(), SettingsStore::default());
    let (mut made, mut refused, mut disabled) = (0, Vec::new(), 0);
    for path in definitions() {
        let shown = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = std::fs::read(&path).unwrap();
        let Ok(text) = syntax::decode::bytes(&bytes) else {
            continue;
        };
        let view = project::view_of(path.canonicalize().unwrap(), text.clone(), &disk, &settings);
        let findings = checks::run(&view);
        let errors = |view: &project::View| view.tree().errors().len();
        // Faulty files are much alike: where something is wrong, and here and there.
        let is_faulty = path.to_string_lossy().contains("faults");
        let marks: Vec<usize> = text
            .char_indices()
            .filter(|(_, c)| "<=".contains(*c))
            .map(|(at, _)| at + 1)
            .collect();
        let wrong = findings
            .iter()
            .map(|finding| usize::from(finding.range.start()));
        let places = marks
            .into_iter()
            .step_by(if is_faulty { 9 } else { 1 })
            .chain(wrong);
        let mut seen = BTreeSet::new();
        for at in places.chain([0, text.len()]) {
            let at = TextRange::empty(TextSize::new(at as u32));
            for offer in assists::offers_with(&view, at, &findings) {
                if offer.disabled.is_some() {
                    disabled += 1;
                    continue;
                }
                if !seen.insert(offer.title.clone()) {
                    continue;
                }
                match assists::make(&view, &offer.key) {
                    Ok(change) => {
                        made += 1;
                        assert!(!change.edits.is_empty(), "{shown}: {}", offer.title);
                        let after = syntax::apply(&text, &change.edits)
                            .unwrap_or_else(|error| panic!("{shown}: {}: {error}", offer.title));
                        let after =
                            project::view_of(view.document.path.clone(), after, &disk, &settings);
                        assert!(
                            errors(&after) <= errors(&view),
                            "{shown}: {}\n{}",
                            offer.title,
                            after.text()
                        );
                        if offer.trust == Trust::Safe {
                            assert!(
                                checks::run(&after).len() <= findings.len(),
                                "{shown}: {}",
                                offer.title
                            );
                        }
                    }
                    Err(reason) => {
                        assert!(reason.ends_with('.'), "{shown}: {}: {reason}", offer.title);
                        refused.push(format!("{shown}: {}: {reason}", offer.title));
                    }
                }
            }
        }
    }
    assert!(
        made > 200 && disabled > 20,
        "{made} made, {disabled} disabled"
    );
    // What is known beforehand is said beforehand.
    assert_eq!(refused, Vec::<String>::new(), "{made} made");
}
