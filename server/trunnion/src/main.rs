//! The program `trunnion`.

use std::process::ExitCode;

fn main() -> ExitCode {
    trunnion::run()
}
