//! The declarations of a DTD, as far as a document without external entities can hold them.

use std::borrow::Cow;

use super::scanner::{Scanned, Scanner};
use crate::chars::shown;

/// What a declaration declares.
#[derive(Debug)]
pub(crate) enum Declared<'s> {
    /// An element type or a notation.
    Nothing,
    Attributes(Vec<DefaultValue<'s>>),
    Entity {
        name: &'s str,
        parameter: bool,
        value: EntityValue,
    },
}

/// The default value of an attribute, as written.
#[derive(Debug)]
pub(crate) struct DefaultValue<'s> {
    pub(crate) element: &'s str,
    pub(crate) attribute: &'s str,
    pub(crate) value: &'s str,
    /// Where the value starts.
    pub(crate) at: usize,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum EntityValue {
    /// The replacement text.
    Internal(String),
    /// In another file, which is never opened.
    External,
    /// Not XML.
    Unparsed,
}

/// A declaration and what is unfit for namespaces in it, which harms nothing else.
#[derive(Debug)]
pub(crate) struct Declaration<'s> {
    pub(crate) declared: Declared<'s>,
    pub(crate) bad_colon: Option<&'s str>,
}

/// Reads the declaration that starts here with `<!`.
pub(crate) fn declaration<'s>(scanner: &mut Scanner<'s>) -> Scanned<Declaration<'s>> {
    let mut bad_colon = None;
    let declared = if scanner.eat("<!ELEMENT") {
        scanner.need_space()?;
        let name = scanner.name()?;
        bad_colon = Some(name).filter(|name| !crate::chars::is_qualified_name(name));
        scanner.need_space()?;
        content_model(scanner)?;
        scanner.space();
        Declared::Nothing
    } else if scanner.eat("<!ATTLIST") {
        attribute_list(scanner, &mut bad_colon)?
    } else if scanner.eat("<!ENTITY") {
        let (name, parameter, value) = entity(scanner)?;
        bad_colon = Some(name).filter(|name| name.contains(':'));
        Declared::Entity {
            name,
            parameter,
            value,
        }
    } else if scanner.eat("<!NOTATION") {
        scanner.need_space()?;
        let name = scanner.name()?;
        bad_colon = Some(name).filter(|name| name.contains(':'));
        scanner.need_space()?;
        if !scanner.external_id(true)? {
            return scanner.fault("`SYSTEM` or `PUBLIC` is missing here");
        }
        scanner.space();
        Declared::Nothing
    } else {
        return scanner.fault("No declaration starts like this. There are `<!ELEMENT`, `<!ATTLIST`, `<!ENTITY` and `<!NOTATION`");
    };
    if scanner.peek() != Some(b'>') {
        scanner.no_more("this declaration")?;
    }
    scanner.at += 1;
    Ok(Declaration {
        declared,
        bad_colon,
    })
}

/// `contentspec`, production 46. Groups nest, so there is a stack of the separators in use.
fn content_model(scanner: &mut Scanner<'_>) -> Scanned<()> {
    if scanner.eat("EMPTY") || scanner.eat("ANY") {
        return Ok(());
    }
    let mut ahead = scanner.clone();
    if ahead.eat("(") {
        ahead.space();
        if ahead.eat("#PCDATA") {
            *scanner = ahead;
            return mixed(scanner);
        }
    }
    let mut groups: Vec<Option<u8>> = Vec::new();
    loop {
        // A particle: a name or a group.
        scanner.space_in(&groups);
        if scanner.eat("(") {
            groups.push(None);
            continue;
        }
        if groups.is_empty() {
            return scanner.fault("`EMPTY`, `ANY` or `(` is missing here");
        }
        scanner.name()?;
        occurrence(scanner);
        // What follows it: a separator, or the end of one or more groups.
        loop {
            scanner.space();
            match (scanner.peek(), groups.last_mut()) {
                (Some(b')'), Some(_)) => {
                    scanner.at += 1;
                    groups.pop();
                    occurrence(scanner);
                    if groups.is_empty() {
                        return Ok(());
                    }
                }
                (Some(found @ (b',' | b'|')), Some(separator)) => {
                    if separator.is_some_and(|separator| separator != found) {
                        return scanner.fault("`,` and `|` may not be mixed in one group. Use another pair of brackets");
                    }
                    *separator = Some(found);
                    scanner.at += 1;
                    break;
                }
                _ => return scanner.fault("`,`, `|` or `)` is missing here"),
            }
        }
    }
}

impl Scanner<'_> {
    /// White space, which may stand inside a group but not before the first.
    fn space_in(&mut self, groups: &[Option<u8>]) {
        if !groups.is_empty() {
            self.space();
        }
    }
}

