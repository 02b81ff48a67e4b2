//! Views for tests, made without a disk.
//!
//! ```text
//! Fixture::house(r#"<machine xmlns="urn:trunnion:machine:1">$0</machine>"#)
//!     .scene("bram\n  mast 0 1.1 0\n    hook")
//!     .file("sounds/pump.ogg")
//!     .view()
//! ```

use dialect::Dialect;
use glam::DVec3;
use learn::Precedents;
use project::{Disk, Document, SceneFile, Settings, View};
use scene::{Bounds, NodeParts, Rest, Scene, SceneBuilder};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
};
use syntax::TextSize;

/// Where the document of a fixture and its scene lie.
const DOCUMENT: &str = "/mod/rig.machine.xml";
const SCENE: &str = "/mod/rig.gltf";
const ROOT: &str = "/mod";

/// The scene of most tests.
pub(crate) const RIG: &str = "\
rig
  arm.left 1 0 0 box
    wheel.left 0 0.5 0
  arm.right -1 0 0 box
    wheel.right 0 0.5 0
  mast 0 1 0
    hook 0 0.25 -0.1
";

/// A document and what lies around it.
pub(crate) struct Fixture {
    text: String,
    marks: Vec<TextSize>,
    path: PathBuf,
    dialects: Vec<Arc<Dialect>>,
    scene: Option<Arc<SceneFile>>,
    files: Vec<String>,
    library: Option<Arc<Precedents>>,
    scene_before: Option<Arc<SceneFile>>,
}

/// The text is what a failed test should show.
impl std::fmt::Debug for Fixture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}\nmarks: {:?}", self.text, self.marks)
    }
}

pub(crate) const YARD: &str = include_str!("../../../corpus/dialects/yard/yard.dialect.toml");

impl Fixture {
    /// A definition in the house dialect; `$0` marks offsets and is taken out.
    pub(crate) fn house(marked: &str) -> Self {
        Self::of(marked, vec![Dialect::house()])
    }

    /// A definition in the house dialect with this body, and [`RIG`] as its scene.
    pub(crate) fn rig(body: &str) -> Self {
        let text = format!(
            "<machine xmlns=\"urn:trunnion:machine:1\" id=\"rig\" scene=\"rig.gltf\">\n{body}\n</machine>\n"
        );
        Self::house(&text).scene(RIG)
    }

    /// A definition in the yard dialect, where values stand in elements, index
    /// paths count from one and wheels are known by number.
    pub(crate) fn yard(body: &str) -> Self {
        Self::in_yard(YARD, body)
    }

