//! How a solve ends when it has no answer: each end by its name, with the worst node by its name.

use std::fmt;

use crate::units::{Unit, rounded};

/// No operating point: how the iteration ended and where it was worst. There is never a half answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsolved {
    /// How it ended.
    pub outcome: Outcome,
    /// The largest unbalanced current over all nets at the end, in amperes, where there was an iteration.
    pub residual_amps: Option<f64>,
    /// The net where that was.
    pub worst: Option<String>,
}

/// Every way in which a solve can end without an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The steps became small while currents still did not balance.
    Stalled,
    /// Voltages ran away past any a circuit could have.
    Diverged,
    /// Every allowed step was used, with source and shunt stepping.
    OutOfSteps,
    /// The currents balance, but the circuit would leave this point at the least disturbance: it has at least
    /// two others on which it can rest.
    Unstable,
    /// There are several points on which the circuit can rest: its history decides, and none is picked.
    Several {
        /// Places where they differ most, each with its volts in every point.
        places: Vec<(String, Vec<f64>)>,
    },
    /// The equations do not determine this node's volts or this element's current.
    Singular {
        /// The node's or the element's name.
        unknown: String,
    },
    /// A supply from the mains has no steady state, or none that agrees with what is drawn from it.
    SupplyUnsettled {
        /// One of its rectifiers.
        element: String,
    },
    /// Sources and ideal links form a loop whose voltages contradict each other.
    SourceLoop {
        /// The elements of the loop.
        elements: Vec<String>,
    },
    /// An element's value is not a possible one: not finite, negative, or zero where none can be.
    BadValue {
        /// The element.
        element: String,
    },
    /// An element names a node that the network does not have, or the network has no chassis.
    UnknownNode {
        /// The element, or `chassis`.
        element: String,
    },
}

impl Unsolved {
    /// An end before any iteration.
    pub(crate) fn before(outcome: Outcome) -> Self {
        Self { outcome, residual_amps: None, worst: None }
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stalled => write!(f, "the solution stalled"),
            Self::Diverged => write!(f, "the solution ran away"),
            Self::OutOfSteps => write!(f, "the solution did not settle in the allowed steps"),
            Self::Unstable => write!(f, "the circuit cannot rest at the point found; it has others"),
            Self::Several { places } => {
                let count = places.first().map_or(0, |(_, volts)| volts.len());
                write!(f, "it can rest in {count} ways:")?;
                for (index, (place, volts)) in places.iter().enumerate() {
                    let volts: Vec<String> = volts.iter().map(|v| rounded(*v, Unit::Volt, 3)).collect();
                    let comma = if index == 0 { "" } else { "," };
                    write!(f, "{comma} {place} at {}", volts.join(" or "))?;
                }
                Ok(())
            }
            Self::Singular { unknown } => write!(f, "nothing determines {unknown}"),
            Self::SupplyUnsettled { element } => {
                write!(f, "the supply behind {element} does not settle into a steady state")
            }
            Self::SourceLoop { elements } => {
                write!(f, "contradicting sources in a loop: {}", elements.join(", "))
            }
            Self::BadValue { element } => write!(f, "{element} has an impossible value"),
            Self::UnknownNode { element } => write!(f, "{element} joins a node that does not exist"),
        }
    }
}

impl fmt::Display for Unsolved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.outcome.fmt(f)?;
        if let (Some(amps), Some(worst)) = (self.residual_amps, &self.worst) {
            write!(f, "; worst at {worst}, where {amps:.3e} A do not balance")?;
        }
        Ok(())
    }
}

impl std::error::Error for Unsolved {}
