//! What a leak does: the circuit at idle held against the same circuit with the part whole.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::circuit::{Circuit, Part, PartId};
use crate::model::Construction;
use crate::recognise::{Recognised, Section};
use crate::solve::{Setup, Solved, SolvedSection, at_rest};
use crate::units::{Unit, rounded};

use super::context::Known;

/// Cathode currents below this are no idle current of a valve at work, in amperes (common practice).
const LEAST_AMPS: f64 = 10e-6;
/// Rails below this are not held against one another, in volts.
const LEAST_VOLTS: f64 = 1.0;
/// More heat than this in one part is no leak any more, in watts (common practice, no source).
const MUCH_HEAT: f64 = 20.0;
/// More of its rated volts than this no electrolytic stands for long (common practice, no source).
const SURGE: f64 = 1.10;

/// Effects of the leaks of one circuit, worked out when a rule first asks.
#[derive(Debug, Default)]
pub(crate) struct Leaks {
    all: OnceLock<BTreeMap<PartId, Known<Effect>>>,
}

/// What one leak moves.
#[derive(Debug, Clone, Default)]
pub(crate) struct Effect {
    /// The furthest, as a share of what it is without the leak: a section's cathode current or a rail.
    pub(crate) most: f64,
    /// The same of output valves' currents alone.
    pub(crate) output: f64,
    /// What moves most, in words; empty where nothing does.
    pub(crate) told: String,
}

impl Leaks {
    /// The effect of a part's leak at idle.
    pub(crate) fn effect(
        &self,
        circuit: &Circuit,
        recognised: &Recognised,
        idle: &Solved,
        part: PartId,
    ) -> Known<Effect> {
        let all = self.all.get_or_init(|| {
            let leaky = circuit.part_ids().filter(|id| leaks(circuit.part(*id)));
            leaky.map(|id| (id, effect(circuit, recognised, idle, id))).collect()
        });
        all.get(&part)
            .cloned()
            .unwrap_or_else(|| Err(format!("the leakage of {} was not measured", circuit.part(part).name)))
    }
}

fn effect(circuit: &Circuit, recognised: &Recognised, idle: &Solved, part: PartId) -> Known<Effect> {
    let without = whole(circuit, &Setup::idle(), part)?;
    let mut found = Effect::default();
    for stage in &recognised.stages {
        for section in &stage.sections {
            let Some((with, without)) = currents(idle, &without, section) else { continue };
            let share = (with - without).abs() / without.max(LEAST_AMPS);
            if stage.kind.is_output() {
                found.output = found.output.max(share);
            }
            let name = format!("{}{}", circuit.part(section.tube).name, section.letter);
            found.note(share, &name, (with, without), Unit::Amp);
        }
    }
    for rail in &recognised.rails {
        if let (Some(with), Some(without)) = (idle.net_volts(rail.net), without.net_volts(rail.net)) {
            let share = (with - without).abs() / without.abs().max(LEAST_VOLTS);
            found.note(share, &circuit.net(rail.net).name, (with, without), Unit::Volt);
        }
    }
    Ok(found)
}

fn leaks(part: &Part) -> bool {
    part.component.leak.is_some() || part.component.strays.iter().any(|stray| stray.leak.is_some())
}

/// The circuit with nothing wrong inside a part.
fn whole(circuit: &Circuit, setup: &Setup, part: PartId) -> Known<Solved> {
    let mut whole = circuit.clone();
    let component = &mut whole.part_mut(part).component;
    component.leak = None;
    component.shorted = false;
    component.strays.clear();
    at_rest(&whole, setup)
        .map_err(|_| format!("the circuit with {} whole is not solved", circuit.part(part).name))
}

/// Whether a short inside a part overloads another in the condition of `solved`: one that keeps within its watts without it,
/// an electrolytic within its surge volts, a valve within its plate's watts, or one that turns [`MUCH_HEAT`] more into heat.
pub(crate) fn overloads(
    circuit: &Circuit,
    recognised: &Recognised,
    solved: &Solved,
    part: PartId,
) -> Known<bool> {
    let setup = Setup::first(solved.condition, circuit, recognised)?;
    let without = whole(circuit, &setup, part)?;
    let bursts = |id: &PartId| bursts(circuit, solved, *id) && !bursts(circuit, &without, *id);
    Ok(circuit.part_ids().any(|id| bursts(&id)) || burns(circuit, solved, &without))
}

/// Whether an electrolytic has more across it than it takes for seconds.
fn bursts(circuit: &Circuit, solved: &Solved, id: PartId) -> bool {
    let body = &circuit.part(id).component.body;
    let electrolytic = body.construction == Some(Construction::Electrolytic);
    let across = solved.across(circuit, id).filter(|_| electrolytic);
    across.zip(body.volts).is_some_and(|(across, rated)| across.abs() > SURGE * rated)
}

fn burns(circuit: &Circuit, idle: &Solved, without: &Solved) -> bool {
    let over = |solved: &Solved, id: PartId| {
        let rated = circuit.part(id).component.body.power;
        solved.watts[id.0 as usize].zip(rated).is_some_and(|(watts, rated)| watts > rated)
    };
    let heat = |solved: &Solved, id: PartId| solved.watts[id.0 as usize].unwrap_or(0.0);
    let hot =
        |id: PartId| over(idle, id) && !over(without, id) || heat(idle, id) - heat(without, id) > MUCH_HEAT;
    let share = |solved: &Solved, of: &SolvedSection| {
        solved
            .section(of.tube, &of.letter)
            .and_then(|section| section.plate_share)
            .is_some_and(|share| share > 1.0)
    };
    let glows = |section: &SolvedSection| share(idle, section) && !share(without, section);
    circuit.part_ids().any(hot) || idle.sections.iter().any(glows)
}

fn currents(idle: &Solved, without: &Solved, section: &Section) -> Option<(f64, f64)> {
    let amps = |solved: &Solved| solved.section(section.tube, &section.letter).map(|s| s.cathode_amps.abs());
    Some((amps(idle)?, amps(without)?))
}

impl Effect {
    fn note(&mut self, share: f64, name: &str, (with, without): (f64, f64), unit: Unit) {
        if share > self.most {
            self.most = share;
            let (with, without) = (rounded(with, unit, 3), rounded(without, unit, 3));
            self.told = format!("{name} at {with}, {without} without it");
        }
    }
}
