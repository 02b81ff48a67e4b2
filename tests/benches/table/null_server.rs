//! The least that any server can do, as the floor under the figures: it reads frames, applies edits to a `String`, and
//! answers with no diagnostics. This program is that server when it is called with [`ARGUMENT`].

use std::io::{self, BufRead, BufReader, Write};

use serde_json::{Value, json};

pub(crate) const ARGUMENT: &str = "--serve-nothing";

pub(crate) fn serve() -> io::Result<()> {
    let mut input = BufReader::with_capacity(64 << 10, io::stdin().lock());
    let mut text = String::new();
    while let Some(body) = read(&mut input)? {
        let mut message: Value = serde_json::from_slice(&body)?;
        drop(body);
        match message["method"].as_str().unwrap_or_default() {
            "textDocument/didOpen" => {
                if let Value::String(opened) = message["params"]["textDocument"]["text"].take() {
                    text = opened;
                }
                publish(&message)?;
            }
            "textDocument/didChange" => {
                let changes = &message["params"]["contentChanges"];
                for change in changes.as_array().into_iter().flatten() {
                    let range = &change["range"];
                    let (start, end) =
                        (offset(&text, &range["start"]), offset(&text, &range["end"]));
                    text.replace_range(start..end, change["text"].as_str().unwrap_or_default());
                }
                publish(&message)?;
            }
            "initialize" => answer(
                &message,
                &json!({"capabilities": {"textDocumentSync": 2}, "serverInfo": {"name": "null server"}}),
            )?,
            "exit" => break,
            _ if message["id"].is_null() => {}
            _ => answer(&message, &Value::Null)?,
        }
    }
    Ok(())
}

fn read(input: &mut impl BufRead) -> io::Result<Option<Vec<u8>>> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if input.read_line(&mut line)? == 0 {
            return Ok(None);
        }
        match line.trim_end() {
            "" => break,
            header => {
                if let Some(value) = header.strip_prefix("Content-Length: ") {
                    length = value.parse().unwrap_or_default();
                }
            }
        }
    }
    let mut body = vec![0; length];
    input.read_exact(&mut body)?;
    Ok(Some(body))
}

fn answer(message: &Value, result: &Value) -> io::Result<()> {
    write(&json!({"jsonrpc": "2.0", "id": message["id"], "result": result}))
}

fn publish(message: &Value) -> io::Result<()> {
    let document = &message["params"]["textDocument"];
    write(
        &json!({"jsonrpc": "2.0", "method": "textDocument/publishDiagnostics", "params": {
            "uri": document["uri"], "version": document["version"], "diagnostics": [],
        }}),
    )
}

fn write(message: &Value) -> io::Result<()> {
    let body = message.to_string();
    let mut output = io::stdout().lock();
    output.write_all(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes())?;
    output.flush()
}

/// The byte that a position stands for, without any index of lines.
fn offset(text: &str, position: &Value) -> usize {
    let [line, column] =
        ["line", "character"].map(|key| position[key].as_u64().unwrap_or_default() as usize);
    let start = match line.checked_sub(1) {
        None => 0,
        Some(before) => text
            .match_indices('\n')
            .nth(before)
            .map_or(text.len(), |(at, _)| at + 1),
    };
    let mut units = 0;
    for (at, character) in text[start..].char_indices() {
        if units >= column {
            return start + at;
        }
        units += character.len_utf16();
    }
    text.len()
}
