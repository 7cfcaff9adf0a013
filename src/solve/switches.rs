//! In which positions switches may be left.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Circuit, PartId};

/// Switches that stand elsewhere than stated, and where.
pub(crate) type Positions = BTreeMap<PartId, String>;

/// Every switch that can stand in more than one position.
pub(crate) fn switches(circuit: &Circuit) -> Vec<PartId> {
    let several =
        |id: &PartId| circuit.part(*id).fitted() && circuit.part(*id).component.body.positions.len() > 1;
    circuit.part_ids().filter(several).collect()
}

/// Positions of some switches, as they stand first: all of them together where that makes no more combinations than
/// `most`, else of each by itself.
pub(crate) fn positions(circuit: &Circuit, switches: &[PartId], most: usize) -> Vec<Positions> {
    let of = |id: &PartId| {
        let body = &circuit.part(*id).component.body;
        let mut all = body.positions.clone();
        all.sort_by_key(|position| Some(position) != body.now.as_ref());
        all
    };
    let mut found = vec![Positions::new()];
    let together = combinations(circuit, switches).is_some_and(|n| n <= most);
    for id in switches {
        let others = if together { found.clone() } else { vec![Positions::new()] };
        for position in of(id).into_iter().skip(1) {
            found.extend(others.iter().cloned().map(|mut map| {
                map.insert(*id, position.clone());
                map
            }));
        }
    }
    found
}

/// How many there are of all positions together, as far as that can be counted.
pub(crate) fn combinations(circuit: &Circuit, switches: &[PartId]) -> Option<usize> {
    let of = |id: &PartId| circuit.part(*id).component.body.positions.len();
    switches.iter().try_fold(1_usize, |n, id| n.checked_mul(of(id)))
}

/// What stands elsewhere than before: "S2 at standby". A switch that is in neither stands as stated.
pub(crate) fn thrown(circuit: &Circuit, before: &Positions, after: &Positions) -> Vec<String> {
    let at = |positions: &Positions, id: PartId| {
        positions.get(&id).or(circuit.part(id).component.body.now.as_ref()).cloned()
    };
    let both: BTreeSet<PartId> = before.keys().chain(after.keys()).copied().collect();
    let elsewhere = both.into_iter().filter(|id| at(before, *id) != at(after, *id));
    elsewhere.filter_map(|id| Some(format!("{} at {}", circuit.part(id).name, at(after, id)?))).collect()
}
