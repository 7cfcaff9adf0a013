//! A solved circuit in the circuit's own terms: volts of nets, currents of legs, power of parts, valves.

use std::collections::BTreeMap;

use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::model::{Condition, Kind};
use crate::units::{Unit, rounded};

use super::supply::Supply;
use super::tolerance::Windows;

/// The whole amplifier at rest in one condition.
#[derive(Debug, Clone)]
pub struct Solved {
    /// In which condition.
    pub condition: Condition,
    /// Which case of it: "V3a cold"; `None` where it has one.
    pub case: Option<String>,
    /// Mains volts over nominal.
    pub mains_share: f64,
    /// DC volts of each net to chassis; `None` where undefined (an island).
    pub volts: Vec<Option<f64>>,
    /// DC current into each leg, by part and leg index; `None` where unknown.
    pub amps: Vec<Vec<Option<f64>>>,
    /// Power turned to heat in each part, W; `None` where unknown. Valves: plate + screen + grid, without heater.
    pub watts: Vec<Option<f64>>,
    /// Every valve section that has a model, in order of parts.
    pub sections: Vec<SolvedSection>,
    /// Supplies that run from the mains; none for what a `source` feeds.
    pub supplies: Vec<Supply>,
    /// Nets with no DC path to chassis, and the part that cut them off where one is known.
    pub undefined: Vec<Undefined>,
    /// Nets that capacitors alone join to the rest, taken to rest at 0 V: those of one island together.
    pub resting: Vec<Vec<NetId>>,
    /// Control grids with no DC path to their reference: the section solved with its grid at its cathode, or cut off;
    /// see [`Case::cut_off`].
    pub floating_grids: Vec<LegId>,
    /// Figures that had to be assumed: "T2: half-primary resistance not stated, 0 R assumed".
    pub assumed: Vec<String>,
    /// Parts left out of the equations because a value or type is unknown; what depends on them is undefined.
    pub unknown: Vec<PartId>,
    /// Windows of all these quantities.
    pub windows: Windows,
}

/// One net without a defined voltage.
#[derive(Debug, Clone)]
pub struct Undefined {
    /// The net.
    pub net: NetId,
    /// The missing, lifted or unknown part that cut it off, if one can be named.
    pub cut_by: Option<PartId>,
}

/// One valve section at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct SolvedSection {
    /// The valve.
    pub tube: PartId,
    /// `a`, `b` or empty.
    pub letter: String,
    /// Plate volts above the cathode.
    pub plate_volts: f64,
    /// Screen volts above the cathode.
    pub screen_volts: Option<f64>,
    /// Grid volts above the cathode.
    pub grid_volts: f64,
    /// Plate current, A.
    pub plate_amps: f64,
    /// Screen current, A; carries the type's residual as a window.
    pub screen_amps: Option<f64>,
    /// Grid current, A.
    pub grid_amps: f64,
    /// Cathode current, A.
    pub cathode_amps: f64,
    /// Plate dissipation, W.
    pub plate_watts: f64,
    /// Screen dissipation, W.
    pub screen_watts: Option<f64>,
    /// Plate dissipation as a share of the type's maximum; `None` where the type's limit is unknown.
    pub plate_share: Option<f64>,
    /// Screen dissipation as a share of the type's maximum.
    pub screen_share: Option<f64>,
    /// Transconductance, A/V.
    pub gm: f64,
    /// Plate conductance, A/V (1/rp).
    pub gp: f64,
}

impl Solved {
    /// Its condition in words, with the case: "uneven warm-up, V3a cold".
    pub fn told(&self) -> String {
        let condition = self.condition.phrase();
        self.case.as_ref().map_or(condition.to_owned(), |case| format!("{condition}, {case}"))
    }

    /// The same with the mains where they are not nominal: "cold start, mains 253 V".
    pub fn told_with_mains(&self, circuit: &Circuit) -> String {
        let off = circuit.mains.filter(|_| self.mains_share != 1.0);
        let mains = off.map_or(String::new(), |mains| {
            format!(", mains {}", rounded(mains.volts * self.mains_share, Unit::Volt, 4))
        });
        format!("{}{mains}", self.told())
    }

    /// Volts of a net.
    pub fn net_volts(&self, net: NetId) -> Option<f64> {
        self.volts[net.0 as usize]
    }

