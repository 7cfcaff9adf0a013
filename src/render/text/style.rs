//! The few styles, and words in lines. None is a colour: of the sixteen that a terminal has none is legible on light and on
//! dark grounds alike (contrast of 4.5 to 1 and more, WCAG 2.1, 1.4.3, from memory), while the terminal's own letters are,
//! bold, underlined or reversed.

use std::fmt::Write as _;

use anstyle::Style;
use unicode_width::UnicodeWidthStr;

/// Headings.
pub(crate) const HEAD: Style = Style::new().bold();

/// What is less weighty.
pub(crate) const FAINT: Style = Style::new().dimmed();

/// What harms people or destroys parts.
pub(crate) const DANGER: Style = Style::new().bold().invert();

/// What will harm parts.
pub(crate) const WARNING: Style = Style::new().bold().underline();

/// What may harm parts.
pub(crate) const CAUTION: Style = Style::new().bold();

/// What is worth knowing.
pub(crate) const NOTICE: Style = Style::new();

/// As it should be.
pub(crate) const GOOD: Style = Style::new();

/// Nothing to say.
pub(crate) const PLAIN: Style = Style::new();

/// Words in a style, without escape codes for the plain one.
pub(super) fn painted(style: Style, words: &str) -> String {
    let mut line = String::with_capacity(words.len());
    paint(&mut line, style, words);
    line
}

/// The same at the end of a line.
pub(super) fn paint(line: &mut String, style: Style, words: &str) {
    if style == PLAIN || words.is_empty() {
        line.push_str(words);
    } else {
        // Writing to a string can't fail.
        let _ = write!(line, "{}{words}{}", style.render(), style.render_reset());
    }
}

/// Spaces at the end of a line.
pub(super) fn space(line: &mut String, count: usize) {
    line.extend(std::iter::repeat_n(' ', count));
}

/// Columns that words take on a terminal. Most are plain letters, of which each takes one.
pub(super) fn columns(words: &str) -> usize {
    let plain = words.bytes().all(|byte| matches!(byte, b' '..=b'~'));
    if plain { words.len() } else { words.width() }
}

/// Words broken at spaces into lines of at most `width` columns; a longer word keeps its line to itself.
pub fn wrapped(words: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let (mut line, mut taken) = (String::new(), 0);
    for word in words.split_whitespace() {
        let wide = columns(word);
        if !line.is_empty() && taken + 1 + wide > width {
            lines.push(std::mem::take(&mut line));
            taken = 0;
        }
        if !line.is_empty() {
            line.push(' ');
            taken += 1;
        }
        line.push_str(word);
        taken += wide;
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}
