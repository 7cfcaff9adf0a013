//! The path that proves a role, as text: `B4 — R4 — V1a.plate`.

use super::view::{Node, Step};
use super::work::Work;
use crate::circuit::{LegId, NetId};

/// Where a path begins or ends.
#[derive(Debug, Clone, Copy)]
pub(super) enum Spot {
    /// An electrode or another leg, by its name.
    Leg(LegId),
    /// A node, by the name of the net at which the path touches it.
    Node(Node),
}

impl Work<'_> {
    /// A path from one spot along steps to another.
    pub(super) fn path(&self, from: Spot, steps: &[Step], to: Spot) -> String {
        self.words(from, steps, to).join(" — ")
    }

    /// The same path told from its far end.
    pub(super) fn path_back(&self, from: Spot, steps: &[Step], to: Spot) -> String {
        let mut words = self.words(from, steps, to);
        words.reverse();
        words.join(" — ")
    }

    fn words(&self, from: Spot, steps: &[Step], to: Spot) -> Vec<String> {
        let mut words = Vec::new();
        let first = steps.first().and_then(|s| self.view.seat(s.entry()));
        let mut net = self.begin(from, first, &mut words);
        for (index, step) in steps.iter().enumerate() {
            let entry = self.view.seat(step.entry());
            if index > 0 {
                words.extend(net.map(|n| self.net_name(n)));
            }
            self.bridge(net, entry, &mut words);
            words.push(self.circuit().part(step.part()).name.clone());
            net = self.view.seat(step.exit());
        }
        match to {
            Spot::Leg(leg) => {
                self.bridge(net, self.view.seat(leg), &mut words);
                words.push(self.circuit().leg_name(leg));
            }
            Spot::Node(node) => {
                let net = net.or_else(|| self.view.nets(node).first().copied());
                words.extend(net.map(|n| self.net_name(n)));
            }
        }
        words
    }

    fn begin(&self, from: Spot, first: Option<NetId>, words: &mut Vec<String>) -> Option<NetId> {
        match from {
            Spot::Leg(leg) => {
                words.push(self.circuit().leg_name(leg));
                self.view.seat(leg)
            }
            Spot::Node(node) => {
                let net = first.or_else(|| self.view.nets(node).first().copied());
                words.extend(net.map(|n| self.net_name(n)));
                net
            }
        }
    }

    fn bridge(&self, from: Option<NetId>, to: Option<NetId>, words: &mut Vec<String>) {
        if let (Some(from), Some(to)) = (from, to) {
            let names = self.view.joiners(from, to).into_iter().map(|p| self.circuit().part(p).name.clone());
            words.extend(names);
        }
    }

    pub(super) fn net_name(&self, net: NetId) -> String {
        self.circuit().net(net).name.clone()
    }

    pub(super) fn node_name(&self, node: Node) -> String {
        self.view.nets(node).first().map(|n| self.net_name(*n)).unwrap_or_default()
    }
}
