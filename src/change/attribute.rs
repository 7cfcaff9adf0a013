//! Effects of the changes between two circuits, and which change caused how much:
//! each change is put in alone, and taken out of all, and the amplifier is solved each time.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::unionfind::UnionFind;
use rayon::prelude::*;

use super::effect::{Cause, Effect, JointMember, Quantities, QuantityKind, QuantityName};
use super::named::Comparison;
use super::patch::{Between, Step};
use super::stage_gain::stage_gains;
use crate::change::comparing::Side;
use crate::circuit::Circuit;
use crate::model::{Condition, Kind};
use crate::recognise::recognise;
use crate::solve::at_rest::{network_at_rest, read_back};
use crate::solve::{Setup, Solved};
use crate::units::Unit;

/// Works out what moved between two solved circuits at rest and why. Quantities are of the parts and places that
/// either has; what is undefined on one side is told without causes.
pub fn effects(comparison: &Comparison, sides: (Side, &Solved), after: (Side, &Solved)) -> Vec<Effect> {
    let (before, before_solved) = sides;
    let (after, after_solved) = after;
    let first = quantities(before.circuit, before, before_solved);
    let last = quantities(after.circuit, before, after_solved);
    let mut moved: Vec<Effect> = Vec::new();
    let keys: BTreeSet<&QuantityName> = first.keys().chain(last.keys()).collect();
    for key in keys {
        let (x, y) = (first.get(key).copied(), last.get(key).copied());
        if noteworthy(key.0, x, y) {
            let (quantity, subject) = key.clone();
            let unit = unit_of(quantity);
            moved.push(Effect { subject, quantity, unit, before: x, after: y, causes: Vec::new() });
        }
    }
    if !moved.is_empty() && !comparison.changes.is_empty() {
        let state = (before_solved.condition, before_solved.case.as_deref());
        attribute(comparison, before, after.circuit, (&first, &last), state, &mut moved);
    }
    moved
}

/// The changes that keep the second circuit from an operating point in a state: those without which it has one; of
/// several that do it only together, none.
pub fn preventing(
    comparison: &Comparison,
    before: Side,
    after: &Circuit,
    state: (Condition, Option<&str>),
) -> Vec<usize> {
    let between = Between { before: before.circuit, after, nets: &comparison.nets };
    let bundles = bundles(comparison, &between);
    let rests_without = |bundle: &Vec<usize>| {
        let others = (0..comparison.steps.len()).filter(|index| !bundle.contains(index));
        let steps: Vec<&Step> = others.map(|index| &comparison.steps[index]).collect();
        let circuit = between.patched(&steps);
        setup(&circuit, state).is_some_and(|setup| network_at_rest(&circuit, &setup).is_ok())
    };
    bundles.par_iter().filter(|bundle| rests_without(bundle)).flatten().copied().collect()
}

fn unit_of(kind: QuantityKind) -> Unit {
    match kind {
        QuantityKind::RailVolts | QuantityKind::ElectrodeVolts => Unit::Volt,
        QuantityKind::IdleCurrent => Unit::Amp,
        QuantityKind::PlateDissipation | QuantityKind::ScreenDissipation | QuantityKind::PartPower => {
            Unit::Watt
        }
        QuantityKind::StageGain => Unit::Decibel,
    }
}

/// A movement worth a line: over 1 % of the quantity, and over what a bench meter resolves.
fn noteworthy(kind: QuantityKind, before: Option<f64>, after: Option<f64>) -> bool {
    let floor: f64 = match kind {
        QuantityKind::RailVolts | QuantityKind::StageGain => 0.5,
        QuantityKind::ElectrodeVolts => 0.05,
        QuantityKind::IdleCurrent => 10e-6,
        QuantityKind::PlateDissipation | QuantityKind::ScreenDissipation => 0.01,
        QuantityKind::PartPower => 0.02,
    };
    match (before, after) {
        (Some(x), Some(y)) => (y - x).abs() > floor.max(0.01 * x.abs()),
        (None, None) => false,
        // A grid that lies at chassis has no gain; that is no movement of it.
        _ if kind == QuantityKind::StageGain && (before.is_none() || after.is_none()) => false,
        (Some(one), None) | (None, Some(one)) => one.abs() > floor,
    }
}

/// The listed quantities of a circuit. Rails are those of `named_by`, the circuit it is compared with; nets are
/// named by a leg in them, so that a name means the same place in both.
pub fn quantities(circuit: &Circuit, named_by: Side, solved: &Solved) -> Quantities {
    let mut table = at_dc(circuit, named_by, solved);
    if solved.condition == Condition::Idle
        && let Ok((lowered, point)) = network_at_rest(circuit, &Setup::idle())
        && let Ok(gains) = stage_gains(circuit, named_by, lowered, point)
    {
        table.extend(gains);
    }
    table
}

