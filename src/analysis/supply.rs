//! The supply's sheet: what rectifiers, windings, filter and capacitors carry over one period of the mains, and how
//! long each capacitor stays dangerous after switch-off.

use crate::circuit::{Circuit, LegId, PartId};
use crate::model::Kind;
use crate::solve::Solved;
use crate::solve::decay::{Charge, HARMLESS_VOLTS, Stored};
use crate::solve::supply::{CapacitorState, RectifierState, Supply, WindingState};

/// Energy below this is a sting, J, and told in passing: common practice, no source.
pub const STING_JOULES: f64 = 10e-3;

/// The sheet of one amplifier in one condition.
#[derive(Debug)]
pub struct SupplySheet<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// Where it rests.
    pub solved: &'a Solved,
    /// Supplies that run from the mains.
    pub supplies: &'a [Supply],
    /// Sources that stand for a supply: they have volts and a resistance, and no period to look into.
    pub sources: Vec<PartId>,
    /// Capacitors that hold more than is harmless at switch-off, the longest first.
    pub stored: Vec<&'a Stored>,
    /// All energy stored, J.
    pub joules: f64,
    /// Positions of the switches in which that can't be worked out, and why.
    pub unjudged: Option<&'a str>,
}

/// Lays out the sheet.
pub fn supply_sheet<'a>(circuit: &'a Circuit, solved: &'a Solved, charge: &'a Charge) -> SupplySheet<'a> {
    let source = |id: &PartId| circuit.part(*id).kind == Kind::Source && circuit.part(*id).fitted();
    let mut stored: Vec<&Stored> = charge.stored.iter().filter(|s| s.volts.abs() > HARMLESS_VOLTS).collect();
    // What nothing discharges comes first.
    let seconds = |s: &Stored| s.fall.seconds().unwrap_or(f64::INFINITY);
    stored.sort_by(|a, b| seconds(b).total_cmp(&seconds(a)).then_with(|| a.part.cmp(&b.part)));
    SupplySheet {
        circuit,
        solved,
        supplies: &solved.supplies,
        sources: circuit.part_ids().filter(source).collect(),
        joules: charge.stored.iter().map(|s| s.joules).sum(),
        unjudged: charge.unjudged.as_deref(),
        stored,
    }
}

impl SupplySheet<'_> {
    /// `D1`, `V5 a.plate`: a diode by its name, one of several in a part by its leg.
    pub fn rectifier(&self, state: &RectifierState) -> String {
        let part = self.circuit.part(state.part);
        if part.kind == Kind::Diode { part.name.clone() } else { self.leg(state.anode) }
    }

    fn leg(&self, leg: LegId) -> String {
        self.circuit.leg_name(leg)
    }

    /// `T1.ht`.
    pub fn winding(&self, state: &WindingState) -> String {
        format!("{}.{}", self.circuit.part(state.part).name, state.name)
    }

    /// Most volts across a capacitor over its rating; `None` where no rating is stated.
    pub fn share_of_rating(&self, state: &CapacitorState) -> Option<f64> {
        let rated = self.circuit.part(state.part).component.body.volts.filter(|volts| *volts > 0.0)?;
        Some(state.volts.peak() / rated)
    }

    /// The windings a supply runs from: "T1.ht".
    pub fn fed_from(&self, supply: &Supply) -> String {
        let names: Vec<String> = supply.windings.iter().map(|winding| self.winding(winding)).collect();
        names.join(", ")
    }
}
