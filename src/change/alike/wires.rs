//! Where plain wire joins the same places in both circuits, it does not matter how many wires there are, nor on which
//! side of a wire a leg sits: the second circuit is wired there as the first is.
//!
//! ```text
//! First: tags A, B joined by link W1, R1 on A, C1 on B; second: one net N with R7 and C8 on it:
//! sets       {A, B} and {N}: one place electrically, and both hold the same legs
//! surplus    W1 is in one circuit only: taken out, told as "a wire between places that are one net"
//! seated     R7 and C8 sit as R1 and C1 do: no moved leg is told that made no difference
//! ```

use std::collections::{BTreeMap, BTreeSet};

use super::equal::Equal;
use super::pairing::{Pairing, Two};
use super::rename::Same;
use super::sketch::{NONE, jumper};
use crate::circuit::draft::Draft;
use crate::circuit::{NetId, PartId};

/// One set of nets that wires join, in both circuits.
#[derive(Default)]
struct Joined {
    firsts: Vec<NetId>,
    seconds: Vec<NetId>,
    wires: [Vec<PartId>; 2],
}

/// Levels what wires join. Tells each wire that is only in one of the circuits.
pub(super) fn level_wires(
    two: Two,
    pairing: &Pairing,
    drafts: (&mut Draft, &mut Draft),
    same: &mut Same,
) -> Vec<Equal> {
    let (first, second) = drafts;
    let mut equal = Vec::new();
    for joined in sets(two, pairing, (first, second)) {
        let lone = joined.firsts.len() < 2 && joined.seconds.len() < 2;
        if lone || !intact(&joined, same) {
            continue;
        }
        equal.extend(surplus(&joined, first, second, same));
        seat(&joined, first, second, same);
    }
    equal
}

fn sets(two: Two, pairing: &Pairing, drafts: (&Draft, &Draft)) -> Vec<Joined> {
    let mut sets: BTreeMap<u32, Joined> = BTreeMap::new();
    for (net, class) in two.a.net_of.iter().enumerate() {
        if pairing.nets[0][*class as usize] != NONE {
            sets.entry(*class).or_default().firsts.push(NetId(net as u32));
        }
    }
    for (net, class) in two.b.net_of.iter().enumerate() {
        let partner = pairing.nets[1][*class as usize];
        if partner != NONE {
            sets.entry(partner).or_default().seconds.push(NetId(net as u32));
        }
    }
    for (side, draft) in [drafts.0, drafts.1].into_iter().enumerate() {
        for part in draft.parts.iter().filter(|p| jumper(&p.part)) {
            let Some(net) = part.part.legs[0].net else { continue };
            let class = if side == 0 {
                two.a.net_of[net.0 as usize]
            } else {
                pairing.nets[1][two.b.net_of[net.0 as usize] as usize]
            };
            if let Some(joined) = sets.get_mut(&class) {
                joined.wires[side].push(part.was);
            }
        }
    }
    sets.into_values().collect()
}

/// Whether both sets hold the same places: a wire that is gone, or joins more than it did, is a change.
fn intact(joined: &Joined, same: &Same) -> bool {
    let firsts: BTreeSet<NetId> = joined.firsts.iter().copied().collect();
    let seconds: BTreeSet<NetId> = joined.seconds.iter().copied().collect();
    same.nets.iter().all(|(m, n)| firsts.contains(n) == seconds.contains(m))
}

/// Pairs the wires of both and takes out those that one has more of.
fn surplus(joined: &Joined, first: &mut Draft, second: &mut Draft, same: &mut Same) -> Vec<Equal> {
    let kept: BTreeSet<PartId> = same.parts.values().copied().collect();
    let lone = |wires: &[PartId], taken: &dyn Fn(&PartId) -> bool| -> Vec<PartId> {
        wires.iter().copied().filter(|id| !taken(id)).collect()
    };
    let firsts = lone(&joined.wires[0], &|id| kept.contains(id));
    let seconds = lone(&joined.wires[1], &|id| same.parts.contains_key(id));
    let both = firsts.len().min(seconds.len());
    for (a, b) in firsts.iter().zip(&seconds) {
        same.pair(*a, *b, vec![(0, 0), (1, 1)]);
    }
    let mut equal = Vec::new();
    for id in &firsts[both..] {
        let name = take_wire(first, *id);
        equal.push(Equal {
            first: vec![name],
            second: Vec::new(),
            why: "a wire between places that are one net".into(),
        });
    }
    for id in &seconds[both..] {
        let name = take_wire(second, *id);
        equal.push(Equal {
            first: Vec::new(),
            second: vec![name],
            why: "a wire between places that are one net".into(),
        });
    }
    equal
}

/// Takes a wire out and runs its nets together. Gives its name.
fn take_wire(draft: &mut Draft, id: PartId) -> String {
    let Some(at) = draft.find(id) else { return String::new() };
    let wire = draft.parts.remove(at).part;
    if let [Some(a), Some(b)] = [wire.legs[0].net, wire.legs[1].net]
        && a != b
    {
        // The net with a name of its own, or the lower number, is the one that stays.
        let named = |net: NetId| draft.nets[net.0 as usize].declared.is_none();
        let (gone, into) = if (named(a), a) < (named(b), b) { (b, a) } else { (a, b) };
        draft.run_together(gone, into);
    }
    wire.name
}

/// Seats the second circuit's legs in this set as their partners sit.
fn seat(joined: &Joined, first: &Draft, second: &mut Draft, same: &mut Same) {
    let here: BTreeSet<NetId> = joined.seconds.iter().map(|net| second.net_of[net.0 as usize]).collect();
    let firsts: BTreeSet<NetId> = joined.firsts.iter().map(|net| first.net_of[net.0 as usize]).collect();
    // Which net of the second stands for each of the first; further ones are drawn in.
    let mut stands: BTreeMap<NetId, NetId> = BTreeMap::new();
    let mut spare: Vec<NetId> = Vec::new();
    for net in &here {
        match same.nets.get(net).map(|n| first.net_of[n.0 as usize]) {
            Some(n) if !stands.contains_key(&n) => drop(stands.insert(n, *net)),
            _ => spare.push(*net),
        }
    }
    for net in &firsts {
        if !stands.contains_key(net) {
            let own = spare.pop().unwrap_or_else(|| {
                second.nets.push(first.nets[net.0 as usize].clone());
                NetId(second.nets.len() as u32 - 1)
            });
            stands.insert(*net, own);
        }
    }
    for (n, m) in &stands {
        same.nets.insert(*m, *n);
    }
    let somewhere = stands.values().next().copied();
    let where_first: BTreeMap<PartId, &crate::circuit::Part> =
        first.parts.iter().map(|part| (part.was, &part.part)).collect();
    for part in &mut second.parts {
        let partner = same.parts.get(&part.was).and_then(|id| where_first.get(id));
        for (leg, state) in part.part.legs.iter_mut().enumerate() {
            let Some(net) = state.net.filter(|net| here.contains(net)) else { continue };
            let at = partner
                .and_then(|first| first.legs[same.partner_leg(part.was, leg as u32)? as usize].net)
                .and_then(|net| stands.get(&net).copied());
            let kept = if spare.contains(&net) { somewhere } else { Some(net) };
            state.net = at.or(kept);
            state.home = state.net.unwrap_or(state.home);
        }
    }
}
