//! From documents to a dialect file, in invented vocabularies.

use crate::learnt::{corpus, learnt, learnt_file, learnt_from, source};
use dialect::{Context, Dialect, ElementDecl, ItemType, Order};
use learn::{Corpus, Surroundings};

fn keys(dialect: &Dialect) -> Vec<&str> {
    let elements = dialect.elements().iter();
    elements.map(|element| element.key.as_str()).collect()
}

/// The declaration of the elements with this path.
fn declared<'d>(dialect: &'d Dialect, path: &str) -> &'d ElementDecl {
    let step = |context, name: &str| dialect.child_context(context, name);
    let context = path.split('/').fold(Context::DOCUMENT, step);
    let declared = dialect.element(context);
    declared.unwrap_or_else(|| panic!("{path} is declared: {:?}", keys(dialect)))
}

/// What may stand in an attribute (or in the text, `text()`) of the elements with this path.
fn described(dialect: &Dialect, path: &str, value: &str) -> String {
    let element = declared(dialect, path);
    let declared = match value {
        "text()" => element.text.as_ref(),
        name => element.attribute(name),
    };
    dialect.describe(
        &declared
            .unwrap_or_else(|| panic!("{path} has {value}"))
            .value,
    )
}

/// Forty barges, in attributes.
fn barges() -> Vec<String> {
    (0..40)
        .map(|n| {
            let cargo = ["coal", "timber", "gravel"][n % 3];
            let deck = ["", "<deck of='oak'/>"][usize::from(n % 4 == 1)];
            let berths: String = (0..n % 5).map(|m| format!("<berth at='{m} 0.5 {n}'/>")).collect();
            format!(
                "<barge cargo='{cargo}' draught='{}.{}' crew='{}' steam='{}'>{deck}<keel/>{berths}</barge>",
                n % 3,
                n % 7,
                1 + n % 4,
                n % 2 == 0
            )
        })
        .collect()
}

#[test]
fn attributes_get_types_and_children_numbers() {
    let dialect = learnt(&barges());
    assert_eq!(keys(&dialect), ["barge", "keel", "deck", "berth"]);
    assert_eq!(
        described(&dialect, "barge", "cargo"),
        "`coal`, `timber` or `gravel`"
    );
    assert_eq!(
        described(&dialect, "barge", "draught"),
        "a number at least 0"
    );
    assert_eq!(described(&dialect, "barge", "crew"), "a whole number");
    assert_eq!(described(&dialect, "barge", "steam"), "`true` or `false`");
    assert_eq!(
        described(&dialect, "barge/berth", "at"),
        "3 numbers at least 0"
    );
    let barge = &dialect.elements()[0];
    assert!(!barge.strict && barge.order == Order::Listed);
    let children: Vec<_> = barge
        .children
        .iter()
        .map(|rule| (rule.name.as_str(), rule.min, rule.max))
        .collect();
    assert_eq!(
        children,
        [
            ("deck", 0, Some(1)),
            ("keel", 1, Some(1)),
            ("berth", 0, None)
        ]
    );
    let cargo = barge.attribute("cargo").unwrap();
    assert!(cargo.required && !cargo.strict);
    assert_eq!(
        cargo.learnt.as_ref().unwrap().values[0],
        ("coal".into(), 14)
    );
}

/// Thirty logs of the harbour, in texts, with decimal commas, and `mark` for two things.
fn harbour_logs() -> Vec<String> {
    (0..30)
        .map(|n| {
            let pair = format!("{},5;{};2 | 0;{},25;1", n % 3, n % 4, n % 9);
            let tide = ["ebb", "flood"][n % 2];
            format!(
                "<log><entry><mark>{n},75</mark><path>{pair}</path></entry>\
                 <mark><tide>{tide}</tide><by>harbour master {n}</by></mark></log>"
            )
        })
        .collect()
}

#[test]
fn texts_with_decimal_commas_and_one_name_for_two_things() {
    let dialect = learnt(&harbour_logs());
    assert_eq!(dialect.notation.numbers.decimal_marks, [',']);
    assert_eq!(
        described(&dialect, "log/entry/mark", "text()"),
        "a number at least 0"
    );
    assert_eq!(
        described(&dialect, "log/mark/tide", "text()"),
        "`ebb` or `flood`"
    );
    assert_eq!(described(&dialect, "log/mark/by", "text()"), "any text");
    let path = dialect
        .elements()
        .iter()
        .find(|element| element.key == "path")
        .unwrap();
    let value = &path.text.as_ref().unwrap().value;
    assert!(matches!(value.item, ItemType::Vector { count: 3, .. }));
    assert_eq!(
        value.list.as_ref().map(|list| (list.min, list.max)),
        Some((2, Some(2)))
    );
}