    /// The same where shifts and swellings say how far it goes from where a limb rests, or is.
    pub(crate) fn yard_of_changes(body: &str) -> Self {
        let shift = "ends = \"shift\"\n";
        let yard = YARD.replace(shift, &format!("{shift}from-rest = true\n"));
        let yard = yard.replace("ends = \"swell\"", "by = \"swell\"");
        let (before, swell) = yard.split_once("[element.swell]").expect("limbs swell");
        let swell = swell.replacen(r#" list = { separator = "|", min = 2, max = 2 },"#, "", 1);
        Self::in_yard(&format!("{before}[element.swell]{swell}"), body)
    }

    /// The same in a dialect that is nearly that one.
    pub(crate) fn in_yard(dialect: &str, body: &str) -> Self {
        let text = format!("<rig>\n<limbs-file>rig.limbs.xml</limbs-file>\n{body}\n</rig>\n");
        let yard = Dialect::read(dialect, None).expect("the yard dialect is sound");
        Self::of(&text, vec![Arc::new(yard), Dialect::house()])
            .at("rigs/rig.rig.xml")
            .scene(RIG)
    }

    /// A definition in another dialect; the house dialect stays known.
    pub(crate) fn of(marked: &str, dialects: Vec<Arc<Dialect>>) -> Self {
        let mut text = String::with_capacity(marked.len());
        let mut marks = Vec::new();
        for (at, piece) in marked.split("$0").enumerate() {
            if at > 0 {
                marks.push(TextSize::of(&text));
            }
            text.push_str(piece);
        }
        Self {
            text,
            marks,
            path: PathBuf::from(DOCUMENT),
            dialects,
            scene: None,
            files: Vec::new(),
            library: None,
            scene_before: None,
        }
    }

    /// Gives the document another place, relative to the mod.
    pub(crate) fn at(mut self, path: &str) -> Self {
        self.path = Path::new(ROOT).join(path);
        self
    }

    /// A scene as an indented list of nodes: a name (`-` for none), perhaps
    /// three numbers for the rest translation, the word `box` for a shape
    /// of one metre around the node's origin, and `shown` or `hidden`. A node's source is its line. The
    /// definition must name a scene, whatever its file is called.
    pub(crate) fn scene(mut self, listed: &str) -> Self {
        self.scene = Some(scene_file(listed));
        self
    }

    /// What the scene was when the definition's paths were written.
    pub(crate) fn written_for(mut self, listed: &str) -> Self {
        self.scene_before = Some(scene_file(listed));
        self
    }

    /// A file that exists in the mod, relative to its root. A document in the
    /// root finds it under this name.
    pub(crate) fn file(mut self, file: &str) -> Self {
        self.files.push(file.to_owned());
        self
    }

    /// Definitions of others, as files `/library/0.xml`, `/library/1.xml` …
    pub(crate) fn library(mut self, texts: &[&str]) -> Self {
        let mut corpus = learn::Corpus::default();
        for (at, text) in texts.iter().enumerate() {
            let source = learn::Source {
                file: PathBuf::from(format!("/library/{at}.xml")),
                member: None,
            };
            assert!(corpus.add(source, text), "an element is wanted: {text}");
        }
        self.library = Some(Arc::new(Precedents::of(corpus)));
        self
    }

    /// The document without its marks.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// All marked offsets.
    pub(crate) fn marks(&self) -> &[TextSize] {
        &self.marks
    }

    /// The only marked offset.
    pub(crate) fn offset(&self) -> TextSize {
        let [offset] = self.marks[..] else {
            panic!("one $0 is wanted, there are {}", self.marks.len());
        };
        offset
    }

    pub(crate) fn view(&self) -> View {
        let files: Vec<&str> = self.files.iter().map(String::as_str).collect();
        let document = Document::new(self.path.clone(), Some(1), self.text.clone());
        let settings = Settings {
            dialects: self.dialects.clone(),
            ..Settings::default()
        };
        let mut view = View::without_disk(document, settings, self.scene.clone(), &files);
        Arc::make_mut(&mut view.folder).root = PathBuf::from(ROOT);
        view.library = self.library.clone();
        if let (Some(meaning), Some(before)) = (&mut view.meaning, &self.scene_before) {
            meaning.was_written_for(before, &Disk::default());
        }
        view
    }
}

fn scene_file(listed: &str) -> Arc<SceneFile> {
    Arc::new(SceneFile {
        path: PathBuf::from(SCENE),
        scene: listed_scene(listed),
        notes: Vec::new(),
    })
}

pub(crate) fn listed_scene(listed: &str) -> Scene {
    let mut builder = SceneBuilder::new().text_positions(true);
    let mut open: Vec<usize> = Vec::new();
    let mut start = 0;
    for line in listed.split_inclusive('\n') {
        let indent = line.len() - line.trim_start().len();
        let trimmed = line.trim();
        if !trimmed.is_empty() {
            while open.last().is_some_and(|&outer| outer >= indent) {
                open.pop();
                builder.close();
            }
            open.push(indent);
            builder.open(listed_node(trimmed, start + indent));
        }
        start += line.len();
    }
    builder.finish()
}

fn listed_node(line: &str, start: usize) -> NodeParts {
    let mut words = line.split_whitespace();
    let name = words
        .next()
        .filter(|name| *name != "-")
        .unwrap_or_default()
        .to_owned();
    let (mut numbers, mut shape, mut visible) = (Vec::new(), None, None);
    for word in words {
        match word {
            "box" => shape = Bounds::new(DVec3::splat(-0.5), DVec3::splat(0.5)),
            "shown" => visible = Some(true),
            "hidden" => visible = Some(false),
            number => numbers.push(number.parse::<f64>().expect("a number")),
        }
    }
    let mut rest = match numbers[..] {
        [] => Rest::default(),
        [x, y, z] => Rest::at(DVec3::new(x, y, z)),
        _ => panic!("a place has three numbers: {line}"),
    };
    rest.visible = visible;
    NodeParts {
        name,
        rest,
        bounds: shape,
        source: Some(start as u32..(start + line.len()) as u32),
    }
}

#[test]
fn a_listed_scene_has_places_and_paths() {
    let scene = listed_scene("rig\n  mast 0 1 0 box\n    hook\n  -\n");
    let hook = scene.walk(&[0, 0, 0]).unwrap();
    assert_eq!(scene.tree_path(hook), "rig/mast/hook");
    assert_eq!(scene.walk(&[0, 1]).map(|id| &*scene[id].name), Ok(""));
}
