//! Which changes of an editor are taken, and which are not.

use std::path::{Path, PathBuf};

use project::{ContentChange, Workspace, WorkspaceError};
use syntax::{Encoding, Position};

const FILE: &str = "/nowhere/a.xml";

fn workspace(text: &str) -> Workspace {
    let mut workspace = Workspace::default();
    workspace.open(PathBuf::from(FILE), Some(5), text.to_owned());
    workspace
}

fn text(workspace: &Workspace) -> String {
    let document = workspace.snapshot().document(Path::new(FILE));
    document.unwrap().text().to_string()
}

/// A text put in at a place on the first line.
fn typed(column: u32, text: &str) -> ContentChange {
    let at = Position { line: 0, column };
    ContentChange::Part {
        start: at,
        end: at,
        text: text.to_owned(),
    }
}

fn change(
    workspace: &mut Workspace,
    version: i32,
    changes: Vec<ContentChange>,
) -> Result<(), WorkspaceError> {
    workspace.change(Path::new(FILE), Some(version), changes, Encoding::Utf16)
}

#[test]
fn an_equal_version_is_taken_and_an_older_one_is_not() {
    let mut workspace = workspace("<a/>");
    change(&mut workspace, 5, vec![typed(2, "b")]).unwrap();
    assert_eq!(text(&workspace), "<ab/>");
    change(&mut workspace, 4, vec![typed(3, "c")]).unwrap_err();
}

#[test]
fn what_comes_before_a_whole_text_does_not_matter() {
    let mut workspace = workspace("<a/>");
    let nowhere = ContentChange::Part {
        start: Position { line: 9, column: 0 },
        end: Position { line: 9, column: 1 },
        text: String::new(),
    };
    let whole = ContentChange::Whole("<b/>".to_owned());
    change(&mut workspace, 6, vec![nowhere, whole, typed(2, "c")]).unwrap();
    assert_eq!(text(&workspace), "<bc/>");
}

#[test]
fn a_column_past_the_end_of_its_line_means_the_end() {
    let mut workspace = workspace("<a>\n</a>");
    change(&mut workspace, 6, vec![typed(99, "b")]).unwrap();
    assert_eq!(text(&workspace), "<a>b\n</a>");
}
