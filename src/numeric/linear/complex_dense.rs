//! A small dense system of complex equations: the grids of a port.

use num_complex::Complex64;

/// Solves by Gauss's elimination with partial pivoting; `None` where singular.
pub(crate) fn solve(mut matrix: Vec<Vec<Complex64>>, mut right: Vec<Complex64>) -> Option<Vec<Complex64>> {
    let size = right.len();
    for step in 0..size {
        let pivot =
            (step..size).max_by(|x, y| matrix[*x][step].norm().total_cmp(&matrix[*y][step].norm()))?;
        if matrix[pivot][step].norm() == 0.0 {
            return None;
        }
        matrix.swap(step, pivot);
        right.swap(step, pivot);
        for row in step + 1..size {
            let share = matrix[row][step] / matrix[step][step];
            let (above, below) = matrix.split_at_mut(row);
            below[0].iter_mut().zip(&above[step]).skip(step).for_each(|(x, above)| *x -= share * above);
            let above = right[step];
            right[row] -= share * above;
        }
    }
    for step in (0..size).rev() {
        for column in step + 1..size {
            let known = right[column];
            right[step] -= matrix[step][column] * known;
        }
        right[step] /= matrix[step][step];
    }
    right.iter().all(|x| x.is_finite()).then_some(right)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_equations() {
        let c = |re: f64| Complex64::new(re, 0.0);
        let solved = solve(vec![vec![c(0.0), c(2.0)], vec![c(1.0), c(1.0)]], vec![c(4.0), c(5.0)]);
        assert_eq!(solved, Some(vec![c(3.0), c(2.0)]));
        assert_eq!(solve(vec![vec![c(0.0)]], vec![c(1.0)]), None);
    }
}
