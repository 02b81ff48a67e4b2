//! `trunnion precedents`: how others did it, on the command line.

use std::path::PathBuf;
use std::process::ExitCode;
use std::str::FromStr;

use ide::precedents::{Example, Habit, HabitAt, Precedents, precedents};
use project::View;
use syntax::{Element, TextSize};

use super::definition::{self, Failure};
use super::library::{self, LibraryArgs};
use super::output;
use super::plain;

/// Show how others did it: the element of a line, as the machines of a library have it
///
/// Says what they usually write in it, with counts, and shows different examples, the closest first. The library is
/// what trunnion.toml names under `library`, or --library.
///
/// Exit code: 0 if there are precedents, 1 if there are none, 2 if it could not be tried.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// A definition and a line in it: bram-6.machine.xml:31
    #[arg(value_name = "FILE:LINE")]
    place: Place,

    /// How many examples at most
    #[arg(long, value_name = "COUNT", default_value_t = 5)]
    most: usize,

    #[command(flatten)]
    library: LibraryArgs,
}

#[derive(Clone, Debug)]
struct Place {
    file: PathBuf,
    /// From 1.
    line: u32,
}

impl FromStr for Place {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let place = text.rsplit_once(':').and_then(|(file, line)| {
            let line = line.parse().ok().filter(|line| *line > 0)?;
            let file = (!file.is_empty()).then(|| PathBuf::from(file))?;
            Some(Self { file, line })
        });
        place.ok_or_else(|| {
            "say the file and the line, such as bram-6.machine.xml:31; lines count from 1"
                .to_owned()
        })
    }
}

/// So many lines of an example are shown.
const MOST_LINES: usize = 12;

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(report(args).map(|report| (report, ExitCode::SUCCESS)))
}

fn report(args: &Args) -> Result<String, Failure> {
    let Place { file, line } = &args.place;
    let mut view = definition::open(file)?.view;
    view.library = library::read(&args.library, &view)?;
    if view.library.is_none() {
        return Err(Failure::broken(
            "no library is named. Say --library DIR, or write `library = [\"../mods\"]` into trunnion.toml.",
        ));
    }
    let shown = plain::name(file);
    let offset = offset_of(&view, *line)
        .ok_or_else(|| Failure::broken(format!("{shown} has no line {line}.")))?;
    let found = precedents(&view, offset, args.most).ok_or_else(|| {
        let element = view.tree().elements_at(offset).pop();
        Failure::refused(match element {
            Some(element) => format!(
                "{shown}:{line} has <{}>, and the library has nothing like it.",
                element.name()
            ),
            None => format!("{shown}:{line} has no element."),
        })
    })?;
    let mut report = habits(&found);
    for example in &found.examples {
        report.push('\n');
        report.push_str(&shown_example(&view, example));
    }
    Ok(report)
}

/// The place in a line that tells which element is meant: the name of the first tag, or what stands there. In a comment
/// it is the element behind it in the line, else the one around it.
fn offset_of(view: &View, line: u32) -> Option<TextSize> {
    let lines = &view.document.lines;
    let range = lines.line_content_range(view.text(), line - 1)?;
    let text = &view.text()[range];
    let start = usize::from(range.start());
    let blank = text.len() - text.trim_start().len();
    let tag = match &text[blank..] {
        end if end.starts_with("</") => 2,
        tag if tag.starts_with('<') => 1,
        _ => 0,
    };
    let offset = TextSize::try_from(start + blank + tag).ok()?;
    let tree = view.tree();
    if !matches!(tree.place_at(offset), syntax::Place::Comment) {
        return Some(offset);
    }
    let end = TextSize::try_from(start + text.len()).ok()?;
    let mut behind = tree
        .items_at(offset)
        .take_while(|item| item.range().start() < end);
    let element = behind.find_map(syntax::Item::into_element);
    let element = element.or_else(|| tree.elements_at(offset).pop());
    Some(element.map_or(offset, |element| element.name_range().start()))
}

