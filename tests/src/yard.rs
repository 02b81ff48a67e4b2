//! A folder of a test's own, in which the program is run.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use crate::desk::corpus;
use crate::{outside, program};

/// Gone when dropped.
#[derive(Debug)]
pub struct Yard(pub PathBuf);

impl Yard {
    /// An empty one. `name`: what no other test calls its own.
    pub fn new(name: &str) -> Self {
        let name = format!("trunnion-yard-{}-{name}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        Self(folder.canonicalize().unwrap())
    }

    /// One with a copy of the demo mod, called `quay`.
    pub fn with_demo(name: &str) -> Self {
        let yard = Self::new(name);
        let demo = corpus().join("ternholt");
        for file in outside::files_below(&demo, &[".xml", ".gltf", ".glb", ".ogg"]) {
            let copy = yard.0.join("quay").join(file.strip_prefix(&demo).unwrap());
            fs::create_dir_all(copy.parent().unwrap()).unwrap();
            fs::copy(file, copy).unwrap();
        }
        yard
    }

    /// Writes a file and the folders that it needs.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.0.join(name)).unwrap()
    }

    /// What is in a folder, in order. The yard itself is "".
    pub fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.0.join(folder)).unwrap().flatten();
        let mut names: Vec<String> = entries
            .map(|entry| entry.file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// The program, to be run here.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program::path());
        command
            .args(arguments)
            .current_dir(&self.0)
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    /// Runs the program and gives what it said.
    ///
    /// # Panics
    /// It ends with another exit code.
    pub fn ends_with(&self, code: i32, arguments: &[&str]) -> String {
        let done = self.run(arguments);
        assert_eq!(done.status.code(), Some(code), "{}", said(&done));
        said(&done)
    }
}

impl Drop for Yard {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// All that a program wrote.
pub fn said(output: &Output) -> String {
    let parts = [&output.stdout, &output.stderr];
    parts.map(|part| String::from_utf8_lossy(part)).concat()
}
