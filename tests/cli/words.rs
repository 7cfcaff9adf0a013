//! What is said is said exactly: figures that differ print apart, and the order of lines is no news.

use super::{Folder, JOB, MOOR, PLAN};

/// 278.9 V behind 1 Ω into 100 kΩ: 278.897 V, which three digits don't tell from 278.6 V.
#[test]
fn a_window_and_what_lies_beside_it_print_apart() {
    let stock = "stock \"Pipit\"\nrail B1 \"plates\" window 278V to 278.6V\n\
                 source HT 278.9V behind 1R steady plus B1 minus chassis\nresistor R1 100k 5W from B1 to chassis\n";
    let lint = Folder::of(&[("pipit.amp", stock)]).run("lint pipit.amp");
    assert!(lint.out.contains("B1 is at 278.9 V, its window is 278.0 V to 278.6 V"), "{}", lint.out);
    let wide = stock.replace("278V to 278.6V", "300V to 310V");
    let lint = Folder::of(&[("pipit.amp", &wide)]).run("lint pipit.amp");
    assert!(lint.out.contains("B1 is at 279 V, its window is 300 V to 310 V"), "{}", lint.out);
}

#[test]
fn the_order_of_readings_is_no_difference() {
    let mut turned: Vec<&str> = JOB.lines().collect();
    turned[8..].reverse();
    let folders = [JOB.to_owned(), turned.join("\n")]
        .map(|job| Folder::of(&[("moor.amp", MOOR), ("job.amp", &job), ("plan.amp", PLAN)]));
    for command in ["audit job.amp", "volts job.amp", "volts --format json job.amp", "review plan.amp"] {
        let [one, other] = folders.each_ref().map(|folder| without_lines(&folder.run(command).out));
        assert_eq!(one, other, "{command}");
    }
}

/// A page without the lines it names: these move with the order.
fn without_lines(page: &str) -> String {
    let mut text = String::new();
    for piece in page.split_inclusive(".amp:") {
        text.push_str(piece.trim_start_matches(|c: char| c.is_ascii_digit()));
    }
    text
}
