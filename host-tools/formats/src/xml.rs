//! Writes XML 1.0 that every parser reads.

use std::fmt::Write as _;

/// A document that is being written; every element is closed in order.
#[derive(Debug)]
pub(crate) struct XmlWriter {
    text: String,
    open: Vec<&'static str>,
}

impl XmlWriter {
    /// An empty document in UTF-8.
    pub(crate) fn new() -> Self {
        Self {
            text: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned(),
            open: Vec::new(),
        }
    }

    /// Begins an element that holds others.
    pub(crate) fn begin(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.start(name, attributes);
        self.text.push_str(">\n");
        self.open.push(name);
    }

    /// Ends the element that was begun last.
    pub(crate) fn end(&mut self) {
        if let Some(name) = self.open.pop() {
            self.indent();
            // Writing to a String cannot fail.
            let _ = writeln!(self.text, "</{name}>");
        }
    }

    /// An element that holds text alone.
    pub(crate) fn leaf(&mut self, name: &str, value: &str) {
        self.leaf_with(name, &[], value);
    }

    /// The same with attributes.
    pub(crate) fn leaf_with(&mut self, name: &str, attributes: &[(&str, &str)], value: &str) {
        self.start(name, attributes);
        let _ = writeln!(self.text, ">{}</{name}>", escape(value));
    }

    /// The document.
    pub(crate) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.end();
        }
        self.text
    }

    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.indent();
        let _ = write!(self.text, "<{name}");
        for (name, value) in attributes {
            let _ = write!(self.text, " {name}=\"{}\"", escape(value));
        }
    }

    fn indent(&mut self) {
        self.text.push_str(&"  ".repeat(self.open.len()));
    }
}

/// Text as it may stand in an element, in an attribute, and in HTML. Characters
/// that XML 1.0 cannot hold (section 2.2) are left out.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            _ if can_hold(character) => escaped.push(character),
            _ => {}
        }
    }
    escaped
}

/// Whether XML 1.0 can hold a character (section 2.2), a return aside, which
/// readers take for a line break.
pub(crate) fn can_hold(character: char) -> bool {
    matches!(
        character,
        '\t' | '\n' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn elements_are_closed_in_order() {
        let mut xml = XmlWriter::new();
        xml.begin("a", &[("b", "1 < \"2\"")]);
        xml.begin("c", &[]);
        xml.leaf("d", "R & Q\u{0}");
        let expected = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
            <a b=\"1 &lt; &quot;2&quot;\">\n  <c>\n    <d>R &amp; Q</d>\n  </c>\n</a>\n";
        assert_eq!(xml.finish(), expected);
    }

    proptest! {
        #[test]
        fn no_text_can_end_its_element(text in ".*") {
            let ending = ['<', '>', '"', '\'', '\u{0}', '\u{1b}'];
            prop_assert!(!escape(&text).contains(ending));
        }
    }
}
