//! The answer of a DC solve: volts, currents, power, and the valves' slopes.

use crate::numeric::network::Node;

/// A converged DC operating point. It cannot be had without convergence; no figure in it is NaN.
#[derive(Debug, Clone, PartialEq)]
pub struct OperatingPoint {
    pub(crate) volts: Vec<f64>,
    /// 0 where the volts are from the chassis, else the number of the island counted from 1.
    pub(crate) island_of: Vec<u32>,
    pub(crate) first_terminal: Vec<u32>,
    pub(crate) amps: Vec<f64>,
    pub(crate) watts: Vec<f64>,
    pub(crate) valves: Vec<Option<ValvePoint>>,
    pub(crate) islands: Vec<Island>,
    pub(crate) floating_grids: Vec<FloatingGrid>,
    /// All unknowns of the equations, from which a later solve starts.
    pub(crate) unknowns: Vec<f64>,
}

/// Nodes joined to each other but without a DC path to the chassis: their volts are undefined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Island {
    /// The nodes, in ascending order.
    pub nodes: Vec<Node>,
}

/// A control grid that nothing holds, while its valve could conduct.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FloatingGrid {
    /// The valve's position in the network's elements.
    pub element: usize,
    /// The grid's node.
    pub node: Node,
}

/// How a valve with a floating control grid is taken: both are to be shown, the worse one judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FloatingGrids {
    /// The grid sits at its cathode's volts, without grid current.
    #[default]
    AtCathode,
    /// The section carries nothing.
    CutOff,
}

/// Electrode volts (from the cathode), currents (into the electrode) and slopes of a valve or diode.
///
/// Of a diode only the `plate_` figures and `gp` are set.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ValvePoint {
    /// Plate to cathode, volts.
    pub plate_volts: f64,
    /// Screen to cathode, volts; 0 for a triode.
    pub screen_volts: f64,
    /// Control grid to cathode, volts.
    pub grid_volts: f64,
    /// Into the plate, amperes.
    pub plate_amps: f64,
    /// Into the screen, amperes.
    pub screen_amps: f64,
    /// Into the control grid, amperes.
    pub grid_amps: f64,
    /// dIp/dVpk in siemens: one over the plate resistance.
    pub gp: f64,
    /// dIp/dVgk in siemens: the transconductance.
    pub gm: f64,
    /// dIp/dVsk in siemens.
    pub gm_screen: f64,
    /// dIs/dVsk in siemens.
    pub gs: f64,
    /// dIs/dVgk in siemens.
    pub gm_to_screen: f64,
    /// dIg/dVgk in siemens.
    pub ggrid: f64,
}

impl ValvePoint {
    /// Out of the cathode, amperes.
    pub fn cathode_amps(&self) -> f64 {
        self.plate_amps + self.screen_amps + self.grid_amps
    }

    /// Plate dissipation, watts.
    pub fn plate_watts(&self) -> f64 {
        self.plate_volts * self.plate_amps
    }

    /// Screen dissipation, watts.
    pub fn screen_watts(&self) -> f64 {
        self.screen_volts * self.screen_amps
    }

    /// Control grid dissipation, watts.
    pub fn grid_watts(&self) -> f64 {
        self.grid_volts * self.grid_amps
    }
}

impl OperatingPoint {
    /// Volts from the chassis; `None` where nothing defines them (see [`OperatingPoint::islands`]).
    pub fn volts(&self, node: Node) -> Option<f64> {
        (*self.island_of.get(node)? == 0).then(|| self.volts[node])
    }

    /// `Va − Vb`, also between two nodes of one island; `None` where undefined.
    pub fn volts_between(&self, a: Node, b: Node) -> Option<f64> {
        // Within one island a difference is defined though neither end is.
        (*self.island_of.get(a)? == *self.island_of.get(b)?).then(|| self.volts[a] - self.volts[b])
    }

    /// Amperes into each terminal of the element, in the order of [`crate::numeric::Law::terminals`].
    ///
    /// Of several ideal links in a loop those that close it are given 0 A: no circulating current.
    pub fn amps(&self, element: usize) -> &[f64] {
        &self.amps[self.first_terminal[element] as usize..self.first_terminal[element + 1] as usize]
    }

    /// Power absorbed by the element, in watts; negative where it delivers.
    pub fn watts(&self, element: usize) -> f64 {
        self.watts[element]
    }

    /// Electrode figures of a valve, diode or rectifier; `None` for other elements.
    pub fn valve(&self, element: usize) -> Option<&ValvePoint> {
        self.valves.get(element)?.as_ref()
    }

    /// Groups of nodes without a DC path to the chassis.
    pub fn islands(&self) -> &[Island] {
        &self.islands
    }

    /// Control grids that nothing holds.
    pub fn floating_grids(&self) -> &[FloatingGrid] {
        &self.floating_grids
    }
}
