//! What the signal drives through a hand: an output valve's plate swings about its supply by as much as that at most.
//!
//! A plate at the output transformer goes down to some tens of volts and up as far above its supply, and what it swings by
//! comes through any capacitor. Behind a plate's own load resistor little flows, so that effect sends from such plates
//! aren't asked; what a follower's cathode stands at is told by its direct volts.

use super::Route;
use super::evaluate::Question;
use super::rig::{Rig, peak_rig, swing_rig};
use super::situation::Situation;
use crate::numeric::dc::solver::operating_point;
use crate::numeric::network::{Law, Node};
use crate::numeric::outcome::Unsolved;

/// For each plate at an output transformer the network with that plate as a source, its peak what it stands at with
/// valves cold.
pub(super) fn rigs(question: &Question<'_>, situation: &Situation) -> Result<Vec<Rig>, Unsolved> {
    let plain = swing_rig(question.circuit, situation, &question.removed, question.reach);
    if !plain.joined(Route::Swing) {
        return Ok(Vec::new());
    }
    let mut rigs = Vec::new();
    for plate in plain.live.iter().copied() {
        let peak = highest(question, situation, plate)?;
        let mut rig = plain.clone();
        // Sources are rms here, as the mains is.
        let ac_volts = peak / std::f64::consts::SQRT_2;
        rig.network.add("swing", Law::VoltageSource { plus: plate, minus: 0, volts: 0.0, ac_volts });
        rig.part_of.push(None);
        rigs.push(rig);
    }
    Ok(rigs)
}

/// Volts DC of a node with valves cold.
fn highest(question: &Question<'_>, situation: &Situation, node: Node) -> Result<f64, Unsolved> {
    let mut highest: f64 = 0.0;
    for rising in [true, false] {
        let rig = peak_rig(question.circuit, situation, rising, &question.removed, question.reach);
        highest = highest.max(operating_point(&rig.network)?.volts(node).map_or(0.0, f64::abs));
    }
    Ok(highest)
}
