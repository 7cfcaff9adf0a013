use num_complex::Complex64;

use asfound::numeric::ac::Range;
use asfound::solve::signal::gain::decibels;
use asfound::solve::signal::sweep::*;

/// A band between two first-order corners of 20 Hz and 20 kHz.
#[test]
fn corners_of_a_band() {
    let hertz = Range::WIDE.hertz();
    let level = |f: &f64| {
        let s = Complex64::new(0.0, *f);
        decibels(s / (s + 20.0) * (20e3 / (s + 20e3)))
    };
    let curve: Vec<f64> = hertz.iter().map(level).collect();
    let found = corners(&hertz, &curve);
    assert!((found.low.unwrap() / 20.0 - 1.0).abs() < 3e-3, "{found:?}");
    assert!((found.high.unwrap() / 20e3 - 1.0).abs() < 3e-3, "{found:?}");
}
