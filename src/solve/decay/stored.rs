//! Stored charge in every position of the switches that matter: where capacitors are charged, and where they are left.
//!
//! ```text
//! HT switch S2 between reservoir A (with a bleeder) and filter B (without one):
//! charged   with S2 closed: both at 400 V; with S2 open: A alone
//! left      S2 closed: B discharges through the bleeder; S2 open: never
//! told      B "left with S2 at open: never", the worst; A by the bleeder in either
//! combinations of which all nets are one as before are the same circuit and not followed again
//! ```

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use super::start::{Rest, Start, Store, TELLING, stores};
use super::{Charge, HARMLESS_VOLTS, Stored};
use crate::circuit::{Circuit, PartId};
use crate::numeric::network::{Law, Node};
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::FloatingGrids;
use crate::numeric::time::discharge::equations::merged;
use crate::numeric::time::discharge::respond::{Discharge, Watch};
use crate::numeric::time::discharge::way_out::let_go;
use crate::numeric::time::discharge::{Fall, Valves};
use crate::solve::lower::{Lowered, lower};
use crate::solve::setup::Setup;
use crate::solve::solved::Solved;
use crate::solve::supply;
use crate::solve::switches::{Positions, positions, switches, thrown};

/// More combinations of switches than this are not gone through: each switch is then thrown by itself.
// Three two-way switches. Each is an operating point and a discharge of its own.
const MOST_COMBINATIONS: usize = 8;
/// A figure is worse than another where it is this much more: within it the switches make no difference.
const WORSE: f64 = 1.01;

/// Switches the amplifier off from where it rests in a condition and follows every capacitor that has a value, at worst:
/// charged and left with its switches in any position that matters for the high tension, and charged to what was read
/// where that is more. `rest` is where it was found at rest with this setup, if it was.
///
/// A leak that was found discharges nothing here: it goes when the part is changed, and heals while it stands.
pub fn stored_charge(
    circuit: &Circuit,
    setup: &Setup,
    rest: Option<&Solved>,
    valves: Valves,
) -> Result<Charge, Unsolved> {
    let off = SwitchedOff::new(circuit, setup, valves);
    let (rests, switches, unjudged) = off.rests(off.rest(setup.positions.clone(), rest)?);
    let read = rests.first().and_then(|first| first.as_read(circuit, setup.condition));
    let mut charge = Charge { stored: Vec::new(), unjudged };
    let mut left = off.every_left(&switches);
    for start in rests.iter().map(Rest::start).chain(read) {
        off.follow(&start, &mut left, &mut charge)?;
    }
    Ok(charge)
}

/// An amplifier that is switched off in a condition.
struct SwitchedOff<'a> {
    circuit: &'a Circuit,
    setup: &'a Setup,
    valves: Valves,
    /// The circuit that discharges.
    sound: Cow<'a, Circuit>,
    /// Of every net the lowest that it is one with, whatever the switches do.
    lowest: Vec<usize>,
}

/// The network that discharges, with switches in some positions.
struct Left {
    positions: Positions,
    lowered: Lowered,
    discharge: Discharge,
    valves: Valves,
}

impl Left {
    /// Every capacitor as a start has it.
    fn charged(&self, start: &Start) -> Vec<Stored> {
        let one = |(element, store): (usize, Store)| {
            let Law::Capacitor { farads, .. } = self.lowered.network.elements[element].law else {
                return None;
            };
            let volts = start.amounts.get(&store).copied().unwrap_or(0.0);
            let (part, joules) = (store.0, 0.5 * farads * volts * volts);
            let (fall, state, by_readings) = (Fall::Below, String::new(), start.by_readings);
            Some(Stored { part, volts, joules, fall, state, by_readings })
        };
        stores(&self.lowered).into_iter().filter_map(one).collect()
    }

