//! What hands can reach, and what would flow through the body that touches it.
//!
//! Within reach are the chassis (strings, bushings, shafts and screens are on it), every leg of every jack but its
//! switch contacts, and the speaker's terminals. `rig` makes the linear networks, `judge` finds the worst current from
//! each part to earth and between every two, `join` names the part without which there would be none. Nothing is
//! assumed but what a case says: no stray capacity, a stiff mains.

mod charge;
mod evaluate;
mod fuse;
mod groups;
mod join;
mod plug;
mod refit;
mod rig;
mod situation;
mod swing;
mod unknown;
mod warm;

use std::collections::BTreeSet;

use super::solved::SolvedSet;
use super::switches::switches;
use crate::circuit::{CHASSIS, Circuit, NetId, PartId};
use crate::model::Kind;

pub use charge::{DRAINED_JOULES, WAITING_JOULES};
pub use evaluate::{Flow, body_current, secondary_amps};
pub use fuse::fuse_bypassed;
pub use join::primary_joiners;
pub use plug::{PLUG_FARADS, PLUG_SECONDS, PlugCharge, PulledPlug, after_pulling, capacity, plug_charge};

/// The body as a resistance. 2 kΩ is usual for hand to hand and 1 kΩ for wet hands; the smaller one carries the larger
/// current in every circuit, so that it is the one to judge by.
pub const BODY_OHMS: f64 = 1000.0;
/// Harmless volts, AC peak and DC: IEC 60065 clause 9.1.1, second-hand.
pub const SAFE_VOLTS: (f64, f64) = (35.0, 60.0);
/// Harmless current through a body, AC peak and DC, A: IEC 60065 clause 9.1.1, second-hand.
pub const SAFE_AMPS: (f64, f64) = (0.7e-3, 2e-3);
/// What class Y capacitors of an earthed amplifier may pass with the earth lost, A rms: from memory.
pub const CLASS_Y_AMPS: f64 = 3.5e-3;

/// Something that hands reach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touchable {
    /// `chassis`, `J1.tip`.
    pub name: String,
    /// Its net.
    pub net: NetId,
}

/// What it is that reaches the hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Route {
    /// A mains conductor, at mains frequency.
    Mains,
    /// A winding of the mains transformer other than its primary, at mains frequency.
    Winding,
    /// High tension, with every valve cold.
    Cold,
    /// High tension through valves that conduct.
    Warm,
    /// What capacitors take up from high tension.
    Charge,
    /// The signal at the plates of output valves.
    Swing,
}

/// A case in which it can't be worked out what reaches the hands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unjudged {
    /// What might reach them.
    pub route: Route,
    /// Which case: "S2 at standby", or nothing.
    pub state: String,
    /// What stands in the way.
    pub why: String,
}

/// What is known of what hands meet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reach {
    /// What is not harmless.
    pub hazards: Vec<Hazard>,
    /// Cases that could not be worked out: nothing is known to be harmless on their routes.
    pub unjudged: Vec<Unjudged>,
    /// Switches that were thrown one at a time only, because all their combinations are too many.
    pub thrown_singly: BTreeSet<PartId>,
}

/// A current through a body that is not harmless.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazard {
    /// What reaches the hands.
    pub route: Route,
    /// What is touched.
    pub touched: Touchable,
    /// With what in the other hand; `None` for earth.
    pub other: Option<Touchable>,
    /// Open-circuit volts: AC peak or DC.
    pub volts: f64,
    /// Through [`BODY_OHMS`], A: AC peak or DC.
    pub amps: f64,
    /// Energy of a charge, J; 0 for a current that lasts.
    pub joules: f64,
    /// When: "the earth lost, line and neutral exchanged, S2 at standby".
    pub state: String,
    /// What it takes for granted of the mains because the document doesn't say it.
    pub assumed: Option<String>,
    /// It flows through capacitors of class Y in an earthed amplifier whose earth is lost, and no more than
    /// [`CLASS_Y_AMPS`].
    pub by_class_y: bool,
    /// Parts of unknown value among those that carry it, taken as wire.
    pub unknown: BTreeSet<PartId>,
    /// Parts without any one of which there would be none.
    pub carriers: BTreeSet<PartId>,
    /// Of these, or where there are none of what shares the net, the parts that make the join.
    pub joiners: BTreeSet<PartId>,
}

