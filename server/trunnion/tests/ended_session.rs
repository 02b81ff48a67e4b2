//! What a client still says when its session has ended is for nobody: the process may go on and serve others.

use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Read, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::{io, panic, thread};

use serde_json::{Value, json};

static PANICS: AtomicUsize = AtomicUsize::new(0);

fn send(server: &mut PipeWriter, message: &Value) {
    let body = message.to_string();
    write!(server, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
}

fn receive(server: &mut BufReader<PipeReader>) -> Value {
    let mut length = String::new();
    server.read_line(&mut length).unwrap();
    server.read_line(&mut String::new()).unwrap();
    let length = length.trim().strip_prefix("Content-Length: ").unwrap();
    let mut body = vec![0; length.parse().unwrap()];
    server.read_exact(&mut body).unwrap();
    serde_json::from_slice(&body).unwrap()
}

#[test]
fn an_answer_that_comes_after_the_end_harms_nobody() {
    let usual = panic::take_hook();
    panic::set_hook(Box::new(move |panic| {
        PANICS.fetch_add(1, Ordering::SeqCst);
        usual(panic);
    }));
    let (server_input, mut input) = io::pipe().unwrap();
    let (output, server_output) = io::pipe().unwrap();
    let mut output = BufReader::new(output);
    let server = thread::spawn(move || {
        // With it go those who wait for an answer of the client.
        trunnion::serve(server_input, server_output).unwrap();
    });
    let watches = json!({"workspace": {"didChangeWatchedFiles": {"dynamicRegistration": true}}});
    let params = json!({"processId": null, "rootUri": null, "capabilities": watches});
    send(
        &mut input,
        &json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": params}),
    );
    assert_eq!(receive(&mut output)["id"], 1);
    send(
        &mut input,
        &json!({"jsonrpc": "2.0", "method": "initialized", "params": {}}),
    );
    let asked = receive(&mut output);
    assert_eq!(asked["method"], "client/registerCapability");
    send(&mut input, &json!({"jsonrpc": "2.0", "method": "exit"}));
    server.join().unwrap();
    send(
        &mut input,
        &json!({"jsonrpc": "2.0", "id": asked["id"], "result": null}),
    );
    drop(input);
    // Closed by the last thread of the server that lets go of it.
    let mut rest = Vec::new();
    output.read_to_end(&mut rest).unwrap();
    assert_eq!(PANICS.load(Ordering::SeqCst), 0);
}
