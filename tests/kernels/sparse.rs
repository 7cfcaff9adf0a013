//! Random sparse matrices: the answer gives the right-hand side back, for A and for its transpose.

use num_complex::Complex64;
use proptest::prelude::*;

use asfound::numeric::linear::pattern::Pattern;
use asfound::numeric::linear::sparse::{Lu, Scalar, SingularColumn, Triangle};

/// Rows, columns and values of a matrix with entries on and off the diagonal, and a right-hand side.
fn system() -> impl Strategy<Value = (Vec<(u32, u32, f64)>, Vec<f64>)> {
    (1..30_u32).prop_flat_map(|size| {
        let entry = (0..size, 0..size, prop_oneof![-1.0..1.0, -1e-6..1e-6]);
        let diagonal = prop::collection::vec(0.5..2.0, size as usize);
        let entries = prop::collection::vec(entry, 0..4 * size as usize);
        let right = prop::collection::vec(-1.0..1.0, size as usize);
        (diagonal, entries, right).prop_map(|(diagonal, mut entries, right)| {
            // A permuted diagonal: pivots off the diagonal have to be found.
            let size = right.len() as u32;
            entries.extend(
                diagonal.iter().zip(0..size).map(|(value, row)| (row, (row + 1) % size, 8.0 * value)),
            );
            (entries, right)
        })
    })
}

/// The largest miss of A·x − b, or of Aᵀ·x − b, over a factorisation anew and ones with kept pivots, as a share of what
/// rounding may leave: n·ε·(|L|·|U|·|x| + |A|·|x| + |b|), row by row (N. J. Higham, Accuracy and Stability of Numerical
/// Algorithms, theorem 9.4; from memory). The diagonal is preferred as pivot, so that the factors may be far larger than A.
fn miss<T: Scalar>(entries: &[(u32, u32, f64)], right: &[f64], turn: T, transposed: bool) -> f64 {
    let places: Vec<(u32, u32)> = entries.iter().map(|&(row, column, _)| (row, column)).collect();
    let (pattern, places) = Pattern::new(right.len(), &places);
    let mut values = vec![T::from(0.0); pattern.entries() + 1];
    let mut lu = Lu::new(pattern);
    let mut most: f64 = 0.0;
    for round in 0..3 {
        values.fill(T::from(0.0));
        let value = |at: usize| T::from(entries[at].2 * (1.0 + 0.1 * f64::from(round))) * turn;
        for (at, place) in places.iter().enumerate() {
            values[*place as usize] += value(at);
        }
        lu.factor(&values).expect("regular");
        let mut x: Vec<T> = right.iter().map(|&b| T::from(b)).collect();
        if transposed {
            lu.solve_transposed(&mut x);
        } else {
            lu.solve(&mut x);
        }
        let mut rest: Vec<T> = right.iter().map(|&b| T::from(b)).collect();
        let mut rounding = factors_times(&lu, &x, transposed);
        for (row, b) in right.iter().enumerate() {
            rounding[row] += b.abs();
        }
        for (at, &(row, column, _)) in entries.iter().enumerate() {
            let (to, from) = if transposed { (column, row) } else { (row, column) };
            let term = value(at) * x[from as usize];
            rest[to as usize] -= term;
            rounding[to as usize] += term.size();
        }
        let unit = f64::EPSILON * right.len() as f64;
        most = rest.iter().zip(rounding).map(|(rest, sum)| rest.size() / (unit * sum)).fold(most, f64::max);
    }
    most
}

/// |L|·|U|·|x|, or |Uᵀ|·|Lᵀ|·|x|, by rows of the answer.
fn factors_times<T: Scalar>(lu: &Lu<T>, x: &[T], transposed: bool) -> Vec<f64> {
    let size = lu.order.len();
    let in_columns = |step: usize| lu.order[step] as usize;
    let mut row_of = vec![0; size];
    for (row, &step) in lu.step_of.iter().enumerate() {
        row_of[step as usize] = row;
    }
    let (enter, leave): (Vec<usize>, Vec<usize>) = if transposed {
        (row_of, (0..size).map(in_columns).collect())
    } else {
        ((0..size).map(in_columns).collect(), row_of)
    };
    let x: Vec<f64> = enter.iter().map(|&at| x[at].size()).collect();
    let pivots: Vec<f64> = lu.pivots.iter().map(|pivot| pivot.size()).collect();
    let ones = vec![1.0; size];
    let steps = if transposed {
        times(&lu.upper, &pivots, &times(&lu.lower, &ones, &x, true), true)
    } else {
        times(&lu.lower, &ones, &times(&lu.upper, &pivots, &x, false), false)
    };
    let mut out = vec![0.0; size];
    for (step, value) in steps.into_iter().enumerate() {
        out[leave[step]] = value;
    }
    out
}

/// The sizes of a triangle with its diagonal, or of what it is transposed, times sizes.
fn times<T: Scalar>(triangle: &Triangle<T>, diagonal: &[f64], x: &[f64], transposed: bool) -> Vec<f64> {
    let mut out: Vec<f64> = diagonal.iter().zip(x).map(|(d, x)| d * x).collect();
    for column in 0..x.len() {
        for at in triangle.column(column) {
            let (row, value) = (triangle.rows[at] as usize, triangle.values[at].size());
            let (to, from) = if transposed { (column, row) } else { (row, column) };
            out[to] += value * x[from];
        }
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn answers_give_the_right_side_back((entries, right) in system()) {
        for transposed in [false, true] {
            prop_assert!(miss(&entries, &right, 1.0, transposed) < 8.0);
            prop_assert!(miss(&entries, &right, Complex64::new(0.6, -0.8), transposed) < 8.0);
        }
    }
}

#[test]
fn a_dependent_column_is_named() {
    let entries = [(0, 0), (0, 1), (1, 0), (1, 1), (2, 2)];
    let (pattern, places) = Pattern::new(3, &entries);
    let mut values = vec![0.0; pattern.entries() + 1];
    for (place, value) in places.iter().zip([1.0, 0.1, 3.0, 0.3, 1.0]) {
        values[*place as usize] = value;
    }
    let SingularColumn(column) = Lu::new(pattern).factor(&values).unwrap_err();
    assert!(column < 2);
}

#[test]
fn the_determinants_sign_survives_exchanges() {
    // A cyclic permutation of three, and one of two: determinants +1 and −1.
    for (entries, sign) in [(vec![(0, 1), (1, 2), (2, 0)], 1.0), (vec![(0, 1), (1, 0), (2, 2)], -1.0)] {
        let (pattern, _) = Pattern::new(3, &entries);
        let mut lu = Lu::new(pattern);
        lu.factor(&[1.0; 4]).unwrap();
        assert_eq!(lu.determinant_sign(), sign);
    }
}

#[test]
fn a_large_tree_on_a_hub_stays_sparse() {
    let size = 20_000_u32;
    let mut entries = Vec::new();
    for node in 1..size {
        for other in [node / 2, 0] {
            entries.extend([(node, node), (node, other), (other, node), (other, other)]);
        }
    }
    let (pattern, places) = Pattern::new(size as usize, &entries);
    let mut values = vec![0.0; pattern.entries() + 1];
    for (at, place) in places.iter().enumerate() {
        values[*place as usize] += [1.1, -1.0, -1.0, 1.1][at % 4];
    }
    let mut lu = Lu::new(pattern);
    lu.factor(&values).unwrap();
    assert!(lu.lower.values.len() < 4 * size as usize);
}
