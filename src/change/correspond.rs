//! Which net of one circuit is which net of another, for circuits with common designators.

use std::collections::BTreeMap;

use crate::circuit::{CHASSIS, Circuit, NetId, PartId};

/// Nets of two circuits laid over each other.
#[derive(Debug, Clone)]
pub struct Correspondence {
    /// For each net of the first circuit its net in the second.
    pub after_of: Vec<Option<NetId>>,
    /// For each net of the second circuit its net in the first.
    pub before_of: Vec<Option<NetId>>,
    /// For each net of the second circuit how many nets ahead of it have none in the first.
    pub(super) lone: Vec<u32>,
}

/// Parts that both circuits know by one name.
pub(super) fn common_parts(before: &Circuit, after: &Circuit) -> Vec<(PartId, PartId)> {
    before.part_ids().filter_map(|id| Some((id, after.find(&before.part(id).name)?))).collect()
}

/// Lays the nets over each other: declared names first, then by the joints that both have in common, most first.
pub fn correspond(before: &Circuit, after: &Circuit) -> Correspondence {
    let mut found = Correspondence::empty(before, after);
    found.pair(CHASSIS, CHASSIS);
    for id in before.net_ids().filter(|id| before.net(*id).declared.is_some()) {
        let same = after.find_net(&before.net(id).name);
        if let Some(other) = same.filter(|other| after.net(*other).declared.is_some()) {
            found.pair(id, other);
        }
    }
    let mut votes: Vec<((NetId, NetId), usize)> = votes(before, after).into_iter().collect();
    votes.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    for ((a, b), _) in votes {
        if found.after_of[a.0 as usize].is_none() && found.before_of[b.0 as usize].is_none() {
            found.pair(a, b);
        }
    }
    found.counted()
}

/// Lays nets of the same name over each other and no others, where names are known to mean the same places.
pub(super) fn of_one_name(before: &Circuit, after: &Circuit) -> Correspondence {
    let mut found = Correspondence::empty(before, after);
    for id in before.net_ids() {
        if let Some(other) = after.find_net(&before.net(id).name) {
            found.pair(id, other);
        }
    }
    found.counted()
}

/// How many legs of one name each pair of nets shares. A leg's home, which belongs to the
/// board, counts double where it sits; a leg of anything but a two-leg part, whose place says more, counts fourfold.
fn votes(before: &Circuit, after: &Circuit) -> BTreeMap<(NetId, NetId), usize> {
    let mut votes = BTreeMap::new();
    for (a, b) in common_parts(before, after) {
        let (a, b) = (before.part(a), after.part(b));
        let weight = if a.legs.len() > 2 { 4 } else { 1 };
        for leg in &a.legs {
            let Some(other) = b.leg_index(&leg.name).map(|i| &b.legs[i]) else { continue };
            *votes.entry((leg.home, other.home)).or_insert(0) += 2 * weight;
            if let (Some(x), Some(y)) = (leg.net, other.net) {
                *votes.entry((x, y)).or_insert(0) += weight;
            }
        }
    }
    votes
}

impl Correspondence {
    fn empty(before: &Circuit, after: &Circuit) -> Correspondence {
        Correspondence {
            after_of: vec![None; before.nets.len()],
            before_of: vec![None; after.nets.len()],
            lone: Vec::new(),
        }
    }

    /// With the lone nets of the second circuit counted.
    fn counted(mut self) -> Correspondence {
        let mut lone = 0;
        for before in &self.before_of {
            self.lone.push(lone);
            lone += u32::from(before.is_none());
        }
        self
    }

    /// The same seen from the second circuit.
    pub(super) fn turned(&self) -> Correspondence {
        let (after_of, before_of) = (self.before_of.clone(), self.after_of.clone());
        Correspondence { after_of, before_of, lone: Vec::new() }.counted()
    }

    fn pair(&mut self, before: NetId, after: NetId) {
        self.after_of[before.0 as usize] = Some(after);
        self.before_of[after.0 as usize] = Some(before);
    }

    /// Whether a place of the first circuit and one of the second are one place.
    pub(super) fn same(&self, before: Option<NetId>, after: Option<NetId>) -> bool {
        match (before, after) {
            (None, None) => true,
            (Some(a), Some(b)) => self.after_of[a.0 as usize] == Some(b),
            _ => false,
        }
    }
}
