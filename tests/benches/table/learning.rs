//! `trunnion learn` over 1,000 and 10,000 definitions with their scenes, and a library of as many: time, growth and peak memory.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use acceptance::yard::Yard;
use acceptance::{generate, memory, program};

use crate::{head, milliseconds, row, title};

const FEW: usize = 1000;
const MANY: usize = 10_000;

/// About as large as definitions are that are written by hand.
const BYTES: usize = 4000;

/// Machines of one mod.
const MOD: usize = 20;

/// How often the peak of a process's memory is looked at.
const LOOK: Duration = Duration::from_millis(5);

pub(crate) fn learn() {
    title("Learning from definitions of 4 kB with their scenes, and the same as a library");
    head(&["1,000: ms", "peak MiB", "10,000: ms", "peak MiB", "growth"]);
    let yard = Yard::empty();
    let libraries = [FEW, MANY].map(|count| {
        let library = yard.join(count.to_string());
        write_library(&library, count);
        library
    });
    compare("trunnion learn", &libraries, |library| {
        let mut learn = Command::new(program::path());
        learn.arg("learn").arg(library);
        learn.arg("-o").arg(library.with_extension("dialect.toml"));
        learn
    });
    let precedents = |library: &PathBuf| {
        let mut precedents = Command::new(program::path());
        precedents.arg("precedents").arg("--library").arg(library);
        precedents.arg(format!("{}:3", definition(library, 0).display()));
        precedents.env("XDG_CACHE_HOME", library.with_extension("cache"));
        precedents
    };
    compare("library, read for the first time", &libraries, precedents);
    compare("library, nothing has changed", &libraries, precedents);
}

fn compare(name: &str, libraries: &[PathBuf; 2], command: impl Fn(&PathBuf) -> Command) {
    let [few, many] = libraries
        .each_ref()
        .map(|library| run(&mut command(library)));
    let growth = many.0.as_secs_f64() / few.0.as_secs_f64();
    let mebibytes = |peak: u64| (peak / 1024).to_string();
    let cells = [
        milliseconds(few.0),
        mebibytes(few.1),
        milliseconds(many.0),
        mebibytes(many.1),
        format!("x {growth:.1}"),
    ];
    row(name, &cells);
}

fn definition(library: &Path, number: usize) -> PathBuf {
    let own = library.join(format!("mod{:03}", number / MOD));
    own.join(format!("{number:05}/big.machine.xml"))
}

fn write_library(library: &Path, count: usize) {
    for number in 0..count {
        let text = generate::machine(BYTES, number as u64);
        let file = definition(library, number);
        let own = file.parent().expect("a definition is in a folder");
        fs::create_dir_all(own.join("sounds")).expect("a folder can be made");
        fs::write(own.join("big.gltf"), generate::scene(&text)).expect("it can be written");
        fs::write(own.join("sounds/pump0.ogg"), "OggS").expect("it can be written");
        fs::write(&file, text).expect("it can be written");
    }
}

/// How long it takes, and its greatest memory in KiB (0 where the system does not tell).
fn run(command: &mut Command) -> (Duration, u64) {
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let start = Instant::now();
    let mut process = command.spawn().expect("it starts");
    let mut peak = 0;
    loop {
        peak = memory::peak(process.id()).unwrap_or(0).max(peak);
        if let Some(status) = process.try_wait().expect("it can be waited for") {
            let time = start.elapsed();
            assert!(status.success(), "{command:?}: {status}");
            return (time, peak);
        }
        std::thread::sleep(LOOK);
    }
}