fn habits(found: &Precedents) -> String {
    let (machines, of) = match found.machines {
        1 => ("one machine".to_owned(), "1 machine".to_owned()),
        several => (format!("{several} machines"), format!("{several} machines")),
    };
    let mut text = format!("<{}> stands in {machines} of the library.\n", found.element);
    let name = |habit: &Habit| match &habit.at {
        HabitAt::Attribute(name) => name.clone(),
        HabitAt::Text => "(text)".to_owned(),
        HabitAt::Child(name) => format!("<{name}>"),
    };
    let widest = found
        .habits
        .iter()
        .map(|habit| name(habit).chars().count())
        .max();
    for habit in &found.habits {
        let values: Vec<String> = habit
            .values
            .iter()
            .map(|(value, machines)| format!("{} in {machines}", set_off(value)))
            .collect();
        let values = match values.is_empty() {
            true => String::new(),
            false => format!(": {}", values.join(", ")),
        };
        let (name, width) = (name(habit), widest.unwrap_or_default());
        text.push_str(&format!(
            "  {name:width$}  {} of {of}{values}\n",
            habit.machines
        ));
    }
    text
}

/// A value as one among several that commas part.
fn set_off(value: &str) -> String {
    match value.contains(',') {
        true => format!("\"{value}\""),
        false => value.to_owned(),
    }
}

fn shown_example(view: &View, example: &Example) -> String {
    let source = &example.source;
    let member = source
        .member
        .as_ref()
        .map_or_else(String::new, |member| format!("!/{member}"));
    let alike = match example.alike {
        1 => String::new(),
        several => format!(" ({several} machines have one of this shape)"),
    };
    let place = format!(
        "{}{member}:{}{alike}\n",
        plain::name(&source.file),
        example.line + 1
    );
    let text = project::library::text_of(source, &view.settings.config.limits);
    let lines = text.and_then(|text| lines_of(&text, example.line));
    let lines = lines.unwrap_or_else(|| vec!["(It is not there any more.)".to_owned()]);
    let lines = lines.into_iter().map(|line| format!("    {line}\n"));
    lines.fold(place, |all, line| all + &line)
}

/// The first lines of the element that begins in a line, without the indent that they share.
fn lines_of(text: &str, line: u32) -> Option<Vec<String>> {
    let start = text
        .split_inclusive('\n')
        .take(line as usize)
        .map(str::len)
        .sum::<usize>();
    let tree = syntax::parse(text);
    let first = text.get(start..)?.find('<')? + start + 1;
    let element: Element<'_> = tree.elements_at(TextSize::try_from(first).ok()?).pop()?;
    let end = usize::from(element.range().end());
    let lines: Vec<&str> = text.get(start..end)?.lines().collect();
    let blanks = |line: &&str| line.len() - line.trim_start().len();
    let filled = lines.iter().filter(|line| !line.trim().is_empty());
    let indent = filled.map(blanks).min().unwrap_or_default();
    let mut shown: Vec<String> = lines
        .iter()
        .take(MOST_LINES)
        .map(|line| line.get(indent..).unwrap_or_default().trim_end().to_owned())
        .collect();
    if lines.len() > MOST_LINES {
        shown.push("…".to_owned());
    }
    Some(shown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_a_file_and_a_line() {
        let place: Place = "C:\\mods\\a.xml:12".parse().unwrap();
        assert_eq!(
            (place.file, place.line),
            (PathBuf::from("C:\\mods\\a.xml"), 12)
        );
        for wrong in ["a.xml", "a.xml:", "a.xml:0", ":3", "a.xml:x"] {
            assert!(wrong.parse::<Place>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn an_example_is_shown_without_its_indent() {
        let text = "<a>\n    <b>\n      <c/>\n    </b>\n</a>";
        assert_eq!(lines_of(text, 1).unwrap(), ["<b>", "  <c/>", "</b>"]);
        assert_eq!(lines_of(text, 2).unwrap(), ["<c/>"]);
        assert_eq!(lines_of(text, 9), None);
        let long = format!("<a>\n{}</a>", "<b/>\n".repeat(20));
        assert_eq!(lines_of(&long, 0).unwrap().len(), MOST_LINES + 1);
    }
}
