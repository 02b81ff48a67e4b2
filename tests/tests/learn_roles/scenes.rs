//! Libraries whose scenes are XML documents, each with words, notation and structure of its own.

use super::{adjusts, learn};
use acceptance::desk::corpus;
use acceptance::numbers::Numbers;
use acceptance::yard::Yard;
use dialect::{
    Dialect, IndexPathNotation, NodeNameNotation, Quantity, RotationForm, XmlSceneFormat,
};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// The dialect that is learnt where nobody wrote one down.
fn relearnt(folder: &str) -> (Dialect, Dialect) {
    let quay = Yard::empty();
    quay.copy(&corpus().join("dialects").join(folder), "library");
    let file = format!("library/{folder}.dialect.toml");
    let known = quay.text(&file);
    std::fs::remove_file(quay.join(&file)).unwrap();
    quay.write("library/trunnion.toml", "");
    quay.write("unseen/none.txt", "");
    learn(&quay);
    let read = |text: &str| Dialect::read(text, None).unwrap();
    (read(&known), read(&quay.text("unseen/t.dialect.toml")))
}

#[test]
fn the_dialects_of_the_corpus_are_found_again() {
    for folder in ["yard", "slip"] {
        let (known, learnt) = relearnt(folder);
        assert_eq!(
            learnt.notation.index_path, known.notation.index_path,
            "{folder}"
        );
        let [known, learnt] = [known, learnt].map(|dialect| dialect.scene_format.unwrap());
        assert_eq!(learnt.document.root, known.document.root);
        assert_eq!(
            learnt.numbers.vector_separator,
            known.numbers.vector_separator
        );
        assert_eq!(learnt.numbers.decimal_marks, known.numbers.decimal_marks);
        let measured = [Quantity::Length, Quantity::Angle];
        for quantity in &measured[..1 + usize::from(known.rotation.is_some())] {
            let units = [&learnt, &known].map(|format| format.units.of(*quantity).clone());
            assert_eq!(units[0], units[1], "{folder}");
        }
        let shape = |format: &XmlSceneFormat| {
            let nodes: BTreeSet<String> = format.node_names.iter().cloned().collect();
            let paths = [
                Some(&format.top),
                Some(&format.children),
                format.name.as_ref(),
                format.translation.as_ref(),
                format.rotation.as_ref(),
                format.scale.as_ref(),
                format.matrix.as_ref(),
            ];
            let paths = paths.map(|path| path.map(ToString::to_string));
            (nodes, paths, format.matrix_order, format.bounds.clone())
        };
        assert_eq!(shape(&learnt), shape(&known), "{folder}");
        let is_euler =
            |format: &XmlSceneFormat| matches!(format.rotation_form, RotationForm::Euler(_));
        assert_eq!(is_euler(&learnt), is_euler(&known), "{folder}");
    }
}

/// How the files of a made-up game are written.
struct Writing {
    words: Vec<String>,
    notation: IndexPathNotation,
    /// Whether children stand in an element of their own.
    has_holder: bool,
    /// Whether the tree hangs below an element below the root.
    is_deep: bool,
    /// Whether values of nodes are texts of elements; else attributes.
    is_text: bool,
    /// Whether channels say how long they last; else when they end.
    lasts: bool,
    /// Between numbers.
    gap: &'static str,
    /// How nodes are called by their names, if documents have no index paths and no aliases.
    names: Option<NodeNameNotation>,
}

/// A node: its name, its place, its children.
struct Node {
    name: String,
    at: [f64; 3],
    turn: [f64; 3],
    children: Vec<Node>,
}