fn occurrence(scanner: &mut Scanner<'_>) {
    if matches!(scanner.peek(), Some(b'?' | b'*' | b'+')) {
        scanner.at += 1;
    }
}

/// The rest of `Mixed`, production 51, behind `#PCDATA`.
fn mixed(scanner: &mut Scanner<'_>) -> Scanned<()> {
    let mut names = false;
    loop {
        scanner.space();
        if scanner.eat(")") {
            return match scanner.eat("*") {
                false if names => {
                    scanner.fault("`*` is missing here: text and elements mix in any number")
                }
                _ => Ok(()),
            };
        }
        scanner.need("|")?;
        scanner.space();
        scanner.name()?;
        names = true;
    }
}

/// `AttlistDecl`, production 52.
fn attribute_list<'s>(
    scanner: &mut Scanner<'s>,
    bad_colon: &mut Option<&'s str>,
) -> Scanned<Declared<'s>> {
    scanner.need_space()?;
    let element = scanner.name()?;
    let unfit = |name: &&str| !crate::chars::is_qualified_name(name);
    *bad_colon = Some(element).filter(unfit);
    let mut defaults = Vec::new();
    loop {
        let spaced = scanner.space();
        if scanner.peek() == Some(b'>') {
            return Ok(Declared::Attributes(defaults));
        }
        if !spaced {
            return scanner.fault("White space is missing here");
        }
        let attribute = scanner.name()?;
        *bad_colon = bad_colon.or(Some(attribute).filter(unfit));
        scanner.need_space()?;
        attribute_type(scanner)?;
        scanner.need_space()?;
        if scanner.eat("#REQUIRED") || scanner.eat("#IMPLIED") {
            continue;
        }
        if scanner.eat("#FIXED") {
            scanner.need_space()?;
        }
        let at = scanner.at + 1;
        let value = scanner.literal()?;
        defaults.push(DefaultValue {
            element,
            attribute,
            value,
            at,
        });
    }
}

/// `AttType`, production 54.
fn attribute_type(scanner: &mut Scanner<'_>) -> Scanned<()> {
    if scanner.peek() == Some(b'(') {
        return choices(scanner, |scanner| scanner.nmtoken());
    }
    let word = scanner.name()?;
    match word {
        "CDATA" | "ID" | "IDREF" | "IDREFS" | "ENTITY" | "ENTITIES" | "NMTOKEN" | "NMTOKENS" => {
            Ok(())
        }
        "NOTATION" => {
            scanner.need_space()?;
            choices(scanner, |scanner| scanner.name().map(drop))
        }
        _ => {
            scanner.at -= word.len();
            scanner.fault(format!("`{}` is no type for an attribute", shown(word)))
        }
    }
}

fn choices(
    scanner: &mut Scanner<'_>,
    one: impl Fn(&mut Scanner<'_>) -> Scanned<()>,
) -> Scanned<()> {
    scanner.need("(")?;
    loop {
        scanner.space();
        one(scanner)?;
        scanner.space();
        if scanner.eat(")") {
            return Ok(());
        }
        scanner.need("|")?;
    }
}

/// `EntityDecl`, production 70: name, whether it is a parameter entity, value.
fn entity<'s>(scanner: &mut Scanner<'s>) -> Scanned<(&'s str, bool, EntityValue)> {
    scanner.need_space()?;
    let parameter = scanner.eat("%");
    if parameter {
        scanner.need_space()?;
    }
    let name = scanner.name()?;
    scanner.need_space()?;
    if matches!(scanner.peek(), Some(b'"' | b'\'')) {
        let value = scanner.entity_value()?;
        scanner.space();
        return Ok((name, parameter, EntityValue::Internal(value)));
    }
    if !scanner.external_id(false)? {
        return scanner.fault("A value in quotes, `SYSTEM` or `PUBLIC` is missing here");
    }
    let spaced = scanner.space();
    if parameter || !scanner.rest().starts_with("NDATA") {
        return Ok((name, parameter, EntityValue::External));
    }
    if !spaced {
        return scanner.fault("White space is missing here");
    }
    scanner.need("NDATA")?;
    scanner.need_space()?;
    scanner.name()?;
    scanner.space();
    Ok((name, parameter, EntityValue::Unparsed))
}

/// The prefix and namespace that a default declares, if it declares one.
pub(crate) fn declared_namespace<'s>(
    default: &DefaultValue<'s>,
) -> Option<(&'s str, Cow<'s, str>)> {
    let prefix = crate::namespaces::declared_prefix(default.attribute)??;
    Some((prefix, crate::reference::normalized(default.value)))
}
