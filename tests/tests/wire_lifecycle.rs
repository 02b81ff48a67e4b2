//! From the first message to the exit code.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Command, Stdio};

use acceptance::client::{Client, all_capabilities};
use acceptance::program;
use serde_json::{Value, json};

const NOT_INITIALIZED: i64 = -32002;
const INVALID_REQUEST: i64 = -32600;
const METHOD_NOT_FOUND: i64 = -32601;
const INVALID_PARAMS: i64 = -32602;

fn code(answer: Result<Value, acceptance::client::ResponseError>) -> i64 {
    answer.expect_err("an error is expected").code
}

#[test]
fn exit_after_shutdown_is_0_while_the_input_is_still_open() {
    assert_eq!(Client::with(&all_capabilities()).finish(), 0);
}

#[test]
fn exit_without_shutdown_is_1_while_the_input_is_still_open() {
    let mut client = Client::with(&all_capabilities());
    client.notify("exit", Value::Null);
    assert_eq!(client.exit_code(), 1);
}

#[test]
fn exit_before_initialize_is_1() {
    let mut client = Client::start();
    client.notify("exit", Value::Null);
    assert_eq!(client.exit_code(), 1);
}

#[test]
fn the_end_of_the_input_ends_the_server() {
    let mut client = Client::with(&all_capabilities());
    client.close_input();
    assert_eq!(client.exit_code(), 1);

    let mut client = Client::with(&all_capabilities());
    client.request("shutdown", Value::Null).unwrap();
    client.close_input();
    assert_eq!(client.exit_code(), 0);
}

#[test]
fn shutdown_is_answered_even_if_exit_follows_at_once() {
    let mut client = Client::with(&all_capabilities());
    let id = client.ask("shutdown", Value::Null);
    client.notify("exit", Value::Null);
    assert_eq!(client.answer(id), Ok(Value::Null));
    assert_eq!(client.exit_code(), 0);
}

#[test]
fn shutdown_may_come_with_parameters() {
    let mut client = Client::with(&all_capabilities());
    assert_eq!(client.request("shutdown", json!({})), Ok(Value::Null));
    client.send(&json!({"jsonrpc": "2.0", "method": "exit", "params": null}));
    assert_eq!(client.exit_code(), 0);
}

#[test]
fn requests_before_initialize_are_refused_and_notifications_dropped() {
    let mut client = Client::start();
    let hover =
        json!({"textDocument": {"uri": "file:///a.xml"}, "position": {"line": 0, "character": 0}});
    assert_eq!(
        code(client.request("textDocument/hover", hover)),
        NOT_INITIALIZED
    );
    assert_eq!(
        code(client.request("no/such/method", json!({}))),
        NOT_INITIALIZED
    );
    assert_eq!(
        code(client.request("shutdown", Value::Null)),
        NOT_INITIALIZED
    );
    client.open("file:///a.xml", 1, "<a/>");
    client.initialize(&all_capabilities());
    assert!(
        client.pulled_diagnostics("file:///a.xml").is_err(),
        "the document was never opened"
    );
    assert_eq!(client.finish(), 0);
}

#[test]
fn requests_after_shutdown_are_refused() {
    let mut client = Client::with(&all_capabilities());
    client.open("file:///a.xml", 1, "<a/>");
    client.request("shutdown", Value::Null).unwrap();
    assert_eq!(
        code(client.pulled_diagnostics("file:///a.xml").map(Value::from)),
        INVALID_REQUEST
    );
    assert_eq!(
        code(client.request("no/such/method", json!({}))),
        INVALID_REQUEST
    );
    assert_eq!(
        code(client.request("shutdown", Value::Null)),
        INVALID_REQUEST
    );
}

#[test]
fn a_second_initialize_is_refused() {
    let mut client = Client::with(&all_capabilities());
    let params = json!({"processId": null, "rootUri": null, "capabilities": {}});
    assert_eq!(code(client.request("initialize", params)), INVALID_REQUEST);
    assert_eq!(client.finish(), 0);
}

