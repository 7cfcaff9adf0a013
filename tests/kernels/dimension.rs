use asfound::rules::dimension::*;

#[test]
fn ohms_law_holds() {
    assert_eq!(Dim::VOLT.over(Dim::OHM), Some(Dim::AMP));
    assert_eq!(Dim::VOLT.times(Dim::AMP), Some(Dim::WATT));
    assert_eq!(Dim::WATT.times(Dim::OHM).and_then(Dim::root), Some(Dim::VOLT));
    assert_eq!(Dim::OHM.times(Dim::FARAD), Some(Dim::SECOND));
    assert_eq!(Dim::VOLT.root(), None);
    assert_eq!(Dim::RATIO, Dim::COUNT);
    assert_eq!(Dim::WATT.words(), "watts");
}
