//! A folder of a test's own, in which the program is run.

use std::fs::{self, File};
use std::io::Write as _;
use std::ops::Deref;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;
use zip::write::{SimpleFileOptions, ZipWriter};

use crate::desk::corpus;
use crate::{outside, program};

/// Gone when dropped. It can be used as the path of the folder.
#[derive(Debug)]
pub struct Yard(TempDir);

impl Yard {
    /// A folder with nothing in it.
    pub fn empty() -> Self {
        // Without links in it, as the program tells files.
        let place = std::env::temp_dir().canonicalize().unwrap();
        Self(TempDir::with_prefix_in("trunnion-", place).unwrap())
    }

    /// A folder with these files: names and contents.
    pub fn with<C: AsRef<[u8]>>(files: &[(&str, C)]) -> Self {
        let yard = Self::empty();
        for (name, content) in files {
            yard.write(name, content);
        }
        yard
    }

    /// A folder with a copy of the demo mod, called `quay`.
    pub fn with_demo() -> Self {
        let yard = Self::empty();
        yard.copy(&corpus().join("ternholt"), "quay");
        yard
    }

    /// Writes a file and the folders that it needs.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    /// Copies a file or all that is below a folder; what it is called here. The yard itself is "".
    pub fn copy(&self, from: &Path, name: &str) {
        if from.is_file() {
            return self.write(name, fs::read(from).unwrap());
        }
        for file in outside::files_below(from, &[""]) {
            let copy = self.join(name).join(file.strip_prefix(from).unwrap());
            fs::create_dir_all(copy.parent().unwrap()).unwrap();
            fs::copy(file, copy).unwrap();
        }
    }

    /// Writes an archive with these members: names and contents.
    pub fn archive<N: AsRef<str>, C: AsRef<[u8]>>(&self, name: &str, members: &[(N, C)]) {
        let mut archive = ZipWriter::new(File::create(self.join(name)).unwrap());
        for (name, content) in members {
            let options = SimpleFileOptions::default();
            archive.start_file(name.as_ref(), options).unwrap();
            archive.write_all(content.as_ref()).unwrap();
        }
        archive.finish().unwrap();
    }

    /// Writes an archive of all that is below a folder.
    pub fn archive_of(&self, from: &Path, name: &str) {
        let members: Vec<(String, Vec<u8>)> = outside::files_below(from, &[""])
            .iter()
            .map(|file| {
                let name = file.strip_prefix(from).unwrap().to_str().unwrap();
                (name.replace('\\', "/"), fs::read(file).unwrap())
            })
            .collect();
        self.archive(name, &members);
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.join(name)).unwrap()
    }

    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.join(name)).unwrap()
    }

    /// What is in a folder, in order. The yard itself is "".
    pub fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.join(folder)).unwrap().flatten();
        let mut names: Vec<String> = entries
            .map(|entry| entry.file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// A file as clients name it.
    pub fn uri(&self, name: &str) -> String {
        format!("file://{}", self.join(name).display()).replace(' ', "%20")
    }

    /// The program, to be run here.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program::path());
        command
            .args(arguments)
            .current_dir(self)
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

impl Deref for Yard {
    type Target = Path;

    fn deref(&self) -> &Path {
        self.0.path()
    }
}

impl AsRef<Path> for Yard {
    fn as_ref(&self) -> &Path {
        self
    }
}

/// All that a program wrote.
pub fn said(output: &Output) -> String {
    let parts = [&output.stdout, &output.stderr];
    parts.map(|part| String::from_utf8_lossy(part)).concat()
}
