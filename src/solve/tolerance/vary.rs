//! What varies from amplifier to amplifier, and where it stands in the equations.

use crate::circuit::{Circuit, Part, PartId};
use crate::model::Kind;
use crate::numeric::network::Law;
use crate::numeric::statistics::draw::Distribution;
use crate::numeric::statistics::{Change, Varied};
use crate::solve::lower::{Lowered, Origin};

/// Spread of a type's currents where its data state none: "new tubes scatter about ±30 (34) %" (Knoll, read).
pub(super) const USUAL_SPREAD: f64 = 0.3;
/// A winding's resistance, and what stands behind a source.
const WINDING: f64 = 0.1;
/// A meter's accuracy where it is not stated.
const METER: f64 = 0.01;

/// All that varies in a circuit, in the order of the network's elements.
pub fn varied(circuit: &Circuit, lowered: &Lowered) -> Vec<Varied> {
    let mut all = Gathered::default();
    for (index, (element, origin)) in lowered.network.elements.iter().zip(&lowered.elements).enumerate() {
        let Some(id) = origin.part else { continue };
        let part = circuit.part(id);
        match &element.law {
            Law::Resistor { ohms, .. } if *ohms > 0.0 && !is_leak(part) => all.resistor(index, id, part),
            Law::Inductor { ohms, .. } if *ohms > 0.0 => all.winding(index, id, part),
            Law::Windings { .. } => all.winding(index, id, part),
            Law::VoltageSource { .. } => {
                if let Some((below, above)) = part.component.body.tolerance {
                    all.add(
                        (index, Change::Volts),
                        (id, part),
                        "",
                        (Distribution::Uniform { below, above }, false),
                    );
                }
            }
            Law::Triode { .. } | Law::Pentode { .. } | Law::VacuumDiode { .. } => {
                all.valve(index, id, circuit, origin, &element.law);
            }
            Law::Zener { .. } => all.value(index, id, part, Change::Breakdown),
            _ => {}
        }
    }
    all.list
}

/// A capacitor's measured leak stands as it was measured.
fn is_leak(part: &Part) -> bool {
    part.kind == Kind::Capacitor
}

#[derive(Default)]
struct Gathered {
    list: Vec<Varied>,
    /// Part and figure of each in the list.
    of: Vec<(PartId, &'static str)>,
}

impl Gathered {
    /// Elements of one part's figure vary together: the two sides of a pot, the windings of a transformer.
    fn add(
        &mut self,
        (index, change): (usize, Change),
        (id, part): (PartId, &Part),
        figure: &'static str,
        (spread, assumed): (Distribution, bool),
    ) {
        if figure != "section"
            && let Some(at) = self.of.iter().rposition(|of| *of == (id, figure))
        {
            self.list[at].sets.push((index, change));
            return;
        }
        let name = if figure.is_empty() { part.name.clone() } else { format!("{} {figure}", part.name) };
        self.of.push((id, figure));
        self.list.push(Varied { name, spread, assumed, sets: vec![(index, change)] });
    }

    fn resistor(&mut self, index: usize, id: PartId, part: &Part) {
        match part.kind {
            Kind::Resistor | Kind::Thermistor | Kind::Speaker | Kind::Lamp | Kind::Pot | Kind::Trimmer => {
                self.value(index, id, part, Change::Ohms);
            }
            Kind::Source | Kind::MainsTransformer | Kind::ReverbTransformer => self.winding(index, id, part),
            // Links, contacts and fuses are as they are.
            _ => {}
        }
    }

    /// The part's own value, within its tolerance or its meter's accuracy.
    fn value(&mut self, index: usize, id: PartId, part: &Part, change: Change) {
        let (below, above, assumed) =
            if part.component.measured.is_some() { (METER, METER, true) } else { part.tolerance() };
        self.add((index, change), (id, part), "", (Distribution::Uniform { below, above }, assumed));
    }

    fn winding(&mut self, index: usize, id: PartId, part: &Part) {
        let figure = if part.kind == Kind::Source { "inside" } else { "winding" };
        let spread = Distribution::Uniform { below: WINDING, above: WINDING };
        self.add((index, Change::Ohms), (id, part), figure, (spread, true));
    }

    fn valve(&mut self, index: usize, id: PartId, circuit: &Circuit, origin: &Origin, law: &Law) {
        let part = circuit.part(id);
        let kind = part.component.body.type_name.as_deref().and_then(|name| circuit.types.tube(name));
        let stated = kind.and_then(|kind| kind.spread);
        let strength = (Distribution::Normal { ends: stated.unwrap_or(USUAL_SPREAD) }, stated.is_none());
        let Some(letter) = &origin.section else {
            // The plates of a rectifier share a cathode.
            self.add((index, Change::Strength), (id, part), "", strength);
            return;
        };
        self.add((index, Change::Strength), (id, part), "section", strength);
        let name = format!("{}{letter}", part.name);
        let residual = kind.and_then(|kind| kind.screen_residual);
        if let (Law::Pentode { .. }, Some(ends)) = (law, residual) {
            self.add((index, Change::Screen), (id, part), "section", (Distribution::Normal { ends }, false));
            self.rename(format!("{name} screen"), 0);
            self.rename(name, 1);
        } else {
            self.rename(name, 0);
        }
    }

    /// Names the last figure, or one before it.
    fn rename(&mut self, name: String, before: usize) {
        let last = self.list.len() - 1 - before;
        self.list[last].name = name;
    }
}