impl Writing {
    fn of(dice: &mut Numbers) -> Self {
        let mut words = BTreeSet::new();
        while words.len() < 90 {
            let syllables = 2 + dice.below(2);
            let word: String = (0..syllables)
                .flat_map(|_| {
                    let consonant = b"bdfgklmnprtvz"[dice.below(13)];
                    let vowel = b"aeiou"[dice.below(5)];
                    [char::from(consonant), char::from(vowel)]
                })
                .collect();
            words.insert(format!("{word}q"));
        }
        let mut words: Vec<String> = words.into_iter().collect();
        for at in (1..words.len()).rev() {
            words.swap(at, dice.below(at + 1));
        }
        let separator = [">", "/", "|", ".", ":", "-"][dice.below(6)].to_owned();
        let after_root = match dice.below(3) {
            0 => [">", "|", ":"][dice.below(3)].to_owned(),
            _ => separator.clone(),
        };
        let root_mark = ["", "#", "@", "~", "stem"][dice.below(5)].to_owned();
        let root_number = dice.below(3) > 0;
        // Without the root's number nothing need stand behind the mark.
        let after_root = match (root_number, root_mark.is_empty()) {
            (true, _) => after_root,
            (false, true) => String::new(),
            (false, false) => ["", separator.as_str()][dice.below(2)].to_owned(),
        };
        Self {
            words,
            notation: IndexPathNotation {
                separator,
                after_root,
                after_root_always: false,
                first: dice.below(2) as u32,
                root_mark,
                root_number,
            },
            has_holder: dice.below(2) == 0,
            is_deep: dice.below(2) == 0,
            is_text: dice.below(2) == 0,
            lasts: dice.below(2) == 0,
            gap: [" ", ";", ", "][dice.below(3)],
            names: (dice.below(3) == 0).then(|| NodeNameNotation {
                separator: [None, Some("/"), Some("::")][dice.below(3)].map(str::to_owned),
                from_root: false,
            }),
        }
    }

    fn word(&self, at: usize) -> &str {
        &self.words[at]
    }

    fn row(&self, row: [f64; 3]) -> String {
        row.map(|number| format!("{number}")).join(self.gap)
    }

    fn node(&self, node: &Node, out: &mut String) {
        let (name, at, turn) = (&node.name, self.row(node.at), self.row(node.turn));
        let word = |at: usize| self.word(at);
        let element = word(0);
        if self.is_text {
            let _ = writeln!(
                out,
                "<{element} {}=\"{name}\"><{1}>{at}</{1}><{2}>{turn}</{2}>",
                word(1),
                word(2),
                word(3)
            );
        } else {
            let _ = writeln!(
                out,
                "<{element} {}=\"{name}\" {}=\"{at}\" {}=\"{turn}\">",
                word(1),
                word(2),
                word(3)
            );
        }
        if !node.children.is_empty() {
            if self.has_holder {
                let _ = write!(out, "<{}>", word(4));
            }
            node.children.iter().for_each(|child| self.node(child, out));
            if self.has_holder {
                let _ = write!(out, "</{}>", word(4));
            }
        }
        let _ = writeln!(out, "</{element}>");
    }

    fn scene(&self, roots: &[Node]) -> String {
        let mut out = format!("<{}><{} v=\"3\"/>", self.word(5), self.word(6));
        let inner = [self.word(7), self.word(8)];
        if self.is_deep {
            let _ = write!(out, "<{}><{}>", inner[0], inner[1]);
        }
        roots.iter().for_each(|root| self.node(root, &mut out));
        if self.is_deep {
            let _ = write!(out, "</{}></{}>", inner[1], inner[0]);
        }
        let _ = write!(out, "</{}>", self.word(5));
        out
    }

