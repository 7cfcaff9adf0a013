//! Columns that line up by what a terminal shows. Words wrap; where even that is too wide, a row goes on below itself:
//!
//! ```text
//! B3   313.3 V   303.1 V  295 V to 325 V          B3   313.3 V   303.1 V
//!                                                      295 V to 325 V
//! ```

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
        let bands = bands(&widths, width);
        let lines = |row: &Row| match row {
            Row::Cells(cells) => self.banded(cells, &bands, &widths),
            Row::Across(cells) => across(cells, width),
        };
        self.rows.iter().flat_map(lines).collect()
    }

    /// Widths of the columns within the page's; 0 for an empty column.
    fn fitted(&self, width: usize) -> Vec<usize> {
        let mut widths: Vec<usize> = (0..self.aligns.len()).map(|column| self.width_of(column)).collect();
        let total = |widths: &[usize]| widths.iter().filter(|w| **w > 0).map(|w| w + GAP).sum::<usize>();
        if total(&widths) <= width + GAP {
            return widths;
        }
        let least: Vec<usize> = (0..widths.len()).map(|column| self.least_of(column, width)).collect();
        while total(&widths) > width + GAP {
            let wraps =
                |column: &usize| self.aligns[*column] == Align::Left && widths[*column] > least[*column];
            // The first column is the row's name.
            let Some(widest) = (1..widths.len()).filter(wraps).max_by_key(|column| widths[*column]) else {
                break;
            };
            widths[widest] -= 1;
        }
        widths
    }

    /// A row's lines, those of one band of columns below those of another; one that is empty is left out.
    fn banded(&self, row: &[Cell], bands: &[Vec<usize>], widths: &[usize]) -> Vec<String> {
        let hang = below(widths);
        let mut lines = Vec::new();
        for (at, band) in bands.iter().enumerate() {
            let mut own = self.row_lines(row, band, widths);
            if bands.len() > 1 {
                own.retain(|line| !line.is_empty());
            }
            let indent = if at > 0 { " ".repeat(hang) } else { String::new() };
            lines.extend(own.into_iter().map(|line| format!("{indent}{line}")));
        }
        if lines.is_empty() { vec![String::new()] } else { lines }
    }

    fn row_lines(&self, row: &[Cell], band: &[usize], widths: &[usize]) -> Vec<String> {
        let broken = |column: &usize| row.get(*column).map_or(vec![], |c| self.broken(c, *column, widths));
        let cells: Vec<Vec<Cow<'_, str>>> = band.iter().map(broken).collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let mut lines = Vec::new();
        for index in 0..height {
            let mut line = String::new();
            for (column, cell) in band.iter().zip(&cells) {
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

    /// A column's longest word does not break, but for one that takes half the page: a path.
    fn least_of(&self, column: usize, width: usize) -> usize {
        let words = |cell: &'_ Cell| cell.words.split_whitespace().map(columns).max().unwrap_or(0);
        let longest = self.cells_of(column).map(words).filter(|word| 2 * word <= width).max();
        longest.unwrap_or(0).max(LEAST)
    }

    fn cells_of(&self, column: usize) -> impl Iterator<Item = &Cell> {
        self.rows.iter().filter_map(move |row| match row {
            Row::Cells(cells) => cells.get(column),
            Row::Across(_) => None,
        })
    }

    fn width_of(&self, column: usize) -> usize {
        self.cells_of(column).map(|cell| columns(&cell.words)).max().unwrap_or(0)
    }
}

/// A line over all columns; one that is too wide goes on where its words began.
fn across(cells: &[Cell], width: usize) -> Vec<String> {
    let words = cells.iter().map(|cell| cell.words.as_str()).collect::<Vec<_>>().join(&" ".repeat(GAP));
    if columns(&words) <= width {
        let cells: Vec<String> = cells.iter().map(|c| painted(c.style, &c.words)).collect();
        return vec![cells.join(&" ".repeat(GAP))];
    }
    let indent = words.len() - words.trim_start().len();
    let style = cells.last().map_or(PLAIN, |cell| cell.style);
    let lines = wrapped(&words, width.saturating_sub(indent).max(LEAST));
    lines.iter().map(|line| format!("{}{}", " ".repeat(indent), painted(style, line))).collect()
}

/// Where what goes on below a row begins: under its second column, unless the first is wide.
fn below(widths: &[usize]) -> usize {
    widths.first().map_or(0, |first| first + GAP).min(LEAST)
}

/// The columns that are not empty, in bands that fit a width each.
fn bands(widths: &[usize], width: usize) -> Vec<Vec<usize>> {
    let mut bands = vec![Vec::new()];
    let mut taken = 0;
    for column in (0..widths.len()).filter(|column| widths[*column] > 0) {
        if taken + widths[column] > width && taken > 0 {
            bands.push(Vec::new());
            taken = below(widths);
        }
        taken += widths[column] + GAP;
        bands.last_mut().expect("there is one from the start").push(column);
    }
    bands
}

fn pad(line: &mut String, (style, words): (Style, &str), align: Align, width: usize) {
    let fill = width.saturating_sub(columns(words));
    let (before, after) = if align == Align::Right { (fill, 0) } else { (0, fill) };
    space(line, before);
    paint(line, style, words);
    space(line, after);
}