    /// When each part's store is harmless.
    fn falls(&mut self, start: &Start) -> Result<BTreeMap<PartId, Fall>, Unsolved> {
        let stores: BTreeMap<usize, Store> = stores(&self.lowered).into_iter().collect();
        let mut amounts = vec![0.0; self.lowered.network.elements.len()];
        for (element, store) in &stores {
            amounts[*element] = start.amounts.get(store).copied().unwrap_or(0.0);
        }
        let mut falls = followed(&mut self.discharge, &stores, &amounts)?;
        let kept = |(_, store): &(&usize, &Store)| falls.get(&store.0) == Some(&Fall::Never);
        let kept: Vec<(usize, PartId)> =
            stores.iter().filter(kept).map(|(element, store)| (*element, store.0)).collect();
        for (element, part) in kept {
            let Law::Capacitor { a, b, .. } = self.lowered.network.elements[element].law else { continue };
            let (upper, lower) = if amounts[element] > 0.0 { (a, b) } else { (b, a) };
            // What seems to stay for good is asked once more with the diodes closed that it would open by itself.
            let Some(network) = let_go(&self.lowered.network, upper, lower) else { continue };
            let let_go = followed(&mut Discharge::new(&network, self.valves), &stores, &amounts)?;
            falls.remove(&part);
            for (part, fall) in let_go {
                let known = falls.entry(part).or_insert(fall);
                // The longer of the two networks' answers: neither is the whole truth, and more time is safer.
                if seconds(fall) > seconds(*known) {
                    *known = fall;
                }
            }
        }
        Ok(falls)
    }
}

/// When each part's store is harmless, from the elements' amounts.
fn followed(
    discharge: &mut Discharge,
    stores: &BTreeMap<usize, Store>,
    amounts: &[f64],
) -> Result<BTreeMap<PartId, Fall>, Unsolved> {
    let watch = Watch { threshold: HARMLESS_VOLTS, instants: Vec::new() };
    let response = discharge.from(amounts, &watch)?;
    let falls = response.stores.iter().zip(response.falls);
    Ok(falls.filter_map(|(element, fall)| Some((stores.get(element)?.0, fall))).collect())
}

fn seconds(fall: Fall) -> f64 {
    fall.seconds().unwrap_or(f64::INFINITY)
}

