//! A sparse LU for the matrices of nodal analysis, real or complex.
//!
//! Left-looking (J. R. Gilbert and T. Peierls, "Sparse partial pivoting in time proportional to arithmetic
//! operations", SIAM J. Sci. Stat. Comput. 9(5), 1988) over an approximate-minimum-degree order. The diagonal
//! is preferred as pivot; pattern and pivots are kept, so that later factorisations are arithmetic only.
//!
//! ```text
//! | 2 0 1 |  column 0: pivot 2, below it 1/2 |  L  1       |  U  2  0  1
//! | 0 4 0 |  column 1: pivot 4, nothing else |     0  1    |        4  0
//! | 1 0 3 |  column 2: 3 − 1·1/2 = 2.5       |     ½  0  1 |          2.5
//! b = 3 4 4 → down L: 3 4 2.5 → up U: x = 1 1 1.   No zero is stored or multiplied: time goes by entries.
//! ```

use std::ops::{AddAssign, Div, Mul, Sub, SubAssign};

use num_complex::Complex64;

use crate::numeric::linear::pattern::Pattern;

/// The diagonal is taken as pivot when it has at least this share of the column's largest entry.
// Strict pivoting would trade the order that keeps the factors sparse for digits that are not at risk: conductance on
// a node's diagonal outweighs what is beside it. Common practice for circuits, no source for the figure.
const DIAGONAL_SHARE: f64 = 1e-3;
/// A kept pivot below this share of its column calls for a new choice of pivots.
// Lower than for a new choice, or the two would take turns; growth by 1e5 leaves 11 of 16 digits, and Newton's
// residual is computed apart from the factors.
const KEEP_SHARE: f64 = 1e-5;
/// A pivot below this share of its column's entries before elimination is rounding, not a pivot.
// What should be 0 comes out as rounding of what was subtracted: compared with that, not with 1.
const SINGULAR_SHARE: f64 = 16.0 * f64::EPSILON;
/// A pivot below this is none: its reciprocal is close to overflow.
const SMALLEST_PIVOT: f64 = 1e-280;
/// Marks a row without pivot yet.
const NONE: u32 = u32::MAX;

/// What a matrix may hold: `f64` or `Complex64`.
pub trait Scalar:
    Copy
    + Mul<Output = Self>
    + Div<Output = Self>
    + Sub<Output = Self>
    + AddAssign
    + SubAssign
    + PartialEq
    + From<f64>
    + std::fmt::Debug
{
    /// A magnitude good for comparing pivots.
    fn size(self) -> f64;
}

impl Scalar for f64 {
    fn size(self) -> f64 {
        self.abs()
    }
}

impl Scalar for Complex64 {
    fn size(self) -> f64 {
        // Within √2 of the modulus, without its root: good for choosing, and it does not overflow.
        self.re.abs() + self.im.abs()
    }
}

/// The column for which no pivot was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SingularColumn(pub usize);

/// Factors of a matrix, with the pattern and pivots that later factorisations reuse.
#[derive(Debug, Clone)]
pub struct Lu<T> {
    pattern: Pattern,
    /// The matrix column of each step.
    pub order: Vec<u32>,
    /// The step at which each matrix row was the pivot.
    pub step_of: Vec<u32>,
    /// Below the diagonal, ones on it left out.
    pub lower: Triangle<T>,
    /// Above the diagonal.
    pub upper: Triangle<T>,
    /// The diagonal between them.
    pub pivots: Vec<T>,
    work: Vec<T>,
    /// The exchanges of rows and columns change the determinant's sign.
    odd: bool,
    ready: bool,
}

/// Strictly triangular factor, by columns.
#[derive(Debug, Clone)]
pub struct Triangle<T> {
    /// Where each column starts, and where the last ends.
    pub starts: Vec<u32>,
    /// The row of each entry.
    pub rows: Vec<u32>,
    /// The entries.
    pub values: Vec<T>,
}

impl<T: Scalar> Triangle<T> {
    fn new() -> Self {
        Self { starts: vec![0], rows: Vec::new(), values: Vec::new() }
    }

    fn push(&mut self, row: u32, value: T) {
        self.rows.push(row);
        self.values.push(value);
    }

    fn close_column(&mut self) {
        self.starts.push(self.rows.len() as u32);
    }

    /// The places of a column.
    pub fn column(&self, column: usize) -> std::ops::Range<usize> {
        self.starts[column] as usize..self.starts[column + 1] as usize
    }
}

impl<T: Scalar> Lu<T> {
    /// Orders the pattern; no values yet.
    pub fn new(pattern: Pattern) -> Self {
        let size = pattern.size();
        Self {
            order: pattern.order(),
            step_of: vec![NONE; size],
            lower: Triangle::new(),
            upper: Triangle::new(),
            pivots: Vec::with_capacity(size),
            work: vec![T::from(0.0); size],
            odd: false,
            ready: false,
            pattern,
        }
    }

