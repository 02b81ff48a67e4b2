//! What becomes of each path, for people.

use ide::repath::{Outcome, Repath, Repathed, Target};
use project::View;
use syntax::Encoding;

/// Longer names are cut.
const LONGEST: usize = 48;

/// The paths that move, in columns, then those that are left alone, then how many of each.
pub(super) fn of(view: &View, found: &Repath) -> String {
    let mut rows = vec![["line", "old path", "new path", "node", "confidence"].map(str::to_owned)];
    for path in &found.paths {
        if let Outcome::Moves(to) = &path.outcome {
            rows.push([
                line(view, path).to_string(),
                visible(&path.path),
                visible(&to.path),
                renamed(path, to),
                percent(to),
            ]);
        }
    }
    let mut report = String::new();
    if rows.len() > 1 {
        report.push_str(&columns(&rows));
        report.push('\n');
    }
    let left: Vec<String> = found
        .left()
        .map(|path| format!("  line {}: {}\n", line(view, path), left_alone(path)))
        .collect();
    if !left.is_empty() {
        report.push_str("Left alone:\n");
        report.extend(left.iter().map(String::as_str));
        report.push('\n');
    }
    let stay = found.paths.len() - found.moved() - left.len();
    report.push_str(&format!(
        "{} of {} paths move, {stay} stay as they are, {} are left to you.\n",
        found.moved(),
        found.paths.len(),
        left.len()
    ));
    report
}

fn line(view: &View, path: &Repathed) -> u32 {
    let start = path.range.start();
    let lines = &view.document.lines;
    lines.position(view.text(), start, Encoding::Utf8).line + 1
}

fn renamed(path: &Repathed, to: &Target) -> String {
    match &path.node {
        Some(old) if *old != to.node => format!("{} (was {})", visible(&to.node), visible(old)),
        _ => visible(&to.node),
    }
}

/// Never more than it is: 99.6 % is no 100 %.
fn percent(to: &Target) -> String {
    format!("{:.0} %", (to.confidence * 100.0 + 1e-6).floor())
}

fn left_alone(path: &Repathed) -> String {
    let mut said = visible(&path.path);
    if let Some(alias) = &path.alias {
        said.push_str(&format!(", the alias {},", visible(alias)));
    }
    let node = path.node.as_deref().map(visible);
    let node = node.unwrap_or_else(|| "the node".to_owned());
    match &path.outcome {
        Outcome::Unsure(targets) => {
            let targets: Vec<String> = targets
                .iter()
                .map(|to| {
                    format!(
                        "{} {} ({})",
                        visible(&to.path),
                        visible(&to.node),
                        percent(to)
                    )
                })
                .collect();
            format!(
                "{said} led to {node}, which may be {}",
                targets.join(" or ")
            )
        }
        Outcome::Gone => {
            format!(
                "{said} led to {node}, which has gone: nothing in the new scene is much like it"
            )
        }
        Outcome::Nowhere => format!("{said} leads to no node of the old scene"),
        Outcome::Unknown | Outcome::Stays(_) | Outcome::Moves(_) => {
            format!("{said} may lead to any node: no name tells which was meant")
        }
    }
}

fn columns(rows: &[[String; 5]]) -> String {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max();
    let widths: [usize; 5] = std::array::from_fn(|column| width(column).unwrap_or(0));
    let mut text = String::new();
    for row in rows {
        let cells = row.iter().zip(widths).enumerate();
        let cells = cells.map(|(at, (cell, width))| match at {
            // Numbers stand below each other.
            0 | 4 => format!("{cell:>width$}"),
            _ => format!("{cell:<width$}"),
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// A name as it can be shown on a terminal, whatever is in it.
fn visible(name: &str) -> String {
    let is_odd = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let mut shown: String = name
        .chars()
        .map(|c| {
            if is_odd(c) {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .take(LONGEST)
        .collect();
    if name.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    shown
}