impl<'a> SwitchedOff<'a> {
    fn new(circuit: &'a Circuit, setup: &'a Setup, valves: Valves) -> SwitchedOff<'a> {
        let lowest = joined_for_good(circuit, setup);
        SwitchedOff { circuit, setup, valves, sound: without_leaks(circuit), lowest }
    }

    fn setup(&self, positions: &Positions) -> Setup {
        Setup { positions: positions.clone(), ..self.setup.clone() }
    }

    fn rest(&self, positions: Positions, known: Option<&Solved>) -> Result<Rest, Unsolved> {
        let setup = self.setup(&positions);
        let lowered = lower(self.circuit, &setup);
        // Elements and nodes of the network have their numbers in the solved one, a supply's stand-ins come after them.
        let point = match known.and_then(|solved| solved.windows.equations()) {
            Some((_, _, point)) => point.clone(),
            None => supply::couple(self.circuit, &setup, lowered.clone(), FloatingGrids::AtCathode)?.point,
        };
        Ok(Rest { positions, lowered, point })
    }

    /// The amplifier at rest in every position of the switches that are joined to high tension, as it stands first; these
    /// switches; and what could not be solved. What the condition sets stays as it is set.
    fn rests(&self, first: Rest) -> (Vec<Rest>, Vec<PartId>, Option<String>) {
        let mut tried = BTreeSet::from([self.joins(&self.setup.positions)]);
        let (mut rests, mut unjudged) = (vec![first], None);
        let mut known: Vec<PartId> = Vec::new();
        // Each pass adds a switch at least.
        loop {
            let hot = self.hot_switches(&rests);
            if hot.iter().all(|id| known.contains(id)) {
                return (rests, known, unjudged);
            }
            known = switches(self.circuit)
                .into_iter()
                .filter(|id| known.contains(id) || hot.contains(id))
                .collect();
            let free: Vec<PartId> =
                known.iter().copied().filter(|id| !self.setup.positions.contains_key(id)).collect();
            for positions in self.combinations(&free) {
                if !tried.insert(self.joins(&positions)) {
                    continue;
                }
                match self.rest(positions.clone(), None) {
                    Ok(rest) => rests.push(rest),
                    Err(why) => unjudged = unjudged.or(Some(self.unjudged(&positions, &positions, &why))),
                }
            }
        }
    }

    /// Switches with a lug on high tension; every one where there is none anywhere: one of them may have cut it off.
    fn hot_switches(&self, rests: &[Rest]) -> Vec<PartId> {
        let hot: BTreeSet<_> = rests.iter().flat_map(|rest| rest.hot_nets(self.circuit)).collect();
        let on_it = |id: &PartId| {
            let legs = &self.circuit.part(*id).legs;
            hot.is_empty() || legs.iter().any(|leg| leg.net.is_some_and(|net| hot.contains(&net)))
        };
        switches(self.circuit).into_iter().filter(on_it).collect()
    }

    /// Every combination of some switches, the others as the condition has them.
    fn combinations(&self, free: &[PartId]) -> Vec<Positions> {
        let put = |thrown: Positions| {
            let mut all = self.setup.positions.clone();
            for id in free {
                let stated = self.circuit.part(*id).component.body.now.as_ref();
                match thrown.get(id).or(stated) {
                    Some(position) => drop(all.insert(*id, position.clone())),
                    None => drop(all.remove(id)),
                }
            }
            all
        };
        positions(self.circuit, free, MOST_COMBINATIONS).into_iter().map(put).collect()
    }

    /// Which nets are one with switches in some positions, each by its lowest: combinations of which that is the same are
    /// one circuit.
    fn joins(&self, positions: &Positions) -> Vec<usize> {
        let mut lowest = self.lowest.clone();
        for id in switches(self.circuit) {
            let part = self.circuit.part(id);
            let at = positions.get(&id).or(part.component.body.now.as_ref());
            let net = |leg: u32| part.legs[leg as usize].net.map(|net| net.0 as usize);
            for contact in part.component.body.contacts.iter().filter(|c| Some(&c.position) == at) {
                let (Some(a), Some(b)) = (net(contact.a), net(contact.b)) else { continue };
                let (low, high) = (lowest[a].min(lowest[b]), lowest[a].max(lowest[b]));
                lowest.iter_mut().filter(|net| **net == high).for_each(|net| *net = low);
            }
        }
        lowest
    }

    fn left(&self, positions: &Positions) -> Left {
        let mut lowered = lower(&self.sound, &self.setup(positions));
        // The drive's own blocking capacitor is no part of the amplifier.
        for (element, origin) in lowered.network.elements.iter_mut().zip(&lowered.elements) {
            if let (Law::Capacitor { farads, .. }, None) = (&mut element.law, origin.part) {
                *farads = 0.0;
            }
        }
        let discharge = Discharge::new(&lowered.network, self.valves);
        Left { positions: positions.clone(), lowered, discharge, valves: self.valves }
    }

    /// Every network that may be left to discharge, that of the condition first.
    fn every_left(&self, switches: &[PartId]) -> Vec<Left> {
        let mut seen = BTreeSet::new();
        let all = std::iter::once(self.setup.positions.clone()).chain(self.combinations(switches));
        let distinct = all.filter(|positions| seen.insert(self.joins(positions)));
        distinct.map(|positions| self.left(&positions)).collect()
    }

    /// Keeps what is worse of a start than of those before. One that charges nothing much further than they do is not
    /// followed. The first, left as it is, has an answer or there is none at all.
    fn follow(&self, start: &Start, left: &mut [Left], charge: &mut Charge) -> Result<(), Unsolved> {
        let charged = left.first().map_or_else(Vec::new, |first| first.charged(start));
        let begins = charge.stored.is_empty();
        let further = |(now, known): (&Stored, &Stored)| {
            now.volts.abs() > f64::max(HARMLESS_VOLTS, TELLING * known.volts.abs())
        };
        // A discharge of each start in each position would take their product; most starts charge nothing new.
        let follow = begins || charged.iter().zip(&charge.stored).any(further);
        charge.stored.iter_mut().zip(&charged).for_each(|(known, now)| more_energy(known, now));
        if begins {
            charge.stored = charged;
        }
        for (at, left) in left.iter_mut().enumerate().filter(|_| follow) {
            let falls = match left.falls(start) {
                Ok(falls) => falls,
                Err(why) if begins && at == 0 => return Err(why),
                Err(why) => {
                    let why = self.unjudged(start.positions, &left.positions, &why);
                    charge.unjudged.get_or_insert(why);
                    continue;
                }
            };
            let state = self.state(start.positions, &left.positions);
            for known in &mut charge.stored {
                longer(known, falls.get(&known.part).copied(), start, &state);
            }
        }
        Ok(())
    }

    /// "left with S2 at standby"; nothing where all stands as in the condition.
    fn state(&self, charged: &Positions, left: &Positions) -> String {
        let told = |positions| thrown(self.circuit, &self.setup.positions, positions).join(", ");
        let (before, after) = (told(charged), told(left));
        match (before.is_empty(), after.is_empty()) {
            (true, true) => String::new(),
            (true, false) => format!("left with {after}"),
            (false, true) => format!("charged with {before}"),
            _ if before == after => format!("with {after}"),
            _ => format!("charged with {before}, left with {after}"),
        }
    }

    fn unjudged(&self, charged: &Positions, left: &Positions, why: &Unsolved) -> String {
        let state = self.state(charged, left);
        let state = if state.is_empty() { state } else { format!(", {state},") };
        format!("what capacitors keep{state} can't be worked out: {why}")
    }
}

