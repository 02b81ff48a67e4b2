use std::fmt;

/// Why a scene file, or a part of it, could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SceneError {
    /// What is wrong and what to do about it, in whole sentences.
    pub message: String,
    /// Where in the file, as a byte offset, if that is known.
    pub offset: Option<usize>,
}

impl SceneError {
    pub(crate) fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            offset: None,
        }
    }

    pub(crate) fn at(offset: usize, message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            offset: Some(offset),
        }
    }
}

impl fmt::Display for SceneError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.offset {
            Some(offset) => write!(f, "{} (at byte {offset})", self.message),
            None => f.write_str(&self.message),
        }
    }
}

impl std::error::Error for SceneError {}

pub(crate) fn too_many_nodes(most: usize) -> String {
    format!(
        "The scene has more than {most} nodes. Export it in smaller parts, or allow more nodes in the settings."
    )
}