    /// A machine whose side arms move out, with whatever else its animation has.
    fn machine(&self, number: usize, dice: &mut Numbers) -> (String, String) {
        let own = |word: &str| format!("{word} {}", self.word(number + 40));
        let [left, right, mast_name, jib] = ["left", "right", "mast", "jib"].map(own);
        let unfold = self.word(number + 60);
        let spread = 1.0 + dice.below(30) as f64 / 20.0;
        let height = 0.4 + dice.below(20) as f64 / 40.0;
        let leaf = |name: &str, at: [f64; 3]| Node {
            name: name.to_owned(),
            at,
            turn: [0.0; 3],
            children: Vec::new(),
        };
        let arm = |side: f64, name: &str| Node {
            children: vec![
                leaf(&format!("{name} bow"), [side * 0.25, 0.0, 1.5]),
                leaf(&format!("{name} stern"), [side * 0.25, 0.0, -1.5 - height]),
            ],
            ..leaf(name, [side * spread, height, 0.0])
        };
        let mast = Node {
            turn: [0.0, 90.0, 0.0],
            children: vec![
                leaf("jib", [0.0, height * 2.0, 0.5]),
                leaf("bell", [0.0, 2.5, 0.25]),
            ],
            ..leaf("mast", [0.0, 1.5 + height, 0.75])
        };
        let shed = leaf("shed", [0.0, 0.0, -4.0]);
        let hull = Node {
            children: vec![arm(-1.0, "left"), arm(1.0, "right"), mast],
            ..leaf("hull", [0.0, 0.75, 0.0])
        };
        // Without a number for the root there is but one.
        let roots = match self.notation.root_number {
            true => vec![shed, hull],
            false => vec![hull],
        };
        let root = roots.len() as u32 - 1;
        let scene = self.scene(&roots);
        let path = |path: &[u32]| match &self.names {
            None => self.notation.label(path).replace('>', "&gt;"),
            Some(notation) => {
                let mut choices = &roots;
                let names = path.iter().map(|at| {
                    let node = &choices[*at as usize];
                    choices = &node.children;
                    node.name.clone()
                });
                let names: Vec<String> = names.collect();
                // Without a separator the node's own name is all there is.
                let own = names.len() - 1;
                let start = if notation.separator.is_some() {
                    own.min(1)
                } else {
                    own
                };
                notation.write(&names[start..])
            }
        };
        let called = |alias: &str, at: &[u32]| match &self.names {
            None => alias.to_owned(),
            Some(_) => path(at),
        };
        let w = |at: usize| self.word(at);
        let mut out = format!(
            "<{} {}=\"m{number}.scene.xml\">\n<{}>\n",
            w(10),
            w(11),
            w(12)
        );
        let aliases = [
            (&left, vec![root, 0]),
            (&right, vec![root, 1]),
            (&mast_name, vec![root, 2]),
            (&jib, vec![root, 2, 0]),
        ];
        for (name, at) in aliases.iter().filter(|_| self.names.is_none()) {
            let _ = writeln!(
                out,
                "<{} {}=\"{name}\" {}=\"{}\"/>",
                w(13),
                w(14),
                w(15),
                path(at)
            );
        }
        let _ = writeln!(out, "</{}><{}>", w(12), w(16));
        for (name, at) in [
            ("lb", [root, 0, 0]),
            ("ls", [root, 0, 1]),
            ("rb", [root, 1, 0]),
            ("rs", [root, 1, 1]),
        ] {
            let _ = writeln!(
                out,
                "<{} {}=\"{name}\" {}=\"{}\" {}=\"{}\" {}=\"0.3\"/>",
                w(17),
                w(14),
                w(18),
                path(&at),
                w(19),
                0.5 + height / 4.0,
                w(20)
            );
        }
        let out_by = 0.25 + dice.below(4) as f64 / 8.0;
        let channel = |target: &str, window: [f64; 2], kind: usize, ends: [[f64; 3]; 2]| {
            let mut line = format!("<{}", w(23));
            let [begin, end] = window;
            let end = if self.lasts { end - begin } else { end };
            let [begin, end] = [begin, end].map(|time| time.to_string());
            let [from, to] = ends.map(|end| self.row(end));
            let values = [target, &begin, &end, w(kind), &from, &to];
            for (name, value) in [24, 25, 26, 27, 30, 31].into_iter().zip(values) {
                let _ = write!(line, " {}=\"{value}\"", w(name));
            }
            line + "/>\n"
        };
        let [left, right, mast_name, jib] = aliases.map(|(name, at)| called(name, &at));
        let sides = [(&left, -1.0), (&right, 1.0)].map(|(name, side)| {
            let ends = [spread, spread + out_by].map(|x| [side * x, height, 0.0]);
            channel(name, [1.0, 3.0], 28, ends)
        });
        let tilt = [0.0, 35.0].map(|angle| [0.0, 90.0, angle]);
        let rise = [0.0, 1.0].map(|rise| [0.0, height * 2.0 + rise, 0.5]);
        let mast = channel(&mast_name, [3.0, 5.0], 29, tilt);
        let jib = channel(&jib, [0.0, 3.5], 28, rise);
        let _ = write!(out, "</{}>", w(16));
        for (name, channels) in [("unfold", sides.concat() + &mast), ("lift", jib)] {
            let tag = w(21);
            let _ = writeln!(
                out,
                "<{tag} {}=\"{name} {unfold}\">\n{channels}</{tag}>",
                w(14)
            );
        }
        let text = |word: usize| self.word(word + number);
        let input = |axis: &str, dice: &mut Numbers| format!("{axis}{}", dice.below(6));
        let (key, axis) = (input("pad", dice), input("ring", dice));
        let _ = writeln!(
            out,
            "<{0} {1}=\"unfold {unfold}\" {2}=\"{key}\" {3}=\"Do {4}\"><{5} {6}=\"lb\"/><{5} {6}=\"rs\"/></{0}>",
            w(39),
            w(33),
            w(34),
            w(36),
            text(42),
            w(37),
            w(38)
        );
        let gain = 1 + dice.below(9);
        let _ = writeln!(
            out,
            "<{0} {1}=\"lift {unfold}\" {2}=\"{axis}\" {3}=\"0.{gain}\" {4}=\"Do {5}\"/></{6}>",
            w(32),
            w(33),
            w(34),
            w(35),
            w(36),
            text(45),
            w(10)
        );
        (out, scene)
    }
}

