//! One run's text, built line by line.

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr;

use super::table::Table;

/// Headings.
pub(crate) const HEAD: Style = Style::new().bold();
/// What is less weighty.
pub(crate) const FAINT: Style = Style::new().dimmed();
/// What harms people or destroys parts.
pub(crate) const DANGER: Style = AnsiColor::Red.on_default().bold();
/// What will harm parts.
pub(crate) const WARNING: Style = AnsiColor::Red.on_default();
/// What may harm parts.
pub(crate) const CAUTION: Style = AnsiColor::Yellow.on_default();
/// What is worth knowing.
pub(crate) const NOTICE: Style = AnsiColor::Cyan.on_default();
/// As it should be.
pub(crate) const GOOD: Style = AnsiColor::Green.on_default();
/// Nothing to say.
pub(crate) const PLAIN: Style = Style::new();

/// Text under construction.
#[derive(Debug)]
pub struct Page {
    text: String,
    width: usize,
}

impl Page {
    /// An empty page of a width in columns.
    pub fn new(width: usize) -> Page {
        Page { text: String::new(), width: width.clamp(40, 140) }
    }

    /// Its width in columns.
    pub(super) fn width(&self) -> usize {
        self.width
    }

    /// A heading, with a blank line before it unless the page is empty.
    pub fn heading(&mut self, words: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.paragraph(0, HEAD, words);
    }

    /// A paragraph, wrapped, every line indented.
    pub fn paragraph(&mut self, indent: usize, style: Style, words: &str) {
        for line in wrapped(words, self.width - indent.min(self.width / 2)) {
            self.put(indent, &painted(style, &line));
        }
    }

    /// An item: a mark before the first line, the rest aligned under its words.
    pub fn item(&mut self, indent: usize, mark: &str, style: Style, words: &str) {
        let hang = indent + mark.width() + 1;
        for (i, line) in wrapped(words, self.width.saturating_sub(hang).max(20)).iter().enumerate() {
            if i == 0 {
                self.put(indent, &format!("{} {line}", painted(style, mark)));
            } else {
                self.put(hang, line);
            }
        }
    }

    /// A line as it is, indented.
    pub fn verbatim(&mut self, indent: usize, line: &str) {
        self.put(indent, line);
    }

    fn put(&mut self, indent: usize, line: &str) {
        self.text.push_str(format!("{}{line}", " ".repeat(indent)).trim_end());
        self.text.push('\n');
    }

    /// A table, indented.
    pub fn table(&mut self, indent: usize, table: &Table) {
        for line in table.lines(self.width - indent.min(self.width / 2)) {
            self.put(indent, &line);
        }
    }

    /// A blank line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// The text.
    pub fn finish(self) -> String {
        self.text
    }
}

/// Words in a style, without escape codes for the plain one.
pub(super) fn painted(style: Style, words: &str) -> String {
    if style == PLAIN || words.is_empty() {
        words.to_owned()
    } else {
        format!("{}{words}{}", style.render(), style.render_reset())
    }
}

/// Words broken at spaces into lines of at most `width` columns; a longer word keeps its line to itself.
pub(super) fn wrapped(words: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words.split_whitespace() {
        if !line.is_empty() && line.width() + 1 + word.width() > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces() {
        assert_eq!(
            wrapped("the screen resistor of V4 is open", 12),
            ["the screen", "resistor of", "V4 is open"]
        );
        assert_eq!(wrapped("", 12), [""]);
    }
}
