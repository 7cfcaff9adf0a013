//! A review as one page of text.

use super::changes::changes;
use super::effects::effects;
use super::findings::{changed_rules, in_short, one, style};
use super::head::counted;
use super::page::Page;
use super::record::open;
use super::table::{Align, Cell, Table};
use crate::analysis::Mark;
use crate::analysis::{Review, WindowRow};
use crate::render::text::style::{CAUTION, FAINT, GOOD, HEAD, PLAIN};
use crate::rules::Finding;
use crate::source::Sources;
use crate::units::{Unit, rounded};

/// What a colleague needs to approve it: the worst first.
pub fn review(page: &mut Page, review: &Review, sources: &Sources) {
    page.heading("Findings it brings");
    if review.brought.is_empty() {
        page.paragraph(2, GOOD, "None.");
    }
    review.brought.iter().for_each(|finding| one(page, finding, sources));
    short(page, "Findings it clears", &review.cleared);
    short(page, "Findings still there", &review.still);
    open(page, &review.open);
    changed_rules(page, &review.changed);
    if !review.windows.is_empty() {
        page.heading("Windows");
        windows(page, &review.windows);
    }
    let all = &review.step.comparison.changes;
    page.heading(&counted(all.len(), "change"));
    changes(page, all, sources);
    if !review.step.effects.is_empty() {
        page.heading("Effects at idle");
        effects(page, &review.step.effects, &review.step.comparison);
    }
}

/// Findings a line each.
fn short(page: &mut Page, heading: &str, findings: &[Finding]) {
    if findings.is_empty() {
        return;
    }
    page.heading(heading);
    for finding in findings {
        in_short(page, finding, style(finding.level));
    }
}

fn windows(page: &mut Page, rows: &[WindowRow]) {
    let mut table =
        Table::new(&[Align::Left, Align::Right, Align::Left, Align::Right, Align::Left, Align::Left]);
    let head = ["", "before", "", "after", "", "window"];
    table.row(head.map(|word| Cell::new(word, FAINT)).to_vec());
    for row in rows {
        let side = |side: Option<(f64, Mark)>| match side {
            Some((value, mark)) if mark.bad() => {
                [Cell::new(figure(value, row.unit), CAUTION), Cell::new(mark.word(), CAUTION)]
            }
            Some((value, _)) => [Cell::new(figure(value, row.unit), PLAIN), Cell::from("")],
            None => [Cell::new("undefined", CAUTION), Cell::from("")],
        };
        let mut cells = vec![Cell::new(row.place.clone(), HEAD)];
        cells.extend(side(row.before));
        cells.extend(side(row.after));
        let (low, high) = row.window;
        cells.push(Cell::new(format!("{} to {}", figure(low, row.unit), figure(high, row.unit)), FAINT));
        table.row(cells);
    }
    page.table(2, &table);
}

fn figure(value: f64, unit: Unit) -> String {
    rounded(value, unit, 4)
}

/// `2 brought, 5 cleared, 1 still there.`
pub fn review_summary(review: &Review) -> String {
    let Review { brought, cleared, still, .. } = review;
    format!("Findings: {} brought, {} cleared, {} still there.", brought.len(), cleared.len(), still.len())
}
