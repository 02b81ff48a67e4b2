//! Checks messages against the machine-readable Language Server Protocol: every property known, every type right.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::sync::OnceLock;

use serde_json::{Map, Value};

use crate::outside;

/// The protocol's messages and types, as `lsp.json` of the protocol's publishers gives them.
#[derive(Debug)]
pub struct Metamodel {
    /// Parameters of requests and notifications by method.
    params: BTreeMap<String, Value>,
    /// Results of requests by method.
    results: BTreeMap<String, Value>,
    /// What the data of an error are, by the method that was asked.
    error_data: BTreeMap<String, Value>,
    /// The methods that a server may send.
    from_server: BTreeSet<String>,
    /// Where a client says that it knows a method.
    client_capabilities: BTreeMap<String, String>,
    /// All properties of a structure, inherited ones too.
    structures: BTreeMap<String, BTreeMap<String, Property>>,
    enumerations: BTreeMap<String, Enumeration>,
    aliases: BTreeMap<String, Value>,
}

#[derive(Clone, Debug)]
struct Property {
    kind: Value,
    optional: bool,
}

#[derive(Debug)]
struct Enumeration {
    base: Value,
    /// None if other values are allowed too.
    values: Option<BTreeSet<String>>,
}

impl Metamodel {
    /// The metamodel among the outside references. None where it is missing, which is said once.
    pub fn get() -> Option<&'static Self> {
        static MODEL: OnceLock<Option<Metamodel>> = OnceLock::new();
        MODEL
            .get_or_init(|| {
                let Some(path) = outside::references("lsp-metamodel/lsp.json") else {
                    outside::skipped(
                        "messages against the LSP metamodel",
                        "references/lsp-metamodel is missing",
                    );
                    return None;
                };
                let text = fs::read_to_string(path).expect("the metamodel can be read");
                Some(Self::read(
                    &serde_json::from_str(&text).expect("the metamodel is JSON"),
                ))
            })
            .as_ref()
    }

    fn read(model: &Value) -> Self {
        let by_method = |list: &str, property: &str| {
            array(model, list)
                .filter_map(|message| {
                    Some((text(message, "method"), message.get(property)?.clone()))
                })
                .collect::<BTreeMap<_, _>>()
        };
        let mut params = by_method("requests", "params");
        params.append(&mut by_method("notifications", "params"));
        let messages = || array(model, "requests").chain(array(model, "notifications"));
        let declared: BTreeMap<String, &Value> = array(model, "structures")
            .map(|structure| (text(structure, "name"), structure))
            .collect();
        Self {
            params,
            results: by_method("requests", "result"),
            error_data: by_method("requests", "errorData"),
            from_server: messages()
                .filter(|message| message["messageDirection"] != "clientToServer")
                .map(|message| text(message, "method"))
                .collect(),
            client_capabilities: messages()
                .filter(|message| message.get("clientCapability").is_some())
                .map(|message| (text(message, "method"), text(message, "clientCapability")))
                .collect(),
            structures: declared
                .keys()
                .map(|name| (name.clone(), properties(name, &declared)))
                .collect(),
            enumerations: array(model, "enumerations")
                .map(|it| (text(it, "name"), Enumeration::read(it)))
                .collect(),
            aliases: array(model, "typeAliases")
                .map(|it| (text(it, "name"), it["type"].clone()))
                .collect(),
        }
    }

    /// Checks the parameters of a request or a notification.
    ///
    /// # Errors
    /// What is wrong, with the way to it.
    pub fn check_params(&self, method: &str, params: Option<&Value>) -> Result<(), String> {
        match (self.params.get(method), params) {
            (Some(kind), Some(params)) => self.check(kind, params, &format!("{method} params")),
            (Some(_), None) => Err(format!("{method} has no params")),
            (None, None) if self.results.contains_key(method) => Ok(()),
            (None, _) if self.results.contains_key(method) => {
                Err(format!("{method} takes no params"))
            }
            (None, _) => Err(format!("{method} is no method of the protocol")),
        }
    }

    /// Checks the result of a request.
    ///
    /// # Errors
    /// What is wrong, with the way to it.
    pub fn check_result(&self, method: &str, result: &Value) -> Result<(), String> {
        match self.results.get(method) {
            Some(kind) => self.check(kind, result, &format!("{method} result")),
            None => Err(format!("{method} is no request of the protocol")),
        }
    }

    /// Checks a whole message of a server but for what is in its result: see [`Metamodel::check_result`].
    ///
    /// # Errors
    /// What is wrong, with the way to it.
    pub fn check_message(&self, message: &Value, answers: Option<&str>) -> Result<(), String> {
        let object = message
            .as_object()
            .ok_or_else(|| "a message is an object".to_owned())?;
        if message["jsonrpc"] != "2.0" {
            return Err("a message says jsonrpc 2.0".to_owned());
        }
        let allowed: &[&str] = match message.get("method").and_then(Value::as_str) {
            Some(method) if !self.from_server.contains(method) => {
                return Err(format!("a server must not send {method}"));
            }
            Some(method) => {
                self.check_params(method, message.get("params"))?;
                &["jsonrpc", "id", "method", "params"]
            }
            None if object.contains_key("error") => {
                self.check_error(&message["error"], answers)?;
                &["jsonrpc", "id", "error"]
            }
            None if object.contains_key("id") => &["jsonrpc", "id", "result"],
            None => return Err("a message has a method or an id".to_owned()),
        };
        match object.keys().find(|key| !allowed.contains(&key.as_str())) {
            Some(key) => Err(format!("a message of this kind has no {key}")),
            None => Ok(()),
        }
    }

    fn check_error(&self, error: &Value, answers: Option<&str>) -> Result<(), String> {
        let object = error
            .as_object()
            .ok_or_else(|| "an error is an object".to_owned())?;
        for (key, value) in object {
            let right = match key.as_str() {
                "code" => is_base("integer", value),
                "message" => value.as_str().is_some_and(|message| !message.is_empty()),
                "data" => match answers.and_then(|method| self.error_data.get(method)) {
                    Some(kind) => return self.check(kind, value, "error data"),
                    None => true,
                },
                _ => false,
            };
            if !right {
                return Err(format!("an error with {key} {value}"));
            }
        }
        match ["code", "message"]
            .iter()
            .find(|key| !object.contains_key(**key))
        {
            Some(key) => Err(format!("an error has no {key}")),
            None => Ok(()),
        }
    }

    /// Where a client says that it knows a method: `textDocument.hover`.
    pub fn client_capability(&self, method: &str) -> Option<&str> {
        self.client_capabilities.get(method).map(String::as_str)
    }

    fn check(&self, kind: &Value, value: &Value, way: &str) -> Result<(), String> {
        match text(kind, "kind").as_str() {
            "base" => is_base(&text(kind, "name"), value)
                .then_some(())
                .ok_or_else(|| wrong(way, kind, value)),
            "reference" => self.check_reference(&text(kind, "name"), value, way),
            "array" => match value.as_array() {
                Some(items) => items.iter().enumerate().try_for_each(|(index, item)| {
                    self.check(&kind["element"], item, &format!("{way}[{index}]"))
                }),
                None => Err(wrong(way, kind, value)),
            },
            "map" => match value.as_object() {
                Some(entries) => entries.iter().try_for_each(|(key, item)| {
                    self.check(&kind["value"], item, &format!("{way}.{key}"))
                }),
                None => Err(wrong(way, kind, value)),
            },
            "tuple" => match value.as_array() {
                Some(items) if items.len() == array(kind, "items").count() => {
                    array(kind, "items").zip(items).enumerate().try_for_each(
                        |(index, (kind, item))| self.check(kind, item, &format!("{way}[{index}]")),
                    )
                }
                _ => Err(wrong(way, kind, value)),
            },
            "or" => {
                let mut reasons = Vec::new();
                for alternative in array(kind, "items") {
                    match self.check(alternative, value, way) {
                        Ok(()) => return Ok(()),
                        Err(reason) => reasons.push(reason),
                    }
                }
                Err(format!("none of: {}", reasons.join(" | ")))
            }
            "and" => {
                let mut all = BTreeMap::new();
                for part in array(kind, "items") {
                    all.extend(
                        self.structures
                            .get(&text(part, "name"))
                            .cloned()
                            .unwrap_or_default(),
                    );
                }
                self.check_object(&all, value, way)
            }
            "literal" => self.check_object(&own_properties(&kind["value"]), value, way),
            "stringLiteral" | "integerLiteral" | "booleanLiteral" => (kind["value"] == *value)
                .then_some(())
                .ok_or_else(|| wrong(way, kind, value)),
            other => Err(format!(
                "the metamodel has a kind of type that this check does not know: {other}"
            )),
        }
    }

    fn check_reference(&self, name: &str, value: &Value, way: &str) -> Result<(), String> {
        // Recursive by nature, and anything goes.
        if matches!(name, "LSPAny" | "LSPObject" | "LSPArray") {
            return Ok(());
        }
        if let Some(alias) = self.aliases.get(name) {
            return self.check(alias, value, way);
        }
        if let Some(enumeration) = self.enumerations.get(name) {
            self.check(&enumeration.base, value, way)?;
            let known = enumeration
                .values
                .as_ref()
                .is_none_or(|values| values.contains(&value.to_string()));
            return known
                .then_some(())
                .ok_or_else(|| format!("{way}: {value} is no {name}"));
        }
        match self.structures.get(name) {
            Some(properties) => self.check_object(properties, value, way),
            None => Err(format!("{way}: the metamodel does not say what {name} is")),
        }
    }

    fn check_object(
        &self,
        properties: &BTreeMap<String, Property>,
        value: &Value,
        way: &str,
    ) -> Result<(), String> {
        let Some(object) = value.as_object() else {
            return Err(format!("{way}: {value} is no object"));
        };
        missing(properties, object).map_or(Ok(()), |name| Err(format!("{way} has no {name}")))?;
        object
            .iter()
            .try_for_each(|(name, value)| match properties.get(name) {
                Some(property) => self.check(&property.kind, value, &format!("{way}.{name}")),
                None => Err(format!(
                    "{way} has {name}, which the protocol does not know"
                )),
            })
    }
}