impl Hazard {
    /// Parts of unknown value on its way that a sound amplifier may have there: each may as well stop it. `changed` are
    /// parts that nobody vouches for.
    pub fn may_be_stopped_by(&self, circuit: &Circuit, changed: &BTreeSet<PartId>) -> BTreeSet<PartId> {
        let stops = |id: &PartId| match self.route {
            Route::Mains => unknown::is_class_y(circuit.part(*id)) && self.touched.net == CHASSIS,
            _ => circuit.part(*id).kind == Kind::Capacitor && !changed.contains(id),
        };
        self.unknown.iter().copied().filter(stops).collect()
    }
}

/// Everything within reach, chassis first; what shares a net is named once.
pub fn within_reach(circuit: &Circuit) -> Vec<Touchable> {
    let mut found = vec![Touchable { name: "chassis".into(), net: CHASSIS }];
    for part in circuit.parts.iter().filter(|p| p.fitted()) {
        let reached = |leg: &str| match part.kind {
            Kind::Jack => !leg.ends_with("-contact"),
            Kind::Speaker => true,
            _ => false,
        };
        for leg in part.legs.iter().filter(|leg| reached(&leg.name)) {
            if let Some(net) = leg.net.filter(|net| found.iter().all(|f| f.net != *net)) {
                found.push(Touchable { name: part.spelled(&leg.name), net });
            }
        }
    }
    found
}

/// Every hazard to whoever touches the amplifier, each with at least one part that makes it, and what can't be judged.
/// What was pulled counts as in its place, but for what valves do that conduct.
pub fn hazards(circuit: &Circuit, solved: &SolvedSet) -> Reach {
    let (whole, pulled) = refit::refit(circuit);
    let (mut hazards, mut unjudged) = join::hazards(&whole);
    let charge = charge::hazards(&whole, solved);
    hazards.extend(charge.0);
    unjudged.extend(charge.1);
    let in_place = pulled.iter().map(|name| format!("{name} in its place"));
    for hazard in &mut hazards {
        let state = std::iter::once(hazard.state.clone()).filter(|state| !state.is_empty());
        hazard.state = state.chain(in_place.clone()).collect::<Vec<String>>().join(", ");
    }
    let told = hazards.iter().filter(|h| h.route != Route::Mains).map(|h| h.touched.net).collect();
    let warm = warm::warm(circuit, solved, &told);
    hazards.extend(warm.0);
    unjudged.extend(warm.1);
    unjudged.sort();
    unjudged.dedup();
    // A hazard that is traced to no part is what drives it, so that it stands somewhere.
    for hazard in hazards.iter_mut().filter(|h| h.joiners.is_empty()) {
        let drives = |id: &PartId| {
            let part = circuit.part(*id);
            part.fitted() && matches!(part.kind, Kind::Inlet | Kind::MainsTransformer | Kind::Source)
        };
        hazard.joiners = circuit.part_ids().filter(drives).collect();
    }
    let too_many = situation::leaves_combinations_out(circuit);
    let thrown_singly = switches(circuit).into_iter().filter(|_| too_many).collect();
    Reach { hazards, unjudged, thrown_singly }
}

/// What is taken for granted of parts and of the mains.
fn assumed(circuit: &Circuit, hazard: &Hazard) -> Option<String> {
    let names: Vec<&str> = hazard.unknown.iter().map(|id| circuit.part(*id).name.as_str()).collect();
    let wire =
        (!names.is_empty()).then(|| format!("nothing says what {} passes: taken as wire", names.join(", ")));
    let all: Vec<String> = wire.into_iter().chain(assumed_mains(circuit, hazard.route)).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// What is taken for granted of the mains on a route.
fn assumed_mains(circuit: &Circuit, route: Route) -> Option<String> {
    let (volts, hertz) = rig::USUAL_MAINS;
    match (route, circuit.mains) {
        (Route::Mains, None) => Some(format!("the mains is not stated, {volts} V {hertz} Hz assumed")),
        (Route::Mains, Some(mains)) if mains.hertz.is_none() => {
            Some(format!("the mains frequency is not stated, {hertz} Hz assumed"))
        }
        (Route::Winding | Route::Cold | Route::Swing, mains) if mains.is_none_or(|m| m.limits.is_none()) => {
            Some("the mains limits are not stated, 10 % over nominal assumed".to_owned())
        }
        _ => None,
    }
}
