use asfound::source::*;

#[test]
fn columns_count_characters_and_lines_start_at_one() {
    let source = Source::new("x", "ab\nµ4\n");
    assert_eq!(source.line_column(0), (1, 1));
    assert_eq!(source.line_column(3), (2, 1));
    assert_eq!(source.line_column(5), (2, 2));
}

#[test]
fn nearest_takes_slips_and_leaves_strangers() {
    assert_eq!(nearest("resitor", ["capacitor", "resistor"]), Some("resistor"));
    assert_eq!(nearest("V1a", ["V1b", "R9"]), Some("V1b"));
    assert_eq!(nearest("choke", ["resistor"]), None);
}
