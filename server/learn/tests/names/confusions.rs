//! What may be taken for a name or a reference and is none, and references that show little of themselves.

use super::{Dice, corpus, told, words};

/// What was found in documents of these texts, which all lie in one folder.
fn found(texts: impl Iterator<Item = String>) -> (Vec<String>, Vec<String>) {
    let files = texts.enumerate();
    told(&corpus(
        files.map(|(at, text)| (format!("yard/{at}.xml"), text)),
    ))
}

#[test]
fn things_are_named_after_what_they_refer_to() {
    let mut dice = Dice(11);
    let texts = (0..30).map(|_| {
        let names = words(&mut dice, 7);
        let skins = names
            .iter()
            .map(|name| format!("<skin name='{name}' file='{name}.obj'/>"));
        let mut text = format!("<rig><skins>{}</skins>", skins.collect::<String>());
        for (at, name) in names.iter().enumerate() {
            // Most plates have the name of their skin, some have none.
            let own = if at % 4 == 3 {
                String::new()
            } else {
                format!(" name='{name}'")
            };
            let (mass, level, turn) = (1 + dice.below(9), dice.below(30), dice.below(90));
            text += &format!(
                "<plate{own} skin='{name}' mass='{mass}.5' level='{level}' turn='{turn}'/>"
            );
        }
        text + "</rig>"
    });
    let (kinds, references) = found(texts);
    assert_eq!(references, ["rig/plate@skin -> skin"]);
    assert!(
        kinds.contains(&"skin: rig/skins/skin@name".to_owned()),
        "{kinds:?}"
    );
}

#[test]
fn a_label_equal_to_the_own_name_is_no_reference() {
    let mut dice = Dice(12);
    let texts = (0..30).map(|_| {
        let names = words(&mut dice, 12);
        let (forms, names) = names.split_at(6);
        let mut text = "<rig>".to_owned();
        for (form, name) in forms.iter().zip(names) {
            let on = dice.one(forms);
            text += &format!("<form name='{form}' size='{}'/>", dice.below(50));
            text += &format!(
                "<part name='{name}' label='{name}' form='{on}' size='{}'/>",
                dice.below(50)
            );
        }
        text + "</rig>"
    });
    let (_, references) = found(texts);
    assert!(
        references.contains(&"rig/part@form -> form".to_owned()),
        "{references:?}"
    );
    assert!(
        !references.iter().any(|one| one.contains("label")),
        "{references:?}"
    );
}

#[test]
fn what_an_attribute_refers_to_elsewhere_is_no_name_here() {
    let mut dice = Dice(13);
    let texts = (0..40).map(|_| {
        let styles = words(&mut dice, 4);
        let mut text = "<rig>".to_owned();
        for style in &styles {
            text += &format!("<preset style='{style}' mass='{}'/>", dice.below(40));
        }
        for _ in 0..6 {
            text += &format!("<bar style='{}'/>", dice.one(&styles));
        }
        // Once in each, so that it is different in each document.
        text + &format!("<cab><roof style='{}'/></cab></rig>", dice.one(&styles))
    });
    let (kinds, references) = found(texts);
    assert_eq!(kinds, ["preset: rig/preset@style"]);
    assert!(
        references.contains(&"rig/bar@style -> preset".to_owned()),
        "{references:?}"
    );
}

#[test]
fn times_and_pointers_and_what_one_file_says_are_no_names() {
    let mut dice = Dice(14);
    let texts = (0..20).map(|number| {
        let mut text = "<log>".to_owned();
        for at in 0..6 {
            let (day, minute) = (10 + dice.below(18), 10 + dice.below(49));
            text += &format!(
                "<entry at='2014-09-{day}T1{at}:{minute}:05Z' to='#{}'/>",
                words(&mut dice, 1)[0]
            );
        }
        if number == 0 {
            let people = words(&mut dice, 16);
            text.extend(people.iter().map(|one| format!("<hand call='{one}'/>")));
        }
        text + "</log>"
    });
    let (kinds, references) = found(texts);
    assert!(
        kinds.is_empty() && references.is_empty(),
        "{kinds:?} {references:?}"
    );
}

#[test]
fn machines_with_the_same_few_names_refer_by_what_they_are_called() {
    let mut dice = Dice(15);
    let names = ["raise", "lower", "tilt"];
    let texts = (0..25).map(|_| {
        let mut text = "<rig>".to_owned();
        for name in names {
            text += &format!("<motion name='{name}' time='{}'/>", 1 + dice.below(9));
        }
        for name in names {
            text += &format!("<lever motion='{name}' rate='{}'/>", 1 + dice.below(9));
        }
        text + "</rig>"
    });
    let (kinds, references) = found(texts);
    assert_eq!(kinds, ["motion: rig/motion@name"]);
    assert_eq!(references, ["rig/lever@motion -> motion"]);
}

#[test]
fn words_shared_by_chance_are_no_references() {
    let mut dice = Dice(16);
    let words = ["raise", "lower", "tilt"];
    let texts = (0..25).map(|_| {
        let mut text = "<rig>".to_owned();
        for word in words {
            text += &format!("<motion name='{word}' time='{}'/>", 1 + dice.below(9));
        }
        for _ in 0..3 {
            text += &format!(
                "<lamp glyph='{}' rate='{}'/>",
                words[dice.below(3)],
                1 + dice.below(9)
            );
        }
        text + "</rig>"
    });
    let (_, references) = found(texts);
    assert!(references.is_empty(), "{references:?}");
}

#[test]
fn files_of_one_folder_refer_to_each_other() {
    let mut dice = Dice(17);
    let names: Vec<String> = words(&mut dice, 40)
        .iter()
        .enumerate()
        .map(|(at, word)| format!("{word}-{at}"))
        .collect();
    let texts = names.clone().into_iter().map(|name| {
        let hooks = (0..dice.below(3)).map(|_| format!("<fits machine='{}'/>", dice.one(&names)));
        let hooks = hooks.collect::<String>();
        format!(
            "<machine id='{name}' mass='{}'>{hooks}</machine>",
            dice.below(90)
        )
    });
    let (kinds, references) = found(texts);
    assert_eq!(kinds, ["machine in a folder: machine@id"]);
    assert_eq!(references, ["machine/fits@machine -> machine"]);
}

#[test]
fn times_that_rise_are_no_names_though_a_length_is_the_last_of_them() {
    let texts = (0..16).map(|at| {
        let last = 4000 + at % 3 * 500;
        let part = |times: &[usize]| {
            let beats = times.iter().map(|time| format!("<beat at='{time}'/>"));
            format!("<part>{}</part>", beats.collect::<String>())
        };
        let parts = [
            part(&[0, 2000, last]),
            part(&[500, 2500]),
            part(&[500, 2500]),
        ];
        format!("<rig><dance span='{last}'>{}</dance></rig>", parts.concat())
    });
    let (kinds, references) = found(texts);
    assert!(
        kinds.is_empty() && references.is_empty(),
        "{kinds:?} {references:?}"
    );
}