/// How much more than what is known makes a figure of this start a worse one.
fn worse(by_readings: bool) -> f64 {
    if by_readings { TELLING } else { WORSE }
}

/// Takes over a greater energy.
fn more_energy(known: &mut Stored, now: &Stored) {
    if now.joules > worse(now.by_readings) * known.joules {
        (known.volts, known.joules, known.by_readings) = (now.volts, now.joules, now.by_readings);
    }
}

/// Takes over a longer time.
fn longer(known: &mut Stored, fall: Option<Fall>, start: &Start, state: &str) {
    if let Some(fall) = fall.filter(|f| seconds(*f) > worse(start.by_readings) * seconds(known.fall)) {
        (known.fall, known.by_readings) = (fall, known.by_readings || start.by_readings);
        state.clone_into(&mut known.state);
    }
}

/// Of every net the lowest that it is one with over wires and closed contacts, switches aside.
fn joined_for_good(circuit: &Circuit, setup: &Setup) -> Vec<usize> {
    let mut lowered = lower(circuit, setup);
    for (element, origin) in lowered.network.elements.iter_mut().zip(&lowered.elements) {
        let switch = |id: PartId| !circuit.part(id).component.body.positions.is_empty();
        if let (Law::Resistor { ohms, .. }, Some(_)) =
            (&mut element.law, origin.part.filter(|id| switch(*id)))
        {
            // Contacts are resistors of 0 Ω here; open, whatever position they are in.
            *ohms = f64::INFINITY;
        }
    }
    let groups = merged(&lowered.network);
    let mut lowest: BTreeMap<Node, usize> = BTreeMap::new();
    let of = |(net, node): (usize, &Option<Node>)| {
        node.map_or(net, |node| *lowest.entry(groups[node]).or_insert(net))
    };
    lowered.node_of.iter().enumerate().map(of).collect()
}

/// The circuit with every leak that was found taken out.
fn without_leaks(circuit: &Circuit) -> Cow<'_, Circuit> {
    let leaks = |component: &crate::circuit::Component| {
        component.leak.is_some() || component.strays.iter().any(|stray| stray.leak.is_some())
    };
    if !circuit.parts.iter().any(|part| leaks(&part.component)) {
        return Cow::Borrowed(circuit);
    }
    let mut sound = circuit.clone();
    for part in sound.parts_mut() {
        part.component.leak = None;
        part.component.strays.retain(|stray| stray.leak.is_none());
    }
    Cow::Owned(sound)
}
