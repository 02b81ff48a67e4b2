//! The workspace against real folders.

use project::{
    ContentChange, Disk, FileState, SceneState, Settings, SettingsProblem, SettingsStore, Snapshot,
    View, Workspace, WorkspaceError,
};
use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Arc, mpsc},
    thread,
    time::Duration,
};
use syntax::{Encoding, Position};
use tempfile::TempDir;

/// A folder that goes when the test ends.
struct Folder(TempDir);

impl Folder {
    fn new() -> Self {
        // Without links in it, as editors name files.
        let place = std::env::temp_dir().canonicalize().unwrap();
        Self(TempDir::with_prefix_in("trunnion-", place).unwrap())
    }

    fn at(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn file(&self, name: &str, text: &str) -> PathBuf {
        let path = self.at(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
        path
    }
}

const SCENE: &str =
    r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"name":"body"}]}"#;

fn machine(body: &str) -> String {
    format!("<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\" scene=\"m.gltf\">{body}</machine>")
}

fn open(workspace: &mut Workspace, path: &Path, text: &str) -> Arc<View> {
    workspace.open(path.to_path_buf(), Some(1), text.to_string());
    view(&workspace.snapshot(), path)
}

fn view(snapshot: &Snapshot, path: &Path) -> Arc<View> {
    snapshot.view(path).unwrap()
}

fn at(line: u32, column: u32) -> Position {
    Position { line, column }
}

#[test]
fn a_scene_beside_the_definition_is_loaded() {
    let folder = Folder::new();
    folder.file("m.gltf", SCENE);
    let path = folder.file("m.machine.xml", &machine(""));
    let mut workspace = Workspace::default();
    let view = open(&mut workspace, &path, &machine(""));
    assert_eq!(&*view.scene().unwrap().nodes[0].name, "body");
}

#[test]
fn a_scene_that_comes_later_is_seen_when_the_disk_is_said_to_have_changed() {
    let folder = Folder::new();
    let path = folder.file("m.machine.xml", &machine(""));
    let mut workspace = Workspace::default();
    let before = open(&mut workspace, &path, &machine(""));
    assert!(matches!(
        before.meaning.as_ref().unwrap().scene,
        SceneState::NotThere(FileState::Missing(_))
    ));
    folder.file("m.gltf", SCENE);
    workspace.disk_changed();
    assert!(view(&workspace.snapshot(), &path).scene().is_some());
}

#[test]
fn letter_case_is_told_apart_from_absence() {
    let folder = Folder::new();
    folder.file("Sounds/Pump.ogg", "OggS");
    let text = machine(
        "<sounds><sound id=\"a\" file=\"sounds/pump.ogg\"/><sound id=\"b\" file=\"Sounds/Pump.ogg\"/>\
         <sound id=\"c\" file=\"Sounds/none.ogg\"/><sound id=\"d\" file=\"./Sounds/../Sounds/Pump.ogg\"/></sounds>",
    );
    let path = folder.file("m.machine.xml", &text);
    let view = open(&mut Workspace::default(), &path, &text);
    let meaning = view.meaning.as_ref().unwrap();
    let state = |name: &str| meaning.file(name).clone();
    assert!(
        matches!(state("sounds/pump.ogg"), FileState::CaseDiffers { written, .. } if written == "Sounds/Pump.ogg")
    );
    assert!(matches!(state("Sounds/Pump.ogg"), FileState::Found(_)));
    assert!(matches!(state("Sounds/none.ogg"), FileState::Missing(_)));
    assert!(matches!(
        state("./Sounds/../Sounds/Pump.ogg"),
        FileState::Found(_)
    ));
}

