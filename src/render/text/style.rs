//! The few colours, and words in lines.

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr;

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

/// Words in a style, without escape codes for the plain one.
pub(super) fn painted(style: Style, words: &str) -> String {
    if style == PLAIN || words.is_empty() {
        words.to_owned()
    } else {
        format!("{}{words}{}", style.render(), style.render_reset())
    }
}

/// Words broken at spaces into lines of at most `width` columns; a longer word keeps its line to itself.
pub fn wrapped(words: &str, width: usize) -> Vec<String> {
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
