//! The preview of an open document, over the wire: its page is served when the client asks for it, and follows what is
//! typed, saved or not.

#![allow(clippy::print_stdout)]

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{BRAM, Desk};
use acceptance::outside;
use serde_json::{Value, json};

/// The address of the document's page. None, which is said, for a program without the page.
fn preview(client: &mut Client, argument: Value) -> Option<String> {
    let params = json!({"command": "trunnion.preview", "arguments": [argument]});
    match client.request("workspace/executeCommand", params) {
        Ok(address) => Some(address.as_str().unwrap().to_owned()),
        Err(error) => {
            let told = format!("{error:?}");
            assert!(told.contains("without the preview's page"), "{told}");
            outside::skipped("the preview over the wire", "its page has not been built");
            None
        }
    }
}

/// Status and body of the answer to `GET`.
fn get(address: &str, asked: &str) -> (u16, String) {
    let (page, _) = address.split_once('#').unwrap_or((address, ""));
    let rest = page.strip_prefix("http://").unwrap();
    let (host, path) = rest.split_once('/').unwrap();
    let mut stream = TcpStream::connect(host).unwrap();
    write!(
        stream,
        "GET /{path}{asked} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    (status, body.to_owned())
}

fn json_of(address: &str, asked: &str) -> Value {
    let (status, body) = get(address, asked);
    assert_eq!(status, 200, "{asked}");
    serde_json::from_str(&body).unwrap()
}

fn track_width(posed: &Value) -> &str {
    let all = posed["measured"].as_array().unwrap();
    let first = all.iter().find(|it| it["key"] == "track-width").unwrap();
    first["value"].as_str().unwrap()
}

#[test]
fn the_page_shows_what_is_typed_before_it_is_saved() {
    let mut desk = Desk::with(BRAM, &all_capabilities());
    let uri = desk.uri.clone();
    let Some(address) = preview(
        &mut desk.client,
        json!({"uri": uri, "animation": "mast.raise"}),
    ) else {
        return;
    };
    assert!(address.ends_with("/#play=mast.raise"), "{address}");
    let told = desk.client.wait_for_notification("window/showMessage");
    assert!(told["message"].as_str().unwrap().contains(&address));

    let machine = json_of(&address, "machine?after=0");
    assert_eq!(machine["machine"]["controls"][0]["name"], "Raise mast");
    assert_eq!(track_width(&json_of(&address, "pose?")), "2.6 m");
    assert_eq!(track_width(&json_of(&address, "pose?0=6")), "3.24 m");

    // Somebody waits for the next version; it comes with the edit.
    let revision = machine["revision"].as_u64().unwrap();
    let waiting = {
        let (address, asked) = (address.clone(), format!("machine?after={revision}"));
        std::thread::spawn(move || (json_of(&address, &asked), Instant::now()))
    };
    std::thread::sleep(Duration::from_millis(200));
    let text = desk
        .text
        .replace("\"1.62 0 0\"", "\"1.82 0 0\"")
        .replace("\"-1.62 0 0\"", "\"-1.82 0 0\"");
    let typed = Instant::now();
    desk.client.change(&uri, 2, json!([{"text": text}]));
    let (newer, came) = waiting.join().unwrap();
    println!("from an edit to the page's data: {:?}", came - typed);
    assert!(newer["revision"].as_u64().unwrap() > revision);
    assert_eq!(track_width(&json_of(&address, "pose?0=6")), "3.64 m");

    // The same page again, not another one.
    let again = preview(&mut desk.client, json!({"uri": uri})).unwrap();
    assert_eq!(Some(again.as_str()), address.split('#').next());

    // What is broken is told, and what is not there any more.
    desk.client.change(&uri, 3, json!([{"text": "<machine"}]));
    desk.client.pulled_diagnostics(&uri).unwrap();
    let broken = json_of(&address, "machine?after=0");
    assert!(
        !broken["problems"].as_array().unwrap().is_empty(),
        "{broken}"
    );
    desk.client.close(&uri);
    let params = json!({"command": "trunnion.preview", "arguments": [{"uri": uri}]});
    let refused = desk.client.request("workspace/executeCommand", params);
    assert!(refused.is_err(), "the document is closed");
    let closed = json_of(&address, "machine?after=0");
    assert!(closed["trouble"].as_str().unwrap().contains("not open"));
}

#[test]
fn a_client_that_opens_addresses_is_asked_to() {
    let mut capabilities = all_capabilities();
    capabilities["window"] = json!({"showDocument": {"support": true}});
    let mut desk = Desk::with(BRAM, &capabilities);
    let uri = desk.uri.clone();
    let Some(address) = preview(&mut desk.client, json!({"uri": uri})) else {
        return;
    };
    let asked = desk.client.wait_for_notification("window/showDocument");
    assert_eq!(asked["uri"], address);
    assert_eq!(asked["external"], true);
}

#[test]
fn the_matrices_are_those_that_the_command_line_says() {
    let mut desk = Desk::with(BRAM, &all_capabilities());
    let uri = desk.uri.clone();
    let Some(address) = preview(&mut desk.client, json!({"uri": uri})) else {
        return;
    };
    let output = std::process::Command::new(acceptance::program::path())
        .args([
            "motion",
            "--json",
            "--at",
            "mast.raise=0.25",
            "--at",
            "hooks.close=0.5",
        ])
        .arg(acceptance::desk::corpus().join(BRAM))
        .output()
        .unwrap();
    let said: Value = serde_json::from_slice(&output.stdout).unwrap();
    let posed = json_of(&address, "pose?0=1.5&1=0.75");
    let moved = posed["moved"].as_array().unwrap();
    assert!(moved.len() > 10, "{}", moved.len());
    for one in moved {
        let node = usize::try_from(one["node"].as_u64().unwrap()).unwrap();
        assert_eq!(one["matrix"], said["nodes"][node]["world"], "node {node}");
    }
}
