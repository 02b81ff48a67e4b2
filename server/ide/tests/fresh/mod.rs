//! What a checker that went along says, held against what a fresh one says.

use std::path::Path;

use ide::Finding;
use ide::checks::{self, Checker};
use project::Workspace;

/// What is found, which must be what is found in a fresh document of the same text.
pub(crate) fn as_if_fresh(
    workspace: &Workspace,
    checker: &mut Checker,
    path: &Path,
    text: &str,
    when: &str,
) -> Vec<Finding> {
    let view = workspace.snapshot().view(path).expect("it is open");
    assert_eq!(view.text(), text);
    let found = checker.run(&view);
    let mut other = Workspace::default();
    other.open(path.to_path_buf(), Some(0), text.to_owned());
    let fresh = checks::run(&other.snapshot().view(path).expect("it is open"));
    if found != fresh {
        let only = |these: &[Finding], those: &[Finding]| {
            let only = these.iter().filter(|one| !those.contains(one));
            only.take(10).cloned().collect::<Vec<_>>()
        };
        panic!(
            "{when}: too much {:#?}, missing {:#?}",
            only(&found, &fresh),
            only(&fresh, &found)
        );
    }
    found
}
