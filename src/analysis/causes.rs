//! The causes of an effect that are worth a line, and what the rest adds up to.

use crate::change::{Cause, Effect};

/// Least share of an effect that is named.
const NAMED_SHARE: f64 = 0.03;
/// Least share of an effect that the others together are told at.
const TOLD_SHARE: f64 = 0.005;
/// Most causes named.
const MOST_NAMED: usize = 4;

/// An effect's causes for people: the large ones, and the sum of the others.
#[derive(Debug)]
pub struct MainCauses<'a> {
    /// Largest first.
    pub named: Vec<&'a Cause>,
    /// How many causes are not named and worth telling together.
    pub others: usize,
    /// Their sum.
    pub others_amount: f64,
}

/// Picks the causes worth naming; with what is too small to tell they add up to after − before.
pub fn main_causes(effect: &Effect) -> MainCauses<'_> {
    let total = match (effect.before, effect.after) {
        (Some(before), Some(after)) => (after - before).abs(),
        _ => 0.0,
    };
    let mut causes: Vec<&Cause> = effect.causes.iter().collect();
    causes.sort_by(|a, b| b.amount().abs().total_cmp(&a.amount().abs()));
    let large = causes.iter().take(MOST_NAMED).filter(|c| c.amount().abs() >= NAMED_SHARE * total).count();
    let others = causes.split_off(large);
    let others_amount: f64 = others.iter().map(|c| c.amount()).sum();
    let told = others_amount.abs() >= TOLD_SHARE * total;
    MainCauses { named: causes, others: if told { others.len() } else { 0 }, others_amount }
}
