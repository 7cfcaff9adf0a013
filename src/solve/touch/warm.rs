//! What reaches hands through valves that conduct.

use std::collections::BTreeSet;

use super::evaluate::WORSE;
use super::{
    BODY_OHMS, Hazard, Route, SAFE_AMPS, SAFE_VOLTS, Touchable, Unjudged, assumed_mains, within_reach,
};
use crate::circuit::{Circuit, NetId, PartId};
use crate::model::{Condition, Kind};
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::network::{Network, Node};
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::OperatingPoint;
use crate::solve::lower::lower;
use crate::solve::setup::Setup;
use crate::solve::solved::{Solved, SolvedSet};

/// What reaches hands through valves that conduct, in every condition that has an operating point; `told` are nets of
/// which more is known.
pub(super) fn warm(
    circuit: &Circuit,
    set: &SolvedSet,
    told: &BTreeSet<NetId>,
) -> (Vec<Hazard>, Vec<Unjudged>) {
    let mut reach = within_reach(circuit);
    reach.retain(|touched| !told.contains(&touched.net));
    let node_of = lower(circuit, &Setup::idle()).node_of;
    let (mut worst, mut unjudged): (Option<Hazard>, Vec<Unjudged>) = (None, Vec::new());
    for solved in set.every().filter(|solved| solved.condition != Condition::ColdStart) {
        for (at, touched) in reach.iter().enumerate() {
            for other in &reach[..at] {
                match warm_pair(circuit, solved, &node_of, [touched, other]) {
                    Ok(Some(next)) if worst.as_ref().is_none_or(|w| next.amps > WORSE * w.amps) => {
                        worst = Some(next);
                    }
                    Ok(_) => {}
                    Err(why) => unjudged.push(Unjudged { route: Route::Warm, state: solved.told(), why }),
                }
            }
        }
    }
    (worst.into_iter().collect(), unjudged)
}

fn warm_pair(
    circuit: &Circuit,
    solved: &Solved,
    node_of: &[Option<Node>],
    [touched, other]: [&Touchable; 2],
) -> Result<Option<Hazard>, String> {
    let nets = [touched.net, other.net];
    let ([Some(here), Some(there)], [Some(a), Some(b)]) =
        (nets.map(|net| solved.net_volts(net)), nets.map(|net| node_of[net.0 as usize]))
    else {
        // No direct current reaches one of them.
        return Ok(None);
    };
    let volts = (here - there).abs();
    if volts <= SAFE_VOLTS.1 {
        return Ok(None);
    }
    let between = || format!("{} and {} stand {volts:.0} V apart", touched.name, other.name);
    let (network, _, point) = solved
        .windows
        .equations()
        .ok_or_else(|| format!("{}, and what would flow between them is unknown", between()))?;
    let ohms = differential(network, point, (a, b)).map_err(|why| format!("{}: {why}", between()))?;
    // By the slope at rest: with a body's kilohms beside it the valves move little.
    let amps = volts / (ohms + BODY_OHMS);
    if amps <= SAFE_AMPS.1 {
        return Ok(None);
    }
    let joiners = brought_by(circuit, solved, touched.net, here.abs());
    Ok(Some(Hazard {
        route: Route::Warm,
        touched: touched.clone(),
        other: Some(other.clone()),
        volts,
        amps,
        joules: 0.0,
        state: solved.told(),
        assumed: assumed_mains(circuit, Route::Warm),
        by_class_y: false,
        unknown: BTreeSet::new(),
        carriers: joiners.clone(),
        joiners,
    }))
}

/// Parts that bring volts to a net that is touched; where there are none, the jack that is.
fn brought_by(circuit: &Circuit, solved: &Solved, touched: NetId, here: f64) -> BTreeSet<PartId> {
    // A valve stands in the net itself; another part has its other leg where the volts come from.
    let brings = |id: &PartId| {
        let part = circuit.part(*id);
        let others = part.legs.iter().filter_map(|leg| leg.net).filter(|net| *net != touched);
        let mut far = others.filter_map(|net| solved.net_volts(net)).map(f64::abs);
        match part.kind {
            Kind::Jack | Kind::Speaker => false,
            Kind::Tube => part.legs.iter().any(|l| l.net == Some(touched) && !l.name.ends_with("grid")),
            _ => far.any(|volts| volts > 0.99 * here),
        }
    };
    let on = circuit.parts_on(touched);
    let joiners: BTreeSet<PartId> = on.iter().copied().filter(brings).collect();
    if joiners.is_empty() {
        return on.into_iter().filter(|id| circuit.part(*id).kind == Kind::Jack).collect();
    }
    joiners
}

/// Ohms between two nodes about an operating point; where nothing joins them nothing would stand in the current's way.
fn differential(network: &Network, point: &OperatingPoint, (a, b): (Node, Node)) -> Result<f64, Unsolved> {
    let mut equations = Linearised::open(network, point, Drive::Sources)?;
    equations.tune(0.0)?;
    equations.inject(&[(a, 1.0), (b, -1.0)])?;
    Ok(equations.phasor_between(a, b).map_or(0.0, |ohms| ohms.re.max(0.0)))
}
