//! Scenes that are XML themselves: what places their nodes, and how numbers are written in them and elsewhere.

use crate::learnt::{learnt_from, source};
use crate::motions::{PARTS, path, shift};
use dialect::Dialect;
use learn::{Corpus, Surroundings};

/// What is learnt from twelve cranes. `of_limb`: what a limb of a scene has; `mark`: before decimals elsewhere.
fn learnt(of_limb: impl Fn(usize, usize) -> String, mark: &str) -> Dialect {
    let mut corpus = Corpus::default();
    for n in 0..12 {
        let limb = |inner: String, part: usize| {
            let (name, has) = (PARTS[part], of_limb(n, part));
            format!("<limb called='{name}'>{has}{inner}</limb>")
        };
        let limbs = (0..PARTS.len()).rev().fold(String::new(), limb);
        let shape = format!("<shape>{limbs}</shape>");
        let channel = |part: usize| {
            let (path, until) = (path(part), part + 2);
            let ends = shift(n, part).replace('.', mark);
            format!("<go limb='{path}' from='0' until='{until}' {ends}/>")
        };
        let channels: String = (0..PARTS.len()).map(channel).collect();
        let crane = format!("<crane shape='shape.xml'><act id='up'>{channels}</act></crane>");
        assert!(corpus.add(source(format!("lib/{n}/shape.xml")), &shape));
        assert!(corpus.add(source(format!("lib/{n}/crane.xml")), &crane));
    }
    learnt_from(&corpus, &Surroundings::new(&corpus, &[], []))
}

/// Where a limb lies, written with points.
fn lies(n: usize, part: usize) -> String {
    format!("<lies>{part}.{n} 1.5 0</lies>")
}

/// Sixteen numbers, with a place in them.
fn matrix(n: usize, part: usize) -> String {
    format!("<all>1 0 0 {part}.{n} 0 1 0 1.5 0 0 1 0 0 0 0 1</all>")
}

/// The paths to translation and matrix of nodes.
fn placed(dialect: &Dialect) -> [Option<&str>; 2] {
    let format = dialect.scene_format.as_ref().expect("scenes are found");
    [&format.translation, &format.matrix].map(|path| path.as_ref().map(|path| path.as_str()))
}

#[test]
fn where_some_nodes_have_a_matrix_others_have_a_place() {
    let only_jib = |n: usize, part: usize| match PARTS[part] {
        "jib" => matrix(n, part),
        _ => lies(n, part),
    };
    let dialect = learnt(only_jib, ".");
    assert_eq!(placed(&dialect), [Some("lies/text()"), Some("all/text()")]);
    let dialect = learnt(lies, ".");
    assert_eq!(placed(&dialect), [Some("lies/text()"), None]);
    // What stands beside a matrix does not place a node once more.
    let dialect = learnt(|n, part| matrix(n, part) + &lies(n, part), ".");
    assert_eq!(placed(&dialect), [None, Some("all/text()")]);
    // Nor does what few nodes have.
    let but_root = |n: usize, part: usize| match part {
        0 => lies(n, part),
        _ => matrix(n, part),
    };
    assert_eq!(placed(&learnt(but_root, ".")), [None, Some("all/text()")]);
}

#[test]
fn the_decimal_mark_that_is_written_is_that_of_machines() {
    // Scenes have decimals in more places than machines.
    let limb = |n: usize, part: usize| {
        let half = part as f64 + 0.5;
        let size = format!("<low>-{half} -0.5 -0.5</low><high>{half} 0.5 0.5</high>");
        lies(n, part) + &size + "<heavy>2.5</heavy>"
    };
    let marks = |mark| learnt(limb, mark).notation.numbers.decimal_marks;
    assert_eq!(marks(","), [',', '.']);
    assert_eq!(marks("."), ['.']);
}

#[test]
fn thousands_of_elements_in_one_place_are_not_compared_with_each_other() {
    let mut corpus = Corpus::default();
    let limbs: String = (0..4_000)
        .map(|n| format!("<limb called='l{n}' lies='{n}.5 1 0'/><only{n}/>"))
        .collect();
    let shape = format!("<shape><limb called='l' lies='0 0.5 0'>{limbs}</limb></shape>");
    assert!(corpus.add(source("lib/shape.xml".to_owned()), &shape));
    let crane = "<crane shape='shape.xml'><act id='up'/></crane>";
    assert!(corpus.add(source("lib/crane.xml".to_owned()), crane));
    let started = std::time::Instant::now();
    learnt_from(&corpus, &Surroundings::new(&corpus, &[], []));
    // Seconds would do; to look all of them through for each takes minutes.
    assert!(started.elapsed().as_secs() < 30, "{:?}", started.elapsed());
}
