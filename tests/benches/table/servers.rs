//! Who is measured: this project, the null server, and servers for other languages that are installed, each on a
//! document of its own language with the same kind of content.

use std::env;
use std::fmt::Write as _;
use std::sync::OnceLock;

use acceptance::yard::Yard;
use acceptance::{generate, outside, program};

use crate::editor::{Edit, Editor};
use crate::null_server;

pub(crate) struct Server {
    pub(crate) name: &'static str,
    command: Vec<String>,
    language: Language,
}

#[derive(Clone, Copy, PartialEq)]
enum Language {
    Machine,
    Python,
    Toml,
}

pub(crate) const OURS: &str = "trunnion";
pub(crate) const FLOOR: &str = "null server";

/// Peers: name, command, language.
const PEERS: [(&str, &[&str], Language); 3] = [
    ("ruff (Python)", &["ruff", "server"], Language::Python),
    ("tombi (TOML)", &["tombi", "lsp"], Language::Toml),
    ("taplo (TOML)", &["taplo", "lsp", "stdio"], Language::Toml),
];

/// All that are there.
pub(crate) fn all() -> &'static [Server] {
    static ALL: OnceLock<Vec<Server>> = OnceLock::new();
    ALL.get_or_init(found)
}

/// Looks for the peers and says which are not there.
fn found() -> Vec<Server> {
    let own = env::current_exe().expect("a program knows where it is");
    let command = |parts: &[&str]| parts.iter().map(|&part| part.to_owned()).collect();
    let mut servers = vec![
        Server {
            name: FLOOR,
            command: vec![own.display().to_string(), null_server::ARGUMENT.to_owned()],
            language: Language::Machine,
        },
        Server {
            name: OURS,
            command: vec![program::path().display().to_string(), "serve".to_owned()],
            language: Language::Machine,
        },
    ];
    for (name, parts, language) in PEERS {
        if is_installed(parts[0]) {
            servers.push(Server {
                name,
                command: command(parts),
                language,
            });
        } else {
            outside::say(&format!(
                "SKIPPED: {name}, there is no program {} here",
                parts[0]
            ));
        }
    }
    servers
}

pub(crate) fn is_installed(program: &str) -> bool {
    env::var_os("PATH").is_some_and(|folders| {
        env::split_paths(&folders).any(|folder| folder.join(program).is_file())
    })
}

impl Server {
    /// Servers that were not built for speed are spared the largest documents.
    pub(crate) fn takes(&self, size: usize) -> bool {
        self.language != Language::Toml || size <= 1_000_000
    }

    pub(crate) fn is_machine(&self) -> bool {
        self.language == Language::Machine
    }

    /// Starts it for a document; the document is not open yet.
    pub(crate) fn start(&self, document: &Document) -> Editor {
        let language = match self.language {
            Language::Machine => "xml",
            Language::Python => "python",
            Language::Toml => "toml",
        };
        Editor::start(&self.command, language, &document.uri())
    }

    /// A document of about `size` bytes with nothing to report.
    pub(crate) fn document(&self, size: usize) -> Document {
        match self.language {
            Language::Machine => Document::machine(generate::machine(size, 1)),
            Language::Python => Document::other(size, "big.py", |n, out| {
                let _ = writeln!(out, "part_{n} = [\"g{n}.arm\", {n}.25, True]");
            }),
            Language::Toml => Document::other(size, "big.toml", |n, out| {
                let _ = writeln!(out, "[part.p{n}]\nname = \"g{n}.arm\"\nreach = {n}.25\n");
            }),
        }
    }
}

/// A document in a folder of its own, which goes with it.
pub(crate) struct Document {
    pub(crate) text: String,
    folder: Yard,
    file: &'static str,
    /// Where a `breaker` makes a mistake.
    places: Vec<(usize, usize)>,
    breaker: &'static str,
}

impl Document {
    /// A machine definition, its scene and its sounds beside it.
    pub(crate) fn machine(text: String) -> Self {
        let document = Self::new(text, "big.machine.xml", "<channel ", "<");
        let scene = generate::scene(&document.text);
        document.folder.write("big.gltf", scene);
        for n in 0..4 {
            document
                .folder
                .write(&format!("sounds/pump{n}.ogg"), "OggS");
        }
        document
    }

    fn other(size: usize, file: &'static str, line: impl Fn(usize, &mut String)) -> Self {
        let mut text = String::new();
        let mut n = 0;
        while text.len() < size {
            line(n, &mut text);
            n += 1;
        }
        Self::new(text, file, " = ", "(")
    }

    fn new(text: String, file: &'static str, before: &str, breaker: &'static str) -> Self {
        let folder = Yard::with(&[(file, &text)]);
        let places = text.lines().enumerate().filter_map(|(line, content)| {
            let at = content.find(before)?;
            Some((line, content[..at + before.len()].encode_utf16().count()))
        });
        Self {
            places: places.collect(),
            text,
            folder,
            file,
            breaker,
        }
    }

    fn uri(&self) -> String {
        self.folder.uri(self.file)
    }

    /// A place all over the document for each `n`.
    pub(crate) fn place(&self, n: usize) -> (usize, usize) {
        // A step that shares no factor with most lengths.
        self.places[(n + 1) * 7919 % self.places.len()]
    }

    /// The start of the first value in quotes behind a place in its line.
    pub(crate) fn value_behind(&self, (line, column): (usize, usize)) -> Option<(usize, usize)> {
        let text = self.text.lines().nth(line)?.get(column..)?;
        Some((line, column + text.find("=\"")? + 2))
    }

    /// Makes a mistake.
    pub(crate) fn mistake(&self, place: (usize, usize)) -> Edit {
        Edit {
            line: place.0,
            column: place.1,
            removed: 0,
            insert: self.breaker,
        }
    }

    /// Takes `length` characters out again.
    pub(crate) fn repair(&self, place: (usize, usize), length: usize) -> Edit {
        Edit {
            line: place.0,
            column: place.1,
            removed: length,
            insert: "",
        }
    }
}
