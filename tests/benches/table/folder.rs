//! `trunnion check` over a folder of a thousand machines, beside xmllint, which only looks whether they are
//! well-formed.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use acceptance::{generate, outside, program};

use crate::servers::is_installed;
use crate::{head, median, milliseconds, row, title};

const MACHINES: usize = 1000;
const BYTES: usize = 100_000;

pub(crate) fn check() {
    title("A folder of 1,000 machines of 100 kB with their scenes (ms)");
    let folder = env::temp_dir().join(format!("trunnion-folder-{}", std::process::id()));
    let files = write_machines(&folder);
    head(&["median"]);
    let mut check = Command::new(program::path());
    check.arg("check").arg(&folder);
    row("trunnion check, all checks", &[runs(&mut check)]);
    if is_installed("xmllint") {
        let mut lint = Command::new("xmllint");
        lint.arg("--noout").args(&files);
        row("xmllint --noout, well-formedness", &[runs(&mut lint)]);
    } else {
        outside::say("SKIPPED: xmllint, it is not installed (Debian: libxml2-utils)");
    }
    let _ = fs::remove_dir_all(&folder);
}

/// Each machine in a folder of its own, with its scene and its sounds; the definitions.
fn write_machines(folder: &Path) -> Vec<PathBuf> {
    let write = |file: PathBuf, content: &str| {
        fs::create_dir_all(file.parent().expect("a file is in a folder"))
            .expect("a folder can be made");
        fs::write(&file, content).expect("it can be written");
        file
    };
    (0..MACHINES)
        .map(|n| {
            let own = folder.join(format!("{n:04}"));
            let text = generate::machine(BYTES, n as u64);
            write(own.join("big.gltf"), &generate::scene(&text));
            for sound in 0..4 {
                write(own.join(format!("sounds/pump{sound}.ogg")), "OggS");
            }
            write(own.join("big.machine.xml"), &text)
        })
        .collect()
}

fn runs(command: &mut Command) -> String {
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let once = |command: &mut Command| -> Duration {
        let start = Instant::now();
        let status = command.status().expect("it starts");
        let time = start.elapsed();
        assert!(status.success(), "there is nothing to report: {status}");
        time
    };
    milliseconds(median((0..3).map(|_| once(command)).collect()))
}