#[test]
fn changes_apply_in_order_each_to_what_the_one_before_left() {
    let folder = Folder::new();
    let path = folder.at("m.machine.xml");
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(1), "<a>\u{1f980}</a>".to_string());
    let part = |start, end, text: &str| ContentChange::Part {
        start,
        end,
        text: text.to_string(),
    };
    let changes = vec![
        part(at(0, 3), at(0, 5), "xy"),
        part(at(0, 4), at(0, 5), "\n\u{e9}"),
        part(at(1, 1), at(1, 1), "!"),
    ];
    workspace
        .change(&path, Some(2), changes, Encoding::Utf16)
        .unwrap();
    let document = workspace.snapshot().document(&path).unwrap();
    assert_eq!(**document.text(), "<a>x\n\u{e9}!</a>");
    assert_eq!(document.tree.text(), **document.text());
    assert_eq!(document.version, Some(2));
}

#[test]
fn an_impossible_change_puts_the_document_out_of_step_until_its_whole_text_comes() {
    let folder = Folder::new();
    let path = folder.at("m.machine.xml");
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(1), "<a/>".to_string());
    let beyond = vec![ContentChange::Part {
        start: at(7, 0),
        end: at(7, 0),
        text: "x".to_string(),
    }];
    assert!(matches!(
        workspace.change(&path, Some(2), beyond, Encoding::Utf8),
        Err(WorkspaceError::Change(_))
    ));
    assert_eq!(
        workspace.snapshot().view(&path).unwrap_err(),
        WorkspaceError::OutOfStep
    );
    let part = || ContentChange::Part {
        start: at(0, 1),
        end: at(0, 2),
        text: "c".to_string(),
    };
    assert_eq!(
        workspace.change(&path, Some(3), vec![part()], Encoding::Utf8),
        Err(WorkspaceError::OutOfStep)
    );
    let whole = vec![part(), ContentChange::Whole("<b/>".to_string()), part()];
    workspace
        .change(&path, Some(4), whole, Encoding::Utf8)
        .unwrap();
    assert_eq!(
        **workspace.snapshot().document(&path).unwrap().text(),
        "<c/>"
    );
}

#[test]
fn a_snapshot_stays_as_it_was() {
    let path = PathBuf::from("/nowhere/m.machine.xml");
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(1), "<a/>".to_string());
    let before = workspace.snapshot();
    let whole = vec![ContentChange::Whole("<b/>".to_string())];
    workspace
        .change(&path, Some(2), whole, Encoding::Utf8)
        .unwrap();
    workspace.close(&path);
    assert_eq!(**before.document(&path).unwrap().text(), "<a/>");
    assert_eq!(
        workspace.snapshot().document(&path).unwrap_err(),
        WorkspaceError::NotOpen
    );
}

#[test]
fn a_version_that_comes_while_the_first_is_being_read_is_made_from_it() {
    let alias = "<aliases><alias name=\"body\" path=\"0\"/></aliases>\n";
    let text = machine(&alias.repeat(20_000));
    let path = PathBuf::from("untitled:m.machine.xml");
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), Some(1), text);
    let snapshot = workspace.snapshot();
    let (begin, has_begun) = mpsc::channel();
    let of_path = path.clone();
    let first = thread::spawn(move || {
        begin.send(()).unwrap();
        view(&snapshot, &of_path)
    });
    has_begun.recv().unwrap();
    // Now or a moment ago; if it is done already, the test shows less, but nothing wrong.
    thread::sleep(Duration::from_millis(20));
    let change = ContentChange::Part {
        start: at(0, 0),
        end: at(0, 0),
        text: "<!-- -->".to_owned(),
    };
    workspace
        .change(&path, Some(2), vec![change], Encoding::Utf16)
        .unwrap();
    let second = view(&workspace.snapshot(), &path);
    let first = first.join().unwrap();
    let facts = |view: &View| -> Vec<_> {
        let entries = view.meaning.as_ref().unwrap().outline.entries().iter();
        entries.map(|entry| entry.facts.clone()).collect()
    };
    let (first, second) = (facts(&first), facts(&second));
    let shared = second
        .iter()
        .filter(|new| first.iter().any(|old| Arc::ptr_eq(old, new)));
    assert!(shared.count() > second.len() / 2);
}

