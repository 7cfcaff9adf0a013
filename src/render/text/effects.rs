//! What the changes did, as text: before, after, how much, and which change caused how much.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::Three;
use crate::analysis::main_causes;
use crate::change::{Cause, Comparison, Effect, JointMember, QuantityKind};
use crate::render::text::style::{CAUTION, FAINT, HEAD, PLAIN};
use crate::units::{Unit, rounded_like};

/// Most names of one bundle of changes.
const MOST_NAMES: usize = 3;

/// Effects grouped by quantity.
pub fn effects(page: &mut Page, effects: &[Effect], comparison: &Comparison) {
    let columns = [Align::Left, Align::Right, Align::Left, Align::Right, Align::Right, Align::Left];
    let mut table = Table::new(&columns);
    let mut last: Option<QuantityKind> = None;
    for effect in effects {
        if last != Some(effect.quantity) {
            group(&mut table, last.is_none(), effect.quantity);
            last = Some(effect.quantity);
        }
        let reference = larger(&[effect.before, effect.after]);
        let value = |value: Option<f64>| shown(value, reference, effect.unit);
        let delta = effect.before.zip(effect.after).map(|(before, after)| after - before);
        let signed_delta = delta.map_or(String::new(), |delta| signed(delta, delta, effect.unit));
        table.row(vec![
            Cell::new(effect.subject.clone(), HEAD),
            value(effect.before),
            "→".into(),
            value(effect.after),
            signed_delta.into(),
            Cell::new(causes(effect, delta.unwrap_or(0.0), comparison), PLAIN),
        ]);
    }
    page.table(2, &table);
}

/// The largest size of what is known: it gives all their prefix and last digit.
fn larger(values: &[Option<f64>]) -> f64 {
    values.iter().flatten().fold(0.0, |largest, value| value.abs().max(largest))
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
        let reference = larger(&[row.stock, row.beneath, row.now]);
        let value = |value: Option<f64>| shown(value, reference, row.unit);
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

fn shown(value: Option<f64>, reference: f64, unit: Unit) -> Cell {
    value.map_or(Cell::new("undefined", CAUTION), |value| rounded_like(value, reference, unit, 4).into())
}

/// `+9.90 V`, to the last digit of the whole difference.
fn signed(value: f64, delta: f64, unit: Unit) -> String {
    format!("{}{}", if value >= 0.0 { "+" } else { "" }, rounded_like(value, delta, unit, 3))
}

fn causes(effect: &Effect, delta: f64, comparison: &Comparison) -> String {
    let amount = |value: f64| signed(value, delta, effect.unit);
    let main = main_causes(effect);
    let mut words: Vec<String> = main.named.iter().map(|c| cause(c, &amount, comparison)).collect();
    if main.others > 0 && !main.named.is_empty() {
        words.push(format!("others {}", amount(main.others_amount)));
    }
    words.join("; ")
}

fn cause(cause: &Cause, amount: &dyn Fn(f64) -> String, comparison: &Comparison) -> String {
    let total = amount(cause.amount());
    match cause {
        Cause::Share { changes: bundle, .. } => format!("{} {total}", names(bundle, comparison)),
        Cause::Mutual { .. } => format!("on each other {total}"),
        Cause::Joint { members, .. } => joint(members, &total, amount, comparison),
    }
}

/// A few members each with what they do alone and last; of many only the names of the largest.
fn joint(
    members: &[JointMember],
    total: &str,
    amount: &dyn Fn(f64) -> String,
    comparison: &Comparison,
) -> String {
    let one = |value: Option<f64>| value.map_or("unsolved".into(), amount);
    let each = |m: &JointMember| format!("{} alone, {} last", one(m.alone), one(m.last));
    let name = |m: &JointMember| names(&m.changes, comparison);
    let mut members: Vec<&JointMember> = members.iter().collect();
    let size = |m: &JointMember| m.alone.map_or(f64::INFINITY, f64::abs);
    members.sort_by(|a, b| size(b).total_cmp(&size(a)));
    if let [member] = members[..] {
        return format!("{} {total} ({})", name(member), each(member));
    }
    if members.len() <= MOST_NAMES {
        let told: Vec<String> = members.iter().map(|m| format!("{} {}", name(m), each(m))).collect();
        return format!("together {total} ({})", told.join("; "));
    }
    let shown: Vec<String> = members.iter().take(MOST_NAMES).map(|m| name(m)).collect();
    format!("{} and {} more together {total}", shown.join(", "), members.len() - MOST_NAMES)
}

fn names(bundle: &[usize], comparison: &Comparison) -> String {
    if let Some(group) = bundle.iter().find_map(|i| comparison.group(*i)) {
        return format!("\"{group}\"");
    }
    let mut names: Vec<&str> = bundle.iter().map(|i| comparison.changes[*i].subject.as_str()).collect();
    names.dedup();
    let more = names.len().saturating_sub(MOST_NAMES);
    let shown = names[..names.len() - more].join("+");
    if more > 0 { format!("{shown}+{more} more") } else { shown }
}
