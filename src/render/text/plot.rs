//! Curves over frequency in a terminal, drawn with dots: two columns and four rows of them in each character.

use super::page::Page;
use crate::render::text::style::{FAINT, GOOD, PLAIN, painted};
use crate::units::{Unit, rounded};
use anstyle::Style;

/// Lines of a plot.
const LINES: usize = 16;
/// Room for the figures at the left.
const MARGIN: usize = 8;
/// Room at the right for half the last frequency and its unit.
const BESIDE: usize = 6;
/// Widest plot, in characters.
const WIDEST: usize = 100;
/// The first of the characters of two by four dots.
const BLANK_DOTS: u32 = 0x2800;
/// Bits of the dots: left column from the top, right column from the top.
const DOTS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

/// Curves over the same frequencies, in dB; the earlier one is drawn faint.
pub(super) struct Curves<'a> {
    pub(super) hertz: &'a [f64],
    pub(super) before: Option<&'a [f64]>,
    pub(super) now: &'a [f64],
}

/// Draws the curves.
pub(super) fn plot(page: &mut Page, curves: &Curves, width: usize) {
    let columns = width.saturating_sub(MARGIN + BESIDE).clamp(24, WIDEST);
    let Some(scale) = Scale::of(curves) else { return };
    let before = curves.before.map(|curve| Canvas::drawn(curves.hertz, curve, columns, &scale));
    let now = Canvas::drawn(curves.hertz, curves.now, columns, &scale);
    for line in 0..LINES {
        let mut runs: Vec<(Style, String)> = vec![(PLAIN, scale.label(line))];
        for column in 0..columns {
            let (old, new) = (before.as_ref().map_or(0, |c| c.at(column, line)), now.at(column, line));
            let (style, sign) = cell(old, new, Scale::is_marked(line), before.is_some());
            match runs.last_mut() {
                Some((last, words)) if *last == style => words.push(sign),
                _ => runs.push((style, sign.to_string())),
            }
        }
        let text: Vec<String> = runs.iter().map(|(style, words)| painted(*style, words)).collect();
        page.verbatim(0, &text.concat());
    }
    page.verbatim(0, &frequencies(curves.hertz, columns));
}

/// The sign of a character's place, and its style.
fn cell(old: u8, new: u8, marked: bool, both: bool) -> (Style, char) {
    let style = match (old, new, both) {
        (0, 0, _) if !marked => PLAIN,
        (_, 0, _) => FAINT,
        (_, _, true) => GOOD,
        (_, _, false) => PLAIN,
    };
    let bits = old | new;
    let dots = || char::from_u32(BLANK_DOTS + u32::from(bits)).unwrap_or('*');
    let sign = match (bits, marked) {
        (0, true) => '·',
        (0, false) => ' ',
        _ => dots(),
    };
    (style, sign)
}

/// From dB to rows of dots.
struct Scale {
    top: f64,
    /// dB of one line.
    step: f64,
}

impl Scale {
    /// Holds all curves, with whole steps a line; the lowest 60 dB at most below the top are shown.
    fn of(curves: &Curves) -> Option<Scale> {
        let every = || curves.now.iter().chain(curves.before.into_iter().flatten()).filter(|x| x.is_finite());
        let high = every().copied().max_by(f64::total_cmp)?;
        let low = every().copied().min_by(f64::total_cmp)?.max(high - 75.0);
        let need = (high - low).max(3.0) / (LINES as f64 - 1.5);
        let step = [0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0].into_iter().find(|s| *s >= need).unwrap_or(6.0);
        Some(Scale { top: (high / step).ceil() * step + step / 2.0, step })
    }

    /// The row of dots of a level, counted from the top.
    fn row(&self, level: f64) -> f64 {
        (self.top - level) / self.step * 4.0
    }

    fn is_marked(line: usize) -> bool {
        line.is_multiple_of(4)
    }

    fn label(&self, line: usize) -> String {
        let level = self.top - (line as f64 + 0.5) * self.step;
        if Scale::is_marked(line) { format!("{level:>w$.1} ", w = MARGIN - 1) } else { " ".repeat(MARGIN) }
    }
}

/// Dots of one curve.
struct Canvas {
    bits: Vec<u8>,
    columns: usize,
}

impl Canvas {
    fn drawn(hertz: &[f64], curve: &[f64], columns: usize, scale: &Scale) -> Canvas {
        let mut canvas = Canvas { bits: vec![0; columns * LINES], columns };
        let mut last: Option<i64> = None;
        for dot in 0..columns * 2 {
            let at = dot as f64 / (columns * 2 - 1) as f64 * (hertz.len() - 1) as f64;
            let left = (at as usize).min(hertz.len().saturating_sub(2));
            let share = at - left as f64;
            let level = curve[left] * (1.0 - share) + curve[(left + 1).min(curve.len() - 1)] * share;
            if !level.is_finite() {
                last = None;
                continue;
            }
            let row = scale.row(level).floor() as i64;
            // A steep curve stays in one piece.
            let from = last.map_or(row, |l| l + (row - l).signum());
            for y in from.min(row)..=from.max(row) {
                canvas.set(dot, y);
            }
            last = Some(row);
        }
        canvas
    }

    fn set(&mut self, x: usize, y: i64) {
        if let Ok(y) = usize::try_from(y)
            && y < LINES * 4
        {
            self.bits[y / 4 * self.columns + x / 2] |= DOTS[x % 2][y % 4];
        }
    }

    fn at(&self, column: usize, line: usize) -> u8 {
        self.bits[line * self.columns + column]
    }
}

/// The line of figures beneath: 1, 2 and 5 of each decade where there is room.
fn frequencies(hertz: &[f64], columns: usize) -> String {
    let (Some(low), Some(high)) = (hertz.first(), hertz.last()) else { return String::new() };
    let span = libm::log10(high / low);
    let mut line = vec![' '; MARGIN + columns + 8];
    let mut free = 0;
    for decade in -1..8 {
        for digit in [1.0, 2.0, 5.0] {
            let f = digit * libm::pow(10.0, f64::from(decade));
            let share = libm::log10(f / low) / span;
            if !(-1e-9..=1.0 + 1e-9).contains(&share) {
                continue;
            }
            let label = rounded(f, Unit::Hertz, 2).replace(' ', "").replace("Hz", "");
            let at = MARGIN + (share * (columns - 1) as f64).round() as usize;
            let start = at.saturating_sub(label.len() / 2);
            if start >= free && start + label.len() <= line.len() {
                for (i, c) in label.chars().enumerate() {
                    line[start + i] = c;
                }
                free = start + label.len() + 1;
            }
        }
    }
    let text: String = line.into_iter().collect();
    painted(FAINT, &format!("{} Hz", text.trim_end()))
}
