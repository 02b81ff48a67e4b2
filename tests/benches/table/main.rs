//! `cargo bench -p acceptance --bench table` prints how fast the server is, beside a server that does nothing and
//! beside peers that are installed, all in one run: medians, so that a noisy machine does little harm. Words after
//! `--` choose rows, for instance `… --bench table -- edit memory`.

mod editor;
mod folder;
mod learning;
mod null_server;
mod parsing;
mod servers;
mod wire;

use std::time::Duration;

use acceptance::outside;

/// A row's word, and what prints it.
const ROWS: [(&str, fn()); 10] = [
    ("initialize", wire::initialize),
    ("open", wire::open),
    ("edit", wire::edit),
    ("burst", wire::burst),
    ("thousand", wire::thousand),
    ("ask", wire::ask),
    ("memory", wire::memory),
    ("parse", parsing::parse),
    ("folder", folder::check),
    ("learn", learning::learn),
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments
        .iter()
        .any(|argument| argument == null_server::ARGUMENT)
    {
        // Its client may be gone; there is nobody to tell.
        let _ = null_server::serve();
        return;
    }
    // Cargo adds `--bench`.
    let wanted: Vec<&String> = arguments
        .iter()
        .filter(|argument| !argument.starts_with('-'))
        .collect();
    for (word, print) in ROWS {
        if wanted.is_empty() || wanted.iter().any(|wanted| *wanted == word) {
            print();
        }
    }
}

fn title(line: &str) {
    outside::say(&format!("\n{line}"));
}

/// A row of a table: its name, then its cells.
fn row(name: &str, cells: &[String]) {
    let cells: String = cells.iter().map(|cell| format!("{cell:>12}")).collect();
    outside::say(&format!("  {name:<34}{cells}"));
}

fn head(cells: &[&str]) {
    let cells: Vec<String> = cells.iter().map(|&cell| cell.to_owned()).collect();
    row("", &cells);
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times.get(times.len() / 2).copied().unwrap_or_default()
}

fn milliseconds(time: Duration) -> String {
    let time = time.as_secs_f64() * 1e3;
    let digits = match time {
        time if time < 0.1 => 4,
        time if time < 10.0 => 2,
        _ => 1,
    };
    format!("{time:.digits$}")
}
