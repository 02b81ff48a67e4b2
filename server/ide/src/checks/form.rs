//! Is it well-formed XML? The parser knows; here its errors become findings.

use syntax::Tree;

use crate::{Finding, Fix, Severity, Trust, codes};

pub(super) fn check(tree: &Tree) -> Vec<Finding> {
    tree.errors().iter().map(finding).collect()
}

fn finding(error: &syntax::FormError) -> Finding {
    let code = error.code.as_str();
    let severity = codes::find(code).map_or(Severity::Error, |code| code.severity);
    let mut finding = Finding::new(code, severity, error.range, sentence(&error.message));
    if let Some((range, message)) = &error.related {
        finding = finding.see(*range, &**message);
    }
    if let Some(fix) = &error.fix {
        finding = finding.fix(Fix {
            title: fix.title.clone(),
            // What was meant is a guess wherever text is taken away or put in.
            trust: Trust::Review,
            edits: fix.edits.clone(),
        });
    }
    finding
}

/// The parser leaves the last full stop out.
fn sentence(message: &str) -> String {
    let stop = if message.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    format!("{message}{stop}")
}
