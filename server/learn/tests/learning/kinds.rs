//! Which kinds of documents there are in a library.

use crate::learnt::{learnt, learnt_from, source};
use dialect::{Dialect, ElementDecl};
use learn::{Corpus, Surroundings};

/// The kinds of documents, as the dialect tells them.
fn kinds(dialect: &Dialect) -> Vec<String> {
    let kinds = dialect.documents.iter().map(|kind| {
        let attributes = kind.marks.attributes.iter();
        let attributes: Vec<String> = attributes
            .map(|(name, values)| format!(" {name}={}", values.join(",")))
            .collect();
        let holds = match kind.marks.holds.as_slice() {
            [] => String::new(),
            names => format!(" holds {}", names.join(",")),
        };
        let files = match kind.files.as_slice() {
            [] => String::new(),
            files => format!(" files {}", files.join(",")),
        };
        format!("{}{}{holds}{files}", kind.name, attributes.concat())
    });
    kinds.collect()
}

/// The declaration of the elements with this path in a text, told by what the text looks like.
fn declared_in<'d>(dialect: &'d Dialect, text: &str, file: &str, path: &str) -> &'d ElementDecl {
    let tree = syntax::parse(text);
    let root = tree.root().unwrap();
    let found = dialect.fit(Some((None, root.local_name())), Some(root), file);
    let (kind, _) = found.expect("it is of some kind");
    let around = dialect.document_context(kind);
    let step = |context, name: &str| dialect.child_context(context, name);
    let declared = dialect.element(path.split('/').fold(around, step));
    declared.unwrap_or_else(|| panic!("{path} is declared"))
}

fn engine_data(n: usize) -> String {
    let limbs: String = (0..n % 4 + 1)
        .map(|m| format!("<limb id='limb{m}' reach='{m}.{n}'><joint angle='{n}'/></limb>"))
        .collect();
    format!(
        "<engine name='engine {n}' power='{}'>{limbs}<item no='{n}'/></engine>",
        n * 7
    )
}

fn price_data(n: usize) -> String {
    let prices: String = (0..n % 5 + 2)
        .map(|m| format!("<item wares='w{n}-{m}' cost='{}' coin='shell'/>", n * m))
        .collect();
    format!("<season word='ebb'/>{prices}")
}

#[test]
fn documents_with_one_root_may_be_of_different_kinds() {
    let texts: Vec<String> = (0..30)
        .map(|n| match n % 3 {
            0 => format!("<data>{}</data>", price_data(n)),
            _ => format!("<data>{}{}</data>", engine_data(n), engine_data(n + 1)),
        })
        .collect();
    let dialect = learnt(&texts);
    assert_eq!(
        kinds(&dialect),
        ["data-item holds item,season", "data-engine holds engine"]
    );
    let children = |text: &str| -> Vec<&str> {
        let root = declared_in(&dialect, text, "x.xml", "data");
        root.children
            .iter()
            .map(|rule| rule.name.as_str())
            .collect()
    };
    assert_eq!(
        children("<data><season/><item/></data>"),
        ["season", "item"]
    );
    assert_eq!(children("<data><engine/></data>"), ["engine"]);
    // The same name in both: each as its own kind has it.
    let price = declared_in(&dialect, "<data><item/></data>", "x.xml", "data/item");
    assert!(price.attribute("cost").is_some() && price.attribute("no").is_none());
    let seen = dialect.documents[0].learnt.as_ref().unwrap();
    assert_eq!((seen.seen, seen.of, seen.places.len()), (10, 30, 3));
}