#[test]
fn an_initialize_that_failed_may_be_tried_again() {
    let mut client = Client::start();
    let id = client.ask("initialize", json!({"capabilities": 7}));
    assert_eq!(code(client.answer(id)), INVALID_PARAMS);
    client.initialize(&all_capabilities());
    assert_eq!(client.finish(), 0);
}

#[test]
fn unknown_methods() {
    let mut client = Client::with(&all_capabilities());
    assert_eq!(
        code(client.request("no/such/method", json!({}))),
        METHOD_NOT_FOUND
    );
    assert_eq!(
        code(client.request("$/no/such/method", json!({}))),
        METHOD_NOT_FOUND
    );
    client.notify("no/such/method", json!({}));
    client.notify("$/no/such/method", json!({}));
    client.notify("$/setTrace", json!({"value": "verbose"}));
    assert_eq!(client.finish(), 0);
}

#[test]
fn wrong_parameters() {
    let mut client = Client::with(&all_capabilities());
    client.open("file:///a.xml", 1, "<a/>");
    assert_eq!(
        code(client.request("textDocument/diagnostic", json!({"textDocument": 1}))),
        INVALID_PARAMS
    );
    // A notification that says nothing about texts does no harm.
    client.notify("textDocument/didSave", json!({"textDocument": 1}));
    client.notify("workspace/didChangeWatchedFiles", json!([]));
    assert!(client.pulled_diagnostics("file:///a.xml").is_ok());
    assert_eq!(client.finish(), 0);
}

#[test]
fn ids_may_be_texts() {
    let mut client = Client::with(&all_capabilities());
    client.notify(
        "textDocument/didSave",
        json!({"textDocument": {"uri": "file:///a.xml"}}),
    );
    client.send(&json!({"jsonrpc": "2.0", "id": "last", "method": "shutdown"}));
    client.expect_answer("last", "shutdown");
    assert_eq!(client.answer("last"), Ok(Value::Null));
}

#[cfg(target_os = "linux")]
#[test]
fn the_end_of_the_client_process_ends_the_server() {
    let mut editor = Command::new("sleep").arg("600").spawn().unwrap();
    let mut client = Client::start();
    let params = json!({"processId": editor.id(), "rootUri": null, "capabilities": {}});
    client.request("initialize", params).unwrap();
    editor.kill().unwrap();
    editor.wait().unwrap();
    assert_eq!(client.exit_code(), 1);
}

#[test]
fn over_tcp_one_client_is_served_and_stdout_stays_empty() {
    let mut server = Command::new(program::path())
        .args(["serve", "--tcp", "0"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(server.stderr.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    let address = line.trim().rsplit(' ').next().unwrap();
    assert!(address.starts_with("127.0.0.1:"), "{line}");

    let stream = TcpStream::connect(address).unwrap();
    let mut stdout = server.stdout.take().unwrap();
    let mut client = Client::over(server, stream.try_clone().unwrap(), stream);
    client.initialize(&all_capabilities());
    client.open("file:///a.xml", 1, "<a> & </a>");
    assert_eq!(client.pulled_diagnostics("file:///a.xml").unwrap().len(), 1);
    assert_eq!(client.finish(), 0);

    let mut printed = String::new();
    stdout.read_to_string(&mut printed).unwrap();
    assert_eq!(printed, "");
}

#[test]
fn a_client_that_does_not_read_can_still_end_the_server() {
    let mut server = Command::new(program::path())
        .arg("serve")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = server.stdin.take().unwrap();
    let mut send = |message: Value| {
        let body = message.to_string();
        write!(input, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
    };
    let params = json!({"processId": null, "rootUri": null, "capabilities": {}});
    send(json!({"jsonrpc": "2.0", "id": 0, "method": "initialize", "params": params}));
    // Far more answers than a pipe holds.
    for id in 1..20_000 {
        send(json!({"jsonrpc": "2.0", "id": id, "method": "no/such/method"}));
    }
    send(json!({"jsonrpc": "2.0", "method": "exit"}));
    assert_eq!(server.wait().unwrap().code(), Some(1));
}

#[test]
fn a_port_that_is_taken_is_said() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let output = Command::new(program::path())
        .args(["serve", "--tcp", &port])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(
        String::from_utf8_lossy(&output.stderr).contains(&format!("port {port} cannot be used"))
    );
}
