//! Valve and diode types, as the type data states them.

use std::collections::BTreeMap;

use super::on_demand::OnDemand;
use crate::source::Span;

/// All known types by name; other names of a type lead to it.
#[derive(Debug, Clone, Default)]
pub struct Types {
    /// Valves.
    pub(super) tubes: BTreeMap<String, OnDemand<TubeType>>,
    /// Diodes, zeners' junctions and LEDs.
    pub(super) diodes: BTreeMap<String, OnDemand<DiodeType>>,
    /// Other name to name.
    pub(super) also: BTreeMap<String, String>,
}

/// One valve type.
#[derive(Debug, Clone)]
pub struct TubeType {
    /// Name.
    pub name: String,
    /// Description.
    pub note: Option<String>,
    /// What it is: decides the legs.
    pub construction: TubeConstruction,
    /// Base.
    pub base: Option<String>,
    /// Pin of each leg: `a.plate` → 6.
    pub pins: BTreeMap<String, u32>,
    /// Heater volts and amps.
    pub heater: Option<(f64, f64)>,
    /// Whether its cathode is a sleeve round the heater, which warms as slowly as other valves; `None` where not stated.
    pub indirectly_heated: Option<bool>,
    /// Equations' parameters.
    pub model: Option<TubeModel>,
    /// Spread of its currents, as a fraction.
    pub spread: Option<f64>,
    /// Residual of the modelled screen current, as a fraction: the window it carries.
    pub screen_residual: Option<f64>,
    /// Limits by name (`plate`, `plate-cold`, `plate-power`, `screen`, `screen-power`, `heater-cathode`,
    /// `grid-circuit-fixed-bias` …), SI units.
    pub limits: BTreeMap<String, f64>,
    /// `design-centre`, `design-maximum`, `absolute`.
    pub rating_system: Option<String>,
    /// Capacitances by name, F.
    pub capacitances: BTreeMap<String, f64>,
    /// Source of each group of figures and its mark: group, source, mark.
    pub provenance: Vec<(String, String, String)>,
    /// The statement that opened it.
    pub declared: Span,
}

/// What a valve is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TubeConstruction {
    /// One triode.
    Triode,
    /// Two triodes, sections a and b.
    DoubleTriode,
    /// A pentode.
    Pentode,
    /// A beam tetrode: legs as a pentode.
    BeamTetrode,
    /// A full-wave vacuum rectifier with one cathode.
    Rectifier,
}

/// Parameters of a valve's equations; currents in A, volts in V.
#[derive(Debug, Clone, PartialEq)]
pub enum TubeModel {
    /// Koren's triode with the grid current of Dempwolf and Zölzer.
    Triode {
        /// amplification factor
        mu: f64,
        /// exponent
        ex: f64,
        /// current scale
        kg1: f64,
        /// knee of cut-off
        kp: f64,
        /// V²
        kvb: f64,
        /// grid current
        grid: GridCurrent,
    },
    /// Koren's pentode with the same grid current.
    Pentode {
        /// amplification factor to the screen
        mu: f64,
        /// exponent
        ex: f64,
        /// plate current scale
        kg1: f64,
        /// screen current scale
        kg2: f64,
        /// knee of cut-off
        kp: f64,
        /// V
        kvb: f64,
        /// grid current
        grid: GridCurrent,
    },
    /// i = perveance · V^1.5 for each plate.
    Rectifier {
        /// A/V^1.5
        perveance: f64,
    },
}

/// Grid current: Ig = gg·(ln(1 + e^(cg·V))/cg)^xi.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridCurrent {
    /// scale
    pub gg: f64,
    /// sharpness, 1/V
    pub cg: f64,
    /// exponent
    pub xi: f64,
}

/// One diode type.
#[derive(Debug, Clone)]
pub struct DiodeType {
    /// Name.
    pub name: String,
    /// Description.
    pub note: Option<String>,
    /// Saturation current, A.
    pub saturation: f64,
    /// Emission coefficient.
    pub emission: f64,
    /// Highest inverse volts.
    pub inverse: Option<f64>,
    /// Highest mean current, A.
    pub current: Option<f64>,
    /// Source of each group of figures and its mark.
    pub provenance: Vec<(String, String, String)>,
    /// The statement.
    pub declared: Span,
}

impl Types {
    /// A valve type by any of its names.
    pub fn tube(&self, name: &str) -> Option<&TubeType> {
        self.tubes.get(self.also.get(name).map_or(name, String::as_str)).map(OnDemand::tube)
    }

    /// A diode type by any of its names.
    pub fn diode(&self, name: &str) -> Option<&DiodeType> {
        self.diodes.get(self.also.get(name).map_or(name, String::as_str)).map(OnDemand::diode)
    }

    /// Every name that a type goes by: valves, diodes, other names.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.tubes.keys().chain(self.diodes.keys()).chain(self.also.keys()).map(String::as_str)
    }

    /// Every valve type, to change it.
    pub fn tubes_mut(&mut self) -> impl Iterator<Item = &mut TubeType> {
        self.tubes.values_mut().map(OnDemand::tube_mut)
    }
}

impl TubeType {
    /// Its legs in order; a separate suppressor comes last.
    pub fn legs(&self) -> Vec<String> {
        let mut legs: Vec<String> = self.construction.legs().iter().map(|l| (*l).to_owned()).collect();
        if self.pins.contains_key("suppressor") {
            legs.push("suppressor".to_owned());
        }
        legs
    }

    /// A limit by name, in SI units.
    pub fn limit(&self, name: &str) -> Option<f64> {
        self.limits.get(name).copied()
    }
}

impl TubeConstruction {
    /// The legs in order; a double valve's begin with the section's letter.
    pub fn legs(self) -> &'static [&'static str] {
        match self {
            TubeConstruction::Triode => &["plate", "grid", "cathode"],
            TubeConstruction::DoubleTriode => {
                &["a.plate", "a.grid", "a.cathode", "b.plate", "b.grid", "b.cathode"]
            }
            TubeConstruction::Pentode | TubeConstruction::BeamTetrode => {
                &["plate", "screen", "grid", "cathode"]
            }
            TubeConstruction::Rectifier => &["a.plate", "b.plate", "cathode"],
        }
    }

    /// The sections: empty name for a one-section valve.
    pub fn sections(self) -> &'static [&'static str] {
        match self {
            TubeConstruction::DoubleTriode => &["a", "b"],
            _ => &[""],
        }
    }
}
