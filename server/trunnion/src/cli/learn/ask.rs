//! Asks a person about roles that were found.

use std::io::{BufRead, Result, Write};

use learn::roles::{Proposal, Verdict, Verdicts};

/// Asks about each proposal in turn. An empty line says yes; where the answers end, the rest is taken as proposed, but
/// not as confirmed. `settled`: roles that are not asked about.
///
/// # Errors
/// If a question cannot be shown or an answer cannot be read.
pub(super) fn ask(
    proposals: &[Proposal],
    settled: &[String],
    answers: &mut dyn BufRead,
    questions: &mut dyn Write,
) -> Result<Verdicts> {
    let mut verdicts = Verdicts::default();
    let is_open = |proposal: &&Proposal| settled.iter().all(|role| role != proposal.role);
    for proposal in proposals.iter().filter(is_open) {
        show(proposal, questions)?;
        let Some(verdict) = answer(proposal, answers, questions)? else {
            break;
        };
        let given = (proposal.role, proposal.path.clone(), verdict);
        verdicts.given.push(given);
    }
    Ok(verdicts)
}

fn show(proposal: &Proposal, questions: &mut dyn Write) -> Result<()> {
    let sure = proposal.confidence * 100.0;
    writeln!(
        questions,
        "\nIs `{}` what dialects call `{}`? {sure:.0} % sure.",
        proposal.path, proposal.role
    )?;
    if !proposal.reasons.is_empty() {
        writeln!(questions, "  Because: {}.", proposal.reasons.join("; "))?;
    }
    if !proposal.assumed.is_empty() {
        writeln!(questions, "  Assumed: {}", proposal.assumed.join(" "))?;
    }
    let parts = proposal.played().into_iter();
    let parts: Vec<String> = parts.map(|(part, path)| format!("{part}={path}")).collect();
    if !parts.is_empty() {
        writeln!(questions, "  Parts: {}", parts.join(" "))?;
    }
    let idle = proposal.idle();
    if !parts.is_empty() && !idle.is_empty() {
        writeln!(
            questions,
            "  No parts: {} (PART=VALUE puts one in)",
            idle.join(" ")
        )?;
    }
    for (number, (text, _)) in proposal.others.iter().enumerate() {
        writeln!(questions, "  {}: yes, but {text}", number + 1)?;
    }
    Ok(())
}

/// `None`: there are no more answers.
fn answer(
    proposal: &Proposal,
    answers: &mut dyn BufRead,
    questions: &mut dyn Write,
) -> Result<Option<Verdict>> {
    let others = proposal.others.len();
    let mut changed = proposal.clone();
    let mut told: Vec<(String, String)> = Vec::new();
    loop {
        match others {
            0 => write!(questions, "[Y/n] ")?,
            others => write!(questions, "[Y/n/1-{others}] ")?,
        }
        questions.flush()?;
        let mut line = String::new();
        if answers.read_line(&mut line)? == 0 {
            writeln!(questions)?;
            return Ok(None);
        }
        if let Some((part, path)) = line.trim().split_once('=') {
            let (part, path) = (part.trim(), path.trim());
            match changed.with(part, path) {
                Some(with) => {
                    changed = with;
                    told.push((part.to_owned(), path.to_owned()));
                    writeln!(questions, "  {part} is {path} then. Is all else right?")?;
                }
                None => writeln!(
                    questions,
                    "`{part}={path}` is no answer: name one of the parts and one of the values above."
                )?,
            }
            continue;
        }
        let said = line.trim().to_lowercase();
        match (said.as_str(), said.parse::<usize>()) {
            ("" | "y" | "yes", _) if !told.is_empty() => return Ok(Some(Verdict::With(told))),
            ("" | "y" | "yes", _) => return Ok(Some(Verdict::Yes)),
            ("n" | "no", _) => return Ok(Some(Verdict::No)),
            (_, Ok(number)) if (1..=others).contains(&number) => {
                return Ok(Some(Verdict::Other(number - 1)));
            }
            _ => writeln!(
                questions,
                "`{said}` is no answer: y, n, PART=VALUE or one of the numbers."
            )?,
        }
    }
}

#[cfg(test)]
#[allow(clippy::field_reassign_with_default)]
mod tests {
    use super::*;

    fn proposals() -> Vec<Proposal> {
        let proposal = |role, path: &str| {
            let mut proposal = Proposal::default();
            proposal.role = role;
            path.clone_into(&mut proposal.path);
            proposal
        };
        let mut last = proposal("control", "rig/grip");
        last.others.push((
            "the input is @b".to_owned(),
            proposal("control", "rig/grip"),
        ));
        vec![
            proposal("alias", "rig/tag"),
            proposal("wheel", "rig/roll"),
            last,
        ]
    }

    fn said(answers: &str, settled: &[String]) -> (Vec<Verdict>, String) {
        let mut questions = Vec::new();
        let verdicts = ask(
            &proposals(),
            settled,
            &mut answers.as_bytes(),
            &mut questions,
        )
        .unwrap();
        let given = verdicts.given.into_iter().map(|(.., verdict)| verdict);
        (given.collect(), String::from_utf8(questions).unwrap())
    }

    #[test]
    fn answers_are_yes_no_or_a_number() {
        let (verdicts, questions) = said("\nperhaps\nn\n1\n", &[]);
        assert_eq!(verdicts, [Verdict::Yes, Verdict::No, Verdict::Other(0)]);
        assert!(questions.contains("`perhaps` is no answer"), "{questions}");
        assert!(
            questions.contains("1: yes, but the input is @b"),
            "{questions}"
        );
    }

    #[test]
    fn where_answers_end_nothing_is_confirmed() {
        assert_eq!(said("", &[]).0, []);
        assert_eq!(said("y", &[]).0, [Verdict::Yes]);
    }

    #[test]
    fn what_is_settled_is_not_asked() {
        let (verdicts, questions) = said("n\n", &["alias".to_owned(), "control".to_owned()]);
        assert_eq!(verdicts, [Verdict::No]);
        assert!(!questions.contains("rig/tag"), "{questions}");
    }
}
