use super::*;
use crate::fixture::Fixture;

#[test]
fn files_that_exist_are_linked() {
    let fixture = Fixture::rig(r#"<sounds><sound file="a.ogg"/><sound file="b.ogg"/></sounds>"#)
        .file("a.ogg")
        .file("rig.gltf");
    let view = fixture.view();
    let found: Vec<(&str, PathBuf)> = links(&view)
        .into_iter()
        .map(|link| (&view.text()[link.range], link.target))
        .collect();
    assert_eq!(
        found,
        [
            ("rig.gltf", PathBuf::from("/mod/rig.gltf")),
            ("a.ogg", PathBuf::from("/mod/a.ogg"))
        ]
    );
}

#[test]
fn a_document_of_no_dialect_has_none() {
    assert_eq!(
        links(
            &Fixture::house("<a file=\"a.ogg\"/>")
                .at("a.xml")
                .file("a.ogg")
                .view()
        ),
        []
    );
}
