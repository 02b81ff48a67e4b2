//! A small synchronous client of the Language Server Protocol. It starts the built server and speaks with it over
//! real pipes. Every message it receives, also those that no test waits for, is checked against the protocol's
//! metamodel and against what the client said that it can take.

use std::collections::{BTreeMap, VecDeque};
use std::fmt;
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::abilities::Abilities;
use crate::metamodel::Metamodel;
use crate::program;

/// Long enough for a loaded machine. Running into it is a failure, never a way to wait.
pub const TIMEOUT: Duration = Duration::from_secs(60);

/// What a client with pull diagnostics and everything else says that it can.
pub fn all_capabilities() -> Value {
    json!({
        "general": {"positionEncodings": ["utf-8", "utf-16", "utf-32"]},
        "workspace": {
            "applyEdit": true,
            "executeCommand": {},
            "workspaceFolders": true,
            "workspaceEdit": {"documentChanges": true, "resourceOperations": ["create", "rename", "delete"]},
            "didChangeWatchedFiles": {"dynamicRegistration": true},
            "diagnostics": {"refreshSupport": true},
            "fileOperations": {"willRename": true, "didCreate": true, "didRename": true, "didDelete": true},
        },
        "textDocument": {
            "colorProvider": {},
            "diagnostic": {},
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true},
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "definition": {"linkSupport": true},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
            "rename": {"prepareSupport": true},
            "inlayHint": {},
            "codeLens": {},
            "signatureHelp": {"signatureInformation": {
                "documentationFormat": ["markdown", "plaintext"],
                "parameterInformation": {"labelOffsetSupport": true},
            }},
            "semanticTokens": {
                "requests": {"range": true, "full": {"delta": true}},
                "tokenTypes": [
                    "namespace", "type", "class", "enum", "interface", "struct", "typeParameter", "parameter", "variable",
                    "property", "enumMember", "event", "function", "method", "macro", "keyword", "modifier", "comment",
                    "string", "number", "regexp", "operator", "decorator",
                ],
                "tokenModifiers": ["declaration", "definition", "readonly", "static", "deprecated"],
                "formats": ["relative"],
            },
            "completion": {"completionItem": {
                "snippetSupport": true, "insertReplaceSupport": true, "labelDetailsSupport": true,
                "documentationFormat": ["markdown", "plaintext"],
                "resolveSupport": {"properties": ["documentation", "additionalTextEdits"]},
            }},
            "codeAction": {
                "codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["", "quickfix", "refactor", "source"]}},
                "isPreferredSupport": true, "disabledSupport": true, "dataSupport": true,
                "resolveSupport": {"properties": ["edit"]},
            },
        },
    })
}

/// The same without pull diagnostics: the server pushes them.
pub fn push_capabilities() -> Value {
    let mut capabilities = all_capabilities();
    if let Some(text_document) = capabilities["textDocument"].as_object_mut() {
        text_document.remove("diagnostic");
    }
    capabilities
}

/// An error that the server answered with.
#[derive(Clone, Debug, PartialEq)]
pub struct ResponseError {
    pub code: i64,
    pub message: String,
}

/// A request that has no answer yet.
#[derive(Debug)]
struct Asked {
    method: String,
    params: Value,
}

pub struct Client {
    process: Child,
    input: Option<Box<dyn Write + Send>>,
    incoming: Receiver<(Instant, Value)>,
    next_id: i64,
    asked: BTreeMap<String, Asked>,
    /// What it said that it can take, once the server has answered to that.
    abilities: Option<Abilities>,
    /// False once it sent what it does not understand itself.
    knows_what_it_asked: bool,
    answers: BTreeMap<String, Value>,
    /// Notifications and requests of the server that no wait has taken yet.
    waiting: VecDeque<Value>,
    /// The methods of the server's requests and notifications, all of them, as they came.
    pub heard: Vec<String>,
    /// Every message from the server, as it came.
    pub messages: Vec<Value>,
    /// When the newest of them came.
    pub arrived: Instant,
}

impl Client {
    /// Starts the server over pipes and says nothing yet.
    pub fn start() -> Self {
        Self::spawn(Command::new(program::path()).arg("serve"))
    }

    /// Starts the server and introduces itself.
    pub fn with(capabilities: &Value) -> Self {
        let mut client = Self::start();
        client.initialize(capabilities);
        client
    }

