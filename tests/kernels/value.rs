use asfound::rules::Basis;
use asfound::rules::ast::Sign;
use asfound::rules::value::Number;

#[test]
fn windows_follow_arithmetic() {
    let a = Number::plain(10.0, Basis::Solved).spread(0.1);
    let b = Number::plain(2.0, Basis::Assumed);
    let c = a.arith(Sign::Over, b).unwrap();
    assert_eq!((c.value, c.low, c.high, c.basis), (5.0, 4.5, 5.5, Basis::Assumed));
    assert_eq!(a.arith(Sign::Over, Number::plain(0.0, Basis::Solved)), None);
}