impl Enumeration {
    fn read(enumeration: &Value) -> Self {
        let values = array(enumeration, "values")
            .map(|value| value["value"].to_string())
            .collect();
        let open = enumeration.get("supportsCustomValues") == Some(&Value::Bool(true));
        Self {
            base: enumeration["type"].clone(),
            values: (!open).then_some(values),
        }
    }
}

fn properties(name: &str, declared: &BTreeMap<String, &Value>) -> BTreeMap<String, Property> {
    let Some(structure) = declared.get(name) else {
        return BTreeMap::new();
    };
    let parents = array(structure, "extends").chain(array(structure, "mixins"));
    let mut all = BTreeMap::new();
    for parent in parents {
        all.append(&mut properties(&text(parent, "name"), declared));
    }
    all.append(&mut own_properties(structure));
    all
}

fn own_properties(structure: &Value) -> BTreeMap<String, Property> {
    array(structure, "properties")
        .map(|property| {
            let optional = property.get("optional") == Some(&Value::Bool(true));
            (
                text(property, "name"),
                Property {
                    kind: property["type"].clone(),
                    optional,
                },
            )
        })
        .collect()
}

fn missing<'a>(
    properties: &'a BTreeMap<String, Property>,
    object: &Map<String, Value>,
) -> Option<&'a String> {
    properties
        .iter()
        .find(|(name, property)| !property.optional && !object.contains_key(*name))
        .map(|(name, _)| name)
}