    /// Factors the matrix of these values, with the kept pivots where they are still good.
    pub fn factor(&mut self, values: &[T]) -> Result<(), SingularColumn> {
        if self.ready && self.refactor(values) {
            return Ok(());
        }
        self.ready = false;
        self.factor_anew(values)?;
        self.ready = true;
        Ok(())
    }

    /// Arithmetic only; false where a kept pivot has become too small.
    fn refactor(&mut self, values: &[T]) -> bool {
        let zero = T::from(0.0);
        for step in 0..self.order.len() {
            let mut largest_before: f64 = 0.0;
            for at in self.pattern.column(self.order[step] as usize) {
                let value = values[at];
                largest_before = largest_before.max(value.size());
                self.work[self.step_of[self.pattern.row(at) as usize] as usize] = value;
            }
            for at in self.upper.column(step) {
                let earlier = self.upper.rows[at] as usize;
                let factor = std::mem::replace(&mut self.work[earlier], zero);
                self.upper.values[at] = factor;
                let below = self.lower.column(earlier);
                for (&row, &value) in self.lower.rows[below.clone()].iter().zip(&self.lower.values[below]) {
                    self.work[row as usize] -= value * factor;
                }
            }
            let pivot = std::mem::replace(&mut self.work[step], zero);
            self.pivots[step] = pivot;
            // One division a column: on the whole the most costly operation in here.
            let reciprocal = T::from(1.0) / pivot;
            let mut largest = pivot.size();
            for at in self.lower.column(step) {
                let value = std::mem::replace(&mut self.work[self.lower.rows[at] as usize], zero);
                largest = largest.max(value.size());
                self.lower.values[at] = value * reciprocal;
            }
            let enough = (KEEP_SHARE * largest).max(SINGULAR_SHARE * largest_before).max(SMALLEST_PIVOT);
            // A comparison with NaN is false: without asking, a broken column would pass for a good one.
            if pivot.size().is_nan() || pivot.size() <= enough {
                // Half-way through a column it is not clean, and the next attempt takes it for empty.
                self.work.fill(zero);
                return false;
            }
        }
        true
    }

    /// Chooses pivots and finds the factors' pattern.
    fn factor_anew(&mut self, values: &[T]) -> Result<(), SingularColumn> {
        let size = self.order.len();
        self.step_of.fill(NONE);
        self.lower = Triangle::new();
        self.upper = Triangle::new();
        self.pivots.clear();
        self.work.fill(T::from(0.0));
        let mut reach = Reach { seen: vec![NONE; size], found: Vec::new(), stack: Vec::new() };
        for step in 0..size {
            let column = self.order[step] as usize;
            let entries = self.pattern.column(column);
            reach.find(step as u32, self.pattern.rows(entries.clone()), &self.lower, &self.step_of);
            let mut largest_before: f64 = 0.0;
            for at in entries {
                largest_before = largest_before.max(values[at].size());
                self.work[self.pattern.row(at) as usize] = values[at];
            }
            self.eliminate(&reach.found);
            let found = &reach.found;
            let pivot_row = self.choose(found, column, largest_before).ok_or(SingularColumn(column))?;
            self.store(step, found, pivot_row);
        }
        self.renumber();
        self.odd = is_odd(&self.order) != is_odd(&self.step_of);
        Ok(())
    }

    /// Subtracts the earlier columns, in the order in which they depend on each other (last found first).
    fn eliminate(&mut self, found: &[u32]) {
        for &row in found.iter().rev() {
            let earlier = self.step_of[row as usize];
            if earlier == NONE {
                continue;
            }
            let factor = self.work[row as usize];
            for at in self.lower.column(earlier as usize) {
                let value = self.lower.values[at];
                self.work[self.lower.rows[at] as usize] -= value * factor;
            }
        }
    }

    /// The pivot's row: the diagonal where it is large enough.
    fn choose(&self, found: &[u32], column: usize, largest_before: f64) -> Option<usize> {
        let mut best: Option<usize> = None;
        let mut largest: f64 = 0.0;
        let mut diagonal: f64 = 0.0;
        for row in found.iter().map(|&row| row as usize).filter(|&row| self.step_of[row] == NONE) {
            let size = self.work[row].size();
            // Ties go to the lower row: the search's order must not decide a pivot.
            if size > largest || (size == largest && best.is_some_and(|other| row < other)) {
                (best, largest) = (Some(row), size);
            }
            if row == column {
                diagonal = size;
            }
        }
        if !largest.is_finite() || largest <= (SINGULAR_SHARE * largest_before).max(SMALLEST_PIVOT) {
            return None;
        }
        if diagonal >= DIAGONAL_SHARE * largest { Some(column) } else { best }
    }

    fn store(&mut self, step: usize, found: &[u32], pivot_row: usize) {
        let pivot = self.work[pivot_row];
        for &row in found {
            let value = std::mem::replace(&mut self.work[row as usize], T::from(0.0));
            let earlier = self.step_of[row as usize];
            if earlier != NONE {
                self.upper.push(earlier, value);
            } else if row as usize != pivot_row {
                self.lower.push(row, value / pivot);
            }
        }
        self.step_of[pivot_row] = step as u32;
        self.pivots.push(pivot);
        self.lower.close_column();
        self.upper.close_column();
    }

