//! How parts conduct.

/// How an arm conducts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Flow {
    /// Resistors, thermistors, the arms of pots.
    Resistive,
    /// Chokes and inductors.
    Wound,
    /// Capacitors.
    Capacitive,
    /// Diodes and rectifier valves: from `a` (anode) to `b` (cathode).
    Diode,
    /// Lamps and speakers.
    Load,
}
