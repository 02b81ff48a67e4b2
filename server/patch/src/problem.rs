//! Why a patch is refused.

use std::fmt;

use syntax::TextRange;

/// What is wrong, in the RFC's words (section 5.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Code {
    InvalidAttributeValue,
    InvalidDiffFormat,
    InvalidEntityDeclaration,
    InvalidNamespacePrefix,
    InvalidNamespaceUri,
    InvalidNodeTypes,
    InvalidPatchDirective,
    InvalidRootElementOperation,
    InvalidWhitespaceDirective,
    UnlocatedNode,
    UnsupportedIdFunction,
}

impl Code {
    /// The name of the RFC's element for this error.
    pub fn name(self) -> &'static str {
        match self {
            Self::InvalidAttributeValue => "invalid-attribute-value",
            Self::InvalidDiffFormat => "invalid-diff-format",
            Self::InvalidEntityDeclaration => "invalid-entity-declaration",
            Self::InvalidNamespacePrefix => "invalid-namespace-prefix",
            Self::InvalidNamespaceUri => "invalid-namespace-uri",
            Self::InvalidNodeTypes => "invalid-node-types",
            Self::InvalidPatchDirective => "invalid-patch-directive",
            Self::InvalidRootElementOperation => "invalid-root-element-operation",
            Self::InvalidWhitespaceDirective => "invalid-whitespace-directive",
            Self::UnlocatedNode => "unlocated-node",
            Self::UnsupportedIdFunction => "unsupported-id-function",
        }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What is wrong with a patch, or with an operation on this document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    pub code: Code,
    /// In the patch, in bytes.
    pub range: TextRange,
    /// What is wrong and what to do.
    pub message: String,
}

/// Why nothing was changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// The document is not well-formed at this range of it, in bytes.
    Document {
        range: TextRange,
        message: String,
    },
    Patch(Problem),
}

impl From<Problem> for Refusal {
    fn from(problem: Problem) -> Self {
        Self::Patch(problem)
    }
}
