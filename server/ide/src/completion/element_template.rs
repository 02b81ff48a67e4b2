//! New elements, with places to fill in.

use crate::template::Template;
use dialect::{AttributeDecl, ChildRule, Context, Dialect, ElementDecl};
use syntax::{Style, escape};

/// How much of an element is to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// The rest of the tag is there.
    NameOnly,
    WithoutBracket,
    Whole,
}

/// Writes elements as far as they are wanted, in the document's style.
pub(super) struct Writer<'s> {
    pub(super) form: Form,
    pub(super) style: &'s Style,
    /// Before each name: `m:` or nothing.
    pub(super) prefix: &'s str,
}

/// Children that must be there are written too, down to this many levels and
/// so many of one name.
const DEEPEST: usize = 3;
const MOST_ALIKE: u32 = 3;

impl Writer<'_> {
    /// An element with all that it must have.
    pub(super) fn element(
        &self,
        dialect: &Dialect,
        context: Context,
        declared: &ElementDecl,
        namespace: Option<&str>,
    ) -> Template {
        let name = format!("{}{}", self.prefix, declared.name);
        if self.form == Form::NameOnly {
            return name.into();
        }
        let mut template = self.open(&name);
        if let Some(namespace) = namespace {
            let quote = self.style.quote;
            let namespace = escape::attribute(namespace, quote);
            template = template.text(format!(" xmlns={quote}{namespace}{quote}"));
        }
        template.then(self.after_name(dialect, context, declared, &name, 0))
    }

    /// Attributes, content and end tag.
    fn after_name(
        &self,
        dialect: &Dialect,
        context: Context,
        declared: &ElementDecl,
        name: &str,
        depth: usize,
    ) -> Template {
        let required = declared
            .attributes
            .iter()
            .filter(|attribute| attribute.required);
        let mut template = required.fold(Template::new(), |template, attribute| {
            template
                .text(" ")
                .then(attribute_template(attribute, self.style.quote))
        });
        let is_outermost = depth == 0;
        let must_have = declared.children.iter().filter(|rule| rule.min > 0);
        let children: Vec<&ChildRule> = must_have.filter(|_| depth < DEEPEST).collect();
        if !children.is_empty() {
            template = template.text(">");
            for rule in children {
                for _ in 0..rule.min.min(MOST_ALIKE) {
                    template = template.then(self.child(dialect, context, rule, depth + 1));
                }
            }
            template = template.text(format!("{}</{name}>", self.line(depth)));
        } else if let Some(text) = &declared.text {
            let usual = escape::text(text.usual.as_deref().unwrap_or_default());
            template = template.text(">").stop(usual).text(format!("</{name}>"));
        } else if declared.children.is_empty() && !declared.open {
            template = template.text(self.style.self_closing_end);
        } else if is_outermost {
            let inner = format!(">{}", self.line(depth + 1));
            let end_tag = format!("{}</{name}>", self.line(depth));
            return template.text(inner).end().text(end_tag);
        } else {
            template = template.text(format!("></{name}>"));
        }
        if is_outermost {
            template.end()
        } else {
            template
        }
    }

    fn child(
        &self,
        dialect: &Dialect,
        context: Context,
        rule: &ChildRule,
        depth: usize,
    ) -> Template {
        let name = format!("{}{}", self.prefix, rule.name);
        let open = Template::new().text(format!("{}<{name}", self.line(depth)));
        let context = dialect.child_context(context, &rule.name);
        match dialect.element(context) {
            Some(declared) => open.then(self.after_name(dialect, context, declared, &name, depth)),
            None => open.text(format!("></{name}>")),
        }
    }

    /// A line break as snippets have it: the editor writes its own, and indents
    /// all lines like the first.
    fn line(&self, depth: usize) -> String {
        format!("\n{}", self.style.indent.repeat(depth))
    }

    /// An element that no grammar knows, under its full name.
    pub(super) fn unknown(&self, name: &str) -> Template {
        match self.form {
            Form::NameOnly => name.into(),
            _ => self.open(name).text(">").end().text(format!("</{name}>")),
        }
    }

    fn open(&self, name: &str) -> Template {
        let bracket = if self.form == Form::Whole { "<" } else { "" };
        Template::new().text(format!("{bracket}{name}"))
    }
}

/// An attribute with its usual value to overwrite.
pub(super) fn attribute_template(declared: &AttributeDecl, quote: char) -> Template {
    let usual = escape::attribute(declared.usual.as_deref().unwrap_or_default(), quote);
    Template::new()
        .text(format!("{}={quote}", declared.name))
        .stop(usual)
        .text(quote)
}
