use num_complex::Complex64;

use asfound::numeric::linear::dense::*;

#[test]
fn two_equations() {
    let c = |re: f64| Complex64::new(re, 0.0);
    let mut right = [c(4.0), c(5.0)];
    assert!(eliminate(&mut [c(0.0), c(2.0), c(1.0), c(1.0)], &mut right));
    assert_eq!(right, [c(3.0), c(2.0)]);
    assert!(!eliminate(&mut [c(0.0)], &mut [c(1.0)]));
    let mut kept = [4.0, 5.0];
    Dense::factor(2, vec![0.0, 2.0, 1.0, 1.0]).expect("regular").solve(&mut kept);
    assert_eq!(kept, [3.0, 2.0]);
}
