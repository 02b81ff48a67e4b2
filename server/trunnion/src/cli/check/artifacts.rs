//! Where findings are, in the words of SARIF: files, and files in archives (SARIF 2.1.0, 3.24.3, `parentIndex`).

use std::cell::RefCell;
use std::collections::HashMap;
use std::path::{Component, Path, PathBuf};

use project::Inside;
use serde_json::{Value, json};

/// The files in archives that findings are in, and their archives. Other files are named by their URI alone.
#[derive(Debug, Default)]
pub(super) struct Artifacts {
    known: RefCell<Known>,
}

#[derive(Debug, Default)]
struct Known {
    values: Vec<Value>,
    /// By path: which one it is.
    indices: HashMap<PathBuf, usize>,
}

impl Artifacts {
    /// The `artifactLocation` of a file.
    pub(super) fn location(&self, path: &Path) -> Value {
        let Some(Inside {
            archive, member, ..
        }) = project::inside(path)
        else {
            return json!({ "uri": uri(path) });
        };
        let uri_of_archive = uri(&archive);
        let parent = self.index(&archive, || {
            json!({
                "location": { "uri": uri_of_archive },
                "mimeType": "application/zip",
            })
        });
        let uri_in_archive = format!("/{}", uri(Path::new(&member)));
        let index = self.index(path, || {
            json!({
                "location": {
                    "uri": uri_in_archive,
                    "description": { "text": path.display().to_string() },
                },
                "parentIndex": parent,
            })
        });
        json!({ "uri": uri_in_archive, "index": index })
    }

    fn index(&self, path: &Path, value: impl FnOnce() -> Value) -> usize {
        let mut known = self.known.borrow_mut();
        if let Some(index) = known.indices.get(path) {
            return *index;
        }
        let index = known.values.len();
        known.values.push(value());
        known.indices.insert(path.to_path_buf(), index);
        index
    }

    /// The `artifacts` of a run, once all locations were asked for.
    pub(super) fn into_value(self) -> Value {
        self.known.into_inner().values.into()
    }
}

/// A relative path as a relative reference, an absolute one as a file URI (RFC 3986, RFC 8089).
fn uri(path: &Path) -> String {
    let mut uri = String::new();
    for component in path.components() {
        match component {
            Component::Prefix(prefix) => {
                uri.push('/');
                push_encoded(&mut uri, &prefix.as_os_str().to_string_lossy(), ":");
            }
            Component::RootDir => {}
            Component::CurDir => {}
            Component::ParentDir => push_step(&mut uri, "..", path),
            Component::Normal(step) => push_step(&mut uri, &step.to_string_lossy(), path),
        }
    }
    if path.has_root() {
        format!("file://{uri}")
    } else {
        uri
    }
}

fn push_step(uri: &mut String, step: &str, path: &Path) {
    if path.has_root() || !uri.is_empty() {
        uri.push('/');
    }
    push_encoded(uri, step, "");
}

fn push_encoded(uri: &mut String, text: &str, also_plain: &str) {
    for byte in text.bytes() {
        let character = char::from(byte);
        if byte.is_ascii_alphanumeric()
            || "-._~".contains(character)
            || also_plain.contains(character)
        {
            uri.push(character);
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_relative_path_is_a_relative_reference() {
        assert_eq!(
            uri(Path::new("./mods/kran größe/a b.xml")),
            "mods/kran%20gr%C3%B6%C3%9Fe/a%20b.xml"
        );
        assert_eq!(uri(Path::new("../a:b#c.xml")), "../a%3Ab%23c.xml");
    }

    #[cfg(unix)]
    #[test]
    fn an_absolute_path_is_a_file_uri() {
        assert_eq!(
            uri(Path::new("/mods/bram 6.xml")),
            "file:///mods/bram%206.xml"
        );
    }
}
