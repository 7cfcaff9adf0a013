//! What each change does, seen from the amplifier as it is: a quantity now less the same with the change taken out.

use crate::change::{Cause, Effect, QuantityKind, TONE};
use crate::units::Unit;

/// Most quantities told of one change.
const MOST_TOLD: usize = 4;

/// One quantity that a change moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Of what: `B3`, `V5`.
    pub subject: String,
    /// Which quantity.
    pub quantity: QuantityKind,
    /// Its unit.
    pub unit: Unit,
    /// By how much.
    pub amount: f64,
    /// The same in steps that are just noticed.
    pub steps: f64,
}

/// What some changes, which are one to the amplifier, move most; what nobody would notice is left out: under 2 % of a rail's
/// or electrode's volts, 5 % of a current, 0.5 dB.
pub fn moved_by(changes: &[usize], effects: &[Effect]) -> Vec<Moved> {
    let of_parts = effects.iter().filter(|effect| effect.quantity.tone_hertz().is_none());
    let mut all: Vec<Moved> = of_parts.filter_map(|effect| moved(changes, effect)).collect();
    all.sort_by(|a, b| b.steps.total_cmp(&a.steps));
    let mut told: Vec<Moved> = Vec::new();
    for moved in all {
        // One thing is told by one quantity of a kind, and a net by its best name.
        let same = |other: &Moved| {
            other.quantity == moved.quantity
                && (other.amount - moved.amount).abs() < 0.02 * moved.amount.abs()
        };
        if told.len() < MOST_TOLD && !told.iter().any(same) {
            told.push(moved);
        }
    }
    told
}

/// What is heard of them: bass, middle and treble of the whole way in dB, where one of them moves by half a decibel.
pub fn tone_of(changes: &[usize], effects: &[Effect]) -> Option<[f64; 3]> {
    let amount = |kind: QuantityKind| {
        let effect = effects.iter().find(|effect| effect.quantity == kind)?;
        share(changes, effect)
    };
    let tone = TONE.map(|kind| amount(kind).unwrap_or_default());
    tone.iter().any(|amount| amount.abs() >= LEAST_HEARD).then_some(tone)
}

/// Decibels that are just heard: common practice, no source.
pub const LEAST_HEARD: f64 = 0.5;

/// What of an effect comes from the changes.
fn share(changes: &[usize], effect: &Effect) -> Option<f64> {
    effect.causes.iter().find_map(|cause| match cause {
        Cause::Share { changes: own, amount } if own == changes => Some(*amount),
        Cause::Joint { members, .. } => members.iter().find(|member| member.changes == changes)?.last,
        _ => None,
    })
}

/// How far one effect comes from the changes, in noticeable steps.
fn moved(changes: &[usize], effect: &Effect) -> Option<Moved> {
    // A cathode follows its current, which is told.
    if effect.quantity == QuantityKind::ElectrodeVolts && effect.subject.ends_with(".cathode") {
        return None;
    }
    let amount = share(changes, effect)?;
    let size = effect.before.unwrap_or_default().abs().max(effect.after.unwrap_or_default().abs());
    let step = match effect.quantity {
        QuantityKind::RailVolts | QuantityKind::ElectrodeVolts => 0.02 * size,
        QuantityKind::IdleCurrent => 0.05 * size,
        QuantityKind::StageGain | QuantityKind::Bass | QuantityKind::Middle | QuantityKind::Treble => {
            LEAST_HEARD
        }
        // Told by the current and volts that make it.
        QuantityKind::PlateDissipation | QuantityKind::ScreenDissipation | QuantityKind::PartPower => {
            return None;
        }
    };
    let steps = amount.abs() / step;
    let (subject, quantity, unit) = (effect.subject.clone(), effect.quantity, effect.unit);
    (steps >= 1.0).then_some(Moved { subject, quantity, unit, amount, steps })
}