/// The quantities that need no signal.
fn at_dc(circuit: &Circuit, named_by: Side, solved: &Solved) -> Quantities {
    let mut table = Quantities::new();
    for rail in &named_by.recognised.rails {
        let name = named_by.circuit.net(rail.net).name.clone();
        if let Some(volts) = circuit.find_net(&name).and_then(|net| solved.net_volts(net)) {
            table.insert((QuantityKind::RailVolts, name), volts);
        }
    }
    for section in &solved.sections {
        let part = circuit.part(section.tube);
        let name = format!("{}{}", part.name, section.letter);
        for electrode in ["plate", "cathode", "grid"] {
            let leg = if section.letter.is_empty() {
                electrode.into()
            } else {
                format!("{}.{electrode}", section.letter)
            };
            if let Some(volts) = circuit.leg_net(section.tube, &leg).and_then(|net| solved.net_volts(net)) {
                table.insert((QuantityKind::ElectrodeVolts, format!("{name}.{electrode}")), volts);
            }
        }
        table.insert((QuantityKind::IdleCurrent, name.clone()), section.cathode_amps);
        table.insert((QuantityKind::PlateDissipation, name.clone()), section.plate_watts);
        if let Some(watts) = section.screen_watts {
            table.insert((QuantityKind::ScreenDissipation, name), watts);
        }
    }
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let heats =
            matches!(part.kind, Kind::Resistor | Kind::Choke | Kind::Pot | Kind::Trimmer | Kind::Zener);
        if let (true, Some(watts)) = (heats && part.fitted(), solved.watts[id.0 as usize]) {
            table.insert((QuantityKind::PartPower, part.name.clone()), watts);
        }
    }
    table
}

/// Parts solved, over all changes: what takes more (a bench's record takes a tenth) is told as the work of all changes
/// together.
const MOST_WORK: usize = 1_000_000;

fn attribute(
    comparison: &Comparison,
    before: Side,
    after: &Circuit,
    (first, last): (&Quantities, &Quantities),
    state: (Condition, Option<&str>),
    moved: &mut [Effect],
) {
    let between = Between { before: before.circuit, after, nets: &comparison.nets };
    let bundles = bundles_within(comparison, &between);
    let steps = |chosen: &dyn Fn(usize) -> bool| -> Vec<&Step> {
        let members = bundles.iter().enumerate().filter(|(i, _)| chosen(*i)).flat_map(|(_, b)| b);
        members.map(|i| &comparison.steps[*i]).collect()
    };
    let gains_moved = moved.iter().any(|effect| effect.quantity == QuantityKind::StageGain);
    let solve = |steps: &[&Step]| -> Option<Quantities> {
        let circuit = between.patched(steps);
        let (lowered, point) = network_at_rest(&circuit, &setup(&circuit, state)?).ok()?;
        let solved = read_back(&circuit, state.0, &lowered, &point);
        let mut table = at_dc(&circuit, before, &solved);
        if gains_moved && let Ok(gains) = stage_gains(&circuit, before, lowered, point) {
            table.extend(gains);
        }
        Some(table)
    };
    // With one bundle, alone is all and the rest is nothing: no solve is needed.
    let single = bundles.len() == 1;
    let runs: Vec<(Option<Quantities>, Option<Quantities>)> = (0..bundles.len())
        .into_par_iter()
        .map(|b| if single { (None, None) } else { (solve(&steps(&|i| i == b)), solve(&steps(&|i| i != b))) })
        .collect();
    for effect in moved {
        let (Some(x), Some(y)) = (effect.before, effect.after) else { continue };
        if single {
            effect.causes = vec![Cause::Share { changes: bundles[0].clone(), amount: y - x }];
            continue;
        }
        let key = (effect.quantity, effect.subject.clone());
        let member = |b: usize| JointMember {
            changes: bundles[b].clone(),
            alone: runs[b].0.as_ref().and_then(|t| t.get(&key)).map(|q| q - first[&key]),
            last: runs[b].1.as_ref().and_then(|t| t.get(&key)).map(|q| last[&key] - q),
        };
        effect.causes = causes((0..bundles.len()).map(member).collect(), x, y);
    }
}

/// The state on a circuit with some of the changes; `None` where it doesn't have it.
fn setup(circuit: &Circuit, (condition, case): (Condition, Option<&str>)) -> Option<Setup> {
    if condition == Condition::Idle {
        return Some(Setup::idle());
    }
    let cases = Setup::cases(condition, circuit, &recognise(circuit)).ok()?;
    cases.into_iter().find(|setup| setup.case.as_deref() == case)
}

/// Shares, the joint set and the mutual rest of one quantity; they add up to after − before exactly.
fn causes(members: Vec<JointMember>, before: f64, after: f64) -> Vec<Cause> {
    let delta = after - before;
    let close = (0.05 * delta.abs()).max(0.001 * before.abs().max(after.abs()));
    let mut shares = Vec::new();
    let mut joint = Vec::new();
    let mut rest = delta;
    for member in members {
        match (member.alone, member.last) {
            (Some(alone), Some(last)) if (alone - last).abs() <= close => {
                let amount = f64::midpoint(alone, last);
                rest -= amount;
                // A share below a hundredth of the whole is no cause worth naming, but it counts in the sum.
                shares.push(Cause::Share { changes: member.changes, amount });
            }
            _ => joint.push(member),
        }
    }
    shares.sort_by(|a, b| {
        b.amount().abs().total_cmp(&a.amount().abs()).then_with(|| a.first().cmp(&b.first()))
    });
    if !joint.is_empty() {
        shares.push(Cause::Joint { members: joint, amount: rest });
    } else if rest != 0.0 {
        shares.push(Cause::Mutual { amount: rest });
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
