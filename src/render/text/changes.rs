//! Changes between two circuits as text.

use super::page::{CAUTION, FAINT, GOOD, HEAD, NOTICE, PLAIN, Page};
use super::table::{Align, Cell, Table};
use crate::change::{Change, ChangeKind};
use crate::source::Sources;

/// One line a change, kinds in their order.
pub fn changes(page: &mut Page, changes: &[Change], sources: &Sources) {
    let mut table = Table::new(&[Align::Left; 6]);
    for change in changes {
        table.row(vec![
            Cell::new(change.subject.clone(), HEAD),
            Cell::new(change.kind.word(), style(change.kind)),
            Cell::from(transition(change)),
            Cell::new(change.role.clone(), PLAIN),
            Cell::new(change.note.as_ref().map_or(String::new(), |note| format!("\"{note}\"")), PLAIN),
            Cell::new(place(change, sources), FAINT),
        ]);
    }
    page.table(2, &table);
}

/// `4k7 → 5k6 0.5W`; one side alone where the other says nothing.
fn transition(change: &Change) -> String {
    match (change.before.as_str(), change.after.as_str()) {
        ("", after) => after.to_owned(),
        (before, "") => before.to_owned(),
        (before, after) => format!("{before} → {after}"),
    }
}

/// Where the text says so: the last statement, which made the change.
fn place(change: &Change, sources: &Sources) -> String {
    change.spans.last().map_or(String::new(), |span| {
        let source = sources.source(span.file);
        format!("{}:{}", source.path, source.line_column(span.start).0)
    })
}

fn style(kind: ChangeKind) -> anstyle::Style {
    match kind {
        ChangeKind::Replaced | ChangeKind::Repaired => GOOD,
        ChangeKind::ControlSet | ChangeKind::Rerated => NOTICE,
        _ => CAUTION,
    }
}
