//! Gauss elimination with partial pivoting for the small, full matrices of a supply.

/// Factors of a square matrix, by rows.
#[derive(Debug, Clone)]
pub(crate) struct Dense {
    size: usize,
    values: Vec<f64>,
    order: Vec<usize>,
}

impl Dense {
    /// Factors a matrix given by rows; `Err` with the column for which no pivot was found.
    pub(crate) fn factor(size: usize, mut values: Vec<f64>) -> Result<Self, usize> {
        let mut order: Vec<usize> = (0..size).collect();
        for column in 0..size {
            let size_at = |row: usize| values[row * size + column].abs();
            let pivot = (column..size).max_by(|a, b| size_at(*a).total_cmp(&size_at(*b))).unwrap_or(column);
            let largest = values[pivot * size + column];
            if largest == 0.0 || !largest.is_finite() {
                return Err(column);
            }
            if pivot != column {
                order.swap(pivot, column);
                for at in 0..size {
                    values.swap(pivot * size + at, column * size + at);
                }
            }
            for row in column + 1..size {
                let share = values[row * size + column] / largest;
                if share == 0.0 {
                    continue;
                }
                let (upper, lower) = values.split_at_mut(row * size);
                let from = &upper[column * size + column + 1..column * size + size];
                for (to, from) in lower[column + 1..size].iter_mut().zip(from) {
                    *to -= share * from;
                }
                lower[column] = share;
            }
        }
        Ok(Self { size, values, order })
    }

    /// Solves in place.
    pub(crate) fn solve(&self, right: &mut [f64]) {
        let size = self.size;
        let mut x: Vec<f64> = self.order.iter().map(|row| right[*row]).collect();
        for row in 1..size {
            let known = &self.values[row * size..row * size + row];
            let sum: f64 = known.iter().zip(&x).map(|(a, b)| a * b).sum();
            x[row] -= sum;
        }
        for row in (0..size).rev() {
            let known = &self.values[row * size + row + 1..row * size + size];
            let sum: f64 = known.iter().zip(&x[row + 1..]).map(|(a, b)| a * b).sum();
            x[row] = (x[row] - sum) / self.values[row * size + row];
        }
        right[..size].copy_from_slice(&x);
    }
}

/// Solves a small system in place, without keeping factors; false where a column has no pivot.
pub(crate) fn eliminate(matrix: &mut [f64], right: &mut [f64]) -> bool {
    let size = right.len();
    for column in 0..size {
        let mut pivot = column;
        for row in column + 1..size {
            if matrix[row * size + column].abs() > matrix[pivot * size + column].abs() {
                pivot = row;
            }
        }
        let largest = matrix[pivot * size + column];
        if largest == 0.0 || !largest.is_finite() {
            return false;
        }
        if pivot != column {
            right.swap(pivot, column);
            for at in column..size {
                matrix.swap(pivot * size + at, column * size + at);
            }
        }
        for row in column + 1..size {
            let share = matrix[row * size + column] / largest;
            if share != 0.0 {
                for at in column + 1..size {
                    matrix[row * size + at] -= share * matrix[column * size + at];
                }
                right[row] -= share * right[column];
            }
        }
    }
    for row in (0..size).rev() {
        let mut sum = right[row];
        for at in row + 1..size {
            sum -= matrix[row * size + at] * right[at];
        }
        right[row] = sum / matrix[row * size + row];
    }
    true
}
