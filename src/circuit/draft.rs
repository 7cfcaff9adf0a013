//! A circuit on the drawing board: parts renamed, wires taken out, nets run together, then a circuit again. Windows,
//! readings and heaters follow their parts and nets.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{
    CHASSIS, Circuit, Heater, LegId, Net, NetId, Part, PartId, Reading, Target, Window, natural,
    part::Origin, snapshot,
};

/// A circuit that may still be changed.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Its parts; the nets of their legs are indices into `nets`.
    pub parts: Vec<DraftPart>,
    /// Its nets, chassis first; their legs are filled in at the end.
    pub nets: Vec<Net>,
    /// Where each net of the circuit it was drawn from has gone.
    pub net_of: Vec<NetId>,
}

/// A part of a draft.
#[derive(Debug, Clone)]
pub struct DraftPart {
    /// The part as it is now to be.
    pub part: Part,
    /// Which it was.
    pub was: PartId,
    /// For each leg its index in what it was.
    pub legs: Vec<u32>,
}

impl Draft {
    /// The parts that are there, each leg at home where it sits: what happened to them before is no matter.
    pub fn of(circuit: &Circuit) -> Draft {
        let parts = circuit.part_ids().filter(|id| circuit.part(*id).fitted()).map(|id| {
            let mut part = circuit.part(id).clone();
            part.origin = Origin::Stock;
            for leg in &mut part.legs {
                leg.home = leg.net.unwrap_or(leg.home);
                (leg.moved, leg.lifted) = (false, leg.net.is_none());
            }
            let legs = (0..part.legs.len() as u32).collect();
            DraftPart { part, was: id, legs }
        });
        let bare = |net: &Net| Net { legs: Vec::new(), ..net.clone() };
        Draft {
            parts: parts.collect(),
            nets: circuit.nets.iter().map(bare).collect(),
            net_of: circuit.net_ids().collect(),
        }
    }

    /// Index of what was a part, if it is still there.
    pub fn find(&self, was: PartId) -> Option<usize> {
        // Parts are taken out, never put in or reordered.
        self.parts.binary_search_by_key(&was, |part| part.was).ok()
    }

    /// Runs one net into another, which keeps its name. Chassis is never the one that goes.
    pub fn run_together(&mut self, gone: NetId, into: NetId) {
        let (gone, into) = if gone == CHASSIS { (into, gone) } else { (gone, into) };
        let moved = |net: &mut NetId| {
            if *net == gone {
                *net = into;
            }
        };
        for leg in self.parts.iter_mut().flat_map(|p| &mut p.part.legs) {
            moved(&mut leg.home);
            leg.net.iter_mut().for_each(moved);
        }
        self.net_of.iter_mut().for_each(moved);
    }
}

impl Circuit {
    /// The circuit of a draft that was drawn from this one. Nets that no leg sits in are left out.
    #[must_use]
    pub fn redrawn(&self, draft: Draft) -> Circuit {
        let Draft { mut parts, nets, net_of } = draft;
        parts.sort_by(|a, b| natural(&a.part.name, &b.part.name));
        let mut used = vec![false; nets.len()];
        used[0] = true;
        for leg in parts.iter().flat_map(|p| &p.part.legs) {
            used[leg.home.0 as usize] = true;
            leg.net.iter().for_each(|net| used[net.0 as usize] = true);
        }
        for (net, kept) in used.iter_mut().enumerate() {
            *kept |= nets[net].declared.is_some() && net_of.iter().any(|to| to.0 as usize == net);
        }
        let mut last = 0;
        let number: Vec<Option<NetId>> = used
            .iter()
            .map(|used| {
                last += u32::from(*used);
                used.then(|| NetId(last - 1))
            })
            .collect();
        let renumber = |net: NetId| number[net.0 as usize].expect("a net that a leg is on is used");
        for leg in parts.iter_mut().flat_map(|p| &mut p.part.legs) {
            leg.home = renumber(leg.home);
            leg.net = leg.net.map(renumber);
        }
        let mut left = used.iter();
        let kept: Vec<Net> = nets.into_iter().filter(|_| *left.next().expect("one for each net")).collect();
        let moved = Moved::new(&parts, self, net_of.iter().map(|net| number[net.0 as usize]).collect());
        let parts: Vec<Arc<Part>> = parts.into_iter().map(|p| Arc::new(p.part)).collect();
        let nets = snapshot::with_legs(kept, &parts);
        Circuit {
            mains_measured: self.mains_measured,
            heaters: self.heaters.iter().filter_map(|heater| moved.heater(heater)).collect(),
            drive: self.drive.and_then(|(jack, behind)| Some((moved.part(jack)?, behind))),
            windows: self.windows.iter().filter_map(|window| moved.window(window)).collect(),
            readings: self.readings.iter().filter_map(|reading| moved.reading(reading)).collect(),
            notes: self.notes.clone(),
            accepts: self.accepts.clone(),
            types: self.types.clone(),
            ..self.holding(parts, nets)
        }
    }
}

/// Where the parts, legs and nets of a circuit have gone.
struct Moved {
    parts: Vec<Option<PartId>>,
    legs: Vec<Vec<u32>>,
    nets: Vec<Option<NetId>>,
    /// New names of windings.
    winding: BTreeMap<(PartId, String), String>,
}

impl Moved {
    fn new(parts: &[DraftPart], circuit: &Circuit, nets: Vec<Option<NetId>>) -> Moved {
        let mut moved = Moved {
            parts: vec![None; circuit.parts.len()],
            legs: vec![Vec::new(); circuit.parts.len()],
            nets,
            winding: BTreeMap::new(),
        };
        for (index, part) in parts.iter().enumerate() {
            moved.parts[part.was.0 as usize] = Some(PartId(index as u32));
            moved.legs[part.was.0 as usize].clone_from(&part.legs);
            let windings =
                circuit.part(part.was).component.body.windings.iter().zip(&part.part.component.body.windings);
            moved.winding.extend(windings.map(|(old, new)| ((part.was, old.name.clone()), new.name.clone())));
        }
        moved
    }

    fn part(&self, part: PartId) -> Option<PartId> {
        self.parts[part.0 as usize]
    }

    fn net(&self, net: NetId) -> Option<NetId> {
        self.nets[net.0 as usize]
    }

    fn target(&self, target: Target) -> Option<Target> {
        Some(match target {
            Target::Net(net) => Target::Net(self.net(net)?),
            Target::Between(a, b) => Target::Between(self.net(a)?, self.net(b)?),
            Target::Part(part) => Target::Part(self.part(part)?),
            Target::Leg(leg) => {
                let index = self.legs[leg.part.0 as usize].iter().position(|was| *was == leg.leg)?;
                Target::Leg(LegId { part: self.part(leg.part)?, leg: index as u32 })
            }
        })
    }

    fn window(&self, window: &Window) -> Option<Window> {
        Some(Window { target: self.target(window.target)?, ..window.clone() })
    }

    fn reading(&self, reading: &Reading) -> Option<Reading> {
        Some(Reading { target: self.target(reading.target)?, ..reading.clone() })
    }

    fn heater(&self, heater: &Heater) -> Option<Heater> {
        let transformer = self.part(heater.transformer)?;
        let winding = self.winding.get(&(heater.transformer, heater.winding.clone()));
        Some(Heater {
            transformer,
            winding: winding.unwrap_or(&heater.winding).clone(),
            valves: heater.valves.iter().filter_map(|valve| self.part(*valve)).collect(),
            reference: heater.reference.and_then(|net| self.net(net)),
            ..heater.clone()
        })
    }
}
