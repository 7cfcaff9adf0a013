//! One run's text, built line by line.

use anstyle::Style;

use super::style::{HEAD, columns, painted, space, wrapped};
use super::table::Table;

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
        let hang = indent + columns(mark) + 1;
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
        let start = self.text.len();
        space(&mut self.text, indent);
        self.text.push_str(line);
        self.text.truncate(start + self.text[start..].trim_end().len());
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
