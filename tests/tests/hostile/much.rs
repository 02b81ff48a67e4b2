//! Much of one thing, or one very large thing: what would be felt if anything took more than linear time, or if what is
//! wrong took more room than what there is.

use std::fmt::Write as _;
use std::path::Path;

use crate::cases::{Case, GRAMMAR, MOTION, SCENE, gltf, machine, machine_with, repeated};

pub(crate) const ALL: &[fn() -> Case] = &[
    || {
        Case::document(
            "200,000 names, each of three kinds and used",
            mixed_names(),
            &[
                "unused-alias",
                "unknown-element",
                "duplicate-name",
                "file-missing",
            ],
        )
    },
    || {
        Case::document(
            "100,000 references to nothing",
            repeated(
                "bodies",
                |n| format!("<body node=\"gone{n}\" mass=\"1\"/>\n"),
                100_000,
            ),
            &["unknown-name"],
        )
    },
    || {
        Case::document(
            "10 names of 1 MB, each misspelt 3 times",
            long_names(),
            &["unknown-name"],
        )
    },
    || {
        Case::document(
            "a prefix of 1 MB around 20,000 wrong elements",
            long_prefix(),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "a number of 50 MB that is none",
            machine(&format!(
                "<bodies><body node=\"0\" mass=\"{}\"/></bodies>",
                "x".repeat(50_000_000)
            )),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "a list of 1,000,000 members that are no numbers",
            machine(&format!(
                "<bodies><body node=\"0\" mass=\"1\" centre=\"{}\"/></bodies>",
                "x,5 ".repeat(1_000_000)
            )),
            GRAMMAR,
        )
    },
    || {
        Case::document(
            "100,000 controls of one long name on one input",
            long_named_controls(),
            &["input-clash", "unknown-name"],
        )
    },
    || overlapping("100,000 animations on one node", 100_000, 1),
    || overlapping("1 animation of 100,000 motions on one node", 1, 100_000),
    || wheels("20,000 controls that leave 20,000 wheels behind", 20_000),
    || {
        Case::scene(
            "scene: 1,000,000 children of one node",
            "s.gltf",
            children(1_000_000),
            SCENE,
        )
    },
    || Case {
        prepare: many_elements,
        document: "a.heap.xml",
        ..Case::document(
            "a dialect of 5,000 elements, 20,000 used",
            many_used(),
            GRAMMAR,
        )
    },
    || Case {
        prepare: tiny_library,
        ..Case::document("a library of 30,000 tiny files", machine("<x/>"), GRAMMAR)
    },
];

fn mixed_names() -> String {
    let each = |make: &dyn Fn(usize) -> String| (0..200_000).map(make).collect::<String>();
    let aliases = each(&|_| "<alias name=\"x\" path=\"0\"/>".to_owned());
    let wheels = each(&|_| "<wheel id=\"x\" node=\"x\" radius=\"1\" width=\"1\"/>".to_owned());
    let carried = each(&|_| "<carry wheel=\"x\"/>".to_owned());
    machine(&format!(
        "<wheels>{wheels}</wheels><aliases>{aliases}</aliases><controls><switch animation=\"a\" \
         input=\"button.raise\">{carried}</switch></controls>"
    ))
}

fn long_names() -> String {
    let name = |n: usize| format!("{}{n}", "n".repeat(1_000_000));
    let aliases: String = (0..10)
        .map(|n| format!("<alias name=\"{}\" path=\"0\"/>", name(n)))
        .collect();
    let bodies: String = (0..30)
        .map(|n| format!("<body node=\"{}x\" mass=\"1\"/>", name(n % 10)))
        .collect();
    let short: String = (0..20_000)
        .map(|n| format!("<body node=\"b{n}\" mass=\"1\"/>"))
        .collect();
    machine(&format!(
        "<aliases>{aliases}</aliases><bodies>{bodies}{short}</bodies>"
    ))
}

fn long_prefix() -> String {
    let prefix = "p".repeat(1_000_000);
    machine(&format!(
        "<{prefix}:bodies xmlns:{prefix}=\"urn:trunnion:machine:1\">{}</{prefix}:bodies>",
        "<x/>".repeat(20_000)
    ))
}

