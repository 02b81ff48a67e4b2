//! A corpus as bytes, to be kept on disk.

use crate::corpus::{Corpus, Document};
use crate::symbols::{Symbol, Symbols};
use serde::{Deserialize, Serialize};

/// Changes whenever the bytes, or what a corpus takes out of a document, change.
pub const FORMAT: u32 = 1;

#[derive(Serialize)]
struct Written<'c> {
    texts: Vec<&'c str>,
    documents: &'c [Document],
}

#[derive(Deserialize)]
struct Read<'b> {
    #[serde(borrow)]
    texts: Vec<&'b str>,
    documents: Vec<Document>,
}

impl Corpus {
    /// # Errors
    /// A document's path is no Unicode text.
    pub fn to_bytes(&self) -> Result<Vec<u8>, String> {
        let written = Written {
            texts: self.symbols.texts().collect(),
            documents: &self.documents,
        };
        postcard::to_stdvec(&written).map_err(|error| error.to_string())
    }

    /// None: these bytes are no corpus, or not a sound one.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let read: Read<'_> = postcard::from_bytes(bytes).ok()?;
        let mut symbols = Symbols::default();
        for text in &read.texts {
            symbols.add(text);
        }
        let all_different = symbols.len() == read.texts.len();
        let corpus = Self {
            symbols,
            documents: read.documents,
            ..Self::default()
        };
        let sound = |document: &Document| document.is_sound(corpus.symbols.len());
        (all_different && corpus.documents.iter().all(sound)).then_some(corpus)
    }

    /// The same documents with no texts but their own, and those values left out (they become
    /// [`Corpus::LEFT_OUT`]) that are not to be kept.
    pub fn trimmed(self, keep: impl Fn(&str) -> bool) -> Self {
        let mut symbols = Symbols::default();
        let mut now: Vec<Option<Symbol>> = vec![None; self.symbols.len()];
        let mut name = |symbol: Symbol, symbols: &mut Symbols| {
            *now[symbol.index()].get_or_insert_with(|| symbols.add(self.symbols.text(symbol)))
        };
        let mut documents = self.documents;
        for document in &mut documents {
            let mut value = |symbol: Symbol, symbols: &mut Symbols| match symbol == Symbol::EMPTY
                || keep(self.symbols.text(symbol))
            {
                true => name(symbol, symbols),
                false => symbols.add(Self::LEFT_OUT),
            };
            for attribute in &mut document.attributes {
                attribute.value = value(attribute.value, &mut symbols);
            }
            for element in &mut document.elements {
                element.text = value(element.text, &mut symbols);
            }
            for attribute in &mut document.attributes {
                attribute.name = name(attribute.name, &mut symbols);
            }
            for element in &mut document.elements {
                element.name = name(element.name, &mut symbols);
                element.namespace = name(element.namespace, &mut symbols);
            }
        }
        Self {
            symbols,
            documents,
            ..Self::default()
        }
    }

    /// The documents that are wanted, by namespace and local name of their root elements, with no
    /// texts but their own.
    pub fn only(mut self, wanted: impl Fn(&str, &str) -> bool) -> Self {
        let symbols = &self.symbols;
        self.documents.retain(|document| {
            let root = document.elements.first();
            root.is_some_and(|root| wanted(symbols.text(root.namespace), symbols.text(root.name)))
        });
        self.trimmed(|_| true)
    }

    /// Stands for a value that was not worth keeping.
    pub const LEFT_OUT: &str = "…";
}

impl Document {
    /// Leaves out all but the first `most` elements.
    pub fn cut(&mut self, most: usize) {
        self.elements.truncate(most);
        let attributes = self.elements.last().map_or(0, |last| last.attributes.end);
        self.attributes.truncate(attributes as usize);
        self.elements.shrink_to_fit();
        self.attributes.shrink_to_fit();
    }

    /// Whether its indices lead somewhere: what comes from a disk is not trusted.
    fn is_sound(&self, symbols: usize) -> bool {
        let known = |symbol: Symbol| symbol.index() < symbols;
        let attributes = self.attributes.len() as u32;
        let mut elements = self.elements.iter().enumerate();
        !self.elements.is_empty()
            && elements.all(|(at, element)| {
                let parent = match element.parent {
                    Some(parent) => (parent as usize) < at,
                    None => at == 0,
                };
                parent
                    && known(element.name)
                    && known(element.namespace)
                    && known(element.text)
                    && element.attributes.start <= element.attributes.end
                    && element.attributes.end <= attributes
            })
            && self
                .attributes
                .iter()
                .all(|attribute| known(attribute.name) && known(attribute.value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::corpus::Source;

    fn corpus() -> Corpus {
        let mut corpus = Corpus::default();
        for (name, text) in [
            ("a.xml", "<raft><log n='a'>wet</log><log n='b'/></raft>"),
            ("b.zip", "<pier xmlns='urn:p'><log n='a'/></pier>"),
        ] {
            let member = name.ends_with("zip").then(|| "in/b.xml".to_owned());
            let file = name.into();
            assert!(corpus.add(Source { file, member }, text));
        }
        corpus
    }

    fn shown(corpus: &Corpus) -> Vec<String> {
        let documents = corpus.documents.iter().map(|document| {
            let elements = document.elements.iter().map(|element| {
                let attributes = document.attributes_of(element).iter();
                let attributes: Vec<_> = attributes
                    .map(|a| (corpus.text(a.name), corpus.text(a.value)))
                    .collect();
                let (name, text) = (corpus.text(element.name), corpus.text(element.text));
                format!("{name} {attributes:?} {text}")
            });
            format!("{:?} {:?}", document.source, elements.collect::<Vec<_>>())
        });
        documents.collect()
    }

    #[test]
    fn what_is_written_is_read_again() {
        let corpus = corpus();
        let read = Corpus::from_bytes(&corpus.to_bytes().unwrap()).unwrap();
        assert_eq!(shown(&read), shown(&corpus));
    }

    #[test]
    fn damaged_bytes_are_never_a_corpus_that_leads_astray() {
        let bytes = corpus().to_bytes().unwrap();
        for cut in 0..bytes.len() {
            assert!(Corpus::from_bytes(&bytes[..cut]).is_none(), "{cut}");
        }
        for at in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[at] ^= 0x55;
            // It may be another corpus, but never one that cannot be shown.
            if let Some(corpus) = Corpus::from_bytes(&damaged) {
                shown(&corpus);
            }
        }
    }

    #[test]
    fn documents_can_be_left_out_or_cut() {
        let mut cut = corpus().only(|namespace, root| (namespace, root) == ("", "raft"));
        assert_eq!(cut.symbols.find("pier"), None);
        cut.documents[0].cut(2);
        let [one] = &shown(&cut)[..] else { panic!() };
        assert!(one.contains("wet") && !one.contains("\"b\\\""), "{one}");
        assert!(cut.documents[0].is_sound(cut.symbols.len()));
        assert!(Corpus::from_bytes(&cut.to_bytes().unwrap()).is_some());
    }

    #[test]
    fn what_is_not_kept_leaves_its_place() {
        let mut corpus = corpus();
        corpus.documents.remove(1);
        let trimmed = corpus.trimmed(|value| value != "wet");
        assert_eq!(trimmed.symbols.find("pier"), None);
        let [one] = &shown(&trimmed)[..] else {
            panic!()
        };
        assert!(one.contains('…') && !one.contains("wet"), "{one}");
    }
}
