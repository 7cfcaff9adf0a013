//! Gauss's elimination with partial pivoting for small, full matrices, by rows: a supply's states, a port's grids, the
//! ohms of a grid leak.
//!
//! ```text
//! | 0 2 | x = | 4 |   rows exchanged, nothing to reduce   | 1 1 | x = | 5 |   x = | 3 |
//! | 1 1 |     | 5 |                                       | 0 2 |     | 4 |       | 2 |
//! ```

use super::sparse::Scalar;

/// Factors of a square matrix, by rows: the shares below the diagonal, the reduced rows on it and above.
#[derive(Debug, Clone)]
pub struct Dense {
    size: usize,
    values: Vec<f64>,
    order: Vec<usize>,
}

impl Dense {
    /// Factors a matrix given by rows; `Err` with the column for which no pivot was found.
    pub fn factor(size: usize, mut values: Vec<f64>) -> Result<Self, usize> {
        let mut order: Vec<usize> = (0..size).collect();
        reduce(size, &mut values, |step| {
            if let Step::Exchange(a, b) = step {
                order.swap(a, b);
            }
        })?;
        Ok(Self { size, values, order })
    }

    /// Solves in place.
    pub fn solve(&self, right: &mut [f64]) {
        let size = self.size;
        let mut x: Vec<f64> = self.order.iter().map(|row| right[*row]).collect();
        for row in 1..size {
            let known = &self.values[row * size..row * size + row];
            let sum: f64 = known.iter().zip(&x).map(|(a, b)| a * b).sum();
            x[row] -= sum;
        }
        back(&self.values, &mut x);
        right[..size].copy_from_slice(&x);
    }
}

/// Solves a system in place, without keeping factors; false where a column has no pivot.
pub fn eliminate<T: Scalar>(matrix: &mut [T], right: &mut [T]) -> bool {
    let reduced = reduce(right.len(), matrix, |step| match step {
        Step::Exchange(a, b) => right.swap(a, b),
        Step::Take { from, of, share } => {
            let above = right[of];
            right[from] -= share * above;
        }
    });
    if reduced.is_ok() {
        back(matrix, right);
    }
    reduced.is_ok()
}

/// What elimination does to rows, for a right side or an order that goes with them.
enum Step<T> {
    /// Two rows change places.
    Exchange(usize, usize),
    /// A share of row `of` is taken from row `from`.
    Take { from: usize, of: usize, share: T },
}

/// Reduces a matrix to its factors, column by column, largest pivot first; `Err` with the column that has none.
fn reduce<T: Scalar>(size: usize, values: &mut [T], mut follow: impl FnMut(Step<T>)) -> Result<(), usize> {
    for column in 0..size {
        let pivot = largest(size, values, column);
        let head = values[pivot * size + column];
        // Only exact zeros: what is merely small is for the caller to judge, who knows the scale of the rows.
        if head.size() == 0.0 || !head.size().is_finite() {
            return Err(column);
        }
        if pivot != column {
            follow(Step::Exchange(pivot, column));
            for at in 0..size {
                values.swap(pivot * size + at, column * size + at);
            }
        }
        for row in column + 1..size {
            let share = values[row * size + column] / head;
            // Common in these matrices: most stores and ports know few others.
            if share == T::from(0.0) {
                continue;
            }
            let (upper, lower) = values.split_at_mut(row * size);
            let above = &upper[column * size + column + 1..column * size + size];
            for (to, above) in lower[column + 1..size].iter_mut().zip(above) {
                *to -= share * *above;
            }
            // In the place that elimination has just emptied: both factors in one matrix.
            lower[column] = share;
            follow(Step::Take { from: row, of: column, share });
        }
    }
    Ok(())
}

/// The row with the largest entry of a column on the diagonal or below, the first of equals.
fn largest<T: Scalar>(size: usize, values: &[T], column: usize) -> usize {
    // Ties keep the upper row, so that the same system has the same last digits everywhere.
    let size_at = |row: usize| values[row * size + column].size();
    (column + 1..size).fold(column, |most, row| if size_at(row) > size_at(most) { row } else { most })
}

/// Back substitution through the reduced rows.
fn back<T: Scalar>(values: &[T], right: &mut [T]) {
    let size = right.len();
    for row in (0..size).rev() {
        let mut sum = right[row];
        for (known, x) in values[row * size + row + 1..row * size + size].iter().zip(&right[row + 1..]) {
            sum -= *known * *x;
        }
        right[row] = sum / values[row * size + row];
    }
}
