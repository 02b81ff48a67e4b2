//! From texts to a dialect.

use dialect::Dialect;
use learn::report::Report;
use learn::{Corpus, Settings, Source, Structure, Surroundings, Survey, names, write};

/// A file of its own on the disk.
pub(crate) fn source(file: String) -> Source {
    Source {
        file: file.into(),
        member: None,
    }
}

/// A library of these texts, in files that are called by numbers.
pub(crate) fn corpus(texts: impl IntoIterator<Item = String>) -> Corpus {
    let mut corpus = Corpus::default();
    for (at, text) in texts.into_iter().enumerate() {
        assert!(corpus.add(source(format!("lib/{at}.xml")), &text), "{text}");
    }
    corpus
}

/// The dialect that is learnt from texts.
pub(crate) fn learnt(texts: &[String]) -> Dialect {
    learnt_from(&corpus(texts.iter().cloned()), &Surroundings::default())
}

pub(crate) fn learnt_from(corpus: &Corpus, around: &Surroundings) -> Dialect {
    let file = learnt_file(corpus, around);
    Dialect::read(&file, None).unwrap_or_else(|problems| panic!("{problems:#?}\n{file}"))
}

/// The dialect file.
pub(crate) fn learnt_file(corpus: &Corpus, around: &Surroundings) -> String {
    let survey = Survey::of(corpus);
    let names = names::infer(&survey);
    let structure = Structure::of(&survey, &names, around, &Settings::default());
    let head = write::Head {
        name: "test".into(),
        roots: vec!["lib".into()],
    };
    write::draft(&structure, corpus, &head).write()
}

/// The report on what is learnt, for other programs.
pub(crate) fn reported(corpus: &Corpus) -> Report {
    let survey = Survey::of(corpus);
    let names = names::infer(&survey);
    let around = Surroundings::default();
    let structure = Structure::of(&survey, &names, &around, &Settings::default());
    Report::of(&survey, &names, &structure)
}