    /// Starts `command`, which serves over pipes.
    pub fn spawn(command: &mut Command) -> Self {
        let mut process = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the server starts");
        let output = process.stdout.take().expect("its output is a pipe");
        let input = process.stdin.take().expect("its input is a pipe");
        Self::over(process, input, output)
    }

    /// Speaks with a server that runs already.
    pub fn over(
        process: Child,
        input: impl Write + Send + 'static,
        output: impl Read + Send + 'static,
    ) -> Self {
        let (sender, incoming) = channel();
        thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(body) = read_frame(&mut output) {
                let arrived = Instant::now();
                let message = serde_json::from_slice(&body).expect("a body is JSON");
                if sender.send((arrived, message)).is_err() {
                    break;
                }
            }
        });
        Self {
            input: Some(Box::new(input)),
            process,
            incoming,
            next_id: 1,
            asked: BTreeMap::new(),
            abilities: None,
            knows_what_it_asked: true,
            answers: BTreeMap::new(),
            waiting: VecDeque::new(),
            heard: Vec::new(),
            messages: Vec::new(),
            arrived: Instant::now(),
        }
    }

    /// The handshake; returns the server's capabilities.
    pub fn initialize(&mut self, capabilities: &Value) -> Value {
        self.initialize_with(capabilities, Value::Null)
    }

    /// The handshake with options of the server's own; returns the server's capabilities.
    pub fn initialize_with(&mut self, capabilities: &Value, options: Value) -> Value {
        let params = json!({"processId": std::process::id(), "rootUri": null, "capabilities": capabilities,
            "initializationOptions": options});
        self.initialize_as(params)
    }

    /// The handshake with these parameters; returns the server's capabilities.
    pub fn initialize_as(&mut self, params: Value) -> Value {
        let result = self
            .request("initialize", params)
            .expect("initialize succeeds");
        self.notify("initialized", json!({}));
        result["capabilities"].clone()
    }

    /// Sends a request and waits for its answer.
    ///
    /// # Errors
    /// The server's error.
    pub fn request(&mut self, method: &str, params: Value) -> Result<Value, ResponseError> {
        let id = self.ask(method, params);
        self.answer(id)
    }

    /// Sends a request; [`Client::answer`] waits for the answer.
    pub fn ask(&mut self, method: &str, params: Value) -> i64 {
        let id = self.next_id;
        self.next_id += 1;
        let mut request = json!({"jsonrpc": "2.0", "id": id, "method": method});
        if !params.is_null() {
            request["params"] = params.clone();
        }
        let asked = Asked {
            method: method.to_owned(),
            params,
        };
        self.asked.insert(id.to_string(), asked);
        self.send(&request);
        id
    }

    /// The id of the server's process.
    pub fn process_id(&self) -> u32 {
        self.process.id()
    }

    /// Tells this client of a request that was sent without its help.
    pub fn expect_answer(&mut self, id: impl Into<Value>, method: &str) {
        let asked = Asked {
            method: method.to_owned(),
            params: Value::Null,
        };
        self.asked.insert(id.into().to_string(), asked);
    }

    /// From now on any answer is taken: what was sent was spoilt on purpose.
    pub fn expect_any_answer(&mut self) {
        self.knows_what_it_asked = false;
    }

    /// Waits for the answer to a request.
    ///
    /// # Errors
    /// The server's error.
    pub fn answer(&mut self, id: impl Into<Value>) -> Result<Value, ResponseError> {
        let id: Value = id.into();
        let deadline = Instant::now() + TIMEOUT;
        loop {
            if let Some(answer) = self.answers.remove(&id.to_string()) {
                return match answer.get("error") {
                    None => Ok(answer["result"].clone()),
                    Some(error) => Err(ResponseError {
                        code: error["code"].as_i64().expect("an error has a code"),
                        message: error["message"]
                            .as_str()
                            .expect("an error has a message")
                            .to_owned(),
                    }),
                };
            }
            self.receive(deadline, &format!("the answer to request {id}"));
        }
    }

    pub fn cancel(&mut self, id: i64) {
        self.notify("$/cancelRequest", json!({"id": id}));
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        let mut notification = json!({"jsonrpc": "2.0", "method": method});
        if !params.is_null() {
            notification["params"] = params;
        }
        self.send(&notification);
    }

    /// Waits for a notification or a request of the server that `wanted` accepts; takes it.
    pub fn wait_for(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let deadline = Instant::now() + TIMEOUT;
        loop {
            if let Some(at) = self.waiting.iter().position(&wanted) {
                return self.waiting.remove(at).expect("it was found there");
            }
            self.receive(deadline, what);
        }
    }

    /// Waits for the parameters of a notification of the server.
    pub fn wait_for_notification(&mut self, method: &str) -> Value {
        self.wait_for(method, |message| message["method"] == method)["params"].clone()
    }

    pub fn open(&mut self, uri: &str, version: i64, text: &str) {
        let document = json!({"uri": uri, "languageId": "xml", "version": version, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": document}));
    }

    pub fn change(&mut self, uri: &str, version: i64, changes: Value) {
        let document = json!({"uri": uri, "version": version});
        self.notify(
            "textDocument/didChange",
            json!({"textDocument": document, "contentChanges": changes}),
        );
    }

    pub fn close(&mut self, uri: &str) {
        self.notify(
            "textDocument/didClose",
            json!({"textDocument": {"uri": uri}}),
        );
    }

    /// The diagnostics that the server pushes for this version of a document.
    pub fn pushed_diagnostics(&mut self, uri: &str, version: i64) -> Vec<Value> {
        let message = self.wait_for(
            &format!("the diagnostics of {uri}, version {version}"),
            |message| {
                message["method"] == "textDocument/publishDiagnostics"
                    && message["params"]["uri"] == uri
                    && message["params"]["version"] == version
            },
        );
        items(&message["params"]["diagnostics"])
    }

    /// The diagnostics that the server has when asked now.
    ///
    /// # Errors
    /// The server's error.
    pub fn pulled_diagnostics(&mut self, uri: &str) -> Result<Vec<Value>, ResponseError> {
        let report = self.request(
            "textDocument/diagnostic",
            json!({"textDocument": {"uri": uri}}),
        )?;
        Ok(items(&report["items"]))
    }

    pub fn send(&mut self, message: &Value) {
        let input = self.input.as_mut().expect("the input is open");
        send(input, message).expect("the server reads");
    }

    pub fn send_raw(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("the input is open");
        input
            .write_all(bytes)
            .and_then(|()| input.flush())
            .expect("the server reads");
    }

    pub fn close_input(&mut self) {
        self.input = None;
    }

    /// Says goodbye as the protocol wants it and returns the exit code.
    pub fn finish(mut self) -> i32 {
        assert_eq!(self.request("shutdown", Value::Null), Ok(Value::Null));
        self.notify("exit", Value::Null);
        self.exit_code()
    }

    /// Waits for the end of the server. Its input stays open.
    pub fn exit_code(&mut self) -> i32 {
        let deadline = Instant::now() + TIMEOUT;
        loop {
            if let Some(status) = self
                .process
                .try_wait()
                .expect("the process can be waited for")
            {
                self.hear_the_rest();
                return status.code().expect("the server ends by itself");
            }
            assert!(Instant::now() < deadline, "the server does not end");
            thread::sleep(Duration::from_millis(5));
        }
    }

    fn receive(&mut self, deadline: Instant, what: &str) {
        let left = deadline.saturating_duration_since(Instant::now());
        match self.incoming.recv_timeout(left) {
            Ok(arrival) => self.take(arrival),
            Err(RecvTimeoutError::Timeout) => {
                panic!("no sign of {what} in {TIMEOUT:?}; heard: {:?}", self.heard)
            }
            Err(RecvTimeoutError::Disconnected) => {
                panic!("the server ended before {what}; heard: {:?}", self.heard)
            }
        }
    }

    /// Takes what came that nobody waited for, up to the end of the server's output.
    fn hear_the_rest(&mut self) {
        while let Ok(arrival) = self.incoming.recv() {
            self.take(arrival);
        }
    }

    fn take(&mut self, (arrived, message): (Instant, Value)) {
        self.arrived = arrived;
        self.messages.push(message.clone());
        match message.get("method").and_then(Value::as_str) {
            None => self.take_answer(message),
            Some(method) => {
                check(&message, None);
                let method = method.to_owned();
                match &self.abilities {
                    Some(abilities) => {
                        let allowed = abilities.check_message(&method, &message["params"]);
                        assert_eq!(allowed, Ok(()), "{message}");
                    }
                    None if !self.knows_what_it_asked => {}
                    None => assert!(
                        BEFORE_THE_ANSWER_TO_INITIALIZE.contains(&method.as_str()),
                        "too early: {message}"
                    ),
                }
                if let Some(id) = message.get("id") {
                    let answer = json!({"jsonrpc": "2.0", "id": id, "result": own_answer(&method, &message)});
                    // A server that has ended waits for no answer.
                    let _ = self.input.as_mut().map(|input| send(input, &answer));
                }
                self.heard.push(method);
                self.waiting.push_back(message);
            }
        }
    }

    fn take_answer(&mut self, message: Value) {
        let id = message.get("id").expect("an answer has an id").to_string();
        let asked = self.asked.remove(&id);
        check(&message, asked.as_ref().map(|asked| asked.method.as_str()));
        match (&asked, message.get("result")) {
            (Some(asked), Some(result)) => {
                if asked.method == "initialize" {
                    self.abilities = Some(Abilities::of(&asked.params["capabilities"]));
                }
                if let Some(model) = Metamodel::get() {
                    let checked = model.check_result(&asked.method, result);
                    assert_eq!(checked, Ok(()), "{message}");
                }
                let abilities = self.abilities.as_ref().expect("nothing works before that");
                let allowed = abilities.check_result(&asked.method, &asked.params, result);
                assert_eq!(allowed, Ok(()), "{message}");
            }
            (Some(_), None) => {}
            (None, _) if !self.knows_what_it_asked => return,
            (None, _) => assert!(
                id == "null" && message.get("error").is_some(),
                "an answer that nobody asked for, or a second one: {message}"
            ),
        }
        assert!(
            self.answers.insert(id, message).is_none(),
            "an answer was not waited for"
        );
    }
}

/// LSP 3.17, "Initialize Request".
const BEFORE_THE_ANSWER_TO_INITIALIZE: [&str; 4] = [
    "window/showMessage",
    "window/logMessage",
    "telemetry/event",
    "window/showMessageRequest",
];

fn check(message: &Value, answers: Option<&str>) {
    if let Some(model) = Metamodel::get() {
        let checked = model.check_message(message, answers);
        assert_eq!(checked, Ok(()), "{message}");
    }
}

impl fmt::Debug for Client {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Client")
            .field("process", &self.process.id())
            .field("asked", &self.asked)
            .field("heard", &self.heard)
            .finish_non_exhaustive()
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        // A test that failed, or said no goodbye, leaves the server running.
        let _ = self.process.kill();
        let _ = self.process.wait();
        if !thread::panicking() {
            self.hear_the_rest();
        }
    }
}

