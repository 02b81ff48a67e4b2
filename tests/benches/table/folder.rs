//! `trunnion check` over a folder of a thousand machines, beside xmllint, which only looks whether they are
//! well-formed.

use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use acceptance::yard::Yard;
use acceptance::{generate, outside, program};

use crate::servers::is_installed;
use crate::{head, median, milliseconds, row, title};

const MACHINES: usize = 1000;
const BYTES: usize = 100_000;

pub(crate) fn check() {
    title("A folder of 1,000 machines of 100 kB with their scenes (ms)");
    let yard = Yard::empty();
    let files = write_machines(&yard);
    head(&["median"]);
    let mut check = Command::new(program::path());
    check.arg("check").arg(&*yard);
    row("trunnion check, all checks", &[runs(&mut check)]);
    if is_installed("xmllint") {
        let mut lint = Command::new("xmllint");
        lint.arg("--noout").args(&files);
        row("xmllint --noout, well-formedness", &[runs(&mut lint)]);
    } else {
        outside::say("SKIPPED: xmllint, it is not installed (Debian: libxml2-utils)");
    }
}

/// Each machine in a folder of its own, with its scene and its sounds; the definitions.
fn write_machines(yard: &Yard) -> Vec<PathBuf> {
    (0..MACHINES)
        .map(|n| {
            let text = generate::machine(BYTES, n as u64);
            yard.write(&format!("{n:04}/big.gltf"), generate::scene(&text));
            for sound in 0..4 {
                yard.write(&format!("{n:04}/sounds/pump{sound}.ogg"), "OggS");
            }
            let definition = format!("{n:04}/big.machine.xml");
            yard.write(&definition, text);
            yard.join(definition)
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
