//! A circuit in a condition to its solved state, in the circuit's own terms.

use std::collections::BTreeMap;

use super::lower::{Lowered, lower};
use super::solved::{Case, Solved, SolvedSection, SolvedSet, Undefined};
use super::supply::{self, Coupled};
use super::tolerance::{Windows, windows, windows_near};
use crate::circuit::{Circuit, LegId, NetId, PartId, State};
use crate::model::Condition;
use crate::numeric::dc::multiple::{operating_points, several, warm_point};
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::point::{FloatingGrids, OperatingPoint};
use crate::recognise::Recognised;
use crate::solve::setup::Setup;

/// A circuit's network in a condition with its operating point, and the equations that gave it: what is much like it is
/// solved from there. The rectifiers of a supply from the mains stand in it as EMFs behind resistances, for this point.
#[derive(Debug)]
pub struct AtRest {
    /// The network.
    pub lowered: Lowered,
    /// Its operating point.
    pub point: OperatingPoint,
    pub(crate) prepared: Prepared,
}

impl From<Coupled> for AtRest {
    fn from(coupled: Coupled) -> AtRest {
        AtRest { lowered: coupled.lowered, point: coupled.point, prepared: coupled.prepared }
    }
}

impl AtRest {
    /// Solves a circuit from cold.
    pub fn of(circuit: &Circuit, setup: &Setup) -> Result<AtRest, Unsolved> {
        coupled(circuit, setup, FloatingGrids::AtCathode).map(AtRest::from)
    }

    /// Solves a circuit from where one much like it rests.
    pub fn near(circuit: &Circuit, setup: &Setup, like: &AtRest) -> Result<AtRest, Unsolved> {
        supply::couple_near(circuit, setup, lower(circuit, setup), like).map(AtRest::from)
    }
}

/// Solves a circuit at rest in a condition it has.
pub fn at_rest(circuit: &Circuit, setup: &Setup) -> Result<Solved, Unsolved> {
    told(circuit, setup, &coupled(circuit, setup, FloatingGrids::AtCathode)?)
}

/// A circuit's network in a condition, with its operating point: for response and tolerance about it. The rectifiers of
/// a supply from the mains stand in it as EMFs behind resistances, for this operating point.
pub fn network_at_rest(circuit: &Circuit, setup: &Setup) -> Result<(Lowered, OperatingPoint), Unsolved> {
    let coupled = coupled(circuit, setup, FloatingGrids::AtCathode)?;
    Ok((coupled.lowered, coupled.point))
}

pub(super) fn coupled(
    circuit: &Circuit,
    setup: &Setup,
    floating: FloatingGrids,
) -> Result<Coupled, Unsolved> {
    supply::couple(circuit, setup, lower(circuit, setup), floating)
}

/// A solved network in the circuit's own terms, with its supply from the mains.
pub(super) fn told(circuit: &Circuit, setup: &Setup, coupled: &Coupled) -> Result<Solved, Unsolved> {
    let mut solved = read_back(circuit, setup.condition, &coupled.lowered, &coupled.point);
    solved.case.clone_from(&setup.case);
    solved.mains_share = setup.mains_share;
    supply::report(circuit, coupled, &mut solved)?;
    Ok(solved)
}

impl SolvedSet {
    /// Adds a circuit's operating point in a condition's case, with first-order windows; where a grid floats, the one
    /// with its section cut off too.
    pub fn solve(&mut self, circuit: &Circuit, setup: &Setup) -> Result<(), Unsolved> {
        self.solve_near(circuit, setup, None)
    }

    /// The same from where one much like it rests.
    pub fn solve_near(
        &mut self,
        circuit: &Circuit,
        setup: &Setup,
        near: Option<&AtRest>,
    ) -> Result<(), Unsolved> {
        let solved = match windows_near(circuit, setup, near) {
            Err(end) if end.outcome == Outcome::Unstable => return Err(ways_to_rest(circuit, setup, end)),
            other => other?,
        };
        if setup.condition == Condition::Idle {
            one_way_to_rest(&solved)?;
        }
        let floats = !solved.floating_grids.is_empty();
        let cut_off = || told(circuit, setup, &coupled(circuit, setup, FloatingGrids::CutOff)?);
        let cut_off = if floats { Some(cut_off()?) } else { None };
        self.by_condition.entry(setup.condition).or_default().push(Case { solved, cut_off });
        Ok(())
    }
}

/// Every point on which a circuit can rest that could not rest where it was solved.
fn ways_to_rest(circuit: &Circuit, setup: &Setup, end: Unsolved) -> Unsolved {
    let lowered = lower(circuit, setup);
    match operating_points(&lowered.network, FloatingGrids::AtCathode) {
        Ok(points) if points.len() > 1 => several(&lowered.network, &points),
        _ => end,
    }
}

/// Refuses a circuit that rests elsewhere when it starts with every valve conducting.
fn one_way_to_rest(solved: &Solved) -> Result<(), Unsolved> {
    let Some((network, prepared, point)) = solved.windows.equations() else { return Ok(()) };
    match warm_point(network, prepared.clone(), point) {
        Some(warm) => Err(several(network, &[point.clone(), warm])),
        None => Ok(()),
    }
}

