//! From texts to a dialect.

use dialect::Dialect;
use learn::names::{self, Names};
use learn::{Corpus, Settings, Source, Structure, Surroundings, Survey, write};

/// The dialect file that is learnt from texts.
pub(crate) fn learnt(texts: &[String]) -> Dialect {
    let mut corpus = Corpus::default();
    for (at, text) in texts.iter().enumerate() {
        let source = Source {
            file: format!("lib/{at}.xml").into(),
            member: None,
        };
        assert!(corpus.add(source, text), "{text}");
    }
    learnt_from(&corpus, &Surroundings::default())
}

pub(crate) fn learnt_from(corpus: &Corpus, around: &Surroundings) -> Dialect {
    let survey = Survey::of(corpus);
    let names: Names = names::infer(&survey, &names::Settings::default());
    let structure = Structure::of(&survey, &names, around, &Settings::default());
    let head = write::Head {
        name: "test".into(),
        roots: vec!["lib".into()],
    };
    let file = write::draft(&structure, corpus, &head).write();
    Dialect::read(&file, None).unwrap_or_else(|problems| panic!("{problems:#?}\n{file}"))
}
