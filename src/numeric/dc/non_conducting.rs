//! Elements that carry nothing, where nothing else holds a node's volts: they are then left to leakage that no
//! law here describes, and the node is better called undefined.
//!
//! ```text
//! A cascode, lower plate and upper cathode one net with nothing else on it, lower grid at −100 V by a fault:
//! held        by its paths: the upper valve feeds it, the lower one draws from it
//! solved      the lower passes 1e-15 A, and with it the upper: under 1e-12 A neither carries anything
//! so          both are cut off, the network laid out anew: the net is an island without volts
//! ```

use crate::numeric::dc::islands;
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::{CHASSIS, Law, Network};

/// A valve's electrode that carries less than this carries nothing, where nothing but valves holds its node's volts.
// Cut-off in the laws is an exponential that ends in exactly 0 only far below; insulation leaks more than this at 1
// V.
const CUT_OFF_AMPS: f64 = 1e-12;
/// A junction whose slope is below this, in siemens, holds nothing.
// 1e-16 S next to a grid leak of 10 MΩ is a part in 1e9, the last step's own tolerance: its volts mean nothing.
const CLOSED_SIEMENS: f64 = 1e-16;

impl Prepared {
    /// Elements to be cut off before the next attempt; after success only valves.
    pub(crate) fn idle(&mut self, network: &Network, solved: bool) -> Vec<usize> {
        let valves = self.idle_valves(network);
        if valves.is_empty() && !solved { self.closed_junctions(network) } else { valves }
    }

    /// Reversed junctions without which some nodes would have no hold at all.
    fn closed_junctions(&mut self, network: &Network) -> Vec<usize> {
        self.iteration.worst();
        let devices = self.iteration.equations.devices.iter();
        let closed = devices.filter(|device| {
            device.is_junction()
                && device.point.gp < CLOSED_SIEMENS
                && !self.cut_off.contains(&device.element)
        });
        let closed: Vec<usize> = closed.map(|device| device.element).collect();
        let cut_off = [self.cut_off.as_slice(), &closed].concat();
        let without = islands::find(network, &self.links, self.floating, &cut_off);
        let holds = |element: &usize| {
            let mut holds = false;
            let law = &network.elements[*element].law;
            law.each_terminal(|node| {
                holds |= without.island_of[node] != 0 && self.islands.island_of[node] == 0;
            });
            holds
        };
        closed.into_iter().filter(holds).collect()
    }

    /// Valves around a group of nodes that nothing but valves holds, where none of them carries anything:
    /// what the group's volts are is then left to leakage that no law here describes.
    fn idle_valves(&mut self, network: &Network) -> Vec<usize> {
        if !self.islands.has_groups_held_by_valves {
            return Vec::new();
        }
        self.iteration.worst();
        let groups = &self.islands.groups;
        let alone = |node: usize| groups[node] != groups[CHASSIS] && self.islands.island_of[node] == 0;
        let mut busy = vec![false; groups.len()];
        for device in self.iteration.equations.devices.iter().filter(|device| !device.is_junction()) {
            // What only circulates within a group does not hold it.
            let ends = network.elements[device.element].law.ends().map(|node| groups[node]);
            for group in ends {
                let into = device.terminal_amps().zip(ends).filter(|end| end.1 == group);
                busy[group] |= into.map(|end| end.0).sum::<f64>().abs() > CUT_OFF_AMPS;
            }
        }
        for element in &network.elements {
            if let Law::CurrentSource { from, to, amps } = element.law {
                busy[groups[from]] |= amps != 0.0;
                busy[groups[to]] |= amps != 0.0;
            }
        }
        let devices = self.iteration.equations.devices.iter();
        let idle = devices.filter(|device| {
            let mut idle = false;
            let law = &network.elements[device.element].law;
            law.each_terminal(|node| idle |= alone(node) && !busy[groups[node]]);
            idle && !device.is_junction() && !self.cut_off.contains(&device.element)
        });
        idle.map(|device| device.element).collect()
    }
}
