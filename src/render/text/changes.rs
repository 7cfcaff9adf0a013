//! Changes between two circuits as text.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::change::{Change, ChangeKind};
use crate::render::text::style::{CAUTION, FAINT, GOOD, HEAD, NOTICE};
use crate::source::Sources;

/// Each change with its kind, part and values; under it what the part is for, the remark, and the place.
pub fn changes(page: &mut Page, changes: &[Change], sources: &Sources) {
    let mut table = Table::new(&[Align::Left; 3]);
    let mut last: Option<ChangeKind> = None;
    for change in changes {
        let word = if last == Some(change.kind) { "" } else { change.kind.word() };
        last = Some(change.kind);
        table.row(vec![
            Cell::new(word, style(change.kind)),
            Cell::new(change.subject.clone(), HEAD),
            Cell::from(transition(change)),
        ]);
        let note = change.note.as_ref().map(|note| format!("\"{note}\""));
        let under = [Some(change.role.clone()), note, Some(place(change, sources))];
        let under: Vec<String> = under.into_iter().flatten().filter(|words| !words.is_empty()).collect();
        table.row(vec!["".into(), "".into(), Cell::new(under.join(" · "), FAINT)]);
    }
    page.table(2, &table);
}

/// `4k7 → 5k6 0.5W`; one side alone where the kind says the other.
fn transition(change: &Change) -> String {
    match (change.kind, change.before.as_str(), change.after.as_str()) {
        (ChangeKind::Missing | ChangeKind::Removed, before, _) => before.to_owned(),
        (ChangeKind::Added, _, after) => after.to_owned(),
        (_, "", one) | (_, one, "") => one.to_owned(),
        (_, before, after) => format!("{before} → {after}"),
    }
}

/// The statement that made the change: the one in the text that was opened first, which is the later document.
fn place(change: &Change, sources: &Sources) -> String {
    change.spans.first().map_or(String::new(), |span| {
        let source = sources.source(span.file);
        format!("{}:{}", source.path, source.line_column(span.start).0)
    })
}

fn style(kind: ChangeKind) -> anstyle::Style {
    match kind {
        ChangeKind::Replaced | ChangeKind::Repaired | ChangeKind::Restored | ChangeKind::Removed => GOOD,
        ChangeKind::ControlSet | ChangeKind::Rerated => NOTICE,
        _ => CAUTION,
    }
}
