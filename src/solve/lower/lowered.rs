//! A network made from a circuit.

use crate::circuit::{NetId, PartId};
use crate::numeric::network::{Network, Node};

/// A network made from a circuit.
#[derive(Debug, Clone)]
pub struct Lowered {
    /// The equations' elements.
    pub network: Network,
    /// Node of each net; `None` for a net that no leg sits in.
    pub node_of: Vec<Option<Node>>,
    /// For each element the part it belongs to, what it stands for, and the leg of each of its terminals.
    pub elements: Vec<Origin>,
    /// Sections of mains transformers' windings.
    pub windings: Vec<WindingSection>,
    /// Figures that had to be assumed.
    pub assumed: Vec<String>,
    /// Parts whose value or type is unknown: left out.
    pub unknown: Vec<PartId>,
    /// Nets that capacitors alone join to the rest, which rest at 0 V by leakage: those of one island together.
    pub resting: Vec<Vec<NetId>>,
}

/// Where an element comes from.
#[derive(Debug, Clone)]
pub struct Origin {
    /// The part; `None` for the drive.
    pub part: Option<PartId>,
    /// Letter of the valve section, where it is one.
    pub section: Option<String>,
    /// Whether its power is heat in the part (a source's own is not).
    pub heats: bool,
    /// Leg index of each terminal; `None` for an inner node.
    pub legs: Vec<Option<usize>>,
}

/// A section of a mains transformer's winding: between two of its ends and taps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindingSection {
    /// The element that is its resistance; first terminal nearer to end `a`.
    pub element: usize,
    /// The transformer.
    pub part: PartId,
    /// Index among the part's windings.
    pub winding: usize,
    /// Volts rms as stated.
    pub volts: f64,
}
