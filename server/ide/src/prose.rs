//! Text for people with as much structure as a hover needs. It is rendered at
//! the rim: as Markdown, or as plain text where the client knows no better.

/// A few paragraphs and bullet points.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Prose {
    blocks: Vec<Block>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Block {
    Paragraph(Line),
    Item(Line),
}

/// One line of prose.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Line {
    spans: Vec<Span>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Span {
    /// Shown as it is, whatever characters are in it.
    Text(String),
    Strong(String),
    /// Something as it stands in a document.
    Code(String),
    /// Written by the author of a dialect, who may use Markdown.
    Doc(String),
}

impl Prose {
    pub fn new() -> Self {
        Self::default()
    }

    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    /// Adds a paragraph; none if the line is empty.
    #[must_use]
    pub(crate) fn paragraph(mut self, line: Line) -> Self {
        self.add(Block::Paragraph(line));
        self
    }

    /// Adds a bullet point; none if the line is empty.
    #[must_use]
    pub fn item(mut self, line: Line) -> Self {
        self.add(Block::Item(line));
        self
    }

    /// A paragraph out of a dialect file; nothing if it is blank.
    #[must_use]
    pub fn doc(self, doc: &str) -> Self {
        self.paragraph(Line::new().doc(doc))
    }

    /// Adds the paragraphs and points of another text.
    #[must_use]
    pub fn then(mut self, other: Self) -> Self {
        self.blocks.extend(other.blocks);
        self
    }

    fn add(&mut self, block: Block) {
        let (Block::Paragraph(line) | Block::Item(line)) = &block;
        if !line.is_empty() {
            self.blocks.push(block);
        }
    }

    /// Markdown, in which nothing but what a dialect says is taken for markup.
    pub fn markdown(&self) -> String {
        self.render("- ", Span::markdown)
    }

    /// Without any markup.
    pub fn plain(&self) -> String {
        self.render("• ", Span::plain)
    }

    fn render(&self, bullet: &str, span: impl Fn(&Span) -> String) -> String {
        let mut text = String::new();
        let mut after_item = false;
        for block in &self.blocks {
            let (line, is_item) = match block {
                Block::Paragraph(line) => (line, false),
                Block::Item(line) => (line, true),
            };
            if !text.is_empty() {
                text.push_str(if is_item && after_item { "\n" } else { "\n\n" });
            }
            if is_item {
                text.push_str(bullet);
            }
            text.extend(line.spans.iter().map(&span));
            after_item = is_item;
        }
        text
    }
}

impl Line {
    pub fn new() -> Self {
        Self::default()
    }

    pub fn is_empty(&self) -> bool {
        self.spans.is_empty()
    }

    /// Adds text that is shown as it is, whatever characters are in it.
    #[must_use]
    pub fn text(self, text: impl Into<String>) -> Self {
        self.add(Span::Text(text.into()))
    }

    #[must_use]
    pub fn strong(self, text: impl Into<String>) -> Self {
        self.add(Span::Strong(text.into()))
    }

    /// Adds something as it stands in a document.
    #[must_use]
    pub fn code(self, text: impl Into<String>) -> Self {
        self.add(Span::Code(text.into()))
    }

    /// Adds what the author of a dialect wrote, who may use Markdown.
    #[must_use]
    pub fn doc(self, text: &str) -> Self {
        self.add(Span::Doc(text.trim().to_owned()))
    }

    #[must_use]
    pub fn then(mut self, other: Self) -> Self {
        self.spans.extend(other.spans);
        self
    }

    /// Several lines as one, with commas between them.
    #[must_use]
    pub fn list(mut self, lines: impl IntoIterator<Item = Self>) -> Self {
        for (at, line) in lines.into_iter().enumerate() {
            if at > 0 {
                self = self.text(", ");
            }
            self = self.then(line);
        }
        self
    }

    fn add(mut self, span: Span) -> Self {
        let (Span::Text(text) | Span::Strong(text) | Span::Code(text) | Span::Doc(text)) = &span;
        if !text.is_empty() {
            self.spans.push(span);
        }
        self
    }
}

impl Span {
    fn markdown(&self) -> String {
        match self {
            Self::Text(text) => escaped(text),
            Self::Strong(text) => format!("**{}**", escaped(text)),
            Self::Code(text) => code_span(text),
            Self::Doc(text) => text.clone(),
        }
    }

    fn plain(&self) -> String {
        match self {
            Self::Text(text) | Self::Strong(text) | Self::Code(text) => text.clone(),
            Self::Doc(text) => text.replace('`', ""),
        }
    }
}

/// Backslashes before what Markdown would take for markup (CommonMark 0.31, 2.4).
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        if matches!(
            character,
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '&' | '|' | '~'
        ) {
            escaped.push('\\');
        }
        escaped.push(character);
    }
    escaped
}

/// A code span holds any text if its fences are longer than each run of
/// backticks in it (CommonMark 0.31, 6.1).
fn code_span(text: &str) -> String {
    let longest_run = text
        .split(|character| character != '`')
        .map(str::len)
        .max()
        .unwrap_or(0);
    let fence = "`".repeat(longest_run + 1);
    let pad = if text.starts_with('`') || text.ends_with('`') {
        " "
    } else {
        ""
    };
    let text = text.replace(['\n', '\r'], " ");
    format!("{fence}{pad}{text}{pad}{fence}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Prose {
        Prose::new()
            .paragraph(Line::new().strong("alias").text(" ").code("a`b"))
            .doc("Names a `node`.")
            .item(Line::new().text("2 * 3"))
            .item(Line::new().list(["x", "y"].map(|name| Line::new().code(name))))
            .doc("")
    }

    #[test]
    fn as_markdown() {
        assert_eq!(
            sample().markdown(),
            "**alias** ``a`b``\n\nNames a `node`.\n\n- 2 \\* 3\n- `x`, `y`"
        );
    }

    #[test]
    fn as_plain_text() {
        assert_eq!(
            sample().plain(),
            "alias a`b\n\nNames a node.\n\n• 2 * 3\n• x, y"
        );
    }

    #[test]
    fn a_code_span_of_backticks_is_padded() {
        assert_eq!(code_span("`"), "`` ` ``");
    }
}