#[test]
fn scenes_in_any_xml_are_learnt() {
    let seeds = std::env::var("SEEDS").map_or(24, |seeds| seeds.parse().unwrap());
    for seed in 1..=seeds {
        let mut dice = Numbers::from(seed * 7919);
        (0..10).for_each(|_| _ = dice.below(2));
        let writing = Writing::of(&mut dice);
        let quay = Yard::empty();
        for number in 0..12 {
            let folder = if number == 11 {
                "unseen"
            } else {
                "library/all"
            };
            let (machine, scene) = writing.machine(number, &mut dice);
            quay.write(&format!("{folder}/m{number}.machine.xml"), machine);
            quay.write(&format!("{folder}/m{number}.scene.xml"), scene);
        }
        learn(&quay);
        let text = quay.text("unseen/t.dialect.toml");
        let learnt = Dialect::read(&text, None).unwrap();
        match &writing.names {
            None => assert_eq!(
                learnt.notation.index_path, writing.notation,
                "{seed}\n{text}"
            ),
            Some(names) => assert_eq!(
                learnt.notation.node_names.separator, names.separator,
                "{seed}\n{text}"
            ),
        }
        let format = learnt
            .scene_format
            .clone()
            .unwrap_or_else(|| panic!("{seed}: no scene\n{text}"));
        let word = |at: usize| writing.word(at);
        assert_eq!(format.node_names, [word(0)], "{seed}");
        let children = if writing.has_holder { word(4) } else { "." };
        assert_eq!(format.children.as_str(), children, "{seed}");
        let top = if writing.is_deep {
            format!("{}/{}", word(7), word(8))
        } else {
            ".".to_owned()
        };
        assert_eq!(format.top.as_str(), top, "{seed}");
        let value = |at: usize| match writing.is_text {
            true => format!("{}/text()", word(at)),
            false => format!("@{}", word(at)),
        };
        let shown =
            |path: Option<dialect::Path>| path.map(|path| path.to_string()).unwrap_or_default();
        assert_eq!(shown(format.name), format!("@{}", word(1)), "{seed}");
        assert_eq!(shown(format.translation), value(2), "{seed}\n{text}");
        assert_eq!(shown(format.rotation), value(3), "{seed}\n{text}");
        let mut channels = learnt.roles.channels.iter();
        let channel = channels.next();
        let window = &channel
            .unwrap_or_else(|| panic!("{seed}: no channel\n{text}"))
            .window;
        let is_lasting = matches!(window, Some(dialect::Window::Lasting { .. }));
        assert_eq!(is_lasting, writing.lasts, "{seed}\n{text}");
        let sides = ["left", "right"].map(|side| match writing.names {
            None => format!("{side} {}", word(51)),
            Some(_) => side.to_owned(),
        });
        adjusts(&quay, "unseen/m11.machine.xml", &[&sides[0], &sides[1]]);
    }
}
