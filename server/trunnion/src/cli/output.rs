//! What commands tell: on stdout, where they must not fall over when nobody reads on, and on stderr.

use std::io::{self, BufWriter, ErrorKind, IsTerminal, Write};
use std::process::ExitCode;

use super::definition::Failure;
use super::plain;

/// Tells people what a command did, or why it did not.
pub(crate) fn report(done: Result<(String, ExitCode), Failure>) -> ExitCode {
    match done {
        Ok((report, code)) => {
            let report = plain::text(&report);
            print(|out| out.write_all(report.as_bytes()), code)
        }
        Err(failure) => failed(&failure),
    }
}

/// Says on stderr why a command did not do its work.
pub(crate) fn failed(failure: &Failure) -> ExitCode {
    complain(&failure.message);
    ExitCode::from(failure.code)
}

/// Says a sentence on stderr.
pub(crate) fn complain(sentence: &str) {
    remark(&format!("trunnion: {sentence}\n"));
}

/// Says something on stderr, to people.
pub(crate) fn remark(text: &str) {
    // If that fails, there is nobody to be told.
    let _ = io::stderr().write_all(plain::text(text).as_bytes());
}

/// Runs `write` on a buffered stdout and gives `code` back. A reader that went away (`trunnion check … | head`) is
/// no failure; any other trouble gives code 2.
pub(crate) fn print(
    write: impl FnOnce(&mut BufWriter<io::StdoutLock<'static>>) -> io::Result<()>,
    code: ExitCode,
) -> ExitCode {
    let mut out = BufWriter::new(io::stdout().lock());
    let written = write(&mut out).and_then(|()| out.flush());
    // What a failed write left in the buffer must not be tried again when it is dropped.
    let _ = out.into_parts();
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            complain(&format!("the output cannot be written: {error}"));
            ExitCode::from(2)
        }
        _ => code,
    }
}

/// Colour suits a terminal, unless the user says otherwise (https://no-color.org).
pub(crate) fn wants_colour() -> bool {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    !refused
        && io::stdout().is_terminal()
        && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}
