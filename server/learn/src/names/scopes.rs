//! In which parts of a library names are looked for.

/// Parts of a library, each with the documents that ask in it for names, and those whose names are there.
#[derive(Clone, Debug)]
pub(super) struct Scopes {
    /// Per document the part that it asks in.
    asks: Vec<u32>,
    /// Per document the parts that have its names, in rising order; `None` if that is the one that it asks in.
    gives: Option<Vec<Vec<u32>>>,
}

impl Scopes {
    /// Each document by itself.
    pub(super) fn documents(count: usize) -> Self {
        Self::parts((0..count as u32).collect())
    }

    /// Parts that have no documents in common. `part`: per document.
    pub(super) fn parts(part: Vec<u32>) -> Self {
        Self {
            asks: part,
            gives: None,
        }
    }

    /// Each document with those whose names it sees, itself among them.
    pub(super) fn seeing(seen: &[Vec<u32>]) -> Self {
        let mut gives = vec![Vec::new(); seen.len()];
        for (document, seen) in seen.iter().enumerate() {
            for other in seen {
                gives[*other as usize].push(document as u32);
            }
        }
        Self {
            gives: Some(gives),
            ..Self::documents(seen.len())
        }
    }

    /// The part that a document asks in.
    pub(super) fn asked(&self, document: u32) -> u32 {
        self.asks[document as usize]
    }

    /// The parts that have a document's names.
    pub(super) fn given(&self, document: u32) -> &[u32] {
        let own = std::slice::from_ref(&self.asks[document as usize]);
        self.gives
            .as_ref()
            .map_or(own, |gives| &gives[document as usize])
    }

    /// Whether parts have documents in common.
    pub(super) fn overlap(&self) -> bool {
        self.gives.is_some()
    }

    /// Whether names of other documents are looked for.
    pub(super) fn reach_out(&self) -> bool {
        let mut asks = self.asks.iter().enumerate();
        self.overlap() || asks.any(|(at, part)| at != *part as usize)
    }

    /// Whether names are looked for in all documents alike.
    pub(super) fn are_one(&self) -> bool {
        let asks = &self.asks;
        !self.overlap() && asks.len() > 1 && asks.iter().all(|part| *part == asks[0])
    }

    /// How many parts there are.
    pub(super) fn count(&self) -> u32 {
        self.asks.iter().max().map_or(0, |last| last + 1)
    }
}
