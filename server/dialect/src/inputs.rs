use crate::value_type::WordList;

/// How a control takes the player's hand.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum ControlKind {
    /// Follows an axis: any position between the ends.
    Analog,
    /// Follows a button: plays to one end or the other.
    Digital,
}

impl ControlKind {
    /// The word for it in dialect files.
    pub fn as_str(self) -> &'static str {
        match self {
            ControlKind::Analog => "analog",
            ControlKind::Digital => "digital",
        }
    }
}

/// The named axes and buttons of the game.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Inputs {
    /// Axes.
    pub analog: WordList,
    /// Buttons.
    pub digital: WordList,
}

impl Inputs {
    /// The inputs for one kind of control.
    pub fn of(&self, kind: ControlKind) -> &WordList {
        match kind {
            ControlKind::Analog => &self.analog,
            ControlKind::Digital => &self.digital,
        }
    }

    /// The kind of an input; `None` if the dialect does not know it. An input that is
    /// listed as both is analog.
    pub fn kind_of(&self, input: &str) -> Option<ControlKind> {
        [ControlKind::Analog, ControlKind::Digital]
            .into_iter()
            .find(|kind| self.of(*kind).get(input).is_some())
    }

    /// Whether the dialect lists no inputs: then any word may stand.
    pub fn is_empty(&self) -> bool {
        self.analog.words.is_empty() && self.digital.words.is_empty()
    }
}
