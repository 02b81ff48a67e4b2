//! What becomes of each path, for people.

use crate::cli::plain;
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
        Outcome::OutOfReach(place) => format!(
            "{said} led to {node}, which is at {} now: nothing that can be written here leads there",
            visible(place)
        ),
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

/// A name as it can be shown in a line, whatever is in it.
fn visible(name: &str) -> String {
    let plain = plain::line(name);
    match plain.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &plain[..end]),
        None => plain.into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_are_cut_and_none_breaks_the_line() {
        let fits = "ä".repeat(LONGEST);
        assert_eq!(visible(&fits), fits);
        assert_eq!(visible(&format!("{fits}b")), format!("{fits}…"));
        assert_eq!(visible("boom\n\u{1b}[2J"), "boom\u{fffd}\u{fffd}[2J");
    }

    #[test]
    fn columns_are_as_wide_as_what_is_in_them() {
        let rows = [
            ["line", "old path", "new path", "node", "confidence"],
            ["7", "0/1", "0/12/3", "größe", "100 %"],
        ];
        let rows = rows.map(|row| row.map(str::to_owned));
        let expected = "line  old path  new path  node   confidence\n   7  0/1       0/12/3    größe       100 %\n";
        assert_eq!(columns(&rows), expected);
    }
}
