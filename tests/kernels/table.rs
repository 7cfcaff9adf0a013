use asfound::render::text::{Align, Table};

#[test]
fn columns_line_up_and_the_last_wraps() {
    let mut table = Table::new(&[Align::Left, Align::Right, Align::Left, Align::Left]);
    table.row(vec!["C3".into(), "330p".into(), "".into(), "snipped, legs still in the board".into()]);
    table.row(vec!["R40".into(), "1k".into(), "".into(), "µ".into()]);
    let expected =
        ["C3   330p  snipped, legs", "           still in the", "           board", "R40    1k  µ"];
    assert_eq!(table.lines(26), expected);
}