fn long_named_controls() -> String {
    let switch = "<switch animation=\"a\" input=\"button.raise\"/>\n";
    machine(&format!(
        "<controls>\n<switch animation=\"{}\" input=\"button.raise\"/>{}</controls>",
        "a".repeat(1_000_000),
        switch.repeat(100_000)
    ))
}

/// Their windows overlap, in a scene where they move something.
fn overlapping(name: &'static str, animations: usize, channels: usize) -> Case {
    let mut sections = String::from("<animations>");
    for animation in 0..animations {
        let _ = writeln!(sections, "<animation id=\"a{animation}\">");
        for channel in 0..channels {
            let _ = writeln!(
                sections,
                "<channel target=\"0\" property=\"translation\" begin=\"{channel}\" end=\"{}\" from=\"0 0 0\" to=\"1 0 {channel}\"/>",
                channel + 2
            );
        }
        sections.push_str("</animation>");
    }
    sections.push_str("</animations>");
    Case {
        files: vec![("s.gltf", gltf("{}", "0"))],
        ..Case::document(name, machine_with("s.gltf", &sections), MOTION)
    }
}

fn wheels(name: &'static str, count: usize) -> Case {
    let wheels: String = (0..count)
        .map(|n| format!("<wheel id=\"w{n}\" node=\"0/{n}\" radius=\"1\" width=\"1\"/>\n"))
        .collect();
    let controls = "<switch animation=\"a\" input=\"button.raise\"/>\n".repeat(count);
    let sections = format!(
        "<wheels>{wheels}</wheels><animations><animation id=\"a\"><channel target=\"0\" property=\"translation\" \
         begin=\"0\" end=\"1\" from=\"0 0 0\" to=\"1 0 0\"/></animation></animations><controls>{controls}</controls>"
    );
    Case {
        files: vec![("s.gltf", children(count))],
        ..Case::document(
            name,
            machine_with("s.gltf", &sections),
            &["wheel-left-behind"],
        )
    }
}

/// A scene of one node with so many children.
fn children(count: usize) -> Vec<u8> {
    let mut list = String::from("1");
    for child in 2..=count {
        let _ = write!(list, ",{child}");
    }
    let nodes = format!("{{\"children\":[{list}]}}{}", ",{}".repeat(count));
    gltf(&nodes, "0")
}

/// A dialect whose root may have 5,000 sorts of children.
fn many_elements(folder: &Path) {
    let mut dialect = String::from(
        "[dialect]\nname = \"heap\"\nformat = 1\n\n[[document]]\nname = \"heap\"\nroot = \"heap\"\nfiles = \"*.heap.xml\"\n\n",
    );
    let names: Vec<String> = (0..5_000).map(|n| format!("\"e{n}*\"")).collect();
    let _ = writeln!(dialect, "[element.heap]\nchildren = [{}]", names.join(", "));
    for n in 0..5_000 {
        let _ = writeln!(
            dialect,
            "[element.e{n}]\nattributes.a = {{ type = \"number\" }}"
        );
    }
    std::fs::write(folder.join("heap.dialect.toml"), dialect).unwrap();
    std::fs::write(
        folder.join("trunnion.toml"),
        "dialects = [\"heap.dialect.toml\"]",
    )
    .unwrap();
}

fn many_used() -> String {
    let used: String = (0..20_000)
        .map(|n| format!("<e{} a=\"1\"/>\n", (n * 7919) % 5_000))
        .collect();
    format!("<heap>\n{used}<unknown/>\n</heap>")
}

fn tiny_library(folder: &Path) {
    for number in 0..300 {
        let inner = folder.join(format!("library/d{number}"));
        std::fs::create_dir_all(&inner).unwrap();
        for file in 0..100 {
            let text = "<machine xmlns=\"urn:trunnion:machine:1\" id=\"m\"/>";
            std::fs::write(inner.join(format!("{file}.machine.xml")), text).unwrap();
        }
    }
    let settings = "library = [\"library\"]\ncache-folder = \"cache\"";
    std::fs::write(folder.join("trunnion.toml"), settings).unwrap();
}
