//! A supply's steady state read back into the circuit's own terms.

use std::collections::BTreeMap;

use petgraph::unionfind::UnionFind;

use super::couple::{Coupled, Settled};
use super::state::{CapacitorState, ChokeState, NetState, RectifierState, Supply, WindingState};
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::Kind;
use crate::numeric::outcome::{Outcome, Unsolved};
use crate::numeric::time::rectifier::inrush::{feed_ohms, inrush};
use crate::numeric::time::rectifier::measure::Measured;
use crate::numeric::time::rectifier::mesh::Piece;
use crate::numeric::time::rectifier::steady::observe;
use crate::solve::lower::Lowered;
use crate::solve::solved::Solved;

/// Puts the supplies into an answer, and the heat of their parts by the whole period in place of that by means.
pub(crate) fn report(circuit: &Circuit, coupled: &Coupled, solved: &mut Solved) -> Result<(), Unsolved> {
    let Some(settled) = &coupled.supply else { return Ok(()) };
    let unsettled = |_| Unsolved::before(Outcome::SupplyUnsettled { element: first_name(coupled, settled) });
    let measured = observe(&settled.mesh, &settled.steady).map_err(unsettled)?;
    let reader = Reader::new(circuit, &coupled.lowered, settled, &measured);
    heat(circuit, coupled, settled, &measured, solved);
    solved.supplies = reader.supplies();
    Ok(())
}

fn first_name(coupled: &Coupled, settled: &Settled) -> String {
    let first = settled.plan.elements.first();
    first.map_or_else(String::new, |element| coupled.lowered.network.elements[*element].name.clone())
}

fn heat(circuit: &Circuit, coupled: &Coupled, settled: &Settled, measured: &Measured, solved: &mut Solved) {
    let mut of_element: BTreeMap<usize, f64> = BTreeMap::new();
    let mut touched: BTreeMap<PartId, f64> = BTreeMap::new();
    for (element, watts) in settled.plan.elements.iter().zip(&measured.watts) {
        of_element.insert(*element, *watts);
        if let Some(part) = coupled.lowered.elements[*element].part {
            touched.insert(part, 0.0);
        }
    }
    for (element, origin) in coupled.lowered.elements.iter().enumerate() {
        if let Some(sum) = origin.part.filter(|_| origin.heats).and_then(|part| touched.get_mut(&part)) {
            *sum += of_element.get(&element).copied().unwrap_or_else(|| coupled.point.watts(element));
        }
    }
    for (part, watts) in settled.plan.transformers.iter().zip(&measured.primary_watts) {
        if let Some(sum) = touched.get_mut(part) {
            *sum += watts;
        }
    }
    for (part, watts) in touched {
        if circuit.part(part).kind != Kind::Capacitor {
            solved.watts[part.0 as usize] = Some(watts);
        }
    }
}

struct Reader<'a> {
    circuit: &'a Circuit,
    lowered: &'a Lowered,
    settled: &'a Settled,
    measured: &'a Measured,
    /// The supply's own number of each node of the mesh.
    group: Vec<usize>,
}

impl<'a> Reader<'a> {
    fn new(circuit: &'a Circuit, lowered: &'a Lowered, settled: &'a Settled, measured: &'a Measured) -> Self {
        let mut union = UnionFind::<usize>::new(settled.mesh.nodes);
        for piece in &settled.plan.mesh.pieces {
            let (a, b) = piece.ends();
            if a != 0 && b != 0 {
                union.union(a, b);
            }
        }
        Self { circuit, lowered, settled, measured, group: union.into_labeling() }
    }