fn is_base(name: &str, value: &Value) -> bool {
    let fits = |min: i64, max: i64| {
        value
            .as_i64()
            .is_some_and(|number| (min..=max).contains(&number))
    };
    match name {
        "integer" => fits(i64::from(i32::MIN), i64::from(i32::MAX)),
        "uinteger" => fits(0, i64::from(i32::MAX)),
        "decimal" => value.is_number(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "URI" | "DocumentUri" => value.as_str().is_some_and(|uri| uri.contains(':')),
        _ => value.is_string(),
    }
}

fn wrong(way: &str, kind: &Value, value: &Value) -> String {
    let name = kind
        .get("name")
        .or_else(|| kind.get("value"))
        .unwrap_or(&kind["kind"]);
    format!("{way}: {value} is not of type {name}")
}

fn array<'a>(value: &'a Value, name: &str) -> impl Iterator<Item = &'a Value> {
    value
        .get(name)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
}

fn text(value: &Value, name: &str) -> String {
    value
        .get(name)
        .and_then(Value::as_str)
        .unwrap_or_default()
        .to_owned()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn publish(diagnostic: Value) -> Option<Result<(), String>> {
        let params = json!({"uri": "file:///a.xml", "version": 1, "diagnostics": [diagnostic]});
        Metamodel::get()
            .map(|model| model.check_params("textDocument/publishDiagnostics", Some(&params)))
    }

    fn range() -> Value {
        json!({"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 1}})
    }

    fn refused(answer: Option<Result<(), String>>, reason: &str) {
        if let Some(answer) = answer {
            let error = answer.unwrap_err();
            assert!(error.contains(reason), "{error}");
        }
    }

    #[test]
    fn a_right_message_passes() {
        let diagnostic = json!({"range": range(), "message": "m", "severity": 1, "code": "c", "data": {"any": [1]}});
        assert!(publish(diagnostic).is_none_or(|answer| answer == Ok(())));
    }

    #[test]
    fn a_missing_property() {
        refused(publish(json!({"range": range()})), "has no message");
    }

    #[test]
    fn an_unknown_property() {
        refused(
            publish(json!({"range": range(), "message": "m", "colour": 1})),
            "colour",
        );
    }

    #[test]
    fn a_wrong_type() {
        refused(
            publish(json!({"range": range(), "message": 1})),
            "1 is not of type \"string\"",
        );
        let mut negative = range();
        negative["start"]["line"] = json!(-1);
        refused(
            publish(json!({"range": negative, "message": "m"})),
            "-1 is not of type \"uinteger\"",
        );
    }

    #[test]
    fn a_value_outside_a_closed_enumeration() {
        refused(
            publish(json!({"range": range(), "message": "m", "severity": 9})),
            "9 is no DiagnosticSeverity",
        );
    }

    #[test]
    fn an_inherited_property_is_known() {
        // `selectionRange` and `name` come from different structures.
        let Some(model) = Metamodel::get() else {
            return;
        };
        let symbol = json!([{"name": "n", "kind": 5, "range": range(), "selectionRange": range()}]);
        assert_eq!(
            model.check_result("textDocument/documentSymbol", &symbol),
            Ok(())
        );
        let flat =
            json!([{"name": "n", "kind": 5, "location": {"uri": "file:///a", "range": range()}}]);
        assert_eq!(
            model.check_result("textDocument/documentSymbol", &flat),
            Ok(())
        );
    }

    #[test]
    fn whole_messages() {
        let Some(model) = Metamodel::get() else {
            return;
        };
        let check = |message: Value| model.check_message(&message, Some("textDocument/diagnostic"));
        for right in [
            json!({"jsonrpc": "2.0", "method": "window/logMessage", "params": {"type": 1, "message": "m"}}),
            json!({"jsonrpc": "2.0", "id": 1, "result": null}),
            json!({"jsonrpc": "2.0", "id": null, "error": {"code": -32700, "message": "m"}}),
            json!({"jsonrpc": "2.0", "id": 1, "error": {"code": -32802, "message": "m", "data": {"retriggerRequest": true}}}),
        ] {
            assert_eq!(check(right), Ok(()));
        }
        for wrong in [
            json!([]),
            json!({"method": "window/logMessage", "params": {"type": 1, "message": "m"}}),
            json!({"jsonrpc": "2.0", "method": "window/logMessage", "params": {"type": 1}}),
            json!({"jsonrpc": "2.0", "method": "textDocument/hover", "params": {}}),
            json!({"jsonrpc": "2.0", "id": 1, "result": null, "error": null}),
            json!({"jsonrpc": "2.0", "result": null}),
            json!({"jsonrpc": "2.0", "id": 1, "error": {"code": "x", "message": "m"}}),
            json!({"jsonrpc": "2.0", "id": 1, "error": {"code": 1}}),
            json!({"jsonrpc": "2.0", "id": 1, "error": {"code": 1, "message": "m", "data": {}}}),
        ] {
            assert!(check(wrong.clone()).is_err(), "{wrong}");
        }
    }

    #[test]
    fn an_unknown_method() {
        let Some(model) = Metamodel::get() else {
            return;
        };
        assert!(model.check_params("textDocument/guess", None).is_err());
        assert!(
            model
                .check_result("textDocument/guess", &json!(null))
                .is_err()
        );
    }
}
