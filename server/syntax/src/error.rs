//! What can be wrong with a document as XML, with a code, a place, a message and often a repair.

use std::fmt;

use rowan::{TextRange, TextSize};

use crate::TextEdit;

macro_rules! form_codes {
    ($($(#[$doc:meta])* $variant:ident = $word:literal,)*) => {
        /// The codes of the form errors.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum FormCode { $($(#[$doc])* $variant,)* }

        impl FormCode {
            pub const ALL: &'static [FormCode] = &[$(FormCode::$variant,)*];

            /// The code as a word, as users meet it.
            pub fn as_str(self) -> &'static str {
                match self { $(FormCode::$variant => $word,)* }
            }
        }
    };
}

form_codes! {
    /// An element has no end tag.
    UnclosedElement = "unclosed-element",
    /// An end tag closes nothing.
    StrayEndTag = "stray-end-tag",
    /// An end tag bears another name than the element it closes.
    MismatchedEndTag = "mismatched-end-tag",
    /// A tag has no `>`, or a `<` no name.
    UnclosedTag = "unclosed-tag",
    /// An attribute lacks its name, its value or a quote.
    UnfinishedAttribute = "unfinished-attribute",
    /// Two attributes of one element have the same name.
    DuplicateAttribute = "duplicate-attribute",
    /// Two attributes, or two parts of a declaration, are not set apart by white space.
    MissingSpace = "missing-space",
    /// Something in a tag is neither attribute nor white space.
    StrayCharacters = "stray-characters",
    /// An `&` does not start a reference, or the reference leads nowhere.
    BadReference = "bad-reference",
    /// A character may not stand where it stands.
    BadCharacter = "bad-character",
    /// A name is not one.
    BadName = "bad-name",
    /// A comment holds `--`.
    BadComment = "bad-comment",
    /// A comment is not closed.
    UnclosedComment = "unclosed-comment",
    /// A CDATA section is not closed or stands outside the root element.
    BadCdata = "bad-cdata",
    /// A processing instruction is not closed or has no proper target.
    BadInstruction = "bad-instruction",
    /// The XML declaration is not as it must be, or a declaration stands where none may.
    BadDeclaration = "bad-declaration",
    /// The XML declaration is not at the very start.
    LateDeclaration = "late-declaration",
    /// The DOCTYPE declaration is not as it must be, or not where it must be.
    BadDoctype = "bad-doctype",
    /// An entity is declared in terms of itself, or its text is not well-formed.
    BadEntity = "bad-entity",
    /// There is no element.
    MissingRoot = "missing-root",
    /// There is more than one element at the top.
    ExtraRoot = "extra-root",
    /// There is text outside the root element.
    ExtraText = "extra-text",
    /// A prefix is not declared.
    UnboundPrefix = "unbound-prefix",
    /// A namespace is declared that may not be, or a colon stands where none may.
    BadNamespace = "bad-namespace",
    /// Elements are nested so deeply that the rest is only checked, not understood.
    TooDeep = "too-deep",
    /// A tag has so many attributes that the rest is passed over.
    TooManyAttributes = "too-many-attributes",
    /// There are more form errors than are kept.
    TooManyErrors = "too-many-errors",
}

impl fmt::Display for FormCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// One thing that is wrong with a document as XML.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormError {
    pub code: FormCode,
    /// Where a person would look. Empty only at the end of a document without an element.
    pub range: TextRange,
    /// What is wrong and what to do.
    pub message: String,
    pub fix: Option<Fix>,
    /// Another place that has to do with it, and what it is.
    pub related: Option<(TextRange, String)>,
}

/// A repair of a form error.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    pub title: String,
    pub edits: Vec<TextEdit>,
}

impl FormError {
    /// Whether it says nothing of what is around it: an XML declaration in the wrong place.
    pub(crate) fn is_about_itself(&self) -> bool {
        self.code == FormCode::LateDeclaration
    }

    pub(crate) fn new(code: FormCode, range: TextRange, message: impl Into<String>) -> Self {
        Self {
            code,
            range,
            message: message.into(),
            fix: None,
            related: None,
        }
    }

    /// What errors are sorted by.
    pub(crate) fn order(&self) -> (TextSize, TextSize, FormCode) {
        (self.range.start(), self.range.end(), self.code)
    }

    pub(crate) fn with_fix(mut self, title: impl Into<String>, edits: Vec<TextEdit>) -> Self {
        self.fix = Some(Fix {
            title: title.into(),
            edits,
        });
        self
    }

    pub(crate) fn with_related(mut self, range: TextRange, what: impl Into<String>) -> Self {
        self.related = Some((range, what.into()));
        self
    }
}
