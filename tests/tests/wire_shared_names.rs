//! Names that all documents of a mod share, in a dialect of its own: one file gives them, others use them.

use acceptance::client::{Client, all_capabilities};
use acceptance::desk::{list, offset, position};
use acceptance::yard::Yard;
use serde_json::{Value, json};

const DIALECT: &str = r#"
[dialect]
name = "rope"
format = 1
[[document]]
name = "locker"
root = "locker"
[[document]]
name = "deck"
root = "deck"
[element.locker]
children = ["line*", "hook*"]
[element.deck]
children = ["hook*", "line*"]
[element.line.attributes]
called = { type = "name", of = "line", scope = "folder" }
[element.hook.attributes]
own = { type = "name", of = "hook" }
holds = { type = "reference", of = "line" }
after = { type = "reference", of = "hook" }
"#;

const LOCKER: &str =
    "<locker>\n  <line called='main'/><line called='spare'/>\n  <hook own='h'/>\n</locker>\n";
const BOW: &str = "<deck>\n  <!-- 😀 --> <hook holds='main'/>\n  <hook own='h' holds=\"main\"/><hook after='h'/>\n</deck>\n";
const STERN: &str = "<deck>\n  <hook holds='spare'/>\n  <line called='stern'/>\n</deck>\n";

const FILES: [(&str, &str); 4] = [
    ("locker.xml", LOCKER),
    ("bow.xml", BOW),
    ("aft/stern.xml", STERN),
    // Not of this dialect.
    ("other.xml", "<other><hook holds='main'/></other>"),
];

/// A mod of which the bow is open, changed and not saved.
struct Ship {
    yard: Yard,
    client: Client,
}

impl Ship {
    fn new() -> Self {
        let yard = Yard::with(&FILES);
        yard.write("rope.dialect.toml", DIALECT);
        yard.write("trunnion.toml", "dialects = [\"rope.dialect.toml\"]\n");
        yard.write("bow.xml", "<deck/>");
        let mut client = Client::with(&all_capabilities());
        client.open(&yard.uri("bow.xml"), 1, BOW);
        Self { yard, client }
    }

    fn text(file: &str) -> &'static str {
        FILES.iter().find(|(name, _)| *name == file).unwrap().1
    }

    /// Asks at the first place of `needle`.
    fn ask(
        &mut self,
        method: &str,
        file: &str,
        needle: &str,
        more: Value,
    ) -> Result<Value, String> {
        let text = Self::text(file);
        if file != "bow.xml" {
            self.client.open(&self.yard.uri(file), 1, text);
        }
        let mut params = more;
        params["textDocument"] = json!({"uri": self.yard.uri(file)});
        params["position"] = position(text, text.find(needle).unwrap());
        let answer = self.client.request(method, params);
        answer.map_err(|error| error.message.to_string())
    }

    /// Writes a file and says so.
    fn write(&mut self, file: &str, content: impl AsRef<[u8]>) {
        self.yard.write(file, content);
        let changes = json!([{"uri": self.yard.uri(file), "type": 2}]);
        let params = json!({"changes": changes});
        self.client
            .notify("workspace/didChangeWatchedFiles", params);
    }

    /// How many messages were shown since this was asked.
    fn told(&mut self) -> usize {
        // What is shown about an answer goes out before it.
        let heard = std::mem::take(&mut self.client.heard);
        let shown = heard
            .iter()
            .filter(|method| *method == "window/showMessage");
        shown.count()
    }

    fn file(&self, uri: &Value) -> String {
        let uri = uri.as_str().unwrap();
        uri.strip_prefix(&self.yard.uri("")).unwrap().to_owned()
    }

    /// "bow.xml:2 main" for each.
    fn places(&self, locations: &Value) -> Vec<String> {
        let mut places: Vec<String> = list(locations)
            .iter()
            .map(|place| {
                let (uri, range) = match place.get("targetUri") {
                    Some(uri) => (uri, &place["targetSelectionRange"]),
                    None => (&place["uri"], &place["range"]),
                };
                let file = self.file(uri);
                let text = Self::text(&file);
                let said = &text[offset(text, &range["start"])..offset(text, &range["end"])];
                let line = range["start"]["line"].as_u64().unwrap() + 1;
                format!("{file}:{line} {said}")
            })
            .collect();
        places.sort();
        places
    }

    fn renamed(&mut self, file: &str, needle: &str, name: &str) -> Result<Vec<String>, String> {
        let edit = self.ask(
            "textDocument/rename",
            file,
            needle,
            json!({"newName": name}),
        )?;
        let mut texts = Vec::new();
        for change in list(&edit["documentChanges"]) {
            let uri = &change["textDocument"]["uri"];
            let places: Vec<Value> = list(&change["edits"])
                .iter()
                .map(|edit| json!({"uri": uri, "range": edit["range"]}))
                .collect();
            texts.extend(self.places(&json!(places)));
        }
        texts.sort();
        Ok(texts)
    }
}

#[test]
fn a_shared_name_is_renamed_in_all_documents_wherever_it_is_asked_for() {
    let main = ["bow.xml:2 main", "bow.xml:3 main", "locker.xml:2 main"];
    for (file, needle) in [("locker.xml", "main"), ("bow.xml", "main")] {
        let mut ship = Ship::new();
        assert_eq!(ship.renamed(file, needle, "jib").unwrap(), main, "{file}");
        assert_eq!(ship.client.finish(), 0);
    }
}

