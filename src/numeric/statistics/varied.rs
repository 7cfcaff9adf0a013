//! What varies, and where it stands in the equations.

use super::draw::Distribution;
use crate::numeric::network::{Law, Network};

/// One figure that varies, with all it sets.
#[derive(Debug, Clone, PartialEq)]
pub struct Varied {
    /// Its name, which decides its draws: `R5`, `V1a`, `L1 winding`.
    pub name: String,
    /// How it is spread.
    pub spread: Distribution,
    /// Whether that is assumed.
    pub assumed: bool,
    /// Which values of which elements it scales.
    pub sets: Vec<(usize, Change)>,
}

/// A value of an element that a factor scales.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// Ohms of a resistor, an inductor, or of all windings of a core.
    Ohms,
    /// Volts of a voltage source.
    Volts,
    /// Amps of a current source.
    Amps,
    /// Plate and screen current of a valve, current of a rectifier valve.
    Strength,
    /// Screen current of a pentode alone.
    Screen,
    /// Breakdown volts of a zener.
    Breakdown,
}

impl Varied {
    /// Sets the values of `network` to a factor of those they have now.
    pub(crate) fn scale(&self, network: &mut Network, factor: f64) {
        for &(element, change) in &self.sets {
            let law = &mut network.elements[element].law;
            match (change, law) {
                (Change::Ohms, Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. }) => *ohms *= factor,
                (Change::Ohms, Law::Windings { windings, .. }) => {
                    for winding in windings.iter_mut() {
                        winding.ohms *= factor;
                    }
                }
                (Change::Volts, Law::VoltageSource { volts, .. }) => *volts *= factor,
                (Change::Amps, Law::CurrentSource { amps, .. }) => *amps *= factor,
                // kg1 divides the current: a valve stronger by a factor has one smaller by it.
                (Change::Strength, Law::Triode { model, .. }) => model.kg1 /= factor,
                (Change::Strength, Law::Pentode { model, .. }) => {
                    model.kg1 /= factor;
                    model.kg2 /= factor;
                }
                (Change::Strength, Law::VacuumDiode { perveance, .. }) => *perveance *= factor,
                (Change::Screen, Law::Pentode { model, .. }) => model.kg2 /= factor,
                (Change::Breakdown, Law::Zener { zener_volts, .. }) => *zener_volts *= factor,
                _ => {}
            }
        }
    }

    /// Sets the values back to those of `nominal`, without allocation.
    pub(crate) fn restore(&self, network: &mut Network, nominal: &Network) {
        for &(element, _) in &self.sets {
            let (law, from) = (&mut network.elements[element].law, &nominal.elements[element].law);
            match (law, from) {
                (Law::Windings { windings, .. }, Law::Windings { windings: others, .. }) => {
                    windings.copy_from_slice(others);
                }
                (law, from) => *law = from.clone(),
            }
        }
    }
}