    /// Turns rows into steps, and sorts each column of `upper` so that it is in order of dependence.
    fn renumber(&mut self) {
        for row in &mut self.lower.rows {
            *row = self.step_of[*row as usize];
        }
        let mut sorted = Vec::new();
        for step in 0..self.order.len() {
            let range = self.upper.column(step);
            sorted.clear();
            sorted.extend(range.clone().map(|at| (self.upper.rows[at], self.upper.values[at])));
            // A refactorisation has no search: in ascending steps no column comes before what it needs.
            sorted.sort_unstable_by_key(|entry| entry.0);
            for (at, &(row, value)) in range.zip(&sorted) {
                self.upper.rows[at] = row;
                self.upper.values[at] = value;
            }
        }
    }

    /// Solves A·x = b in place; entries of `b` past the matrix's size are left alone.
    pub fn solve(&mut self, b: &mut [T]) {
        for (row, &step) in self.step_of.iter().enumerate() {
            self.work[step as usize] = b[row];
        }
        for step in 0..self.order.len() {
            let value = self.work[step];
            // Many a right side is empty but for a few rows.
            if value != T::from(0.0) {
                subtract(&mut self.work, &self.lower, step, value);
            }
        }
        for step in (0..self.order.len()).rev() {
            let value = self.work[step] / self.pivots[step];
            b[self.order[step] as usize] = value;
            subtract(&mut self.work, &self.upper, step, value);
        }
        self.work.fill(T::from(0.0));
    }

    /// Solves Aᵀ·x = b in place; entries of `b` past the matrix's size are left alone.
    pub fn solve_transposed(&mut self, b: &mut [T]) {
        for step in 0..self.order.len() {
            // Transposed, U comes first, and by columns each step is a dot product of what is already known.
            let mut value = b[self.order[step] as usize];
            for at in self.upper.column(step) {
                value -= self.upper.values[at] * self.work[self.upper.rows[at] as usize];
            }
            self.work[step] = value / self.pivots[step];
        }
        for step in (0..self.order.len()).rev() {
            let mut value = self.work[step];
            for at in self.lower.column(step) {
                value -= self.lower.values[at] * self.work[self.lower.rows[at] as usize];
            }
            self.work[step] = value;
        }
        for (row, &step) in self.step_of.iter().enumerate() {
            b[row] = self.work[step as usize];
        }
        self.work.fill(T::from(0.0));
    }
}

/// Subtracts a column of a triangle times a value.
#[inline]
fn subtract<T: Scalar>(work: &mut [T], triangle: &Triangle<T>, step: usize, value: T) {
    let column = triangle.column(step);
    for (&row, &entry) in triangle.rows[column.clone()].iter().zip(&triangle.values[column]) {
        work[row as usize] -= entry * value;
    }
}

impl Lu<f64> {
    /// The sign of the determinant of the matrix last factored.
    pub fn determinant_sign(&self) -> f64 {
        let odd = self.pivots.iter().filter(|pivot| **pivot < 0.0).count() % 2 == 1;
        if odd == self.odd { 1.0 } else { -1.0 }
    }
}

/// Whether a permutation is an odd one.
fn is_odd(permutation: &[u32]) -> bool {
    let mut seen = vec![false; permutation.len()];
    let mut odd = false;
    for start in 0..permutation.len() {
        let mut at = start;
        while !std::mem::replace(&mut seen[at], true) {
            at = permutation[at] as usize;
            // A cycle of n elements is n − 1 exchanges.
            odd ^= at != start;
        }
    }
    odd
}

/// Depth-first search for the rows that a column's elimination touches.
struct Reach {
    seen: Vec<u32>,
    /// Rows in reverse order of dependence.
    found: Vec<u32>,
    stack: Vec<(u32, u32)>,
}

impl Reach {
    fn find<T: Scalar>(&mut self, mark: u32, rows: &[u32], lower: &Triangle<T>, step_of: &[u32]) {
        self.found.clear();
        for &root in rows {
            self.enter(mark, root);
            while let Some((row, next)) = self.stack.pop() {
                let step = step_of[row as usize];
                // A row that is no pivot yet ends its branch: nothing below it has been eliminated.
                let below = if step == NONE { 0..0 } else { lower.column(step as usize) };
                match lower.rows[below].get(next as usize) {
                    Some(&child) => {
                        self.stack.push((row, next + 1));
                        self.enter(mark, child);
                    }
                    // Noted on the way back, after whatever depends on it. A stack of its own instead of recursion:
                    // a ladder of thousands of nodes would overflow the program's.
                    None => self.found.push(row),
                }
            }
        }
    }

    fn enter(&mut self, mark: u32, row: u32) {
        if self.seen[row as usize] != mark {
            self.seen[row as usize] = mark;
            self.stack.push((row, 0));
        }
    }
}
