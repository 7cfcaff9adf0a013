//! Effects of the changes between two circuits, and which change caused how much:
//! each change is put in alone, and taken out of all, and the amplifier is solved each time.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::unionfind::UnionFind;
use rayon::prelude::*;

use super::effect::{Cause, Effect, JointMember, Quantities, QuantityKind, QuantityName};
use super::named::Comparison;
use super::patch::Between;
use super::quantities::{at_dc, names, with_gains};
use super::stage_gain::StageGains;
use super::variant::{Variant, Variants};
use crate::change::comparing::Side;
use crate::circuit::Circuit;
use crate::model::Condition;
use crate::solve::signal::model::Rig;
use crate::solve::{AtRest, Solved};
use crate::units::Unit;

/// Works out what moved between two solved circuits at rest and why. Quantities are of the parts and places that
/// either has; what is undefined on one side is told without causes.
pub fn effects(comparison: &Comparison, sides: (Side, &Solved), after: (Side, &Solved)) -> Vec<Effect> {
    let (before, before_solved) = sides;
    let (after, after_solved) = after;
    let gains = StageGains::of(before);
    let table = |side: Side, solved: &Solved| {
        with_gains(side.circuit, solved, &names(side.circuit, before, solved), &gains)
    };
    let ((first, rig), (last, _)) = (table(before, before_solved), table(after, after_solved));
    let mut moved: Vec<Effect> = Vec::new();
    let keys: BTreeSet<&QuantityName> = first.keys().chain(last.keys()).collect();
    for key in keys {
        let (x, y) = (first.get(key).copied(), last.get(key).copied());
        // What two changes do to the sound may cancel: each is heard when the other is put right.
        if noteworthy(key.0, x, y) || key.0.tone_hertz().is_some() {
            let (quantity, subject) = key.clone();
            let unit = unit_of(quantity);
            moved.push(Effect { subject, quantity, unit, before: x, after: y, causes: Vec::new() });
        }
    }
    if !moved.is_empty() && !comparison.changes.is_empty() {
        let state = (before_solved.condition, before_solved.case.as_deref());
        let variants = Variants::new(comparison, before, after.circuit, state);
        let both = whole(&moved);
        let asked = Asked {
            gains: gains.only(|name| both.contains(name)),
            names: both,
            condition: before_solved.condition,
        };
        let start = Start { rest: before_solved.windows.at_rest(), rig: rig.as_ref() };
        attribute(
            &variants,
            &bundles_within(comparison, variants.between()),
            (&first, &last),
            &asked,
            start,
            &mut moved,
        );
    }
    moved.retain(|effect| noteworthy(effect.quantity, effect.before, effect.after) || is_heard(effect));
    moved
}

/// Whether a change moves a level by what is worth a line.
fn is_heard(effect: &Effect) -> bool {
    let heard = |amount: f64| noteworthy(effect.quantity, Some(0.0), Some(amount));
    effect.quantity.tone_hertz().is_some()
        && effect.causes.iter().any(|cause| match cause {
            Cause::Share { amount, .. } => heard(*amount),
            Cause::Joint { members, .. } => members.iter().filter_map(|member| member.last).any(heard),
            Cause::Mutual { .. } => false,
        })
}

/// The names of what has a value on both sides: only of these causes are told.
fn whole(moved: &[Effect]) -> BTreeSet<QuantityName> {
    let whole = moved.iter().filter(|effect| effect.before.is_some() && effect.after.is_some());
    whole.map(|effect| (effect.quantity, effect.subject.clone())).collect()
}

/// The changes that keep the second circuit from an operating point in a state: those without which it has one; of
/// several that do it only together, none.
pub fn preventing(
    comparison: &Comparison,
    before: Side,
    after: &Circuit,
    state: (Condition, Option<&str>),
) -> Vec<usize> {
    let variants = Variants::new(comparison, before, after, state);
    let bundles = bundles(comparison, variants.between());
    let rests_without = |bundle: &Vec<usize>| variants.with(|index| !bundle.contains(&index), None).is_some();
    bundles.par_iter().filter(|bundle| rests_without(bundle)).flatten().copied().collect()
}

fn unit_of(kind: QuantityKind) -> Unit {
    match kind {
        QuantityKind::RailVolts | QuantityKind::ElectrodeVolts => Unit::Volt,
        QuantityKind::IdleCurrent => Unit::Amp,
        QuantityKind::PlateDissipation | QuantityKind::ScreenDissipation | QuantityKind::PartPower => {
            Unit::Watt
        }
        QuantityKind::StageGain | QuantityKind::Bass | QuantityKind::Middle | QuantityKind::Treble => {
            Unit::Decibel
        }
    }
}

