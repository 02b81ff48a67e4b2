//! `trunnion explain`: the page of a code, or the list of all.

use std::io::Write;
use std::process::ExitCode;

use ide::codes::{self, Code, Group};

use super::output;

/// Explain a code that a check reports: what is wrong, why it matters, how to put it right
///
/// Without a code, all codes are listed.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The word in brackets that stands with a finding, such as unknown-name
    #[arg(value_name = "CODE")]
    code: Option<String>,
    /// Explain what can be set in a trunnion.toml instead
    #[arg(long, conflicts_with = "code")]
    settings: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    if args.settings {
        let text = project::settings_reference();
        return output::print(|out| out.write_all(text.as_bytes()), ExitCode::SUCCESS);
    }
    let Some(name) = &args.code else {
        return output::print(|out| out.write_all(list().as_bytes()), ExitCode::SUCCESS);
    };
    let Some(code) = codes::find(name) else {
        output::complain(&format!(
            "there is no code \"{name}\".{}",
            did_you_mean(name)
        ));
        return ExitCode::from(2);
    };
    output::print(
        |out| out.write_all(page(code).as_bytes()),
        ExitCode::SUCCESS,
    )
}

fn page(code: &Code) -> String {
    format!(
        "{}\nGroup: {}. Level: {}.\n",
        code.page,
        code.group,
        code.severity.as_str()
    )
}

fn did_you_mean(name: &str) -> String {
    match dialect::nearest(name, codes::all().map(|code| code.name)) {
        Some(near) => format!(" Did you mean {near}? `trunnion explain` lists all codes."),
        None => " `trunnion explain` lists all codes.".to_owned(),
    }
}

fn list() -> String {
    let widest = codes::all()
        .map(|code| code.name.len())
        .max()
        .unwrap_or_default();
    let mut list = String::new();
    for group in Group::ALL {
        list.push_str(&format!("{group}: {}\n", group.about()));
        for code in codes::all().filter(|code| code.group == group) {
            list.push_str(&format!(
                "  {:widest$}  {:11}  {}\n",
                code.name,
                code.severity.as_str(),
                code.summary()
            ));
        }
        list.push('\n');
    }
    list.push_str("More on one of them: trunnion explain CODE\n");
    list
}
