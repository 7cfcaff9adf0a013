use asfound::render::text::wrapped;

#[test]
fn lines_break_at_spaces() {
    assert_eq!(wrapped("the screen resistor of V4 is open", 12), ["the screen", "resistor of", "V4 is open"]);
    assert_eq!(wrapped("", 12), [""]);
}
