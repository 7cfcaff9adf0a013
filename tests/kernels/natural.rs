use asfound::circuit::*;

#[test]
fn names_are_ordered_as_people_do() {
    let mut names = ["R10", "R9", "C2", "V1b", "V1a", "R9a", "B3x", "B3"];
    names.sort_by(|a, b| natural(a, b));
    assert_eq!(names, ["B3", "B3x", "C2", "R9", "R9a", "R10", "V1a", "V1b"]);
}
