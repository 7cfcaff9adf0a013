//! Every part open and shorted, and every solder bridge between two nets that a part joins.

use std::collections::BTreeSet;

use asfound::circuit::{CHASSIS, Circuit, NetId};
use asfound::model::Kind;

/// The columns of the table.
pub(super) const KINDS: [&str; 3] = ["open", "short", "bridge"];

/// One thing that is wrong.
#[derive(Debug, Clone)]
pub(super) struct Fault {
    /// Which of [`KINDS`].
    pub(super) kind: &'static str,
    /// As a record says it.
    pub(super) line: String,
}

impl Fault {
    /// The record that says it.
    pub(super) fn record(&self) -> String {
        format!("as-found \"one fault\" of \"stock.amp\"\n{}\n", self.line)
    }
}

/// All faults of an amplifier, in order of parts and nets.
pub(super) fn faults(stock: &Circuit) -> Vec<Fault> {
    let mut found = Vec::new();
    let mut neighbours: BTreeSet<(NetId, NetId)> = BTreeSet::new();
    for part in stock.parts.iter() {
        if part.kind != Kind::Fitting {
            found.push(Fault { kind: "open", line: format!("{} missing", part.name) });
        }
        if part.legs.len() == 2 && part.kind != Kind::Link {
            found.push(Fault { kind: "short", line: format!("{} shorted", part.name) });
        }
        let nets: BTreeSet<NetId> = part.legs.iter().filter_map(|leg| leg.net).collect();
        neighbours
            .extend(nets.iter().flat_map(|a| nets.iter().map(move |b| (*a, *b))).filter(|(a, b)| a < b));
    }
    let place = |net: NetId| match stock.net(net).legs.first() {
        _ if net == CHASSIS => "chassis".to_owned(),
        Some(leg) => stock.leg_name(*leg),
        None => stock.net(net).name.clone(),
    };
    let bridge = |(a, b)| Fault { kind: "bridge", line: format!("bridged {} to {}", place(a), place(b)) };
    found.extend(neighbours.into_iter().map(bridge));
    found
}
