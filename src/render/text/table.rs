//! Columns that line up by what a terminal shows, the last one wrapped.

use anstyle::Style;
use unicode_width::UnicodeWidthStr;

use super::page::{PLAIN, painted, wrapped};

/// How a column's cells stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// Words in a style.
#[derive(Debug, Clone)]
pub struct Cell {
    words: String,
    style: Style,
}

impl Cell {
    /// Words in a style.
    pub fn new(words: impl Into<String>, style: Style) -> Cell {
        Cell { words: words.into(), style }
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Cell {
        Cell::new(words, PLAIN)
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Cell {
        Cell::new(words, PLAIN)
    }
}

/// Rows of cells. The last column takes the width that is left and wraps.
#[derive(Debug)]
pub struct Table {
    aligns: Vec<Align>,
    rows: Vec<Vec<Cell>>,
}

/// Columns between two cells.
const GAP: usize = 2;
/// Least width of the last column.
const LEAST: usize = 16;

impl Table {
    /// A table of columns.
    pub fn new(aligns: &[Align]) -> Table {
        Table { aligns: aligns.to_vec(), rows: Vec::new() }
    }

    /// Adds a row; missing cells are empty.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    /// Whether it has no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The lines in a width; columns that are empty in every row are left out.
    pub(super) fn lines(&self, width: usize) -> Vec<String> {
        let widths: Vec<usize> = (0..self.aligns.len()).map(|column| self.width_of(column)).collect();
        let used: Vec<usize> = (0..widths.len()).filter(|column| widths[*column] > 0).collect();
        let Some((&last, fixed)) = used.split_last() else { return vec![String::new(); self.rows.len()] };
        let before: usize = fixed.iter().map(|column| widths[*column] + GAP).sum();
        let room = width.saturating_sub(before).max(LEAST);
        let last_width = widths[last].min(room);
        let mut lines = Vec::new();
        for row in &self.rows {
            let mut lead = String::new();
            for column in fixed {
                lead.push_str(&self.padded(row, *column, widths[*column]));
                lead.push_str(&" ".repeat(GAP));
            }
            lines.extend(self.last_lines(row, last, last_width, &lead, before));
        }
        lines
    }

    fn last_lines(
        &self,
        row: &[Cell],
        last: usize,
        width: usize,
        lead: &str,
        before: usize,
    ) -> Vec<String> {
        let Some(cell) = row.get(last) else { return vec![lead.trim_end().to_owned()] };
        if self.aligns[last] == Align::Right {
            return vec![format!("{lead}{}", self.padded(row, last, width))];
        }
        let broken = wrapped(&cell.words, width).into_iter().enumerate();
        let lead_of = |i: usize| if i == 0 { lead.to_owned() } else { " ".repeat(before) };
        broken.map(|(i, line)| format!("{}{}", lead_of(i), painted(cell.style, &line))).collect()
    }

    fn padded(&self, row: &[Cell], column: usize, width: usize) -> String {
        let Some(cell) = row.get(column) else { return " ".repeat(width) };
        let fill = " ".repeat(width.saturating_sub(cell.words.width()));
        let words = painted(cell.style, &cell.words);
        match self.aligns[column] {
            Align::Left => format!("{words}{fill}"),
            Align::Right => format!("{fill}{words}"),
        }
    }

    fn width_of(&self, column: usize) -> usize {
        self.rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.words.width()).max().unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_the_last_wraps() {
        let mut table = Table::new(&[Align::Left, Align::Right, Align::Left, Align::Left]);
        table.row(vec!["C3".into(), "330p".into(), "".into(), "snipped, legs still in the board".into()]);
        table.row(vec!["R40".into(), "1k".into(), "".into(), "µ".into()]);
        let expected = ["C3   330p  snipped, legs", "           still in the", "           board", "R40    1k  µ"];
        assert_eq!(table.lines(26), expected);
    }
}