/// A movement worth a line: over 1 % of the quantity, and over what a bench meter resolves.
fn noteworthy(kind: QuantityKind, before: Option<f64>, after: Option<f64>) -> bool {
    let floor: f64 = match kind {
        QuantityKind::RailVolts
        | QuantityKind::StageGain
        | QuantityKind::Bass
        | QuantityKind::Middle
        | QuantityKind::Treble => 0.5,
        QuantityKind::ElectrodeVolts => 0.05,
        QuantityKind::IdleCurrent => 10e-6,
        QuantityKind::PlateDissipation | QuantityKind::ScreenDissipation => 0.01,
        QuantityKind::PartPower => 0.02,
    };
    match (before, after) {
        // A level has no share of itself: 0 dB is as good as any.
        (Some(x), Some(y)) if kind.tone_hertz().is_some() => (y - x).abs() > floor,
        (Some(x), Some(y)) => (y - x).abs() > floor.max(0.01 * x.abs()),
        (None, None) => false,
        // A grid that lies at chassis has no gain; that is no movement of it.
        _ if kind.is_level() && (before.is_none() || after.is_none()) => false,
        (Some(one), None) | (None, Some(one)) => one.abs() > floor,
    }
}

/// Parts solved, over all changes: what takes more (a bench's record takes a tenth) is told as the work of all changes
/// together.
const MOST_WORK: usize = 1_000_000;

/// Solved quantities that differ by less than this share of them are the same: what convergence leaves, with a margin.
const KNOWN_SHARE: f64 = 1e-8;

/// What is asked of every circuit between two.
struct Asked<'a> {
    names: BTreeSet<QuantityName>,
    gains: StageGains<'a>,
    condition: Condition,
}

/// Where the solving of a circuit starts, and of its gains: one much like it.
#[derive(Clone, Copy)]
struct Start<'a> {
    rest: Option<&'a AtRest>,
    rig: Option<&'a Rig>,
}

impl Asked<'_> {
    fn of(&self, variant: Variant, near: Start) -> Quantities {
        let mut table = at_dc(&variant.circuit, &variant.solved(self.condition), &self.names);
        if !self.gains.is_empty() {
            table.extend(self.gains_of(variant, near.rig).unwrap_or_default());
        }
        table
    }

    /// A solved circuit made ready for gains, where any are asked for.
    fn ready(&self, circuit: &Circuit, rest: &AtRest, near: Option<&Rig>) -> Option<Rig> {
        let solved = || (rest.lowered.clone(), rest.point.clone());
        (!self.gains.is_empty()).then(|| self.gains.rig(circuit, solved(), near).ok()).flatten()
    }

    fn gains_of(&self, variant: Variant, near: Option<&Rig>) -> Option<Quantities> {
        let Variant { circuit, rest } = variant;
        let mut rig = self.gains.rig(&circuit, (rest.lowered, rest.point), near).ok()?;
        self.gains.in_rig(&circuit, &mut rig).ok()
    }
}

fn attribute(
    variants: &Variants,
    bundles: &[Vec<usize>],
    (first, last): (&Quantities, &Quantities),
    asked: &Asked,
    start: Start,
    moved: &mut [Effect],
) {
    // With one bundle, alone is all and the rest is nothing: no solve is needed.
    if let [all] = bundles {
        for effect in moved {
            let (Some(x), Some(y)) = (effect.before, effect.after) else { continue };
            effect.causes = vec![Cause::Share { changes: all.clone(), amount: y - x }];
        }
        return;
    }
    // What lacks one change is nearest to what has them all.
    let all = variants.with(|_| true, start.rest);
    let ready = all.as_ref().and_then(|all| asked.ready(&all.circuit, &all.rest, start.rig));
    let end =
        Start { rest: all.as_ref().map(|all| &all.rest).or(start.rest), rig: ready.as_ref().or(start.rig) };
    let solve = |bundle: &Vec<usize>| {
        let alone = variants.with(|index| bundle.contains(&index), start.rest);
        let without = variants.with(|index| !bundle.contains(&index), end.rest);
        (alone.map(|it| asked.of(it, start)), without.map(|it| asked.of(it, end)))
    };
    let runs: Vec<(Option<Quantities>, Option<Quantities>)> = bundles.par_iter().map(solve).collect();
    for effect in moved {
        let (Some(x), Some(y)) = (effect.before, effect.after) else { continue };
        let key = (effect.quantity, effect.subject.clone());
        let member = |b: usize| JointMember {
            changes: bundles[b].clone(),
            alone: runs[b].0.as_ref().and_then(|t| t.get(&key)).map(|q| apart(first[&key], *q)),
            last: runs[b].1.as_ref().and_then(|t| t.get(&key)).map(|q| apart(*q, last[&key])),
        };
        effect.causes = causes((0..bundles.len()).map(member).collect(), x, y);
    }
}

