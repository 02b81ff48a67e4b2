//! How TOML writes texts, arrays and tables.

use std::fmt::Write as _;

/// Longest line that an array may fill before it is broken.
const WIDTH: usize = 120;

/// Sentences as a comment.
pub(super) fn remarks(out: &mut String, sentences: &[String]) {
    for sentence in sentences {
        // A line break or a control character in it would end the comment, or the file.
        let plain = sentence.split(|c: char| c.is_whitespace() || c.is_control());
        let words: Vec<&str> = plain.filter(|word| !word.is_empty()).collect();
        let _ = writeln!(out, "# {}", words.join(" "));
    }
}

/// A table of its own, unless it is empty.
pub(super) fn section(out: &mut String, name: &str, lines: &[(&str, String)]) {
    if !lines.is_empty() {
        let _ = writeln!(out, "\n[{name}]");
    }
    for (key, value) in lines {
        line(out, key, value);
    }
}

pub(super) fn line(out: &mut String, key: &str, value: &str) {
    let _ = writeln!(out, "{key} = {value}");
}

/// A line for a text, unless it is empty.
pub(super) fn text_line(out: &mut String, key: &str, text: &str) {
    if !text.is_empty() {
        line(out, key, &quoted(text));
    }
}

/// A line for an array of texts, unless it is empty; broken into lines if it is long.
pub(super) fn texts_line(out: &mut String, key: &str, texts: &[String]) {
    if texts.is_empty() {
        return;
    }
    let whole = array(texts);
    if key.len() + whole.len() + 3 <= WIDTH {
        return line(out, key, &whole);
    }
    let _ = writeln!(out, "{key} = [");
    let mut row = String::new();
    for text in texts {
        let member = format!("{},", quoted(text));
        if !row.is_empty() && row.len() + member.len() + 3 > WIDTH {
            let _ = writeln!(out, "  {row}");
            row.clear();
        }
        if !row.is_empty() {
            row.push(' ');
        }
        row.push_str(&member);
    }
    let _ = writeln!(out, "  {row}\n]");
}

pub(super) fn array(texts: &[String]) -> String {
    let members: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    format!("[{}]", members.join(", "))
}

pub(super) fn one_or_array(texts: &[String]) -> String {
    match texts {
        [only] => quoted(only),
        several => array(several),
    }
}

pub(super) fn table<K: AsRef<str>>(pairs: &[(K, String)]) -> String {
    let pairs: Vec<String> = pairs
        .iter()
        .map(|(key, value)| format!("{} = {value}", key.as_ref()))
        .collect();
    format!("{{ {} }}", pairs.join(", "))
}

/// A key of TOML, quoted if it must be.
pub(super) fn key(name: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    match !name.is_empty() && name.chars().all(bare) {
        true => name.to_owned(),
        false => quoted(name),
    }
}

/// A basic string of TOML, on one line.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
