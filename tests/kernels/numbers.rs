use asfound::rules::functions::numbers::*;

/// IEC 60063, E24.
#[test]
fn nearest_values_are_of_the_series() {
    assert_eq!(nearest_e24(4800.0), Some(4700.0));
    assert_eq!(nearest_e24(96_000.0), Some(100_000.0));
    assert_eq!(nearest_e24(2.65e-9), Some(2.7e-9));
    assert_eq!(nearest_e24(0.0), None);
}