#[test]
fn settings_come_from_the_nearest_folder_above_and_their_mistakes_have_places() {
    let folder = Folder::new();
    folder.file("trunnion.toml", "dialects = [\"none.dialect.toml\"]\n");
    let path = folder.file("machines/m.machine.xml", &machine(""));
    let view = open(&mut Workspace::default(), &path, &machine(""));
    assert_eq!(view.settings.problems.len(), 1);
    let absent = &view.settings.problems[0];
    assert!(absent.path.ends_with("trunnion.toml"));
    assert_eq!((absent.line, absent.column), (0, 12));
    assert!(absent.message.contains("`none.dialect.toml`"), "{absent:?}");
    // It has come since, and the settings file is as it was.
    folder.file(
        "none.dialect.toml",
        "[dialect]\nname = \"quay\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n[element.rig]\n",
    );
    let view = open(&mut Workspace::default(), &path, &machine(""));
    assert_eq!(view.settings.problems, []);
    folder.file("machines/trunnion.toml", "colour = 1\n");
    let view = open(&mut Workspace::default(), &path, &machine(""));
    assert_eq!(view.settings.problems.len(), 1);
    assert!(
        view.settings.problems[0]
            .path
            .ends_with("machines/trunnion.toml")
    );
    assert_eq!(
        (
            view.settings.problems[0].line,
            view.settings.problems[0].column
        ),
        (0, 0)
    );
}

/// Settings may come from a stranger, who has nothing to say about what is shown of other files.
#[test]
fn of_a_file_that_is_no_dialect_nothing_is_told() {
    let folder = Folder::new();
    let path = folder.file("machines/m.machine.xml", &machine(""));
    let told = |name: &str, text: &str| {
        folder.file(name, text);
        folder.file("trunnion.toml", &format!("dialects = [\"{name}\"]\n"));
        let view = open(&mut Workspace::default(), &path, &machine(""));
        let problems = view.settings.problems.iter();
        let file =
            |problem: &SettingsProblem| problem.path.file_name()?.to_str().map(str::to_owned);
        let mut files: Vec<_> = problems.map(|one| file(one).unwrap()).collect();
        files.dedup();
        files.join(" ")
    };
    let secret = "user = \"quay\"\npassword: salt\n";
    assert_eq!(told("keys", secret), "trunnion.toml");
    assert_eq!(told("keys.toml", "[dialects]\nname = 1\n"), "trunnion.toml");
    // Whoever writes a dialect is told where it is wrong.
    assert_eq!(told("my.dialect.toml", secret), "my.dialect.toml");
    assert_eq!(told("my.toml", "\n[dialect] \nname = 1\n"), "my.toml");
}

#[test]
fn a_manifest_makes_the_mod_and_knows_its_machines_and_the_archive_beside_it() {
    let folder = Folder::new();
    let manifest = "<mod xmlns=\"urn:trunnion:mod:1\" title=\"t\" version=\"1\" author=\"a\"><machine file=\"m/one.machine.xml\"/></mod>";
    let mod_path = folder.file("quay/mod.xml", manifest);
    let one = folder.file("quay/m/one.machine.xml", &machine(""));
    folder.file("quay/m/two.machine.xml", &machine(""));
    folder.file("quay/m/notes.xml", "<notes/>");
    folder.file("Quay.zip", "PK");
    let mut workspace = Workspace::default();
    let view = open(&mut workspace, &mod_path, manifest);
    assert_eq!(
        view.folder.inventory.machines,
        ["m/one.machine.xml", "m/two.machine.xml"]
    );
    assert_eq!(
        &*view.machine().unwrap().listings[0].value,
        "m/one.machine.xml"
    );
    assert!(
        view.folder
            .shadowing_archive
            .as_ref()
            .unwrap()
            .ends_with("Quay.zip")
    );
    let view = open(&mut workspace, &one, &machine(""));
    assert_eq!(view.folder.manifest.as_ref(), Some(&mod_path));
    assert!(view.folder.root.ends_with("quay"));
}