    /// Pieces of the supply with their elements' numbers.
    fn pieces(&self) -> impl Iterator<Item = (usize, Piece)> + '_ {
        self.settled.plan.mesh.pieces.iter().copied().enumerate()
    }

    fn group_of(&self, piece: &Piece) -> usize {
        let (a, b) = piece.ends();
        self.group[if a == 0 { b } else { a }]
    }

    fn part(&self, piece: usize) -> Option<PartId> {
        self.lowered.elements[self.settled.plan.elements[piece]].part
    }

    fn supplies(&self) -> Vec<Supply> {
        let rectifiers = self.rectifiers();
        let mut groups: Vec<usize> = rectifiers.iter().map(|(group, _)| *group).collect();
        groups.sort_unstable();
        groups.dedup();
        let amps = self.measured.primary_amps.iter().map(|amps| amps.rms);
        let primaries: Vec<(PartId, f64)> =
            self.settled.plan.transformers.iter().copied().zip(amps).collect();
        let of = |group: usize| Supply {
            hertz: self.settled.mesh.hertz,
            rectifiers: rectifiers.iter().filter(|r| r.0 == group).map(|r| r.1.clone()).collect(),
            windings: self.windings(group),
            nets: self.nets(group),
            capacitors: self.capacitors(group),
            chokes: self.chokes(group),
            primaries: primaries.clone(),
            taken_watts: self.measured.delivered_watts,
        };
        groups.into_iter().map(of).collect()
    }

    fn rectifiers(&self) -> Vec<(usize, RectifierState)> {
        let first = inrush(&self.settled.plan.mesh).unwrap_or_default();
        let feed = feed_ohms(&self.settled.plan.mesh);
        let mut found: Vec<(usize, RectifierState)> = Vec::new();
        let rectifiers = self.pieces().filter(|(_, piece)| matches!(piece, Piece::Rectifier { .. }));
        for (number, (at, piece)) in rectifiers.enumerate() {
            let origin = &self.lowered.elements[self.settled.plan.elements[at]];
            let (Some(part), [Some(anode), Some(cathode)]) = (origin.part, &origin.legs[..]) else {
                continue;
            };
            let leg = |leg: &usize| LegId { part, leg: *leg as u32 };
            let state = RectifierState {
                part,
                anode: leg(anode),
                cathode: leg(cathode),
                amps: self.measured.amps[at],
                inverse_volts: (-self.measured.across[at].least).max(0.0),
                conducting_seconds: self.measured.conducting[at],
                watts: self.measured.watts[at],
                feed_ohms: feed.get(number).copied().flatten(),
                inrush_amps: first.get(number).copied().unwrap_or(0.0),
                peak_share: None,
                inverse_share: None,
                mean_share: None,
                inrush_share: None,
                feed_share: None,
            };
            found.push((self.group_of(&piece), state));
        }
        let mean = |part: PartId| -> f64 {
            found.iter().filter(|(_, s)| s.part == part).map(|(_, s)| s.amps.mean).sum()
        };
        let means: Vec<f64> = found.iter().map(|(_, state)| mean(state.part)).collect();
        for ((_, state), whole) in found.iter_mut().zip(means) {
            self.judge(state, whole);
        }
        found
    }

    /// Shares of the type's limits.
    fn judge(&self, state: &mut RectifierState, whole_mean: f64) {
        let part = self.circuit.part(state.part);
        let name = part.component.body.type_name.as_deref();
        let share =
            |value: f64, limit: Option<f64>| limit.filter(|most| *most > 0.0).map(|most| value / most);
        if part.kind == Kind::Tube {
            let tube = name.and_then(|name| self.circuit.types.tube(name));
            let limit = |name: &str| tube.and_then(|tube| tube.limit(name));
            state.peak_share = share(state.amps.greatest, limit("peak-current"));
            state.inverse_share = share(state.inverse_volts, limit("inverse"));
            state.mean_share = share(whole_mean, limit("dc-current"));
            state.inrush_share = share(state.inrush_amps, limit("surge-current"));
            state.feed_share = state
                .feed_ohms
                .filter(|ohms| *ohms > 0.0)
                .and_then(|ohms| Some(limit("plate-supply-resistance")? / ohms));
            return;
        }
        let diode = name.and_then(|name| self.circuit.types.diode(name));
        // Ratings stated on the part go before its type's.
        let inverse = part.component.body.volts.or(diode.and_then(|d| d.inverse));
        let current = part.component.body.amps.or(diode.and_then(|d| d.current));
        state.inverse_share = share(state.inverse_volts, inverse);
        state.mean_share = share(state.amps.mean, current);
    }

    fn windings(&self, group: usize) -> Vec<WindingState> {
        let mut states: BTreeMap<(PartId, usize), WindingState> = BTreeMap::new();
        for (at, piece) in self.pieces() {
            let Piece::Winding { .. } = piece else { continue };
            let element = self.settled.plan.elements[at];
            let section = self.lowered.windings.iter().find(|section| section.element == element);
            let Some(section) = section.filter(|_| self.group_of(&piece) == group) else { continue };
            let winding = &self.circuit.part(section.part).component.body.windings[section.winding];
            let state = states.entry((section.part, section.winding)).or_insert_with(|| WindingState {
                part: section.part,
                name: winding.name.clone(),
                rms_amps: 0.0,
                peak_amps: 0.0,
                watts: 0.0,
                share: None,
            });
            let amps = self.measured.amps[at];
            state.rms_amps = state.rms_amps.max(amps.rms);
            state.peak_amps = state.peak_amps.max(amps.peak());
            state.watts += self.measured.watts[at];
            state.share = winding.amps.filter(|most| *most > 0.0).map(|most| state.rms_amps / most);
        }
        states.into_values().collect()
    }

    fn nets(&self, group: usize) -> Vec<NetState> {
        let mut filtered = vec![false; self.settled.mesh.nodes];
        for (_, piece) in self.pieces() {
            if let Piece::Capacitor { a, b, .. } = piece {
                (filtered[a], filtered[b]) = (true, true);
            }
        }
        let holds = |net: NetId| {
            let capacitor = |leg: &LegId| self.circuit.part(leg.part).kind == Kind::Capacitor;
            self.circuit.net(net).legs.iter().any(capacitor)
        };
        let at = |net: NetId| {
            let node = self.lowered.node_of[net.0 as usize]?;
            let at = self.settled.plan.place.get(node).copied().flatten()?;
            (at != 0 && filtered[at] && self.group[at] == group).then_some(at)
        };
        let nets = self.circuit.net_ids().filter(|net| holds(*net)).filter_map(|net| Some((net, at(net)?)));
        nets.map(|(net, at)| NetState { net, volts: self.measured.volts[at] }).collect()
    }

    fn capacitors(&self, group: usize) -> Vec<CapacitorState> {
        let all = self.pieces().filter(|(_, piece)| matches!(piece, Piece::Capacitor { .. }));
        let here = all.filter(|(_, piece)| self.group_of(piece) == group);
        here.filter_map(|(at, _)| {
            let part = self.part(at)?;
            let (volts, rms_amps) = (self.measured.across[at], self.measured.amps[at].rms);
            Some(CapacitorState { part, volts, rms_amps })
        })
        .collect()
    }

    fn chokes(&self, group: usize) -> Vec<ChokeState> {
        let all = self.pieces().filter(|(_, piece)| matches!(piece, Piece::Inductor { .. }));
        let here = all.filter(|(_, piece)| self.group_of(piece) == group);
        here.filter_map(|(at, _)| Some(ChokeState { part: self.part(at)?, amps: self.measured.amps[at] }))
            .collect()
    }
}
