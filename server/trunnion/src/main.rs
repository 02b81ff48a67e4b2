//! The program `trunnion`.

use std::process::ExitCode;

/// A tree is many small pieces, made on one thread and let go of on another: with this allocator, checking a folder
/// takes a sixth less than with the system's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    trunnion::run()
}
