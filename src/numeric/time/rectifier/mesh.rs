//! A supply as its equations see it: windings, rectifiers, filter and draw between numbered nodes.
//!
//! Every winding of a transformer follows the mains: `Va − Vb = ratio·(Vmains − Rp·(Σ ratio·i − I0)) − ohms·i`, `i` out
//! of `a`, so that a primary resistance `Rp` shows in a secondary by the square of the ratio (mutually in all of them).
//! `I0` is the mean of the sum: no transformer passes direct current.

use crate::numeric::network::Node;
use crate::numeric::time::rectifier::law::RectifierLaw;

/// A supply that runs from the mains; nodes are numbered from 0, the chassis. SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Mesh {
    /// How many nodes, with the chassis.
    pub nodes: usize,
    /// Mains frequency, Hz.
    pub hertz: f64,
    /// Transformers that windings name.
    pub transformers: Vec<Feed>,
    /// Windings, rectifiers, filter and draw.
    pub pieces: Vec<Piece>,
}

/// What feeds the windings of one transformer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// Peak volts at the primary; the mains is `peak_volts·sin(2π·hertz·t)`.
    pub peak_volts: f64,
    /// Primary resistance.
    pub ohms: f64,
    /// Mean over the period of Σ ratio·i, which magnetises the core and does not reach the primary.
    pub direct_amps: f64,
}

/// One element between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "each field is a terminal or a value whose name carries its unit")]
pub enum Piece {
    /// More than 0 Ω.
    Resistor { a: Node, b: Node, ohms: f64 },
    /// `i = C·dV/dt`.
    Capacitor { a: Node, b: Node, farads: f64 },
    /// `Va − Vb = ohms·i + L·di/dt`.
    Inductor { a: Node, b: Node, henries: f64, ohms: f64 },
    /// A winding, or a section of one; its share of the primary's volts may be negative.
    Winding { a: Node, b: Node, ohms: f64, ratio: f64, transformer: usize },
    /// A diode or one plate of a rectifier valve.
    Rectifier { anode: Node, cathode: Node, law: RectifierLaw },
    /// What the rest of the amplifier draws: `amps` from `from` to `to`.
    Draw { from: Node, to: Node, amps: f64 },
}

impl Piece {
    /// First and second terminal.
    pub fn ends(&self) -> (Node, Node) {
        match *self {
            Self::Resistor { a, b, .. }
            | Self::Capacitor { a, b, .. }
            | Self::Inductor { a, b, .. }
            | Self::Winding { a, b, .. }
            | Self::Rectifier { anode: a, cathode: b, .. }
            | Self::Draw { from: a, to: b, .. } => (a, b),
        }
    }

    /// Whether what it does depends on what was before.
    pub(crate) fn stores(&self) -> bool {
        matches!(self, Self::Capacitor { .. } | Self::Inductor { .. })
    }

    /// Whether its current is an unknown of its own.
    pub(crate) fn is_branch(&self) -> bool {
        matches!(self, Self::Inductor { .. } | Self::Winding { .. })
    }
}
