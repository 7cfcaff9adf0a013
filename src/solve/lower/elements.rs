//! The elements that the more complicated kinds of parts are made of.

use crate::circuit::types::GridCurrent;
use crate::circuit::{Part, PartId, Stretch, TubeModel};
use crate::numeric::network::{GridModel, Law, PentodeModel, TriodeModel, Winding};
use crate::solve::lower::{Lowering, WindingSection};

/// A silicon rectifier where the type is not stated: 1N4007-like, from memory.
const USUAL_DIODE: (f64, f64) = (7e-9, 1.8);

/// Slope of a zener below its voltage, where nothing is stated: common practice, no source.
const USUAL_ZENER_OHMS: f64 = 10.0;

impl Lowering<'_> {
    /// A track in sections from bottom to top, with the wiper and the taps between.
    pub(in crate::solve) fn pot(&mut self, id: PartId, part: &Part) {
        let Some(ohms) = part.value() else {
            self.lowered.unknown.push(id);
            return;
        };
        if let (at, true) = part.shaft() {
            self.or_assumed(id, None, at, "shaft position");
        }
        for Stretch { upper, lower, share } in part.track(part.wiper_share()) {
            let (a, b) = (self.leg(id, upper), self.leg(id, lower));
            self.add(id, Law::Resistor { a, b, ohms: ohms * share }, &[Some(upper), Some(lower)]);
        }
    }

    pub(in crate::solve) fn tube(&mut self, id: PartId, part: &Part) {
        let known = part.component.body.type_name.as_deref().and_then(|name| self.circuit.types.tube(name));
        let Some(tube) = known else {
            self.lowered.unknown.push(id);
            return;
        };
        let Some(model) = tube.model.clone() else {
            self.lowered.unknown.push(id);
            return;
        };
        let construction = tube.construction;
        for section in construction.sections() {
            if part.unused.iter().any(|unused| unused == section) {
                continue;
            }
            self.section(id, part, section, &model);
        }
    }

    fn section(&mut self, id: PartId, part: &Part, section: &str, model: &TubeModel) {
        let leg = |electrode: &str| {
            let name =
                if section.is_empty() { electrode.to_owned() } else { format!("{section}.{electrode}") };
            part.leg_index(&name)
        };
        match *model {
            TubeModel::Rectifier { perveance } => {
                for plate in ["a.plate", "b.plate"] {
                    let (Some(plate), Some(cathode)) = (part.leg_index(plate), part.leg_index("cathode"))
                    else {
                        continue;
                    };
                    let (anode, node) = (self.leg(id, plate), self.leg(id, cathode));
                    let law = Law::VacuumDiode { anode, cathode: node, perveance };
                    self.add(id, law, &[Some(plate), Some(cathode)]);
                }
            }
            // A cold valve is no element at all: nothing of it leaks. A rectifier is taken as warm in every
            // condition.
            _ if !self.warm(id, section) => {}
            TubeModel::Triode { mu, ex, kg1, kp, kvb, grid } => {
                let legs = [leg("plate"), leg("grid"), leg("cathode")];
                let [Some(plate), Some(control), Some(cathode)] = legs else { return };
                let law = Law::Triode {
                    plate: self.leg(id, plate),
                    grid: self.leg(id, control),
                    cathode: self.leg(id, cathode),
                    model: TriodeModel { mu, ex, kg1, kp, kvb, grid: grid_model(grid) },
                };
                self.add_as(id, law, &legs, Some(section), true);
            }
            TubeModel::Pentode { mu, ex, kg1, kg2, kp, kvb, grid } => {
                let legs = [leg("plate"), leg("screen"), leg("grid"), leg("cathode")];
                let [Some(plate), Some(screen), Some(control), Some(cathode)] = legs else { return };
                let law = Law::Pentode {
                    plate: self.leg(id, plate),
                    screen: self.leg(id, screen),
                    grid: self.leg(id, control),
                    cathode: self.leg(id, cathode),
                    model: PentodeModel { mu, ex, kg1, kg2, kp, kvb, grid: grid_model(grid) },
                };
                self.add_as(id, law, &legs, Some(section), true);
            }
        }
    }

    pub(in crate::solve) fn diode(&mut self, id: PartId, part: &Part, anode: usize, cathode: usize) {
        let (saturation_amps, emission) = self.junction(part);
        let law = Law::Diode {
            anode: self.leg(id, anode),
            cathode: self.leg(id, cathode),
            saturation_amps,
            emission,
        };
        self.add(id, law, &[Some(anode), Some(cathode)]);
    }

    pub(in crate::solve) fn zener(&mut self, id: PartId, part: &Part) {
        let Some(zener_volts) = part.value() else {
            self.lowered.unknown.push(id);
            return;
        };
        let (saturation_amps, emission) = self.junction(part);
        let zener_ohms = part.component.body.ohms.unwrap_or(USUAL_ZENER_OHMS);
        let (anode, cathode) = (self.leg(id, 0), self.leg(id, 1));
        let law = Law::Zener { anode, cathode, saturation_amps, emission, zener_volts, zener_ohms };
        self.add(id, law, &[Some(0), Some(1)]);
    }

    fn junction(&mut self, part: &Part) -> (f64, f64) {
        let known = part.component.body.type_name.as_deref().and_then(|name| self.circuit.types.diode(name));
        match known {
            Some(diode) => (diode.saturation, diode.emission),
            None => USUAL_DIODE,
        }
    }

    /// An EMF behind a resistance; the EMF by the condition.
    pub(in crate::solve) fn source(&mut self, id: PartId, part: &Part) {
        let Some(volts) = self.setup.emf(part) else {
            self.lowered.unknown.push(id);
            return;
        };
        if let Some(text) = self.setup.emf_assumption(part) {
            self.assume(text);
        }
        let (plus, minus) = (self.leg(id, 0), self.leg(id, 1));
        let ohms = part.component.body.ohms.unwrap_or(0.0);
        if ohms == 0.0 {
            let law = Law::VoltageSource { plus, minus, volts, ac_volts: 0.0 };
            self.add_as(id, law, &[Some(0), Some(1)], None, false);
            return;
        }
        let inner = self.inner(format!("{}, inside", part.name));
        let law = Law::VoltageSource { plus: inner, minus, volts, ac_volts: 0.0 };
        self.add_as(id, law, &[None, Some(1)], None, false);
        self.add(id, Law::Resistor { a: inner, b: plus, ohms }, &[None, Some(0)]);
    }

    pub(in crate::solve) fn contacts(&mut self, id: PartId, part: &Part) {
        let now = self.setup.position(id).or(part.component.body.now.as_deref());
        for contact in part.component.body.contacts.iter().filter(|c| Some(c.position.as_str()) == now) {
            let (a, b) = (contact.a as usize, contact.b as usize);
            let law = Law::Resistor { a: self.leg(id, a), b: self.leg(id, b), ohms: 0.0 };
            self.add(id, law, &[Some(a), Some(b)]);
        }
    }

    /// A jack's contacts are closed while nothing is plugged in; the driven jack has a plug in it.
    pub(in crate::solve) fn normals(&mut self, id: PartId, part: &Part) {
        if self.circuit.drive.is_some_and(|(jack, _)| jack == id) {
            return;
        }
        for (contact, touches) in &part.component.body.normals {
            if let (Some(a), Some(b)) = (part.leg_index(contact), part.leg_index(touches)) {
                let law = Law::Resistor { a: self.leg(id, a), b: self.leg(id, b), ohms: 0.0 };
                self.add(id, law, &[Some(a), Some(b)]);
            }
        }
    }

    /// A mains transformer at rest is its winding resistances; `supply` gives its windings their volts.
    pub(in crate::solve) fn windings(&mut self, id: PartId, part: &Part) {
        for (index, winding) in part.component.body.windings.iter().enumerate() {
            let what = format!("resistance of winding {}", winding.name);
            let ohms = self.or_assumed(id, winding.ohms, usual_winding_ohms(winding), &what);
            for pair in winding_points(part, winding).windows(2) {
                let (a, b) = (self.leg(id, pair[0].1), self.leg(id, pair[1].1));
                let volts = pair[1].0 - pair[0].0;
                // Wire goes with turns, turns with volts.
                let ohms = ohms * volts / winding.volts;
                let element = self.lowered.network.elements.len();
                self.lowered.windings.push(WindingSection { element, part: id, winding: index, volts });
                self.add(id, Law::Resistor { a, b, ohms }, &[Some(pair[0].1), Some(pair[1].1)]);
            }
        }
    }

    /// Primary halves and secondary taps on one core. Turns are the square roots of the impedances, so that
    /// the primary inductance over the primary impedance is henries per turn squared.
    pub(in crate::solve) fn output_transformer(&mut self, id: PartId, part: &Part) {
        let Some(primary) = part.value() else {
            self.lowered.unknown.push(id);
            return;
        };
        let (Some(supply), Some(common)) = (part.leg_index("supply"), part.leg_index("common")) else {
            return;
        };
        let (a, b) = (part.leg_index("plate-a"), part.leg_index("plate-b"));
        let halves = if b.is_some() { 2.0 } else { 1.0 };
        let stated = part
            .component
            .body
            .ohms
            .map(|ohms| if part.component.body.a_side { ohms } else { ohms / halves });
        let ohms = self.or_assumed(id, stated, 0.0, "primary resistance");
        let henries = self.or_assumed(id, part.component.body.henries, 20.0, "primary inductance");
        // Impedance goes with the square of the turns: plate to plate all of them, a half half of them.
        let turns = primary.sqrt() / halves;
        let mut windings = Vec::new();
        let mut legs = Vec::new();
        let ends = [a.map(|a| (a, supply)), b.map(|b| (supply, b))];
        for (x, y) in ends.into_iter().flatten() {
            windings.push(Winding { a: self.leg(id, x), b: self.leg(id, y), turns, ohms });
            legs.extend([Some(x), Some(y)]);
        }
        let mut taps: Vec<(f64, usize)> = part
            .component
            .body
            .output_taps
            .iter()
            .filter_map(|(name, ohms)| Some((*ohms, part.leg_index(name)?)))
            .collect();
        taps.sort_by(|x, y| x.0.total_cmp(&y.0));
        // Taps as sections one on top of the other: the 16 Ω winding is the 8 Ω one and √16 − √8 turns more.
        let (mut below, mut below_ohms) = (common, 0.0_f64);
        for (ohms, tap) in taps {
            let turns = ohms.sqrt() - below_ohms.sqrt();
            // Rising plate-a is falling taps unless `in phase` is stated.
            let (x, y) = if part.component.body.in_phase { (tap, below) } else { (below, tap) };
            windings.push(Winding { a: self.leg(id, x), b: self.leg(id, y), turns, ohms: 0.0 });
            legs.extend([Some(x), Some(y)]);
            (below, below_ohms) = (tap, ohms);
        }
        let henries_per_turn_squared = henries / primary;
        self.add(id, Law::Windings { windings, henries_per_turn_squared }, &legs);
    }
}

