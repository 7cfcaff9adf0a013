//! DC ohms to chassis, over the whole travel of every control on the way.

use std::collections::{BTreeMap, BTreeSet};

use super::paths::Paths;
use super::ways::{Ways, track_ways};
use crate::circuit::{CHASSIS, Circuit, NetId, PartId};
use crate::numeric::linear::dense::eliminate;

/// Steps of a control's travel at which a limit over it is judged.
const TRAVEL: u32 = 8;
/// Ohms of a joint that has none: keeps the equations regular, far below any part's tolerance.
const JOINT_OHMS: f64 = 1e-3;

/// Nets beyond which a resistance is not worked out.
const MOST_NETS: usize = 400;
impl Paths {
    /// DC ohms from a net to chassis or a net of `held` with all sources at 0, while each of `sharers` carries the same
    /// current: so that a part shared by n grids counts n times. A control on the way may be turned to any place: the most that
    /// its travel makes of it counts, wherever its shaft is said to stand.
    pub(crate) fn ohms_to_reference(
        &self,
        circuit: &Circuit,
        net: NetId,
        held: &BTreeSet<NetId>,
        sharers: &[NetId],
    ) -> Result<f64, String> {
        let name = |net: NetId| circuit.net(net).name.clone();
        let ways = self.all(circuit);
        let seen = ways.reached(net, |_| true);
        let still = |net: &NetId| *net == CHASSIS || held.contains(net);
        if !seen.iter().any(still) {
            return Err(format!("{} has no DC path to chassis", name(net)));
        }
        if seen.len() > MOST_NETS {
            return Err(format!("too many nets hang on {}", name(net)));
        }
        let index: BTreeMap<NetId, usize> =
            seen.iter().filter(|n| !still(n)).enumerate().map(|(i, n)| (*n, i)).collect();
        let Some(at) = index.get(&net).copied() else { return Ok(0.0) };
        let own = if sharers.contains(&net) { None } else { Some(&net) };
        let carriers: Vec<usize> = sharers.iter().chain(own).filter_map(|s| index.get(s).copied()).collect();
        let here = || index.keys().flat_map(|net| ways.from.get(net).into_iter().flatten());
        let mut wipers: BTreeMap<PartId, f64> = here()
            .filter(|way| way.track)
            .map(|way| (way.part, circuit.part(way.part).wiper_share()))
            .collect();
        let ohms = |wipers: &BTreeMap<PartId, f64>| {
            let mut matrix = ways.conductances(circuit, &index, wipers)?;
            let mut volts = vec![0.0; index.len()];
            for carrier in &carriers {
                volts[*carrier] += 1.0;
            }
            let solved = eliminate(&mut matrix, &mut volts) && volts[at].is_finite();
            solved
                .then(|| volts[at])
                .ok_or_else(|| format!("the resistance from {} to chassis has no answer", name(net)))
        };
        let mut most = ohms(&wipers)?;
        for control in wipers.clone().into_keys() {
            for step in 0..=TRAVEL {
                let turned = wipers[&control];
                wipers.insert(control, f64::from(step) / f64::from(TRAVEL));
                let here = ohms(&wipers)?;
                if here > most {
                    most = here;
                } else {
                    wipers.insert(control, turned);
                }
            }
        }
        Ok(most)
    }
}

impl Ways {
    /// Conductances between the nets of `index` by rows, with each control's wiper at a share of its track.
    fn conductances(
        &self,
        circuit: &Circuit,
        index: &BTreeMap<NetId, usize>,
        wipers: &BTreeMap<PartId, f64>,
    ) -> Result<Vec<f64>, String> {
        let size = index.len();
        let mut matrix = vec![0.0; size * size];
        for (net, row) in index {
            let ways = self.from.get(net).into_iter().flatten().filter(|w| w.a != w.b);
            // What a control's track makes at this turn stands for its ways.
            let turned = wipers.iter().flat_map(|(id, wiper)| track_ways(circuit, *id, *wiper));
            let turned = turned.filter(|way| way.a != way.b && (way.a == *net || way.b == *net));
            for way in ways.copied().filter(|w| !w.track).chain(turned) {
                let unknown = || format!("the value of {} is unknown", circuit.part(way.part).name);
                let siemens = 1.0 / way.ohms.ok_or_else(unknown)?.max(JOINT_OHMS);
                let other = if way.a == *net { way.b } else { way.a };
                matrix[*row * size + *row] += siemens;
                if let Some(column) = index.get(&other) {
                    matrix[*row * size + *column] -= siemens;
                }
            }
        }
        Ok(matrix)
    }
}
