use num_complex::Complex64;

use asfound::numeric::ac::margins::*;

/// Three equal lags: the margin ends at a gain of 8 (common textbook result: each lag 60° there).
#[test]
fn three_lags() {
    let lags = |gain: f64| {
        let l = move |f: f64| {
            let lag = Complex64::new(1.0, 0.0) / Complex64::new(1.0, f / 1000.0);
            Ok(gain * lag * lag * lag)
        };
        margins(&mut { l }).unwrap()
    };
    let found = lags(4.0);
    let (at, short) = found.least_gain().unwrap();
    assert!((at / 1000.0 - 3f64.sqrt()).abs() < 1e-6, "{at}");
    assert!((short - 20.0 * libm::log10(2.0)).abs() < 1e-6, "{short}");
    assert!(!found.encircled && found.least_phase().unwrap().1 > 0.0);
    assert!(lags(8.5).encircled && lags(8.5).least_phase().unwrap().1 < 1.0);
}
