//! Where a fault may sit in an amplifier.

use asfound::analysis::mains_side;
use asfound::circuit::{Circuit, LegId, NetId};
use asfound::model::Kind;
use asfound::solve::touch::within_reach;

use crate::support;

/// Places by what they are.
pub(super) struct Places {
    /// Legs on the mains conductors and the primaries.
    pub(super) mains: Vec<String>,
    /// High tension.
    pub(super) rails: Vec<String>,
    /// Tips of the jacks for instruments, which hardly anything loads.
    pub(super) tips: Vec<String>,
    /// Legs of jacks and speakers.
    pub(super) reach: Vec<String>,
}

impl Places {
    pub(super) fn of(text: &str) -> Places {
        let circuit = support::stock(text);
        let mains = mains_side(&circuit).into_iter().flat_map(|net| legs(&circuit, net)).collect();
        let declared = |net: &NetId| circuit.net(*net).declared.as_ref().is_some_and(|d| d.rail);
        let rails = circuit.net_ids().filter(declared).map(|net| circuit.net(net).name.clone()).collect();
        let jack = |name: &&str| circuit.find(name).is_some_and(|id| circuit.part(id).kind == Kind::Jack);
        let tips = ["J1", "J2"].iter().filter(|n| jack(n)).map(|name| format!("{name}.tip")).collect();
        let reach = within_reach(&circuit).into_iter().skip(1).map(|touched| touched.name).collect();
        Places { mains, rails, tips, reach }
    }
}

/// Names of the legs in a net, but for switches' lugs, which have none before a contact names them.
fn legs(circuit: &Circuit, net: NetId) -> Vec<String> {
    let named = |leg: &&LegId| circuit.part(leg.part).kind != Kind::Switch;
    circuit.net(net).legs.iter().filter(named).map(|leg| circuit.leg_name(*leg)).collect()
}
