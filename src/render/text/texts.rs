//! Two texts side by side.

use similar::{Algorithm, DiffOp, capture_diff_slices, group_diff_ops};

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::render::text::style::{CAUTION, FAINT, PLAIN};

/// Lines of agreement shown around a difference.
const AROUND: usize = 2;

/// Lines that differ, side by side with their numbers, and a few that agree around them.
pub fn texts(page: &mut Page, before: &str, after: &str) {
    let [old, new] = [before, after].map(|text| text.split_inclusive('\n').collect::<Vec<_>>());
    let ops = capture_diff_slices(Algorithm::Myers, &old, &new);
    for (index, group) in group_diff_ops(ops, AROUND).iter().enumerate() {
        if index > 0 {
            page.blank();
        }
        let mut table = Table::new(&[Align::Right, Align::Left, Align::Left, Align::Right, Align::Left]);
        for op in group {
            let (left, right) = (op.old_range(), op.new_range());
            let same = matches!(op, DiffOp::Equal { .. });
            for row in 0..left.len().max(right.len()) {
                let mut cells = side(&old, left.start + row, left.contains(&(left.start + row)), same);
                cells.push(Cell::new(if same { "" } else { "≠" }, CAUTION));
                cells.extend(side(&new, right.start + row, right.contains(&(right.start + row)), same));
                table.row(cells);
            }
        }
        page.table(2, &table);
    }
}

/// What only one of two sorted lists of lines has.
pub fn only_in_one(page: &mut Page, before: &[String], after: &[String]) {
    let [old, new] = [before, after].map(|lines| lines.iter().map(String::as_str).collect::<Vec<_>>());
    for op in capture_diff_slices(Algorithm::Myers, &old, &new) {
        if !matches!(op, DiffOp::Equal { .. }) {
            old[op.old_range()].iter().for_each(|line| page.item(2, "was", FAINT, line));
            new[op.new_range()].iter().for_each(|line| page.item(2, "now", PLAIN, line));
        }
    }
}

fn side(lines: &[&str], index: usize, there: bool, same: bool) -> Vec<Cell> {
    let Some(line) = lines.get(index).filter(|_| there) else { return vec!["".into(), "".into()] };
    let style = if same { FAINT } else { PLAIN };
    vec![Cell::new((index + 1).to_string(), FAINT), Cell::new(line.trim_end(), style)]
}