#[test]
fn a_document_that_no_dialect_fits_means_nothing() {
    let view = open(
        &mut Workspace::default(),
        Path::new("/nowhere/page.xml"),
        "<page/>",
    );
    assert!(view.meaning.is_none());
}

#[test]
fn an_unsaved_document_is_read_though_nothing_lies_beside_it() {
    let view = open(
        &mut Workspace::default(),
        Path::new("untitled:1.machine.xml"),
        &machine(""),
    );
    assert!(matches!(
        view.meaning.as_ref().unwrap().scene,
        SceneState::NotThere(FileState::InGame)
    ));
}

#[test]
fn a_game_folder_or_a_library_that_is_not_there_is_told_until_it_is() {
    let folder = Folder::new();
    let settings = "game-folder = \"game\"\nlibrary = [\"mods\"]\n";
    folder.file("trunnion.toml", settings);
    let path = folder.file("a.machine.xml", &machine(""));
    let mut workspace = Workspace::default();
    workspace.open(path.clone(), None, machine(""));
    let lines = |workspace: &Workspace| -> Vec<u32> {
        let view = workspace.snapshot().view(&path).unwrap();
        let problems = view.settings.problems.iter();
        problems.map(|problem| problem.line).collect()
    };
    assert_eq!(lines(&workspace), [0, 1]);
    fs::create_dir(folder.at("game")).unwrap();
    fs::create_dir(folder.at("mods")).unwrap();
    workspace.disk_changed();
    assert_eq!(lines(&workspace), [0; 0]);
}