#[test]
fn a_slip_or_a_broken_file_takes_nothing_away() {
    let mut texts = barges();
    texts[7] = texts[7].replace("cargo=", "carg=");
    texts.push("<barge cargo='coal' crew='1'><keel>".into());
    texts.push("<barge cargo='coal' draught='deep' crew='1' steam='true'><keel/></barge>".into());
    let dialect = learnt(&texts);
    let barge = &dialect.elements()[0];
    assert!(barge.attribute("cargo").unwrap().required);
    assert!(barge.attribute("draught").unwrap().required);
    assert_eq!(
        described(&dialect, "barge", "draught"),
        "a number at least 0"
    );
}

/// Twelve cranes with scenes of their own. Paths count from one; hooks have names, which may stand for their paths.
#[test]
fn index_paths_and_files_are_told_by_what_lies_beside() {
    let mut corpus = Corpus::default();
    let (mut scenes, mut others) = (Vec::new(), Vec::new());
    for n in 0..12 {
        // A jib with a few hooks on each of its joints.
        let joints = 2 + n % 3;
        let first_hook = 1 + joints;
        let hooks =
            |joint: usize| format!("{},{}", first_hook + 2 * joint, first_hook + 2 * joint + 1);
        let list: Vec<String> = (1..first_hook).map(|at| at.to_string()).collect();
        let mut nodes = vec![format!("{{\"children\":[{}]}}", list.join(","))];
        nodes.extend((0..joints).map(|joint| format!("{{\"children\":[{}]}}", hooks(joint))));
        nodes.extend((0..2 * joints).map(|_| "{}".to_owned()));
        let json = format!(
            "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[0]}}],\"nodes\":[{}]}}",
            nodes.join(",")
        );
        let scene = scene::read(json.as_bytes(), "", &[]).expect("the scene is well made");
        scenes.push((source(format!("lib/{n}/shape.gltf")), scene));
        others.push(source(format!("lib/{n}/tunes/Creak.ogg")));
        let hooks: String = (1..=joints)
            .map(|at| {
                format!(
                    "<hook><tag>h{n}.{at}</tag><where>#1:{at}.{}</where></hook>",
                    1 + at % 2
                )
            })
            .collect();
        let moves: String = (1..=joints)
            .map(|at| {
                format!("<swing of='h{n}.{at}' by='{at}.5'/><swing of='#1:{at}.1' by='{at}'/>")
            })
            .collect();
        let text = format!(
            "<crane shape='shape.gltf'>{hooks}{moves}<tune>tunes\\creak.ogg</tune></crane>"
        );
        assert!(corpus.add(source(format!("lib/{n}/crane.xml")), &text));
    }
    let around = Surroundings::new(&corpus, &others, scenes);
    let dialect = learnt_from(&corpus, &around);
    let notation = &dialect.notation.index_path;
    assert_eq!(
        (
            notation.root_mark.as_str(),
            notation.after_root.as_str(),
            notation.separator.as_str(),
            notation.first
        ),
        ("#", ":", ".", 1)
    );
    assert_eq!(dialect.notation.files.folder_separators, ['\\']);
    let path = &declared(&dialect, "crane/hook/where")
        .text
        .as_ref()
        .unwrap()
        .value
        .item;
    assert_eq!(*path, ItemType::IndexPath);
    let of = &declared(&dialect, "crane/swing")
        .attribute("of")
        .unwrap()
        .value
        .item;
    assert!(
        matches!(of, ItemType::Node { aliases, index_path: true, .. } if aliases.len() == 1),
        "{of:?}"
    );
    let tag = &declared(&dialect, "crane/hook/tag")
        .text
        .as_ref()
        .unwrap()
        .value
        .item;
    assert!(matches!(tag, ItemType::NameOf(_)), "{tag:?}");
    let by = &declared(&dialect, "crane/swing")
        .attribute("by")
        .unwrap()
        .value
        .item;
    assert!(
        matches!(by, ItemType::Number { .. }),
        "a number is no path: {by:?}"
    );
    let file = |extension: &str| ItemType::File {
        extensions: [extension.to_owned()].into(),
    };
    assert_eq!(
        declared(&dialect, "crane")
            .attribute("shape")
            .unwrap()
            .value
            .item,
        file("gltf")
    );
    assert_eq!(
        declared(&dialect, "crane/tune")
            .text
            .as_ref()
            .unwrap()
            .value
            .item,
        file("ogg")
    );
}

/// Numbers with decimals lead to nodes by chance, where nothing else is written like an index path.
#[test]
fn a_few_numbers_with_decimals_are_no_index_paths() {
    let mut corpus = Corpus::default();
    let mut scenes = Vec::new();
    let json = "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"children\":[1,2]},{},{}]}";
    for n in 0..12 {
        let scene = scene::read(json.as_bytes(), "", &[]).expect("the scene is well made");
        scenes.push((source(format!("lib/{n}/shape.gltf")), scene));
        let text = "<crane shape='shape.gltf'><swing by='0'/><swing by='0.1'/></crane>";
        assert!(corpus.add(source(format!("lib/{n}/crane.xml")), text));
    }
    let around = Surroundings::new(&corpus, &[], scenes);
    let dialect = learnt_from(&corpus, &around);
    let by = declared(&dialect, "crane/swing").attribute("by").unwrap();
    let is_number = matches!(by.value.item, ItemType::Number { .. });
    assert!(is_number, "{:?}", by.value.item);
}