#[test]
fn kinds_are_told_by_an_attribute_of_the_root() {
    let texts: Vec<String> = (0..40)
        .map(|n| {
            let head = format!("<head author='somebody' made='{n}'/>");
            match n % 4 {
                0 => format!(
                    "<data sort='prices' v='{}'>{head}{}</data>",
                    n % 3,
                    price_data(n)
                ),
                1 => format!(
                    "<data sort='lifts' v='{}'>{head}{}</data>",
                    n % 3,
                    engine_data(n)
                ),
                _ => format!(
                    "<data sort='cranes' v='{}'>{head}{}</data>",
                    n % 3,
                    engine_data(n)
                ),
            }
        })
        .collect();
    let dialect = learnt(&texts);
    assert_eq!(
        kinds(&dialect),
        ["data-prices sort=prices", "data-cranes sort=cranes,lifts"]
    );
    let text = "<data sort='lifts'/>";
    assert!(
        declared_in(&dialect, text, "x.xml", "data")
            .child("engine")
            .is_some()
    );
}

#[test]
fn kinds_are_told_by_the_names_of_files() {
    let mut corpus = Corpus::default();
    for n in 0..24 {
        let (file, text) = match n % 2 {
            // A list with few words, which the others have too.
            0 => (format!("lib/mod{n}/wares.xml"), price_data(n)),
            _ => (
                format!("lib/mod{n}/a{n}.hull.xml"),
                format!("<season word='flood'/>{}", engine_data(n)),
            ),
        };
        assert!(corpus.add(source(file), &format!("<data>{text}</data>")));
    }
    let dialect = learnt_from(&corpus, &Surroundings::default());
    assert_eq!(
        kinds(&dialect),
        ["data-wares files wares.xml", "data-hull files *.hull.xml"]
    );
    let text = "<data/>";
    assert!(
        declared_in(&dialect, text, "a/wares.xml", "data")
            .child("item")
            .is_some()
    );
    assert!(
        declared_in(&dialect, text, "a/b.hull.xml", "data")
            .child("engine")
            .is_some()
    );
}

#[test]
fn documents_that_only_vary_are_of_one_kind() {
    // One thing or the other, with many optional words, of a few authors, by version.
    let texts: Vec<String> = (0..60)
        .map(|n| {
            let form = [
                "<box size='1' tint='red'/>",
                "<ball radius='2' tint='red'/>",
            ][n % 2];
            let more = [
                "",
                "<note text='a'/>",
                "<link to='b'/>",
                "<note text='c'/><link to='d'/>",
            ][n % 7 % 4];
            let version = ["1.0", "1.1", "2"][n % 5 % 3];
            format!("<shape version='{version}'>{form}{more}</shape>")
        })
        .collect();
    assert_eq!(kinds(&learnt(&texts)), ["shape"]);
    // A box alone, or a ball alone.
    let texts: Vec<String> = (0..40)
        .map(|n| match n % 2 {
            0 => format!("<shape><box size='{n}'/></shape>"),
            _ => format!("<shape><ball radius='{n}'/></shape>"),
        })
        .collect();
    assert_eq!(kinds(&learnt(&texts)), ["shape"]);
    // Names that are made up as one goes.
    let texts: Vec<String> = (0..40)
        .map(|n| {
            format!(
                "<data made='{}'><w{n} a{n}='1' b{n}='2'/><v{n}/></data>",
                n % 4
            )
        })
        .collect();
    assert_eq!(kinds(&learnt(&texts)), ["data"]);
}

/// Without it, the mod around a machine would not be known.
#[test]
fn a_manifest_is_told_by_its_file_s_name() {
    let mut corpus = Corpus::default();
    let mut add = |file: String, text: &str| assert!(corpus.add(source(file), text));
    for name in ["heron", "plover", "teal", "stint"] {
        let manifest =
            format!("<crate><holds file='{name}.xml'/><holds file='spare.xml'/></crate>");
        add(format!("{name}/crate.xml"), &manifest);
        add(format!("{name}/{name}.xml"), "<rig/>");
        add(format!("{name}/spare.xml"), "<rig/>");
    }
    let around = Surroundings::new(&corpus, &[], Vec::new());
    let dialect = learnt_from(&corpus, &around);
    assert_eq!(kinds(&dialect), ["crate files crate.xml", "rig"]);
}
