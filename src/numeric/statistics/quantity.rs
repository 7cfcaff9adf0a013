//! Quantities of an operating point, for sensitivities, windows and statistics.

use strum::VariantArray;

use crate::numeric::network::{Network, Node};
use crate::numeric::point::{OperatingPoint, ValvePoint};
use crate::numeric::statistics::tangent::Tangent;

/// One quantity of a network's operating point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Quantity {
    /// Volts from the chassis.
    Volts(Node),
    /// Volts from the second node to the first.
    Between(Node, Node),
    /// The sum of the currents into terminals, each an element and the terminal's place in its law.
    Amps(Vec<(usize, usize)>),
    /// The sum of the powers that elements absorb.
    Watts(Vec<usize>),
    /// A figure of a valve.
    Valve(usize, Figure),
}

/// A figure of a valve, volts from the cathode.
#[derive(Debug, Clone, Copy, PartialEq, Eq, VariantArray)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Figure {
    PlateVolts,
    ScreenVolts,
    GridVolts,
    PlateAmps,
    ScreenAmps,
    GridAmps,
    CathodeAmps,
    PlateWatts,
    ScreenWatts,
}

impl Figure {
    /// All of them.
    pub const ALL: [Figure; Figure::VARIANTS.len()] = *Figure::VARIANTS.first_chunk().expect("all of them");

    fn of(self, valve: &ValvePoint) -> f64 {
        match self {
            Figure::PlateVolts => valve.plate_volts,
            Figure::ScreenVolts => valve.screen_volts,
            Figure::GridVolts => valve.grid_volts,
            Figure::PlateAmps => valve.plate_amps,
            Figure::ScreenAmps => valve.screen_amps,
            Figure::GridAmps => valve.grid_amps,
            Figure::CathodeAmps => valve.cathode_amps(),
            Figure::PlateWatts => valve.plate_watts(),
            Figure::ScreenWatts => valve.screen_watts(),
        }
    }

    /// Its change where electrodes' volts and currents change by those of `change`.
    pub(crate) fn change(self, valve: &ValvePoint, change: &ValvePoint) -> f64 {
        match self {
            Figure::PlateWatts => {
                valve.plate_volts * change.plate_amps + change.plate_volts * valve.plate_amps
            }
            Figure::ScreenWatts => {
                valve.screen_volts * change.screen_amps + change.screen_volts * valve.screen_amps
            }
            linear => linear.of(change),
        }
    }
}

impl Quantity {
    /// Its value; `None` where something in it is undefined.
    pub fn of(&self, point: &OperatingPoint) -> Option<f64> {
        match self {
            Quantity::Volts(node) => point.volts(*node),
            Quantity::Between(a, b) => point.volts_between(*a, *b),
            Quantity::Amps(terminals) => {
                Some(terminals.iter().map(|(element, at)| point.amps(*element)[*at]).sum())
            }
            Quantity::Watts(elements) => Some(elements.iter().map(|element| point.watts(*element)).sum()),
            Quantity::Valve(element, figure) => point.valve(*element).map(|valve| figure.of(valve)),
        }
    }

    /// Its change along a tangent of the point.
    pub(crate) fn along(&self, point: &OperatingPoint, tangent: &Tangent) -> f64 {
        match self {
            Quantity::Volts(node) => tangent.volts[*node],
            Quantity::Between(a, b) => tangent.volts[*a] - tangent.volts[*b],
            Quantity::Amps(terminals) => {
                let place = |element: usize| point.first_terminal[element] as usize;
                terminals.iter().map(|(element, at)| tangent.amps[place(*element) + at]).sum()
            }
            Quantity::Watts(elements) => elements.iter().map(|element| tangent.watts[*element]).sum(),
            Quantity::Valve(element, figure) => match (point.valve(*element), &tangent.valves[*element]) {
                (Some(valve), Some(change)) => figure.change(valve, change),
                _ => 0.0,
            },
        }
    }

    /// Whether every element and node in it is one of the network's.
    pub(crate) fn fits(&self, network: &Network) -> bool {
        let (nodes, elements) = (network.nodes.len(), network.elements.len());
        match self {
            Quantity::Volts(node) => *node < nodes,
            Quantity::Between(a, b) => a.max(b) < &nodes,
            Quantity::Amps(terminals) => terminals.iter().all(|(element, at)| {
                *element < elements && *at < network.elements[*element].law.terminals().len()
            }),
            Quantity::Watts(of) => of.iter().all(|element| *element < elements),
            Quantity::Valve(element, _) => *element < elements,
        }
    }
}
