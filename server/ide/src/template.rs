//! Text to insert, with places for a person to fill in.

/// What to insert. The rim writes it in the way the client can take.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Template {
    pub pieces: Vec<Piece>,
}

/// A part of a [`Template`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    Text(String),
    /// A place to fill in, visited in order, with what stands there at first.
    Stop(String),
    /// Where the caret goes in the end.
    End,
}

impl Template {
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds text that stays as it is.
    #[must_use]
    pub fn text(mut self, text: impl Into<String>) -> Self {
        self.pieces.push(Piece::Text(text.into()));
        self
    }

    /// Adds a place to fill in, with what stands there at first.
    #[must_use]
    pub fn stop(mut self, filled: impl Into<String>) -> Self {
        self.pieces.push(Piece::Stop(filled.into()));
        self
    }

    /// The caret goes here in the end.
    #[must_use]
    pub fn end(mut self) -> Self {
        self.pieces.push(Piece::End);
        self
    }

    /// Adds another template behind this one.
    #[must_use]
    pub fn then(mut self, other: Self) -> Self {
        self.pieces.extend(other.pieces);
        self
    }

    /// Whether there is anything to fill in or to go to.
    pub fn has_places(&self) -> bool {
        self.pieces
            .iter()
            .any(|piece| !matches!(piece, Piece::Text(_)))
    }

    /// The text as it stands at first.
    pub fn plain(&self) -> String {
        self.pieces
            .iter()
            .map(|piece| match piece {
                Piece::Text(text) | Piece::Stop(text) => text.as_str(),
                Piece::End => "",
            })
            .collect()
    }
}

impl From<String> for Template {
    fn from(text: String) -> Self {
        Self::new().text(text)
    }
}

impl From<&str> for Template {
    fn from(text: &str) -> Self {
        Self::new().text(text)
    }
}
