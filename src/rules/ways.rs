//! Ways for direct current from net to net.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::circuit::{CHASSIS, Circuit, NetId, PartId, Stretch};

/// A way for direct current between two nets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    pub(crate) part: PartId,
    pub(crate) a: NetId,
    pub(crate) b: NetId,
    /// `None` where the value is unknown.
    pub(crate) ohms: Option<f64>,
    /// Along the track of a control, so that it depends on the turn.
    pub(crate) track: bool,
}

/// Ways from each net.
#[derive(Debug, Default)]
pub(super) struct Ways {
    pub(super) from: BTreeMap<NetId, Vec<Way>>,
}

impl Ways {
    pub(super) fn new(ways: impl IntoIterator<Item = Way>) -> Ways {
        let mut from: BTreeMap<NetId, Vec<Way>> = BTreeMap::new();
        for way in ways {
            from.entry(way.a).or_default().push(way);
            from.entry(way.b).or_default().push(way);
        }
        Ways { from }
    }

    /// Every net that `start` reaches over the ways that `open` lets pass; the search ends at chassis.
    pub(super) fn reached(&self, start: NetId, open: impl Fn(&Way) -> bool) -> BTreeSet<NetId> {
        let mut seen = BTreeSet::from([start]);
        let mut queue = VecDeque::from([start]);
        while let Some(net) = queue.pop_front() {
            // Everything hangs on chassis: through it any net would reach any other.
            if net == CHASSIS && start != CHASSIS {
                continue;
            }
            for way in self.from.get(&net).into_iter().flatten().filter(|w| open(w)) {
                let other = if way.a == net { way.b } else { way.a };
                if seen.insert(other) {
                    queue.push_back(other);
                }
            }
        }
        seen
    }
}

/// The ways along a control's track with its wiper at a share of it.
pub(super) fn track_ways(circuit: &Circuit, id: PartId, wiper: f64) -> Vec<Way> {
    let part = circuit.part(id);
    let end = |leg: usize| part.legs.get(leg).and_then(|l| l.net);
    let way = |s: Stretch| {
        let ohms = part.value().map(|v| v * s.share);
        Some(Way { part: id, a: end(s.upper)?, b: end(s.lower)?, ohms, track: true })
    };
    part.track(wiper).into_iter().filter_map(way).collect()
}
