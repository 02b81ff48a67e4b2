use super::*;
use crate::fixture::Fixture;

const BODY: &str = r#"<sounds><sound id="a" file="sounds/pump.ogg"/><sound id="b" file="gone.ogg"/>
<sound id="c" file="sounds/a&amp;b.ogg"/></sounds>"#;

fn rig() -> Fixture {
    Fixture::rig(BODY)
        .file("rig.gltf")
        .file("sounds/pump.ogg")
        .file("sounds/a&b.ogg")
}

/// What stands in the place of the names of files, for moves below the mod's root.
fn after(fixture: &Fixture, moves: &[(&str, &str)]) -> Vec<String> {
    let view = fixture.view();
    let moves: Vec<Move> = moves
        .iter()
        .map(|(from, to)| Move {
            from: Path::new("/mod").join(from),
            to: Path::new("/mod").join(to),
        })
        .collect();
    let edits = edits(&view, &moves);
    let text = |edit: &TextEdit| format!("{} -> {}", &view.text()[edit.range], edit.insert);
    edits.iter().map(text).collect()
}

#[test]
fn a_renamed_file_is_named_anew() {
    assert_eq!(
        after(&rig(), &[("sounds/pump.ogg", "sounds/pump-2.ogg")]),
        ["sounds/pump.ogg -> sounds/pump-2.ogg"]
    );
    assert_eq!(
        after(
            &rig(),
            &[
                ("sounds/a&b.ogg", "b&c.ogg"),
                ("rig.gltf", "scenes/rig.gltf")
            ]
        ),
        [
            "rig.gltf -> scenes/rig.gltf",
            "sounds/a&amp;b.ogg -> b&amp;c.ogg"
        ]
    );
}

#[test]
fn a_folder_takes_its_files_along() {
    assert_eq!(
        after(&rig(), &[("sounds", "noises/all")]),
        [
            "sounds/pump.ogg -> noises/all/pump.ogg",
            "sounds/a&amp;b.ogg -> noises/all/a&amp;b.ogg"
        ]
    );
}

#[test]
fn a_moved_document_still_names_what_it_named() {
    assert_eq!(
        after(&rig(), &[("rig.machine.xml", "machines/rig.machine.xml")]),
        [
            "rig.gltf -> ../rig.gltf",
            "sounds/pump.ogg -> ../sounds/pump.ogg",
            "sounds/a&amp;b.ogg -> ../sounds/a&amp;b.ogg"
        ]
    );
    // With all it names.
    assert_eq!(after(&rig(), &[("", "../elsewhere")]), [""; 0]);
}

#[test]
fn other_files_move_without_a_word() {
    for (from, to) in [
        ("sounds/pump.og", "x"),
        ("gone.ogg", "here.ogg"),
        ("machines", "rigs"),
    ] {
        assert_eq!(after(&rig(), &[(from, to)]), [""; 0], "{from}");
    }
}

/// What stands in the place of the names of dialects in `/mod/trunnion.toml`.
fn settings_after(text: &str, moves: &[(&str, &str)]) -> Vec<String> {
    let moves = moves.iter().map(|(from, to)| Move {
        from: Path::new("/mod").join(from),
        to: Path::new("/mod").join(to),
    });
    let moves: Vec<Move> = moves.collect();
    let edits = settings_edits(Path::new("/mod/trunnion.toml"), text, &moves);
    let said = |edit: &TextEdit| format!("{} -> {}", &text[edit.range], edit.insert);
    edits.iter().map(said).collect()
}

#[test]
fn settings_name_a_renamed_dialect_anew() {
    let text = "dialects = [\"a.dialect.toml\", 'd/b.dialect.toml', \"../c.toml\", \"/mod/e.toml\"]\nlibrary = [\"d\"]\n";
    assert_eq!(
        settings_after(text, &[("a.dialect.toml", "x/a \"1\".toml"), ("d", "it's")]),
        [
            r#""a.dialect.toml" -> "x/a \"1\".toml""#,
            r#"'d/b.dialect.toml' -> "it's/b.dialect.toml""#
        ]
    );
    assert_eq!(
        settings_after(
            text,
            &[("d/b.dialect.toml", "b.toml"), ("e.toml", "f.toml")]
        ),
        [
            "'d/b.dialect.toml' -> 'b.toml'",
            "\"/mod/e.toml\" -> \"/mod/f.toml\""
        ]
    );
}

#[test]
fn settings_that_move_name_the_same_dialects() {
    let text = "dialects = [\"a.toml\", \"../c.toml\"]\n";
    let moved = settings_after(
        text,
        &[
            ("trunnion.toml", "in/trunnion.toml"),
            ("a.toml", "in/a.toml"),
        ],
    );
    assert_eq!(moved, ["\"../c.toml\" -> \"../../c.toml\""]);
    assert!(settings_after(text, &[("other.toml", "a.toml"), ("x", "y")]).is_empty());
}
