//! Deep, wide, long and hostile documents: nothing overflows the stack, nothing takes more than its length deserves.
//! The sizes are such that anything quadratic would take minutes.

use std::time::{Duration, Instant};

use syntax::{Item, Source, TextEdit, TextSize, Tree, parse};

/// Parses, edits in the middle, asks and drops, all on a stack of 1 MiB, and says no time has been wasted.
fn survives(name: &str, text: String) {
    let started = Instant::now();
    let work = move || {
        let tree = parse(&text);
        assert_eq!(usize::from(tree.text_len()), text.len());
        let middle = (text.len() / 2..)
            .find(|&at| text.is_char_boundary(at))
            .unwrap_or(0);
        let at = TextSize::new(middle as u32);
        tree.place_at(at);
        tree.elements_at(at);
        let mut after = text;
        after.insert(middle, 'x');
        let edited = tree.edited(&TextEdit::insert(at, "x"));
        assert_eq!(edited.errors(), parse(&after).errors());
        walk(&edited);
    };
    let thread = std::thread::Builder::new().stack_size(1 << 20).spawn(work);
    thread.expect("a thread can be started").join().expect(name);
    // A second would do; slow machines that do other things as well get a minute.
    assert!(
        started.elapsed() < Duration::from_secs(60),
        "{name} took {:?}",
        started.elapsed()
    );
}

fn walk(tree: &Tree) {
    let mut open = vec![tree.top_level()];
    while let Some(items) = open.last_mut() {
        match items.next() {
            None => {
                open.pop();
            }
            Some(Item::Element(element)) => open.push(element.items()),
            Some(_) => {}
        }
    }
}

const MANY: usize = 100_000;

fn numbered(piece: impl Fn(usize) -> String) -> String {
    (0..MANY).map(piece).collect()
}

#[test]
fn elements_nested_a_hundred_thousand_deep() {
    survives(
        "nested",
        format!("{}{}", "<a>".repeat(MANY), "</a>".repeat(MANY)),
    );
    survives("unclosed", "<a>".repeat(MANY));
    survives("ends without starts", "</a>".repeat(MANY));
    let starts = numbered(|n| format!("<a{n}>"));
    let ends = numbered(|n| format!("</a{n}>"));
    survives("closed in the wrong order", format!("{starts}{ends}"));
    let wide = format!("<a>{}", "<b/>".repeat(100));
    survives(
        "deep and wide",
        format!("{}{}", wide.repeat(450), "</a>".repeat(450)),
    );
}

#[test]
fn nesting_below_the_cap_is_one_flat_piece_and_one_information() {
    let tree = parse(&format!("{}{}", "<a>".repeat(2000), "</a>".repeat(2000)));
    let codes: Vec<_> = tree
        .errors()
        .iter()
        .map(|error| error.code.as_str())
        .collect();
    assert_eq!(codes, ["too-deep"]);
    let path = tree.elements_at(TextSize::new(5000));
    assert_eq!(path.len(), 500);
    assert!(
        path[499]
            .items()
            .any(|item| matches!(item, Item::TooDeep(_)))
    );
}

#[test]
fn nesting_up_to_the_cap_is_understood() {
    let tree = parse(&format!("{}{}", "<a>".repeat(500), "</a>".repeat(500)));
    assert_eq!(tree.errors(), []);
    assert_eq!(tree.elements_at(TextSize::new(1500)).len(), 500);
}

#[test]
fn many_children_and_many_attributes() {
    survives(
        "children",
        format!("<a>{}</a>", numbered(|n| format!("<b{n}/>"))),
    );
    survives(
        "unclosed children",
        format!("<a>\n{}</a>", numbered(|n| format!(" <b{n}>\n"))),
    );
    survives(
        "attributes",
        format!("<a{}/>", numbered(|n| format!(" a{n}=\"v\""))),
    );
    survives(
        "the same attribute",
        format!("<a{}/>", " a=\"v\"".repeat(MANY)),
    );
    survives(
        "prefixes",
        format!(
            "<a{}>{}</a>",
            numbered(|n| format!(" xmlns:p{n}=\"v\"")),
            numbered(|n| format!("<p{n}:b p{n}:c=\"\"/>"))
        ),
    );
}

#[test]
fn the_same_mistake_again_and_again() {
    for piece in [
        "<",
        "< ",
        "&",
        "<!--",
        "<!-- x\n",
        "<![CDATA[\n",
        "<?p\n",
        "<?p>",
        "<b x=\n",
        "<b x=\"\n",
        "<b x=\"<b x='",
        "</b ",
        "</b",
        "<!x",
        "<!DOCTYPE a [\n",
        "]]>",
        "\u{1}x",
        "<b \"",
        "x<b/>",
        "<b a a='",
    ] {
        let pieces = piece.repeat(MANY / 10);
        survives(piece, pieces.clone());
        survives(piece, format!("<a>{pieces}</a>"));
        survives(piece, format!("<a {pieces}></a>"));
    }
}

#[test]
fn entities_are_never_expanded() {
    let bomb = |percent: &str, and: &str| {
        let doubled =
            (1..1000).map(|n| format!("<!ENTITY {percent} e{n} \"{and}e{0};{and}e{0};\">", n - 1));
        format!(
            "<!ENTITY {percent} e0 \"<!-- x -->\">{}",
            doubled.collect::<String>()
        )
    };
    let general = format!("<!DOCTYPE a [{}]><a b=\"\">&e999;</a>", bomb("", "&"));
    assert_eq!(parse(&general).errors(), []);
    survives("general entities", general);
    let parameter = format!("<!DOCTYPE a [{}%e999;]><a/>", bomb("%", "&#37;"));
    survives("parameter entities", parameter);
    let circular = "<!DOCTYPE a [<!ENTITY x \"&y;\"><!ENTITY y \"&x;\">]><a>&x;</a>";
    let codes: Vec<_> = parse(circular)
        .errors()
        .iter()
        .map(|error| error.code.as_str())
        .collect();
    assert_eq!(codes, ["bad-entity"]);
}