/// From one value to another; 0 where they differ by less than is known of either.
fn apart(from: f64, to: f64) -> f64 {
    let moved = to - from;
    if moved.abs() > KNOWN_SHARE * from.abs().max(to.abs()) { moved } else { 0.0 }
}

/// Shares, the joint set and the mutual rest of one quantity; they add up to after − before exactly. What is less than is
/// known of the quantity is no cause.
fn causes(members: Vec<JointMember>, before: f64, after: f64) -> Vec<Cause> {
    let delta = after - before;
    let size = before.abs().max(after.abs());
    let close = (0.05 * delta.abs()).max(0.001 * size);
    let mut shares = Vec::new();
    let mut joint = Vec::new();
    let mut rest = delta;
    for member in members {
        match (member.alone, member.last) {
            (Some(alone), Some(last)) if (alone - last).abs() <= close => {
                let amount = f64::midpoint(alone, last);
                if amount != 0.0 {
                    rest -= amount;
                    shares.push(Cause::Share { changes: member.changes, amount });
                }
            }
            _ => joint.push(member),
        }
    }
    // Ties are by the order of the changes: what convergence leaves decides nothing.
    let rank = |cause: &Cause| libm::round(cause.amount().abs() / (KNOWN_SHARE * size));
    shares.sort_by(|a, b| rank(b).total_cmp(&rank(a)).then_with(|| a.first().cmp(&b.first())));
    if !joint.is_empty() {
        shares.push(Cause::Joint { members: joint, amount: rest });
    } else if rest.abs() > KNOWN_SHARE * size {
        shares.push(Cause::Mutual { amount: rest });
    } else if let Some(Cause::Share { amount, .. }) = shares.first_mut() {
        *amount += rest;
    }
    shares
}

/// The changes of a comparison in bundles that are one to the amplifier: those that share a net which the first circuit
/// does not have, a group, or a part.
pub fn bundled(comparison: &Comparison, before: &Circuit, after: &Circuit) -> Vec<Vec<usize>> {
    bundles_within(comparison, &Between::new(before, after, &comparison.nets))
}

/// The bundles; all changes as one where taking each out would be too much work.
fn bundles_within(comparison: &Comparison, between: &Between) -> Vec<Vec<usize>> {
    let bundles = bundles(comparison, between);
    if 2 * bundles.len() * between.after.parts.len() > MOST_WORK {
        return vec![(0..comparison.steps.len()).collect()];
    }
    bundles
}

/// Changes that can't be told apart: those that share a net which the first circuit does not have, or a group.
fn bundles(comparison: &Comparison, between: &Between) -> Vec<Vec<usize>> {
    let count = comparison.steps.len();
    let mut sets = UnionFind::<usize>::new(count);
    let mut by_net: BTreeMap<u32, usize> = BTreeMap::new();
    let mut by_group: BTreeMap<&str, usize> = BTreeMap::new();
    let mut by_part: BTreeMap<&str, usize> = BTreeMap::new();
    for (index, step) in comparison.steps.iter().enumerate() {
        for net in between.new_nets(&step.edits) {
            let first = *by_net.entry(net.0).or_insert(index);
            sets.union(index, first);
        }
        if let Some(group) = &step.group {
            let first = *by_group.entry(group).or_insert(index);
            sets.union(index, first);
        }
        // Several changes of one part (a new body and a moved leg) are one to the amplifier.
        let first = *by_part.entry(&comparison.changes[index].subject).or_insert(index);
        sets.union(index, first);
    }
    let mut bundles: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for index in 0..count {
        bundles.entry(sets.find(index)).or_default().push(index);
    }
    let mut bundles: Vec<Vec<usize>> = bundles.into_values().collect();
    bundles.sort();
    bundles
}
