//! What the changes did, as text: before, after, how much, and which change caused how much.

use super::page::{CAUTION, FAINT, HEAD, PLAIN, Page};
use super::table::{Align, Cell, Table};
use crate::analysis::Three;
use crate::bench::main_causes;
use crate::change::{Cause, Change, Effect, QuantityKind};
use crate::units::{Unit, rounded};

/// Most names of one bundle of changes.
const MOST_NAMES: usize = 3;

/// Effects grouped by quantity.
pub fn effects(page: &mut Page, effects: &[Effect], changes: &[Change]) {
    let columns = [Align::Left, Align::Right, Align::Left, Align::Right, Align::Right, Align::Left];
    let mut table = Table::new(&columns);
    let mut last: Option<QuantityKind> = None;
    for effect in effects {
        if last != Some(effect.quantity) {
            group(&mut table, last.is_none(), effect.quantity);
            last = Some(effect.quantity);
        }
        let value = |value: Option<f64>| shown(value, effect.unit);
        let delta = match (effect.before, effect.after) {
            (Some(before), Some(after)) => signed(after - before, effect.unit),
            _ => String::new(),
        };
        table.row(vec![
            Cell::new(effect.subject.clone(), HEAD),
            value(effect.before),
            "→".into(),
            value(effect.after),
            delta.into(),
            Cell::new(causes(effect, changes), PLAIN),
        ]);
    }
    page.table(2, &table);
}

/// Quantities in three documents.
pub fn three(page: &mut Page, rows: &[Three], words: [&str; 3]) {
    let mut table = Table::new(&[Align::Left, Align::Right, Align::Right, Align::Right, Align::Left]);
    let mut head = vec![Cell::from("")];
    head.extend(words.map(|word| Cell::new(word, FAINT)));
    table.row(head);
    let mut last: Option<QuantityKind> = None;
    for row in rows {
        if last != Some(row.quantity) {
            group(&mut table, last.is_none(), row.quantity);
            last = Some(row.quantity);
        }
        let value = |value: Option<f64>| shown(value, row.unit);
        let name = Cell::new(row.subject.clone(), HEAD);
        table.row(vec![name, value(row.stock), value(row.beneath), value(row.now)]);
    }
    page.table(2, &table);
}

fn group(table: &mut Table, first: bool, quantity: QuantityKind) {
    if !first {
        table.across(vec![]);
    }
    table.across(vec![Cell::new(quantity.heading(), FAINT)]);
}

fn shown(value: Option<f64>, unit: Unit) -> Cell {
    value.map_or(Cell::new("undefined", CAUTION), |value| rounded(value, unit, 4).into())
}

/// `+9.9 V`.
fn signed(value: f64, unit: Unit) -> String {
    format!("{}{}", if value >= 0.0 { "+" } else { "" }, rounded(value, unit, 3))
}

fn causes(effect: &Effect, changes: &[Change]) -> String {
    let main = main_causes(effect);
    let mut words: Vec<String> = main.named.iter().map(|c| cause(c, effect.unit, changes)).collect();
    if main.others > 0 && !main.named.is_empty() {
        words.push(format!("others {}", signed(main.others_amount, effect.unit)));
    }
    words.join("; ")
}

fn cause(cause: &Cause, unit: Unit, changes: &[Change]) -> String {
    let amount = signed(cause.amount(), unit);
    match cause {
        Cause::Share { changes: bundle, .. } => format!("{} {amount}", names(bundle, changes)),
        Cause::Mutual { .. } => format!("all on each other {amount}"),
        Cause::Joint { members, .. } => {
            let one = |value: Option<f64>| value.map_or("unsolved".into(), |v| signed(v, unit));
            let member = |m: &crate::change::JointMember| {
                format!("{} {} alone, {} last", names(&m.changes, changes), one(m.alone), one(m.last))
            };
            let mut members: Vec<&crate::change::JointMember> = members.iter().collect();
            let size = |m: &crate::change::JointMember| m.alone.map_or(f64::INFINITY, f64::abs);
            members.sort_by(|a, b| size(b).total_cmp(&size(a)));
            let shown: Vec<String> = members.iter().take(MOST_NAMES).map(|m| member(m)).collect();
            let more = members.len().saturating_sub(MOST_NAMES);
            let more = if more > 0 { format!(", and {more} more") } else { String::new() };
            format!("together {amount} ({}{more})", shown.join(", "))
        }
    }
}

fn names(bundle: &[usize], changes: &[Change]) -> String {
    let mut names: Vec<&str> = bundle.iter().map(|i| changes[*i].subject.as_str()).collect();
    names.dedup();
    let more = names.len().saturating_sub(MOST_NAMES);
    let shown = names[..names.len() - more].join("+");
    if more > 0 { format!("{shown}+{more} more") } else { shown }
}