    /// Current into a leg.
    pub fn leg_amps(&self, leg: LegId) -> Option<f64> {
        self.amps[leg.part.0 as usize].get(leg.leg as usize).copied().flatten()
    }

    /// Current as a meter in that leg's lead is read: into the leg, and out of a cathode.
    pub fn meter_amps(&self, circuit: &Circuit, leg: LegId) -> Option<f64> {
        let name = &circuit.part(leg.part).legs[leg.leg as usize].name;
        let amps = self.leg_amps(leg)?;
        Some(if name.rsplit('.').next() == Some("cathode") { -amps } else { amps })
    }

    /// Volts across a two-leg part, first leg above second.
    pub fn across(&self, circuit: &Circuit, part: PartId) -> Option<f64> {
        let (a, b) = circuit.ends(part)?;
        Some(self.net_volts(a)? - self.net_volts(b)?)
    }

    /// Volts across a capacitor without sign, at worst: a net that rests at 0 V by leakage may as well stand at the
    /// highest net that one of its capacitors joins, as that one leaks more or less than the others.
    pub fn across_at_worst(&self, circuit: &Circuit, capacitor: PartId) -> Option<f64> {
        let at_rest = self.across(circuit, capacitor)?.abs();
        let (a, b) = circuit.ends(capacitor)?;
        let far = |(near, far): (NetId, NetId)| {
            let island = self.resting.iter().find(|nets| nets.contains(&near))?;
            Some((self.net_volts(far)? - self.highest_at(circuit, island)).abs())
        };
        Some([(a, b), (b, a)].into_iter().filter_map(far).fold(at_rest, f64::max))
    }

    /// Volts of the highest net that a capacitor joins to an island.
    fn highest_at(&self, circuit: &Circuit, island: &[NetId]) -> f64 {
        let capacitors = circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Capacitor);
        let ends = capacitors.filter_map(|id| circuit.ends(id));
        let beyond = ends.filter_map(|(a, b)| match (island.contains(&a), island.contains(&b)) {
            (true, false) => self.net_volts(b),
            (false, true) => self.net_volts(a),
            _ => None,
        });
        beyond.fold(0.0, |most: f64, volts| if volts.abs() > most.abs() { volts } else { most })
    }

    /// A valve section.
    pub fn section(&self, tube: PartId, letter: &str) -> Option<&SolvedSection> {
        self.sections.iter().find(|s| s.tube == tube && s.letter == letter)
    }
}

/// Solved circuits by condition; a condition that the circuit doesn't have is absent and listed.
#[derive(Debug, Clone, Default)]
pub struct SolvedSet {
    /// The cases of each condition that was asked for and applies, none of them empty.
    pub by_condition: BTreeMap<Condition, Vec<Case>>,
    /// Conditions that the circuit doesn't have, with why.
    pub not_applicable: BTreeMap<Condition, String>,
    /// Idle at the mains of the record's readings, where the record states another than nominal.
    pub as_read: Option<Box<Solved>>,
}

/// One case of a condition.
#[derive(Debug, Clone)]
pub struct Case {
    /// Its operating point; a floating control grid stands at its cathode's volts.
    pub solved: Solved,
    /// Where a control grid floats, the same once more with the grid's section cut off: both are to be judged, and the
    /// worse one counts.
    pub cut_off: Option<Solved>,
}

impl SolvedSet {
    /// The operating point in a condition, in its first case.
    pub fn of(&self, condition: Condition) -> Option<&Solved> {
        self.cases(condition).first().map(|case| &case.solved)
    }

    /// The operating point at idle.
    pub fn idle(&self) -> Option<&Solved> {
        self.of(Condition::Idle)
    }

    /// The cases of a condition.
    pub fn cases(&self, condition: Condition) -> &[Case] {
        self.by_condition.get(&condition).map_or(&[], Vec::as_slice)
    }

    /// Every operating point with a floating grid at its cathode's volts.
    pub fn every(&self) -> impl Iterator<Item = &Solved> {
        self.by_condition.values().flatten().map(|case| &case.solved)
    }

    /// What a reading taken in a condition is held against: idle at the mains of the day where that is known.
    pub fn for_readings(&self, condition: Condition) -> Option<&Solved> {
        match (&self.as_read, condition) {
            (Some(as_read), Condition::Idle) => Some(as_read),
            _ => self.of(condition),
        }
    }
}