/// Ends, centre and taps of a winding in order, each with its volts rms from end `a` and its leg.
pub(in crate::solve) fn winding_points(part: &Part, winding: &crate::circuit::Winding) -> Vec<(f64, usize)> {
    let leg = |end: &str| part.leg_index(&format!("{}.{end}", winding.name));
    // Volts of a centre-tapped winding are written for one half (400-0-400).
    let whole = if winding.centre_tapped { 2.0 * winding.volts } else { winding.volts };
    let mut points = vec![(0.0, leg("a")), (whole, leg("b"))];
    if winding.centre_tapped {
        points.push((winding.volts, leg("centre")));
    }
    for (name, volts, end) in &winding.taps {
        let at = match end.as_str() {
            "b" => whole - volts,
            "centre" => winding.volts - volts,
            _ => *volts,
        };
        points.push((at.clamp(0.0, whole), leg(name)));
    }
    let mut points: Vec<(f64, usize)> = points.into_iter().filter_map(|(at, leg)| Some((at, leg?))).collect();
    points.sort_by(|x, y| x.0.total_cmp(&y.0));
    points
}

/// What a winding's resistance may be where it is not stated: 4 % of its volts are lost in it at its rated current;
/// without one 0.2 Ω a volt, as of windings for some 200 mA. Primaries: none. Common practice, no source.
fn usual_winding_ohms(winding: &crate::circuit::Winding) -> f64 {
    if winding.name.starts_with("primary") {
        return 0.0;
    }
    let ohms = match winding.amps {
        Some(amps) if amps > 0.0 => 0.04 * winding.volts / amps,
        _ => 0.2 * winding.volts,
    };
    (ohms * 100.0).round() / 100.0
}

fn grid_model(grid: GridCurrent) -> GridModel {
    GridModel { gg: grid.gg, cg: grid.cg, xi: grid.xi }
}