fn scene_with(nodes: &[&str]) -> String {
    let nodes: Vec<String> = nodes
        .iter()
        .map(|name| format!(r#"{{"name":"{name}"}}"#))
        .collect();
    format!(
        r#"{{"asset":{{"version":"2.0"}},"nodes":[{}]}}"#,
        nodes.join(",")
    )
}

#[test]
fn what_the_scene_was_is_known_from_version_to_version_while_the_paths_stay() {
    let folder = Folder::new();
    folder.file("m.gltf", &scene_with(&["body"]));
    let text = machine(r#"<bodies><body node="0" mass="1"/></bodies>"#);
    let path = folder.file("m.machine.xml", &text);
    let mut workspace = Workspace::default();
    open(&mut workspace, &path, &text);
    let earlier = |workspace: &Workspace| {
        let view = view(&workspace.snapshot(), &path);
        let earlier = view.meaning.as_ref().unwrap().earlier().cloned();
        earlier.map(|earlier| earlier.scenes.before.scene.nodes.len())
    };
    let export = |workspace: &mut Workspace, scene: &str| {
        folder.file("m.gltf", scene);
        workspace.disk_changed();
        earlier(workspace)
    };
    assert_eq!(earlier(&workspace), None);
    assert_eq!(export(&mut workspace, "{ half of"), None);
    let second = scene_with(&["lamp", "body"]);
    assert_eq!(export(&mut workspace, &second), Some(1));
    // The paths are still those of the first scene.
    let third = scene_with(&["lamp", "mast", "body"]);
    assert_eq!(export(&mut workspace, &third), Some(1));
    let start = u32::try_from(text.find("\"0\"").unwrap()).unwrap() + 1;
    let repair = ContentChange::Part {
        start: at(0, start),
        end: at(0, start + 1),
        text: "2".to_owned(),
    };
    workspace
        .change(&path, Some(2), vec![repair], Encoding::Utf16)
        .unwrap();
    assert_eq!(earlier(&workspace), Some(1));
    // Now they are those of the third.
    assert_eq!(export(&mut workspace, &scene_with(&["body"])), Some(3));
}

#[test]
fn a_document_that_is_opened_again_still_knows_what_its_scene_was() {
    let folder = Folder::new();
    folder.file("m.gltf", &scene_with(&["body"]));
    let text = machine(r#"<bodies><body node="0" mass="1"/></bodies>"#);
    let path = folder.file("m.machine.xml", &text);
    let mut workspace = Workspace::default();
    let earlier = |workspace: &Workspace, path: &Path| {
        let view = view(&workspace.snapshot(), path);
        let earlier = view.meaning.as_ref().unwrap().earlier().cloned();
        earlier.map(|earlier| earlier.scenes.before.scene.nodes.len())
    };
    open(&mut workspace, &path, &text);
    assert_eq!(earlier(&workspace, &path), None);
    // Exported anew before it is closed, and again while it is.
    folder.file("m.gltf", &scene_with(&["lamp", "body"]));
    workspace.disk_changed();
    assert_eq!(earlier(&workspace, &path), Some(1));
    workspace.close(&path);
    open(&mut workspace, &path, &text);
    assert_eq!(earlier(&workspace, &path), Some(1));
    workspace.close(&path);
    folder.file("m.gltf", &scene_with(&["lamp", "mast", "body"]));
    open(&mut workspace, &path, &text);
    assert_eq!(earlier(&workspace, &path), Some(1));
    workspace.close(&path);
    // Of many others that are closed after it, the last ones are remembered.
    for at in 0..20 {
        let other = folder.file(&format!("{at}.machine.xml"), &text);
        open(&mut workspace, &other, &text);
        earlier(&workspace, &other);
        workspace.close(&other);
    }
    open(&mut workspace, &path, &text);
    assert_eq!(earlier(&workspace, &path), None);
}

/// Settings in a folder, a dialect in it, one beside it, and everything that settings can lead to.
fn strangers_settings() -> Folder {
    let folder = Folder::new();
    for name in ["own/d/own.dialect.toml", "other.dialect.toml"] {
        folder.file(name, "[dialect]\nname = \"ferry\"\nformat = 1\n\n[[document]]\nname = \"ferry\"\nroot = \"ferry\"\n\n[element.\"/ferry\"]\n");
    }
    folder.file("mods/a.xml", "<ferry/>");
    folder.file(
        "own/trunnion.toml",
        "dialects = [\"../other.dialect.toml\", \"d/../d/own.dialect.toml\", \"missing.dialect.toml\"]\n\
         game-folder = \"../nowhere\"\nlibrary = [\"../mods\", \"../none\"]\ncache-folder = \"kept\"\n\
         inlay-hints = false\n",
    );
    folder
}

fn dialect_files(settings: &Settings) -> Vec<&str> {
    let files = settings
        .dialects
        .iter()
        .filter_map(|dialect| dialect.origin.as_deref());
    files
        .filter_map(|file| file.file_name()?.to_str())
        .collect()
}

#[test]
fn whoever_is_trusted_may_name_any_folder() {
    let folder = strangers_settings();
    let settings = SettingsStore::default().for_folder(&folder.at("own"));
    assert_eq!(
        dialect_files(&settings),
        ["other.dialect.toml", "own.dialect.toml"]
    );
    assert_eq!(settings.config.library.len(), 2);
    assert!(settings.config.cache_folder.is_some() && settings.config.game_folder.is_some());
    assert_eq!(settings.problems.len(), 3, "{:?}", settings.problems);
}

#[test]
fn a_stranger_may_name_no_folder() {
    let folder = strangers_settings();
    let store = SettingsStore::default();
    store.distrust();
    let settings = store.for_folder(&folder.at("own"));
    assert_eq!(dialect_files(&settings), ["own.dialect.toml"]);
    assert!(settings.config.library.is_empty());
    assert_eq!(settings.config.cache_folder, None);
    assert_eq!(settings.config.game_folder, None);
    assert!(!settings.config.has_hints, "what does no harm counts");
    let problems: Vec<_> = settings
        .problems
        .iter()
        .map(|problem| problem.message.as_str())
        .collect();
    assert_eq!(
        problems,
        ["There is no dialect file `missing.dialect.toml` beside this file."]
    );
}

#[cfg(unix)]
#[test]
fn a_strangers_link_leads_nowhere() {
    let folder = strangers_settings();
    let own = folder.at("own");
    folder.file("own/trunnion.toml", "dialects = [\"link.dialect.toml\"]\n");
    std::os::unix::fs::symlink("../other.dialect.toml", own.join("link.dialect.toml")).unwrap();
    let store = SettingsStore::default();
    assert_eq!(
        dialect_files(&store.for_folder(&own)),
        ["link.dialect.toml"]
    );
    let store = SettingsStore::default();
    store.distrust();
    assert_eq!(dialect_files(&store.for_folder(&own)), [""; 0]);
}

#[test]
fn what_is_remembered_for_a_run_is_what_is_found_each_time() {
    let folder = strangers_settings();
    folder.file("own/a/b/m.machine.xml", "<machine/>");
    folder.file("own/a/trunnion.toml", "inlay-hints = 1\n");
    folder.file("beside/c/m.machine.xml", "<machine/>");
    let run = SettingsStore::of_one_run();
    let below = [
        "own/a/b", "own", "own/a", "own/none", "beside/c", "beside", "",
    ];
    for below in below.iter().chain(&below) {
        let at = folder.at(below);
        let (once, each_time) = (
            run.for_folder(&at),
            SettingsStore::default().for_folder(&at),
        );
        assert_eq!(once.config, each_time.config, "{below}");
        assert_eq!(once.problems, each_time.problems, "{below}");
        assert_eq!(dialect_files(&once), dialect_files(&each_time), "{below}");
    }
    folder.file("own/trunnion.toml", "code-lenses = false\n");
    let own = folder.at("own");
    assert!(run.for_folder(&own).config.has_lenses);
    assert!(!SettingsStore::default().for_folder(&own).config.has_lenses);
}

#[cfg(unix)]
#[test]
fn a_link_is_found_if_it_leads_to_a_file() {
    let folder = Folder::new();
    folder.file("sounds/pump.ogg", "OggS");
    for (link, to) in [("good", "pump.ogg"), ("dead", "none.ogg"), ("folder", ".")] {
        std::os::unix::fs::symlink(to, folder.at("sounds").join(link)).unwrap();
    }
    let names = [
        "good",
        "dead",
        "folder",
        "pump.ogg",
        "pump.ogg/.",
        "folder/pump.ogg",
        "pump.ogg/x",
        "../sounds",
    ];
    let sounds = names.map(|name| format!("<sound id=\"{name}\" file=\"sounds/{name}\"/>"));
    let text = machine(&format!("<sounds>{}</sounds>", sounds.concat()));
    let path = folder.file("m.machine.xml", &text);
    let view = open(&mut Workspace::default(), &path, &text);
    let file = |name: &&str| {
        view.meaning
            .as_ref()
            .unwrap()
            .file(&format!("sounds/{name}"))
            .clone()
    };
    let is_found = |name: &&str| matches!(file(name), FileState::Found(_));
    let found: Vec<_> = names.into_iter().filter(is_found).collect();
    assert_eq!(found, ["good", "pump.ogg", "pump.ogg/.", "folder/pump.ogg"]);
}

#[test]
fn a_large_document_finds_its_scene_however_many_are_read_at_once() {
    let folder = Folder::new();
    folder.file("m.gltf", SCENE);
    let text = machine(&format!("<!--{}-->", "x".repeat(100_000)));
    let path = folder.file("m.machine.xml", &text);
    let read = |_| {
        let (disk, settings) = (Disk::default(), SettingsStore::default());
        let view = project::view_of(path.clone(), text.clone(), &disk, &settings);
        view.scene().map(|scene| scene.nodes.len())
    };
    assert_eq!(read(0), Some(1));
    assert!(machine::in_parallel(3, 1, read).eq([Some(1); 3]));
}