#[test]
fn a_name_of_one_document_is_renamed_in_that_alone() {
    let mut ship = Ship::new();
    let own = ["bow.xml:3 h", "bow.xml:3 h"];
    assert_eq!(ship.renamed("bow.xml", "h' holds", "i").unwrap(), own);
    assert_eq!(ship.client.finish(), 0);
}

#[test]
fn a_name_that_another_document_gives_to_something_else_is_refused() {
    let mut ship = Ship::new();
    let refused = ship.renamed("locker.xml", "main", "stern").unwrap_err();
    assert!(
        refused.contains("In stern.xml: ") && refused.contains("line 3"),
        "{refused}"
    );
    assert_eq!(ship.client.finish(), 0);
}

#[test]
fn all_places_of_a_shared_name_are_found_and_where_it_is_given() {
    let mut ship = Ship::new();
    let mut references = |with: bool| {
        let more = json!({"context": {"includeDeclaration": with}});
        let found = ship.ask("textDocument/references", "bow.xml", "main", more);
        ship.places(&found.unwrap())
    };
    let used = ["bow.xml:2 main", "bow.xml:3 main"];
    assert_eq!(references(false), used);
    assert_eq!(references(true), [used[0], used[1], "locker.xml:2 main"]);
    let given = ship.ask("textDocument/definition", "bow.xml", "main", json!({}));
    let given = given.unwrap();
    assert_eq!(ship.places(&given), ["locker.xml:2 main"]);
    let own = ship.ask("textDocument/definition", "bow.xml", "h'/>\n", json!({}));
    assert_eq!(ship.places(&own.unwrap()), ["bow.xml:3 h"]);
    assert_eq!(ship.client.finish(), 0);
}

#[test]
fn a_shared_name_is_not_renamed_while_a_document_that_may_have_it_cannot_be_read() {
    let mut ship = Ship::new();
    let latin = b"<deck><hook holds='main'/><!-- \xE9 --></deck>";
    ship.write("aft/old.xml", latin);
    let refused = ship.renamed("bow.xml", "main", "jib").unwrap_err();
    assert!(
        refused.contains("aft/old.xml: ") && refused.contains("Save the file as UTF-8"),
        "{refused}"
    );
    // What is of no dialect is not asked, and a name of one document is in no other.
    let own = ["bow.xml:3 h", "bow.xml:3 h"];
    assert_eq!(ship.renamed("bow.xml", "h' holds", "i").unwrap(), own);
    ship.write("aft/old.xml", b"<old>\xE9</old>");
    assert_eq!(ship.renamed("bow.xml", "main", "jib").unwrap().len(), 3);

    ship.client.open(&ship.yard.uri("locker.xml"), 1, LOCKER);
    let far = json!({"start": {"line": 99, "character": 0}, "end": {"line": 99, "character": 0}});
    ship.client.notify(
        "textDocument/didChange",
        json!({"textDocument": {"uri": ship.yard.uri("locker.xml"), "version": 2},
               "contentChanges": [{"range": far, "text": "x"}]}),
    );
    let refused = ship.renamed("bow.xml", "main", "jib").unwrap_err();
    assert!(
        refused.contains("locker.xml: ") && refused.contains("open it again"),
        "{refused}"
    );
    assert_eq!(ship.client.finish(), 0);
}

#[test]
fn a_shared_name_is_not_renamed_in_the_first_of_too_many_documents() {
    let mut ship = Ship::new();
    for number in 0..2_000 {
        ship.yard.write(&format!("fore/{number}.xml"), "<deck/>");
    }
    ship.write("fore/last.xml", "<deck/>");
    let refused = ship.renamed("bow.xml", "main", "jib").unwrap_err();
    assert!(
        refused.contains("only the first 2000 documents"),
        "{refused}"
    );
    assert_eq!(ship.told(), 0);
    // Whoever only asks gets what was found, and is told.
    let context = json!({"includeDeclaration": true});
    let found = ship.ask(
        "textDocument/references",
        "bow.xml",
        "main",
        json!({"context": context}),
    );
    assert!(!list(&found.unwrap()).is_empty());
    assert_eq!(ship.told(), 1);
    // With each key only once.
    for query in ["ma", "mai"] {
        let query = json!({"query": query});
        ship.client.request("workspace/symbol", query).unwrap();
    }
    assert_eq!(ship.told(), 1);
    assert_eq!(ship.client.finish(), 0);
}

#[test]
fn who_asks_where_all_is_looked_at_is_told_nothing() {
    let mut ship = Ship::new();
    let context = json!({"includeDeclaration": true});
    let more = json!({"context": context});
    ship.ask("textDocument/references", "bow.xml", "main", more)
        .unwrap();
    ship.ask("textDocument/definition", "bow.xml", "main", json!({}))
        .unwrap();
    let query = json!({"query": "main"});
    ship.client.request("workspace/symbol", query).unwrap();
    assert_eq!(ship.told(), 0);
    assert_eq!(ship.client.finish(), 0);
}

/// A name that no file gives may be given by one that was not looked at.
#[test]
fn who_asks_for_what_is_not_found_is_told_what_was_not_looked_at() {
    let mut ship = Ship::new();
    ship.write(
        "locker.xml",
        b"<locker><line called='main'/><!-- \xE9 --></locker>",
    );
    let found = ship.ask("textDocument/definition", "bow.xml", "main", json!({}));
    assert_eq!(found.unwrap(), Value::Null);
    assert_eq!(ship.told(), 1);
    assert_eq!(ship.client.finish(), 0);
}
