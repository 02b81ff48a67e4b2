//! The program `trunnion`.

use std::process::ExitCode;

/// A tree is many small pieces: with this allocator, checking a folder takes a sixth less than with the system's. It
/// must not ask for huge pages (`no_thp`), with which a server holds twenty megabytes more from the start.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    trunnion::run()
}
