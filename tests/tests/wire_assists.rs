//! Assists over the wire: offered, chosen, worked out, confirmed.

use std::fs;

use acceptance::client::{Client, all_capabilities};
use acceptance::outside;
use serde_json::{Value, json};

/// The demo's straddle carrier, open in the editor.
struct Carrier {
    client: Client,
    uri: String,
    text: String,
}

impl Carrier {
    fn open(capabilities: &Value) -> Self {
        let mut client = Client::with(capabilities);
        let path = outside::project()
            .join("corpus/ternholt/machines/bram-6.machine.xml")
            .canonicalize()
            .unwrap();
        let (uri, text) = (
            format!("file://{}", path.display()),
            fs::read_to_string(path).unwrap(),
        );
        client.open(&uri, 1, &text);
        Self { client, uri, text }
    }

    /// The actions at the first place of `needle`.
    fn actions(&mut self, needle: &str, context: Value) -> Vec<Value> {
        let offset = self.text.find(needle).unwrap();
        let before = &self.text[..offset];
        let line = before.matches('\n').count();
        let column = offset - before.rfind('\n').map_or(0, |at| at + 1);
        let at = json!({"line": line, "character": column});
        let params = json!({"textDocument": {"uri": self.uri}, "range": {"start": at, "end": at}, "context": context});
        let answer = self
            .client
            .request("textDocument/codeAction", params)
            .unwrap();
        answer.as_array().cloned().unwrap_or_default()
    }

    fn resolve(&mut self, action: &Value) -> Value {
        self.client
            .request("codeAction/resolve", action.clone())
            .unwrap()
    }

    /// The text after an action's edit. All columns of the demo are ASCII, so bytes do.
    fn after(&self, action: &Value) -> String {
        let change = &action["edit"]["documentChanges"][0];
        assert_eq!(
            change["textDocument"],
            json!({"uri": self.uri, "version": 1}),
            "{action}"
        );
        let offset = |position: &Value| {
            let line = position["line"].as_u64().unwrap() as usize;
            let start: usize = self
                .text
                .split_inclusive('\n')
                .take(line)
                .map(str::len)
                .sum();
            start + position["character"].as_u64().unwrap() as usize
        };
        let edits = change["edits"].as_array().unwrap();
        let mut text = self.text.clone();
        // From the last to the first, so that the places of the others stay true.
        for edit in edits.iter().rev() {
            let range = &edit["range"];
            text.replace_range(
                offset(&range["start"])..offset(&range["end"]),
                edit["newText"].as_str().unwrap(),
            );
        }
        text
    }
}

fn titles(actions: &[Value]) -> Vec<&str> {
    actions
        .iter()
        .map(|action| action["title"].as_str().unwrap())
        .collect()
}

fn titled<'a>(actions: &'a [Value], start: &str) -> &'a Value {
    let found = actions
        .iter()
        .find(|action| action["title"].as_str().unwrap().starts_with(start));
    found.unwrap_or_else(|| panic!("{start}: {:?}", titles(actions)))
}

const LEG: &str = "<channel target=\"leg.left\"";