fn send(input: &mut impl Write, message: &Value) -> std::io::Result<()> {
    let body = message.to_string();
    write!(input, "Content-Length: {}\r\n\r\n{body}", body.len())?;
    input.flush()
}

/// What this client answers to the server's requests.
fn own_answer(method: &str, message: &Value) -> Value {
    match method {
        "workspace/configuration" => {
            let asked = message["params"]["items"].as_array().map_or(0, Vec::len);
            json!(vec![Value::Null; asked])
        }
        "workspace/applyEdit" => json!({"applied": true}),
        "window/showDocument" => json!({"success": true}),
        // Its user takes the first answer.
        "window/showMessageRequest" => message["params"]["actions"][0].clone(),
        _ => Value::Null,
    }
}

fn items(list: &Value) -> Vec<Value> {
    list.as_array().expect("diagnostics are a list").clone()
}

/// The body of the next message of the server; None at its end. Strict: whatever is not exactly a frame is a failure.
fn read_frame(output: &mut impl BufRead) -> Option<Vec<u8>> {
    let mut length = None;
    loop {
        let mut line = String::new();
        // A server that was ended may leave half a line.
        if output.read_line(&mut line).ok()? == 0 || !line.ends_with('\n') {
            return None;
        }
        let header = line
            .strip_suffix("\r\n")
            .expect("a header line ends with CR LF");
        if header.is_empty() {
            break;
        }
        match header.split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().ok(),
            Some(("Content-Type", _)) => {}
            _ => panic!("the server wrote something that is no header: {header}"),
        }
    }
    let mut body = vec![0; length.expect("a header has a Content-Length")];
    output.read_exact(&mut body).ok()?;
    Some(body)
}
