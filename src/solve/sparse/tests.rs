//! Random sparse matrices: the answer gives the right-hand side back, for A and for its transpose.

use num_complex::Complex64;
use proptest::prelude::*;

use super::{Lu, Scalar, SingularColumn};
use crate::solve::pattern::Pattern;

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

/// The largest miss of A·x − b, or of Aᵀ·x − b, as a share of the largest x, over a factorisation anew and one with kept pivots.
fn miss<T: Scalar>(entries: &[(u32, u32, f64)], right: &[f64], turn: T, transposed: bool) -> f64 {
    let places: Vec<(u32, u32)> = entries.iter().map(|&(row, column, _)| (row, column)).collect();
    let (pattern, places) = Pattern::new(right.len(), &places);
    let mut values = vec![T::from(0.0); pattern.len() + 1];
    let mut lu = Lu::new(pattern);
    let mut most: f64 = 0.0;
    for round in 0..3 {
        values.fill(T::from(0.0));
        let value = |at: usize| T::from(entries[at].2 * (1.0 + 0.1 * f64::from(round))) * turn;
        for (at, place) in places.iter().enumerate() {
            values[*place as usize] += value(at);
        }
        lu.factor(&values).unwrap();
        let mut x: Vec<T> = right.iter().map(|&b| T::from(b)).collect();
        if transposed {
            lu.solve_transposed(&mut x);
        } else {
            lu.solve(&mut x);
        }
        let mut rest: Vec<T> = right.iter().map(|&b| T::from(b)).collect();
        for (at, &(row, column, _)) in entries.iter().enumerate() {
            let (to, from) = if transposed { (column, row) } else { (row, column) };
            rest[to as usize] -= value(at) * x[from as usize];
        }
        let largest = x.iter().map(|x| x.size()).fold(1.0, f64::max);
        most = rest.iter().map(|rest| rest.size() / largest).fold(most, f64::max);
    }
    most
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn answers_give_the_right_side_back((entries, right) in system()) {
        for transposed in [false, true] {
            prop_assert!(miss(&entries, &right, 1.0, transposed) < 1e-9);
            prop_assert!(miss(&entries, &right, Complex64::new(0.6, -0.8), transposed) < 1e-9);
        }
    }
}

#[test]
fn a_dependent_column_is_named() {
    let entries = [(0, 0), (0, 1), (1, 0), (1, 1), (2, 2)];
    let (pattern, places) = Pattern::new(3, &entries);
    let mut values = vec![0.0; pattern.len() + 1];
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
    let mut values = vec![0.0; pattern.len() + 1];
    for (at, place) in places.iter().enumerate() {
        values[*place as usize] += [1.1, -1.0, -1.0, 1.1][at % 4];
    }
    let mut lu = Lu::new(pattern);
    lu.factor(&values).unwrap();
    assert!(lu.lower.values.len() < 4 * size as usize);
}
