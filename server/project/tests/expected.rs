//! Documents whose heads come before they are opened.

use std::fs;
use std::path::Path;

use project::{HEAD_LENGTH, SceneState, Workspace};
use tempfile::TempDir;

fn scene(nodes: &[&str]) -> String {
    let names: Vec<String> = nodes
        .iter()
        .map(|name| format!("{{\"name\":\"{name}\"}}"))
        .collect();
    let roots: Vec<usize> = (0..nodes.len()).collect();
    format!(
        r#"{{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":{roots:?}}}],"nodes":[{}]}}"#,
        names.join(",")
    )
}

/// A large definition.
fn machine(scene: &str) -> String {
    let body = "<!-- the crane on the quay -->\n".repeat(5_000);
    format!("<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"{scene}\">{body}</machine>")
}

/// The names of the nodes of an open document's scene.
fn nodes(workspace: &Workspace, path: &Path) -> Vec<String> {
    let view = workspace.snapshot().view(path).unwrap();
    let meaning = view.meaning.as_ref().expect("it is of a known kind");
    let SceneState::Loaded(file) = &meaning.scene else {
        panic!("no scene: {:?}", meaning.scene)
    };
    let ids = file.scene.ids();
    ids.map(|id| file.scene[id].name.to_string()).collect()
}

#[test]
fn a_document_that_was_expected_means_what_is_there_when_it_is_opened() {
    let place = std::env::temp_dir().canonicalize().unwrap();
    let folder = TempDir::with_prefix_in("trunnion-", place).unwrap();
    let file = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).unwrap();
        folder.path().join(name)
    };
    file("one.gltf", &scene(&["mast"]));
    file("two.gltf", &scene(&["mast", "boom"]));
    let (one, two) = (machine("one.gltf"), machine("two.gltf"));
    let (first, second) = (
        file("first.machine.xml", &one),
        file("second.machine.xml", &two),
    );
    let mut workspace = Workspace::default();
    workspace.expect(first.clone(), &one[..HEAD_LENGTH]);
    workspace.open(first.clone(), Some(1), one.clone());
    assert_eq!(nodes(&workspace, &first), ["mast"]);
    // Another one comes, and then one that names another scene than its file on the disk.
    workspace.expect(second.clone(), &one);
    workspace.open(first.clone(), Some(2), two.clone());
    assert_eq!(nodes(&workspace, &first), ["mast", "boom"]);
    workspace.expect(second.clone(), &one);
    file("two.gltf", &scene(&["hook"]));
    workspace.open(second.clone(), Some(1), two);
    assert_eq!(nodes(&workspace, &second), ["hook"]);
}