/// Sixty crates: each holds one form, and notes and links in any order behind it; some have a lid or a net, none both.
fn crates() -> Vec<String> {
    (0..60)
        .map(|n| {
            let form = ["<box size='1'/>", "<ball/>", "<tube/><tube/>"][n % 7 % 3];
            let cover = ["<lid/>", "<net/>", ""][n % 5 % 3];
            let more = [
                "<note/><link/>",
                "<link/><note/><link/><note/>",
                "<link/>",
                "<note/>",
            ][n % 4];
            format!("<crate><stamp/>{form}{cover}{more}</crate>")
        })
        .collect()
}

/// The children as the dialect file lists them.
fn listed(texts: &[String], element: &str) -> String {
    let file = learnt_file(&corpus(texts.iter().cloned()), &Surroundings::default());
    let from = file
        .find(&format!("[element.{element}]"))
        .expect("it is declared");
    let lines = file[from..].lines().skip(1);
    let lines = lines.take_while(|line| line.starts_with("children") || line.starts_with("order"));
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn children_that_stand_for_each_other_are_choices() {
    assert_eq!(
        listed(&crates(), "crate"),
        "children = [\"stamp\", \"box | ball | tube+\", \"(lid | net)?\", \"(note | link)+\"]\norder = \"listed\""
    );
}

#[test]
fn children_that_seldom_meet_are_no_choice() {
    // A lid and a net would hardly ever meet by chance; a box is nearly everywhere.
    let texts: Vec<String> = (0..60)
        .map(|n| {
            let cover = ["<lid/>", "<net/>"]
                .get(n / 10 * 7 + n % 10)
                .copied()
                .unwrap_or("");
            let tin = if n == 30 { "<tin/>" } else { "<box/>" };
            format!("<crate>{tin}{cover}</crate>")
        })
        .collect();
    let listed = listed(&texts, "crate");
    assert!(!listed.contains('|'), "{listed}");
    // Ten elements of one file show how that file is written.
    let one = vec![format!(
        "<crates>{}</crates>",
        "<crate><box/></crate><crate><ball/></crate>".repeat(10)
    )];
    let listed = self::listed(&one, "crate");
    assert!(!listed.contains('|'), "{listed}");
}

#[test]
fn the_same_barges_are_of_one_kind_whoever_sails_them() {
    let texts: Vec<String> = barges()
        .iter()
        .enumerate()
        .map(|(n, text)| text.replace("<barge ", &format!("<barge crewed='{}' ", n % 3)))
        .collect();
    let kinds = learnt(&texts).documents;
    assert_eq!(kinds.len(), 1);
    assert_eq!(kinds[0].name, "barge");
}

#[test]
fn lists_of_words() {
    let words = ["deck", "hold", "mast", "bow", "stern"];
    let texts: Vec<String> = (0..60)
        .map(|n| {
            let members = (0..n % 4 + 1).map(|m| words[(n * 3 + m * 7) % 5]);
            let members: Vec<&str> = members.collect();
            // Two words that are one name, a list with blanks, a list with bars, and a sentence.
            let tide = ["ebb tide", "spring tide", "neap tide"][n % 3];
            format!(
                "<lamp at='{}' where='{}' tide='{tide}' says='lamp {n} is near the {}'/>",
                members.join(" "),
                members.join(" | "),
                members.join(" and the ")
            )
        })
        .collect();
    let dialect = learnt(&texts);
    let words = "`deck`, `bow`, `hold`, `stern` or `mast`";
    assert_eq!(
        described(&dialect, "lamp", "at"),
        format!("at least 1 of these, separated by blanks: {words}")
    );
    assert_eq!(
        described(&dialect, "lamp", "where"),
        format!("at least 1 of these, separated by `|`: {words}")
    );
    assert_eq!(
        described(&dialect, "lamp", "tide"),
        "`ebb tide`, `spring tide` or `neap tide`"
    );
    assert_eq!(described(&dialect, "lamp", "says"), "any text");
}

/// What an entity stands for is learnt, not its name.
#[test]
fn what_entities_stand_for_is_learnt() {
    let texts: Vec<String> = (0..20)
        .map(|n| {
            let wood = ["oak", "ash", "fir"][n % 3];
            match n % 5 {
                0 => format!(
                    "<!DOCTYPE raft [<!ENTITY w '{wood}'>]><raft of='&w;'><by>&w;</by></raft>"
                ),
                _ => format!("<raft of='{wood}'><by>{wood}</by></raft>"),
            }
        })
        .collect();
    let dialect = learnt(&texts);
    for (path, value) in [("raft", "of"), ("raft/by", "text()")] {
        assert_eq!(described(&dialect, path, value), "`oak`, `ash` or `fir`");
    }
}
