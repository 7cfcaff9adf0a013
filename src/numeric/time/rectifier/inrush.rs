//! The first charge of a supply: everything empty, rectifiers ready, the mains switched on.

use crate::numeric::time::rectifier::march::March;
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};
use crate::numeric::time::rectifier::operators::Operators;
use crate::numeric::time::rectifier::steady::STEPS;

/// Where in the period the mains is switched on: at its crossings and its peaks, of which one is the worst for a
/// choke's and a reservoir's rectifier.
const PHASES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
/// Above this, in ohms, a rectifier has no reservoir behind it, but a choke.
// With 1 ns steps a choke of 1 H is a gigaohm and a reservoir a short: anything between them tells the two apart.
const CHOKE_OHMS: f64 = 20e3;

/// Greatest current of each rectifier in the first half period from empty, over the instants of switching on. The heaviest
/// pulse is the first on a reservoir; `None` where an instant has no solution.
pub(crate) fn inrush(mesh: &Mesh) -> Option<Vec<f64>> {
    let mut march = March::new(mesh, STEPS, 0.0)?;
    let mut most = vec![0.0_f64; march.rectifiers.laws.len()];
    for phase in PHASES {
        march.begin_at(phase);
        let mut values = vec![0.0; march.operators.stores.len()];
        let good = march.half_period(&mut values, |moment| {
            for (most, amps) in most.iter_mut().zip(&moment.rectifiers.amps) {
                *most = most.max(*amps);
            }
        });
        if !good {
            return None;
        }
    }
    Some(most)
}

/// Resistance in each rectifier's feed, capacitors taken as stiff; `None` where there is no reservoir.
pub(crate) fn feed_ohms(mesh: &Mesh) -> Vec<Option<f64>> {
    let count = mesh.pieces.iter().filter(|piece| matches!(piece, Piece::Rectifier { .. })).count();
    // Too short a step for any capacitor to move: they are sources, and what is left is resistance.
    let Some(stiff) = Operators::new(mesh, 1e-9) else { return vec![None; count] };
    (0..count).map(|at| Some(stiff.resistance(at, at)).filter(|ohms| *ohms < CHOKE_OHMS)).collect()
}
