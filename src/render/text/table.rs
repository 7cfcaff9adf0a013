//! Columns that line up by what a terminal shows, the last one wrapped.

use std::borrow::Cow;

use anstyle::Style;

use crate::render::text::style::{PLAIN, columns, paint, painted, space, wrapped};

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

/// Rows of cells. Where they are wider than the page, columns of words wrap, the widest first.
#[derive(Debug)]
pub struct Table {
    aligns: Vec<Align>,
    rows: Vec<Row>,
}

#[derive(Debug)]
enum Row {
    /// Cells in the columns.
    Cells(Vec<Cell>),
    /// A line over all columns.
    Across(Vec<Cell>),
}

/// Columns between two cells.
const GAP: usize = 2;
/// Least width of a column that wraps.
const LEAST: usize = 14;

impl Table {
    /// A table of columns.
    pub fn new(aligns: &[Align]) -> Table {
        Table { aligns: aligns.to_vec(), rows: Vec::new() }
    }

    /// Adds a row; missing cells are empty.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row::Cells(cells));
    }

    /// Adds a line over all columns; a blank one without cells.
    pub fn across(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row::Across(cells));
    }

    /// Whether it has no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The lines in a width; columns that are empty in every row are left out.
    pub fn lines(&self, width: usize) -> Vec<String> {
        let widths = self.fitted(width);
        let lines = |row: &Row| match row {
            Row::Cells(cells) => self.row_lines(cells, &widths),
            Row::Across(cells) => {
                let cells: Vec<String> = cells.iter().map(|c| painted(c.style, &c.words)).collect();
                vec![cells.join(&" ".repeat(GAP))]
            }
        };
        self.rows.iter().flat_map(lines).collect()
    }

    /// Widths of the columns within the page's; 0 for an empty column.
    fn fitted(&self, width: usize) -> Vec<usize> {
        let mut widths: Vec<usize> = (0..self.aligns.len()).map(|column| self.width_of(column)).collect();
        let total = |widths: &[usize]| widths.iter().filter(|w| **w > 0).map(|w| w + GAP).sum::<usize>();
        while total(&widths) > width + GAP {
            let wraps = |column: &usize| self.aligns[*column] == Align::Left && widths[*column] > LEAST;
            let Some(widest) = (0..widths.len()).filter(wraps).max_by_key(|column| widths[*column]) else {
                break;
            };
            widths[widest] -= 1;
        }
        widths
    }

    fn row_lines(&self, row: &[Cell], widths: &[usize]) -> Vec<String> {
        let used: Vec<usize> = (0..widths.len()).filter(|column| widths[*column] > 0).collect();
        let broken = |column: &usize| row.get(*column).map_or(vec![], |c| self.broken(c, *column, widths));
        let cells: Vec<Vec<Cow<'_, str>>> = used.iter().map(broken).collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let mut lines = Vec::new();
        for index in 0..height {
            let mut line = String::new();
            for (column, cell) in used.iter().zip(&cells) {
                let words = cell.get(index).map_or("", AsRef::as_ref);
                let style = row.get(*column).map_or(PLAIN, |c| c.style);
                pad(&mut line, (style, words), self.aligns[*column], widths[*column]);
                space(&mut line, GAP);
            }
            line.truncate(line.trim_end().len());
            lines.push(line);
        }
        lines
    }

    fn broken<'c>(&self, cell: &'c Cell, column: usize, widths: &[usize]) -> Vec<Cow<'c, str>> {
        if columns(&cell.words) <= widths[column] || self.aligns[column] == Align::Right {
            return vec![Cow::Borrowed(&cell.words)];
        }
        wrapped(&cell.words, widths[column]).into_iter().map(Cow::Owned).collect()
    }

    fn width_of(&self, column: usize) -> usize {
        let cell = |row: &Row| match row {
            Row::Cells(cells) => cells.get(column).map(|cell| columns(&cell.words)),
            Row::Across(_) => None,
        };
        self.rows.iter().filter_map(cell).max().unwrap_or(0)
    }
}

fn pad(line: &mut String, (style, words): (Style, &str), align: Align, width: usize) {
    let fill = width.saturating_sub(columns(words));
    let (before, after) = if align == Align::Right { (fill, 0) } else { (0, fill) };
    space(line, before);
    paint(line, style, words);
    space(line, after);
}