/// Solves a circuit in each of the conditions that it has, with first-order windows.
pub fn solve_all(
    circuit: &Circuit,
    recognised: &Recognised,
    conditions: &[Condition],
) -> Result<SolvedSet, (Condition, Unsolved)> {
    let mut set = SolvedSet::default();
    for condition in conditions {
        match Setup::cases(*condition, circuit, recognised) {
            Ok(cases) => {
                for setup in cases {
                    set.solve(circuit, &setup).map_err(|unsolved| (*condition, unsolved))?;
                }
            }
            Err(why) => {
                set.not_applicable.insert(*condition, why);
            }
        }
    }
    if set.idle().is_some()
        && let Some(setup) = Setup::as_read(circuit)
    {
        let solved = windows(circuit, &setup).map_err(|unsolved| (Condition::Idle, unsolved))?;
        set.as_read = Some(Box::new(solved));
    }
    Ok(set)
}

/// The answer of the numeric core in the circuit's own terms.
pub fn read_back(
    circuit: &Circuit,
    condition: Condition,
    lowered: &Lowered,
    point: &OperatingPoint,
) -> Solved {
    let volts: Vec<Option<f64>> =
        lowered.node_of.iter().map(|node| node.and_then(|n| point.volts(n))).collect();
    let mut solved = Solved {
        condition,
        case: None,
        mains_share: 1.0,
        amps: circuit.parts.iter().map(|p| vec![None; p.legs.len()]).collect(),
        watts: vec![None; circuit.parts.len()],
        sections: Vec::new(),
        supplies: Vec::new(),
        undefined: undefined(circuit, &lowered.unknown, &volts),
        resting: lowered.resting.clone(),
        floating_grids: Vec::new(),
        assumed: lowered.assumed.clone(),
        unknown: lowered.unknown.clone(),
        windows: Windows::default(),
        volts,
    };
    for (element, origin) in lowered.elements.iter().enumerate() {
        let Some(part) = origin.part else { continue };
        let amps = &mut solved.amps[part.0 as usize];
        for (leg, into) in origin.legs.iter().zip(point.amps(element)) {
            if let Some(leg) = leg {
                *amps[*leg].get_or_insert(0.0) += into;
            }
        }
        if origin.heats {
            *solved.watts[part.0 as usize].get_or_insert(0.0) += point.watts(element);
        }
        if let (Some(letter), Some(valve)) = (&origin.section, point.valve(element)) {
            solved.sections.push(section(circuit, part, letter, valve));
        }
    }
    for floating in point.floating_grids() {
        let origin = &lowered.elements[floating.element];
        let at = circuit_grid(origin.legs.as_slice());
        if let (Some(part), Some(leg)) = (origin.part, at) {
            solved.floating_grids.push(LegId { part, leg });
        }
    }
    solved
}

/// The control grid is the terminal before the cathode in both laws.
fn circuit_grid(legs: &[Option<usize>]) -> Option<u32> {
    legs.len().checked_sub(2).and_then(|i| legs[i]).map(|leg| leg as u32)
}

fn section(
    circuit: &Circuit,
    tube: PartId,
    letter: &str,
    valve: &crate::numeric::point::ValvePoint,
) -> SolvedSection {
    let kind =
        circuit.part(tube).component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
    let limit = |name: &str| kind.and_then(|k| k.limit(name)).filter(|max| *max > 0.0);
    let has_screen = circuit.part(tube).leg_index("screen").is_some();
    SolvedSection {
        tube,
        letter: letter.to_owned(),
        plate_volts: valve.plate_volts,
        screen_volts: has_screen.then_some(valve.screen_volts),
        grid_volts: valve.grid_volts,
        plate_amps: valve.plate_amps,
        screen_amps: has_screen.then_some(valve.screen_amps),
        grid_amps: valve.grid_amps,
        cathode_amps: valve.cathode_amps(),
        plate_watts: valve.plate_watts(),
        screen_watts: has_screen.then(|| valve.screen_watts()),
        plate_share: limit("plate-power").map(|max| valve.plate_watts() / max),
        screen_share: if has_screen {
            limit("screen-power").map(|max| valve.screen_watts() / max)
        } else {
            None
        },
        gm: valve.gm,
        gp: valve.gp,
    }
}

/// Nets that legs sit in but nothing holds, each with the part that cut it off.
fn undefined(circuit: &Circuit, unknown: &[PartId], volts: &[Option<f64>]) -> Vec<Undefined> {
    let lost = |net: NetId| volts[net.0 as usize].is_none() && !circuit.net(net).legs.is_empty();
    let cut_by = cut_by(circuit, unknown);
    let told = |net: NetId| Undefined { net, cut_by: cut_by.get(&net).copied() };
    circuit.net_ids().filter(|net| lost(*net)).map(told).collect()
}

/// The first missing, lifted or unknown part with a joint in each net that has one.
fn cut_by(circuit: &Circuit, unknown: &[PartId]) -> BTreeMap<NetId, PartId> {
    let mut first = BTreeMap::new();
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let out = matches!(part.state, State::Missing { .. });
        let homes = part.legs.iter().filter(|leg| out || leg.net.is_none()).map(|leg| leg.home);
        let joints = part.legs.iter().filter(|_| unknown.contains(&id)).filter_map(|leg| leg.net);
        for net in homes.chain(joints) {
            first.entry(net).or_insert(id);
        }
    }
    first
}
