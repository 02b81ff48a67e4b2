//! Files of other people. What is judged was measured on all files of a corpus, so some of them will not do.

use acceptance::outside;
use std::path::{Path, PathBuf};

/// A file of a corpus.
pub(crate) struct File {
    pub(crate) path: PathBuf,
    pub(crate) text: String,
}

/// Whether a file is learnt from; the others are judged on. Robots that belong together stay together.
pub(crate) fn is_learnt(at: usize, file: &File) -> bool {
    let mut parts = file.path.iter().skip_while(|part| *part != "robots");
    match parts.nth(1) {
        Some(robot) => robot
            .to_string_lossy()
            .bytes()
            .map(u32::from)
            .sum::<u32>()
            .is_multiple_of(2),
        None => at.is_multiple_of(2),
    }
}

fn read(files: impl IntoIterator<Item = PathBuf>) -> Vec<File> {
    let read = |path: PathBuf| {
        let bytes = std::fs::read(&path).ok()?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        Some(File { path, text })
    };
    files.into_iter().filter_map(read).collect()
}

/// Files of the packages that `tests/packages/descriptions.py` unpacks.
fn unpacked(endings: &[&str]) -> Option<Vec<PathBuf>> {
    let folder = outside::existing(outside::cache().join("descriptions"))?;
    let files = outside::files_below(&folder, endings);
    (!files.is_empty()).then_some(files)
}

pub(crate) fn robots(ending: &str) -> Option<Vec<File>> {
    unpacked(&[&format!(".{ending}")]).map(read)
}

/// Semantic descriptions with the robots they are about.
pub(crate) fn semantics() -> Option<Vec<File>> {
    let files = unpacked(&[".srdf", ".urdf"])?;
    let theirs = files
        .into_iter()
        .filter(|file| file.iter().any(|part| part == "robots"));
    Some(read(theirs))
}

pub(crate) fn simulations() -> Option<Vec<File>> {
    let folder = outside::references("sdf/test")?;
    let mut files = outside::files_below(&folder, &[".sdf", ".world"]);
    files.extend(unpacked(&[".sdf"])?);
    Some(read(files))
}

/// Folder of a Debian package's models.
fn debian() -> Option<PathBuf> {
    outside::existing(Path::new("/usr/share/assimp/models").to_owned())
}

pub(crate) fn scenes() -> Option<Vec<File>> {
    let mut files = outside::files_below(&outside::references("x3d-examples")?, &[".x3d"]);
    if let Some(more) = debian() {
        files.extend(outside::files_below(&more, &[".x3d"]));
    }
    Some(read(files))
}

pub(crate) fn models() -> Option<Vec<File>> {
    let mut files = outside::files_below(&outside::references("collada")?, &[".dae"]);
    for more in [
        debian()?,
        outside::existing(outside::cache().join("descriptions"))?,
    ] {
        files.extend(outside::files_below(&more, &[".dae"]));
    }
    Some(read(files))
}

/// Mechanisms for a physics simulator: whole models and parts that models include.
pub(crate) fn mechanisms() -> Option<Vec<File>> {
    let mut files = Vec::new();
    for package in ["dm-control", "gymnasium-robotics"] {
        let folder = outside::existing(outside::cache().join("descriptions").join(package))?;
        let of_package = read(outside::files_below(&folder, &[".xml"]));
        let models = of_package
            .into_iter()
            .filter(|file| file.text.contains("<mujoco"));
        files.extend(models);
    }
    Some(files)
}

/// Icons that move.
pub(crate) fn pictures() -> Option<Vec<File>> {
    let mut files = Vec::new();
    for package in ["@iconify-json/svg-spinners", "@iconify-json/line-md"] {
        let icons = outside::npm_package(package)?.join("icons.json");
        let icons = std::fs::read_to_string(icons).ok()?;
        let icons: serde_json::Value = serde_json::from_str(&icons).ok()?;
        for (name, icon) in icons["icons"].as_object()? {
            let body = icon["body"].as_str()?;
            if body.contains("<animate") || body.contains("<set") {
                let path = format!("{package}/{name}.svg").into();
                let head = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"24\" height=\"24\" viewBox=\"0 0 24 24\">";
                let text = format!("{head}{body}</svg>");
                files.push(File { path, text });
            }
        }
    }
    Some(files)
}
