//! Whether a circuit has one operating point or several: starts from cold, from warm, and unevenly warmed.
//!
//! ```text
//! Two triodes, plates by 47 kΩ to 250 V, each grid through 1 MΩ to the other's plate and 1 MΩ to −150 V:
//! cold start       both plates equal: by symmetry a balance, but one the least disturbance leaves: no answer
//! first one cold   its plate rises, the second conducts and holds it off when it comes back: a point
//! second one cold  the same the other way round: another point
//! answer           two points, of which history picks one; none is picked here
//! ```

use crate::numeric::dc::answer;
use crate::numeric::dc::islands::Mode;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::Network;
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::point::{FloatingGrids, OperatingPoint};

/// Points are the same where no node differs by more than this, in volts …
// Wider than any solve is uncertain (10 nV), narrower than two states of a circuit that anyone would tell apart.
const SAME_VOLTS: f64 = 1e-3;
/// … plus this share of its volts.
const SAME_SHARE: f64 = 1e-6;
/// As many places tell the points apart.
const SHOWN_PLACES: usize = 3;

/// All operating points found on which the circuit can rest, at least one.
///
/// Starts with every valve cold, with all of them conducting, and with each of them alone cold. More than
/// one answer means that the circuit's history decides: report all, pick none. That one is found is no proof that
/// there is only one.
pub fn operating_points(network: &Network, floating: FloatingGrids) -> Result<Vec<OperatingPoint>, Unsolved> {
    let mut prepared = Prepared::with(network, floating)?;
    let mut points = Vec::new();
    let mut first_end = None;
    match prepared.solve(network, None) {
        Ok(point) => points.push(point),
        // These have no answer from any start.
        Err(end) if matches!(end.outcome, Outcome::SourceLoop { .. } | Outcome::BadValue { .. }) => {
            return Err(end);
        }
        Err(end) => first_end = Some(end),
    }
    if prepared.iteration.begin_conducting().is_ok() {
        prepared.settle(network, &mut points);
    }
    for device in 0..prepared.iteration.equations.devices.len() {
        let mode = prepared.iteration.equations.devices[device].mode;
        if mode == Mode::CutOff || prepared.iteration.equations.devices[device].is_diode() {
            continue;
        }
        let cold = prepared.start_without(device);
        // Back in its socket before anything else is tried, whether the circuit settled without it or not.
        prepared.iteration.equations.devices[device].mode = mode;
        if cold {
            prepared.settle(network, &mut points);
        }
    }
    match first_end {
        Some(end) if points.is_empty() => Err(end),
        _ => Ok(points),
    }
}

/// Another point than this one, found from all valves conducting; `None` where that start ends at the same. `prepared`
/// holds the network's equations.
pub(crate) fn warm_point(
    network: &Network,
    mut prepared: Prepared,
    cold: &OperatingPoint,
) -> Option<OperatingPoint> {
    if !prepared.cut_off.is_empty() {
        // Valves that carried nothing from cold may have their say from warm.
        prepared = Prepared::with(network, prepared.floating).ok()?;
    }
    let mut points = vec![cold.clone()];
    prepared.iteration.begin_conducting().ok()?;
    prepared.settle(network, &mut points);
    points.into_iter().nth(1)
}

/// Several points as an end without an answer: the places where they differ most.
pub(crate) fn several(network: &Network, points: &[OperatingPoint]) -> Unsolved {
    let volts = |node: usize| points.iter().map(|p| p.volts[node]).collect();
    let mut places: Vec<(String, Vec<f64>)> =
        network.nodes.iter().enumerate().map(|(node, name)| (name.clone(), volts(node))).collect();
    let apart = |(_, volts): &(String, Vec<f64>)| {
        let most = volts.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b));
        most - volts.iter().fold(f64::INFINITY, |a, b| a.min(*b))
    };
    // Stable: where places differ alike the network's order stands.
    places.sort_by(|a, b| apart(b).total_cmp(&apart(a)));
    places.truncate(SHOWN_PLACES);
    let worst = places.first().map(|(name, _)| name.clone());
    Unsolved { outcome: Outcome::Several { places }, residual_amps: None, worst }
}

impl Prepared {
    /// Takes the unknowns to where the circuit settles while one valve is cold; the valve stays cut off.
    fn start_without(&mut self, device: usize) -> bool {
        self.iteration.x.fill(0.0);
        let valve = &mut self.iteration.equations.devices[device];
        valve.mode = Mode::CutOff;
        valve.point = crate::numeric::ValvePoint::default();
        self.iteration.run(1.0, 0.0, crate::numeric::dc::continuation::STEPS).is_ok()
    }

    /// Iterates from the present unknowns and keeps the point if it is a new one.
    fn settle(&mut self, network: &Network, points: &mut Vec<OperatingPoint>) {
        if self.iteration.run(1.0, 0.0, crate::numeric::dc::continuation::STEPS).is_err()
            // A balance that the circuit leaves by itself is no point to rest on: the middle one between two states.
            || self.iteration.is_unstable()
        {
            return;
        }
        let point = answer::assemble(self, network);
        if !points.iter().any(|other| is_same(other, &point)) {
            points.push(point);
        }
    }
}

fn is_same(one: &OperatingPoint, other: &OperatingPoint) -> bool {
    // Volts of islands are those of a reference at 0 V in both, so they compare as well as any.
    let pairs = one.volts.iter().zip(&other.volts);
    pairs.into_iter().all(|(a, b)| (a - b).abs() <= SAME_VOLTS + SAME_SHARE * a.abs())
}
