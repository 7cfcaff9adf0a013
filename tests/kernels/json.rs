use asfound::render::json::*;

#[test]
fn figures_have_nine_digits_and_are_finite() {
    let text = pretty(&[Figure(1.0 / 3.0), Figure(f64::NAN), Figure(-0.0), Figure(462.0)]);
    assert_eq!(text, "[\n  0.333333333,\n  null,\n  0.0,\n  462.0\n]\n");
}
