//! What is known of a supply that runs from the mains, in the circuit's own terms.

use crate::circuit::{LegId, NetId, PartId};
use crate::numeric::time::rectifier::course::Course;

/// One supply: windings and rectifiers with the reservoir and filter that hang together without the chassis.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Mains frequency, Hz.
    pub hertz: f64,
    /// Every diode and every plate of a rectifier valve in use.
    pub rectifiers: Vec<RectifierState>,
    /// Every winding that feeds it.
    pub windings: Vec<WindingState>,
    /// Nets with a filter capacitor, and what they carry.
    pub nets: Vec<NetState>,
    /// Its capacitors.
    pub capacitors: Vec<CapacitorState>,
    /// Its chokes.
    pub chokes: Vec<ChokeState>,
    /// Current rms into each transformer's primary for all supplies, A; without heaters and what magnetises the core.
    pub primaries: Vec<(PartId, f64)>,
    /// Mean power that all supplies take from the mains, W.
    pub taken_watts: f64,
}

/// A diode, or one plate of a rectifier valve.
#[derive(Debug, Clone, PartialEq)]
pub struct RectifierState {
    /// The diode, bridge or valve.
    pub part: PartId,
    /// Its anode or plate.
    pub anode: LegId,
    /// Its cathode.
    pub cathode: LegId,
    /// Forward current, A.
    pub amps: Course,
    /// Greatest volts that it holds off, in the steady state.
    pub inverse_volts: f64,
    /// How long it conducts in each period, s.
    pub conducting_seconds: f64,
    /// Heat in it, W.
    pub watts: f64,
    /// Resistance in its feed, with capacitors taken as charged and stiff: winding, reflected primary and what is in
    /// series, Ω; `None` where a choke comes first.
    pub feed_ohms: Option<f64>,
    /// Greatest current of the first charge: everything empty, cathode hot, switched on at the worst instant, A.
    pub inrush_amps: f64,
    /// Peak current over the type's `peak-current`.
    pub peak_share: Option<f64>,
    /// Inverse volts over the type's `inverse`.
    pub inverse_share: Option<f64>,
    /// Mean current over the type's limit, a valve's by both its plates (`dc-current`), a diode's by itself.
    pub mean_share: Option<f64>,
    /// Inrush over the type's `surge-current`.
    pub inrush_share: Option<f64>,
    /// The type's `plate-supply-resistance` over the resistance in the feed: above 1 it is too low. Limits are those at
    /// the lowest plate volts that the type's data lists.
    pub feed_share: Option<f64>,
}

/// A winding that feeds a supply.
#[derive(Debug, Clone, PartialEq)]
pub struct WindingState {
    /// The transformer.
    pub part: PartId,
    /// The winding's name: `ht`.
    pub name: String,
    /// Current rms of the section that carries most, A.
    pub rms_amps: f64,
    /// Peak current of the section that carries most, A.
    pub peak_amps: f64,
    /// Heat in its resistance, W.
    pub watts: f64,
    /// Current rms over the winding's rating.
    pub share: Option<f64>,
}

/// A net of the filter.
#[derive(Debug, Clone, PartialEq)]
pub struct NetState {
    /// The net.
    pub net: NetId,
    /// Volts to chassis; its swing is the ripple, peak to peak.
    pub volts: Course,
}

/// A capacitor of a supply.
#[derive(Debug, Clone, PartialEq)]
pub struct CapacitorState {
    /// The capacitor.
    pub part: PartId,
    /// Volts across it, first leg above second.
    pub volts: Course,
    /// Ripple current rms, A.
    pub rms_amps: f64,
}

/// A choke of a supply.
#[derive(Debug, Clone, PartialEq)]
pub struct ChokeState {
    /// The choke.
    pub part: PartId,
    /// Its current, first leg to second, A.
    pub amps: Course,
}

impl Supply {
    /// A net's state.
    pub fn net(&self, net: NetId) -> Option<&NetState> {
        self.nets.iter().find(|state| state.net == net)
    }

    /// States of a rectifier's plates or diodes.
    pub fn rectifier(&self, part: PartId) -> impl Iterator<Item = &RectifierState> {
        self.rectifiers.iter().filter(move |state| state.part == part)
    }
}
