//! Evidence that is not in the place itself: in documents that are brought in, in documents of other kinds, in other
//! places with the same things, in what things stand in.

use super::{Dice, corpus, told, word, words};

/// Ships that bring in one of two lists of timber; every fourth brings in a list that is not there.
fn ships(dice: &mut Dice, folder: &str, known: bool) -> Vec<(String, String)> {
    let timber: Vec<Vec<String>> = (0..2).map(|_| words(dice, 6)).collect();
    let mut files: Vec<(String, String)> = Vec::new();
    for (at, grades) in timber.iter().enumerate().filter(|_| known) {
        let grades: Vec<String> = grades
            .iter()
            .map(|grade| format!("<grade id='{grade}' weight='{}'/>", dice.below(900)))
            .collect();
        let text = format!("<stock>{}</stock>", grades.concat());
        files.push((format!("yard/common/timber{at}.xml"), text));
    }
    for number in 0..16 {
        let (at, own) = (dice.below(2), words(dice, 3));
        let list = if number % 4 == 3 {
            "away".to_owned()
        } else {
            at.to_string()
        };
        let mut text = format!("<stock><bring file='{folder}timber{list}.xml'/>");
        // Some have grades of their own.
        let mut grades = timber[at].clone();
        if number % 4 == 0 {
            grades = words(dice, 3);
            for grade in &grades {
                text += &format!("<grade id='{grade}' weight='{}'/>", dice.below(900));
            }
        }
        for plank in own {
            text += &format!(
                "<plank name='{plank}' grade='{}' length='{}'/>",
                dice.one(&grades),
                dice.below(9)
            );
        }
        files.push((format!("yard/ships/{number}/ship.xml"), text + "</stock>"));
    }
    files
}

#[test]
fn what_a_document_brings_in_gives_names() {
    let mut dice = Dice(21);
    let files = ships(&mut dice, "../../common/", true);
    let (kinds, references) = told(&corpus(files.into_iter()));
    assert_eq!(kinds, ["grade in a folder: stock/grade@id"]);
    assert_eq!(references, ["stock/plank@grade -> grade"]);
}

#[test]
fn a_document_that_names_all_others_brings_in_none_of_them() {
    let mut dice = Dice(22);
    let mut files = Vec::new();
    let mut list = String::from("<fleet>");
    for number in 0..80 {
        let own = words(&mut dice, 3);
        let crew = own
            .iter()
            .map(|one| format!("<hand id='{one}' age='{}'/>", dice.below(60)));
        let crew: String = crew.collect();
        files.push((
            format!("fleet/{number}.xml"),
            format!("<ship>{crew}</ship>"),
        ));
        list += &format!("<ship file='{number}.xml' call='{}'/>", own[0]);
    }
    files.push(("fleet/all.xml".to_owned(), list + "</fleet>"));
    // One list shows nothing, as before: there is nothing to compare it with.
    let (_, references) = told(&corpus(files.into_iter()));
    assert_eq!(references, [""; 0]);
}

#[test]
fn places_of_one_attribute_are_judged_together_in_documents_of_all_kinds() {
    let mut dice = Dice(23);
    let documents = (0..30).map(|number| {
        let (root, own) = (format!("{}{number}", word(&mut dice)), words(&mut dice, 4));
        let mut text = format!("<{root}>");
        for one in &own {
            text += &format!("<{root}-peg id='{one}' size='{}'/>", dice.below(9));
        }
        for _ in 0..4 {
            let (one, force) = (dice.one(&own).to_owned(), dice.below(90));
            text += &format!("<{root}-line peg='{one}' force='{force}'/>");
        }
        (format!("{number}.xml"), text + &format!("</{root}>"))
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!((kinds.len(), references.len()), (30, 30), "{references:?}");
}

#[test]
fn few_documents_refer_to_a_library_by_attributes_called_after_its_things() {
    let mut dice = Dice(24);
    let goods = words(&mut dice, 30);
    let list = goods
        .iter()
        .map(|one| format!("<good id='{one}' price='{}'/>", dice.below(99)));
    let list = format!("<goods>{}</goods>", list.collect::<String>());
    let towns = words(&mut dice, 15);
    let list_of_towns = towns.iter().map(|town| {
        let (sells, mood) = (dice.one(&goods).to_owned(), word(&mut dice));
        format!("<town id='{town}'><sells good='{sells}' mood='{mood}'/></town>")
    });
    let list_of_towns = format!("<towns>{}</towns>", list_of_towns.collect::<String>());
    let files = [("goods.xml", list), ("towns.xml", list_of_towns)];
    let files = files
        .into_iter()
        .map(|(name, text)| (name.to_owned(), text));
    let (_, references) = told(&corpus(files));
    assert_eq!(references, ["towns/town/sells@good -> good"]);
}

#[test]
fn positions_at_several_places_show_together_what_none_shows_alone() {
    let mut dice = Dice(25);
    let mut mesh = |number: usize, count: usize| {
        let mut text = String::from("<mesh>");
        for _ in 0..count {
            text += &format!("<knot x='0.{}' y='0.{}'/>", dice.below(99), dice.below(99));
        }
        for _ in 0..3 {
            let (a, b, width) = (dice.below(count), dice.below(count), 1 + dice.below(4));
            text += &format!("<rope a='{a}' b='{b}' width='{width}'/>");
        }
        let [a, b, c] = [(); 3].map(|()| dice.below(count));
        text += &format!("<sheet round='{a},{b},{c}'/>");
        (format!("{number}.xml"), text + "</mesh>")
    };
    let sizes = (0..40).map(|number| 2 + number * 7 % 8);
    let documents: Vec<_> = sizes
        .enumerate()
        .map(|(at, count)| mesh(at, count))
        .collect();
    let (_, references) = told(&corpus(documents.into_iter()));
    assert_eq!(
        references,
        [
            "mesh/rope@a -> knot by position from 0",
            "mesh/rope@b -> knot by position from 0",
            "mesh/sheet@round -> knot list \",\" by position from 0"
        ]
    );
}

#[test]
fn words_in_a_text_are_no_names() {
    let mut dice = Dice(26);
    let documents = (0..20).map(|number| {
        let mut text = String::from("<manual>");
        for _ in 0..6 {
            let [one, two, three] = [(); 3].map(|()| word(&mut dice));
            text += &format!("<line>{one} {two} <strong>{three}</strong> {one}.</line>");
        }
        (format!("{number}.xml"), text + "</manual>")
    });
    let (kinds, references) = told(&corpus(documents));
    assert_eq!((kinds.len(), references.len()), (0, 0), "{kinds:?}");
}