#[test]
fn an_assist_is_worked_out_when_it_is_chosen() {
    let mut carrier = Carrier::open(&all_capabilities());
    let actions = carrier.actions(LEG, json!({"diagnostics": []}));
    let offered = titled(&actions, "Make adjustable: `leg.left` and `leg.right`");
    assert_eq!(offered["kind"], "refactor.rewrite");
    assert_eq!(offered["isPreferred"], true);
    assert_eq!(offered.get("edit"), None, "not before it is chosen");
    let resolved = carrier.resolve(offered);
    let after = carrier.after(&resolved);
    assert!(
        after.contains("<lever animation=\"leg.spread\" input=\"pointer.x\""),
        "{after}"
    );
    let uri = carrier.uri.clone();
    carrier.client.change(&uri, 2, json!([{"text": after}]));
    assert_eq!(
        carrier.client.pulled_diagnostics(&uri).unwrap(),
        Vec::<Value>::new()
    );
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn kinds_can_be_asked_for() {
    let mut carrier = Carrier::open(&all_capabilities());
    let mut kinds = |only: &str| -> Vec<String> {
        let actions = carrier.actions(LEG, json!({"diagnostics": [], "only": [only]}));
        actions
            .iter()
            .map(|action| action["kind"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(kinds("refactor.extract"), ["refactor.extract"; 2]);
    assert_eq!(kinds("refactor").len(), 4);
    assert_eq!(kinds("quickfix"), Vec::<String>::new());
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn what_cannot_be_done_says_why_when_it_is_looked_for() {
    let mut carrier = Carrier::open(&all_capabilities());
    // The lever that plays both hooks makes them adjustable already.
    let hook = "<channel target=\"hook.left\"";
    let asked = carrier.actions(hook, json!({"diagnostics": [], "triggerKind": 1}));
    let disabled = titled(&asked, "Make adjustable: `hook.left` and `hook.right`");
    let reason = disabled["disabled"]["reason"].as_str().unwrap();
    assert!(reason.starts_with("It is adjustable already"), "{reason}");
    let by_itself = carrier.actions(hook, json!({"diagnostics": [], "triggerKind": 2}));
    assert!(
        by_itself
            .iter()
            .all(|action| action.get("disabled").is_none()),
        "{by_itself:?}"
    );
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn a_choice_is_confirmed_where_the_client_can_ask() {
    let mut capabilities = all_capabilities();
    capabilities["workspace"]["workspaceEdit"]["changeAnnotationSupport"] =
        json!({"groupsOnLabel": true});
    let mut carrier = Carrier::open(&capabilities);
    let actions = carrier.actions(LEG, json!({"diagnostics": []}));
    let resolved = carrier.resolve(titled(&actions, "Make adjustable"));
    let annotations = resolved["edit"]["changeAnnotations"].as_object().unwrap();
    assert!(
        annotations
            .values()
            .all(|annotation| annotation["needsConfirmation"] == true),
        "{annotations:?}"
    );
    // What keeps its meaning needs no confirmation.
    let actions = carrier.actions("beacon\" kind", json!({"diagnostics": []}));
    let resolved = carrier.resolve(titled(&actions, "Put the path"));
    assert_eq!(
        resolved["edit"].get("changeAnnotations"),
        None,
        "{resolved}"
    );
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn a_client_that_does_not_resolve_gets_the_edit_at_once() {
    let mut capabilities = all_capabilities();
    let action = capabilities["textDocument"]["codeAction"]
        .as_object_mut()
        .unwrap();
    action.remove("resolveSupport");
    let mut carrier = Carrier::open(&capabilities);
    let actions = carrier.actions(LEG, json!({"diagnostics": []}));
    let after = carrier.after(titled(&actions, "Make adjustable"));
    assert!(after.contains("leg.spread"), "{after}");
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn a_choice_made_for_another_version_is_refused() {
    let mut carrier = Carrier::open(&all_capabilities());
    let actions = carrier.actions(LEG, json!({"diagnostics": []}));
    let (uri, text) = (carrier.uri.clone(), carrier.text.clone());
    carrier.client.change(&uri, 2, json!([{"text": text}]));
    let error = carrier
        .client
        .request(
            "codeAction/resolve",
            titled(&actions, "Make adjustable").clone(),
        )
        .unwrap_err();
    // LSP 3.17: ContentModified.
    assert_eq!(error.code, -32801, "{error:?}");
    let nonsense = json!({"title": "x", "data": {"uri": 5}});
    assert_eq!(
        carrier
            .client
            .request("codeAction/resolve", nonsense)
            .unwrap_err()
            .code,
        -32602
    );
    assert_eq!(carrier.client.finish(), 0);
}

#[test]
fn all_kinds_are_announced() {
    let mut client = Client::start();
    let provider = client.initialize(&all_capabilities())["codeActionProvider"].clone();
    let kinds = [
        "quickfix",
        "refactor.extract",
        "refactor.inline",
        "refactor.rewrite",
    ];
    assert_eq!(provider["codeActionKinds"], json!(kinds));
    assert_eq!(provider["resolveProvider"], true);
    assert_eq!(client.finish(), 0);
}

/// What is found is accepted with a comment, and shown no more once the comment gives a reason.
#[test]
fn a_finding_is_accepted_with_a_reason() {
    let mut carrier = Carrier::open(&all_capabilities());
    let left_behind = |carrier: &mut Carrier| -> Vec<Value> {
        let shown = carrier.client.pulled_diagnostics(&carrier.uri).unwrap();
        let about =
            |one: &Value| one["code"] == "wheel-left-behind" || one["code"] == "bad-suppression";
        shown.into_iter().filter(about).collect()
    };
    let shown = left_behind(&mut carrier);
    assert_eq!(shown.len(), 1);
    let actions = carrier.actions("mast.raise\" input", json!({"diagnostics": shown}));
    let accept = actions
        .iter()
        .find(|action| action["title"] == "Accept `wheel-left-behind` here, with a reason");
    let accept = accept.unwrap_or_else(|| panic!("{actions:#?}"));
    assert_eq!(accept["kind"], "quickfix");
    assert_eq!(accept["diagnostics"], json!(shown));
    let resolved = carrier.resolve(accept);
    let text = carrier.after(&resolved);
    let empty = "<!-- trunnion: accept wheel-left-behind because  -->\n    <switch animation=\"mast.raise\"";
    assert!(text.contains(empty), "{text}");
    let uri = carrier.uri.clone();
    carrier.client.change(&uri, 2, json!([{"text": text}]));
    let codes: Vec<Value> = left_behind(&mut carrier)
        .iter()
        .map(|one| one["code"].clone())
        .collect();
    assert_eq!(codes, ["bad-suppression", "wheel-left-behind"]);
    let text = text.replace("because  -->", "because the jacks hold it -->");
    carrier.client.change(&uri, 3, json!([{"text": text}]));
    assert_eq!(left_behind(&mut carrier), Vec::<Value>::new());
    assert_eq!(carrier.client.finish(), 0);
}
