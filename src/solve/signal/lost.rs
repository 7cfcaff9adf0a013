//! Where a signal stops on its way from the driven jack to the output.

use std::collections::{BTreeMap, VecDeque};

use crate::circuit::{CHASSIS, Circuit, NetId, PartId};
use crate::model::Kind;
use crate::recognise::Recognised;
use crate::solve::signal::model::Rig;

/// A net with less than this for 1 V at the drive, −200 dB, has no signal: common sense, no source.
const NOTHING_VOLTS: f64 = 1e-10;

/// The part behind which there is no signal, on the shortest way from the drive to the output over nets as the board has
/// them (a part that is out leads on as well); `None` where the signal arrives, or no way leads on. The rig must stand
/// excited.
pub(in crate::solve) fn stops_at(rig: &Rig, circuit: &Circuit, recognised: &Recognised) -> Option<PartId> {
    let silent = |net: NetId| rig.phasor(net).is_none_or(|volts| volts.norm() < NOTHING_VOLTS);
    let (jack, _) = circuit.drive.filter(|_| rig.driven)?;
    let output = rig.output.filter(|net| silent(*net))?;
    let tip = circuit.leg_net(jack, "tip")?;
    if silent(tip) {
        return Some(jack);
    }
    let way = way(circuit, recognised, tip, output)?;
    way.into_iter().find(|(_, to)| silent(*to)).map(|(part, _)| part)
}

/// The shortest way from one net to another through parts that carry signals: each part with the net behind it.
fn way(circuit: &Circuit, recognised: &Recognised, from: NetId, to: NetId) -> Option<Vec<(PartId, NetId)>> {
    let rail = |net: NetId| recognised.rails.iter().any(|rail| rail.net == net);
    let mut came: BTreeMap<NetId, (NetId, PartId)> = BTreeMap::new();
    let mut open = VecDeque::from([from]);
    while let Some(net) = open.pop_front() {
        for part in circuit.part_ids() {
            let homes = homes(circuit, part);
            for next in homes.iter().copied().filter(|_| homes.contains(&net)) {
                let free = next != from && next != CHASSIS && !rail(next) && !came.contains_key(&next);
                if free {
                    came.insert(next, (net, part));
                    open.push_back(next);
                }
            }
        }
    }
    let mut steps = Vec::new();
    let mut net = to;
    // Each net was reached from one that was reached before it, so that this comes to the first.
    while net != from {
        let (before, part) = *came.get(&net)?;
        steps.push((part, net));
        net = before;
    }
    steps.reverse();
    Some(steps)
}

/// The nets in which a part's legs sit, or sat before they came loose; none of what feeds mains and heaters.
fn homes(circuit: &Circuit, part: PartId) -> Vec<NetId> {
    let part = circuit.part(part);
    if matches!(part.kind, Kind::MainsTransformer | Kind::Inlet | Kind::Source | Kind::Fuse) {
        return Vec::new();
    }
    let signal = part.legs.iter().filter(|leg| !leg.name.contains("heater"));
    signal.map(|leg| leg.net.unwrap_or(leg.home)).collect()
}
