//! A small writer of SVG elements: names and keys are ours, values are escaped.

use std::fmt::{self, Display, Formatter, Write as _};

/// An element with its attributes and what it holds.
#[derive(Debug, Clone)]
pub(crate) struct El {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    inside: Inside,
}

#[derive(Debug, Clone)]
enum Inside {
    Nothing,
    Text(String),
    Elements(Vec<El>),
}

impl El {
    pub(crate) fn new(name: &'static str) -> Self {
        Self {
            name,
            attributes: Vec::new(),
            inside: Inside::Nothing,
        }
    }

    pub(crate) fn attr(mut self, key: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((key, value.into()));
        self
    }

    pub(crate) fn class(self, class: &str) -> Self {
        self.attr("class", class)
    }

    /// Holds `text` and nothing else.
    pub(crate) fn text(mut self, text: impl Into<String>) -> Self {
        self.inside = Inside::Text(text.into());
        self
    }

    /// Holds these elements and nothing else.
    pub(crate) fn holding(mut self, elements: Vec<Self>) -> Self {
        self.inside = Inside::Elements(elements);
        self
    }
}

impl Display for El {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "<{}", self.name)?;
        for (key, value) in &self.attributes {
            write!(f, " {key}=\"")?;
            escape(f, value)?;
            f.write_char('"')?;
        }
        match &self.inside {
            Inside::Nothing => f.write_str("/>"),
            Inside::Text(text) => {
                f.write_char('>')?;
                escape(f, text)?;
                write!(f, "</{}>", self.name)
            }
            Inside::Elements(elements) => {
                f.write_str(">\n")?;
                for element in elements {
                    writeln!(f, "{element}")?;
                }
                write!(f, "</{}>", self.name)
            }
        }
    }
}

/// Writes text so that it stays text, inside an element or an attribute.
///
/// Characters that XML 1.0 does not allow ("Char", section 2.2) are left out.
fn escape(f: &mut Formatter<'_>, text: &str) -> fmt::Result {
    for c in text.chars() {
        match c {
            '&' => f.write_str("&amp;")?,
            '<' => f.write_str("&lt;")?,
            '>' => f.write_str("&gt;")?,
            '"' => f.write_str("&quot;")?,
            '\'' => f.write_str("&#39;")?,
            '\t' | '\n' | '\r' => f.write_char(' ')?,
            '\u{fffe}' | '\u{ffff}' => {}
            c if c < ' ' => {}
            c => f.write_char(c)?,
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_stays_text() {
        let element = El::new("text")
            .attr("data-a", "\"'><")
            .text("<b>Peat & Plum</b>\u{1}\u{ffff}");
        assert_eq!(
            element.to_string(),
            "<text data-a=\"&quot;&#39;&gt;&lt;\">&lt;b&gt;Peat &amp; Plum&lt;/b&gt;</text>"
        );
    }
}
