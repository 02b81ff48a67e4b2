//! Trees looked at from outside: are two of them the same, and does one fit its text?

use syntax::{Element, Item, Items, TextRange, Tree};

/// The first difference between two trees or their errors, in words.
pub fn difference(one: &Tree, other: &Tree) -> Option<String> {
    if one.errors() != other.errors() {
        let only_in = |one: &Tree, other: &Tree| {
            let errors = one.errors().iter();
            let only: Vec<_> = errors
                .filter(|error| !other.errors().contains(error))
                .collect();
            format!("{only:?}")
        };
        return Some(format!(
            "errors only in the one: {}, only in the other: {}",
            only_in(one, other),
            only_in(other, one)
        ));
    }
    let mut open = vec![(one.top_level(), other.top_level())];
    while let Some((mine, its)) = open.last_mut() {
        match (mine.next(), its.next()) {
            (None, None) => {
                open.pop();
            }
            (Some(Item::Element(mine)), Some(Item::Element(its))) => {
                if head(&mine) != head(&its) {
                    return Some(format!("{:?} is {:?}", head(&mine), head(&its)));
                }
                open.push((mine.items(), its.items()));
            }
            (mine, its) if mine.map(leaf) == its.map(leaf) => {}
            (mine, its) => return Some(format!("{mine:?} is {its:?}")),
        }
    }
    None
}

type Ranges = Vec<(TextRange, Option<TextRange>)>;

/// All that an element says of itself: its places, and its attributes'.
fn head(element: &Element<'_>) -> (TextRange, TextRange, Option<TextRange>, String, Ranges) {
    let attributes = element
        .attributes()
        .map(|attribute| (attribute.range(), attribute.value_range()));
    (
        element.range(),
        element.start_tag_range(),
        element.end_tag().map(|tag| tag.range()),
        element.name().to_owned(),
        attributes.collect(),
    )
}

fn leaf(item: Item<'_>) -> (std::mem::Discriminant<Item<'_>>, TextRange, Option<&str>) {
    let text = item.token().map(|token| token.text());
    (std::mem::discriminant(&item), item.range(), text)
}

/// Asks a tree for everything it has.
///
/// # Panics
/// Something lies outside the text or cuts a character.
pub fn check(tree: &Tree, text: &str) {
    let fits = |range: TextRange| {
        assert!(
            text.get(std::ops::Range::<usize>::from(range)).is_some(),
            "{range:?}"
        );
    };
    for error in tree.errors() {
        fits(error.range);
        if let Some((range, _)) = error.related {
            fits(range);
        }
        if let Some(fix) = &error.fix {
            syntax::apply(text, &fix.edits).expect("the fix fits the text");
        }
    }
    let mut open: Vec<Items<'_>> = vec![tree.top_level()];
    while let Some(items) = open.last_mut() {
        let Some(item) = items.next() else {
            open.pop();
            continue;
        };
        fits(item.range());
        let Item::Element(element) = item else {
            continue;
        };
        fits(element.name_range());
        fits(element.start_tag_range());
        element.content_range().into_iter().for_each(fits);
        element.text_range().into_iter().for_each(fits);
        element.text();
        for attribute in element.attributes() {
            fits(attribute.range());
            attribute.value_range().into_iter().for_each(fits);
            attribute.value();
        }
        open.push(element.items());
    }
}
