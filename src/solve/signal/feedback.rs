//! Global feedback: its loop opened at the feedback resistor's leg on the output's side, loaded there by the
//! impedance seen into the opened leg.
//!
//! ```text
//! Amplifier of gain 300 from the opened leg's stage to the tap, feedback 10k into 100 Ω at the cathode:
//! 1 V into the leg   10 mV at the cathode, −3 V (say) at the tap: loop gain 3
//! loaded             by the leg's own 10.1k, since the opened resistor no longer loads the tap
//! taken off          20·log10(1 + 3) = 12 dB
//! ```

use num_complex::Complex64;

use crate::circuit::{Circuit, PartId};
use crate::model::{Kind, RoleKind};
use crate::numeric::ac::linearised::{Drive, Linearised};
use crate::numeric::ac::margins::{Margins, encircled, margins};
use crate::numeric::network::{CHASSIS, Law, Node};
use crate::numeric::outcome::Unsolved;
use crate::recognise::Recognised;
use crate::solve::signal::gain::{GAIN_HERTZ, decibels};
use crate::solve::signal::model::{Rig, linked};

/// The global feedback loop of an amplifier.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    /// The parts whose legs on the output's side were opened.
    pub parts: Vec<PartId>,
    /// The stage that the feedback comes in at; an index into [`Recognised::stages`].
    pub stage: Option<usize>,
    /// Loop gain at 1 kHz: positive real where the feedback opposes.
    pub at_1k: Complex64,
    /// How much the feedback takes off the gain at 1 kHz, in dB: negative where it adds.
    pub decibels: f64,
    /// Frequency of the largest loop gain, in hertz.
    pub middle: f64,
    /// Loop gain there.
    pub at_middle: Complex64,
    /// Phase and gain margins.
    pub margins: Margins,
    /// It aids instead of opposing.
    pub positive: bool,
    /// The output transformer, and whether its sense is stated.
    pub transformer: Option<(PartId, bool)>,
}

impl Loop {
    /// Whether the amplifier would howl.
    pub fn oscillates(&self) -> bool {
        self.margins.encircled
    }
}

/// The amplifier with its loop opened.
struct Opened {
    linear: Linearised,
    tap: Node,
    foot: Node,
}

/// The loop from the output transformer's secondary back to an earlier stage; `None` where there is none.
pub fn loop_gain(rig: &Rig, circuit: &Circuit, recognised: &Recognised) -> Result<Option<Loop>, Unsolved> {
    let Some((opened, parts)) = open(rig, recognised)? else { return Ok(None) };
    let mut opened = opened;
    let mut at = |hertz: f64| opened.gain(hertz);
    let at_1k = at(GAIN_HERTZ)?;
    let found = margins(&mut at)?;
    Ok(Some(Loop {
        stage: landing(recognised, &parts),
        decibels: decibels(Complex64::new(1.0, 0.0) + at_1k),
        at_1k,
        middle: found.middle,
        at_middle: found.at_middle,
        positive: found.at_middle.re < 0.0,
        margins: found,
        transformer: transformer(circuit),
        parts,
    }))
}

/// The same loop at 1 kHz alone, without its margins: the stage it comes in at, and the loop gain.
pub fn loop_gain_at_1k(
    rig: &Rig,
    recognised: &Recognised,
) -> Result<Option<(Option<usize>, Complex64)>, Unsolved> {
    let Some((mut opened, parts)) = open(rig, recognised)? else { return Ok(None) };
    Ok(Some((landing(recognised, &parts), opened.gain(GAIN_HERTZ)?)))
}

/// Whether the amplifier would howl: [`Loop::oscillates`] without the rest.
pub fn loop_howls(rig: &Rig, recognised: &Recognised) -> Result<bool, Unsolved> {
    let Some((mut opened, _)) = open(rig, recognised)? else { return Ok(false) };
    encircled(&mut |hertz| opened.gain(hertz))
}

fn landing(recognised: &Recognised, parts: &[PartId]) -> Option<usize> {
    parts.iter().find_map(|p| recognised.role(*p).and_then(|role| role.stage))
}

/// The first fitted output transformer. Falling taps for a rising plate-a are the language's own assumption.
fn transformer(circuit: &Circuit) -> Option<(PartId, bool)> {
    let output =
        |id: &PartId| circuit.part(*id).kind == Kind::OutputTransformer && circuit.part(*id).fitted();
    circuit.part_ids().find(output).map(|id| (id, circuit.part(id).component.body.in_phase))
}

fn open(rig: &Rig, recognised: &Recognised) -> Result<Option<(Opened, Vec<PartId>)>, Unsolved> {
    let speaker = speaker_nodes(rig, recognised);
    let mut network = rig.lowered.network.clone();
    let foot = network.add_node("feedback, opened");
    let (mut tap, mut parts): (Option<Node>, Vec<PartId>) = (None, Vec::new());
    for (element, origin) in network.elements.iter_mut().zip(&rig.lowered.elements) {
        let Some(part) = origin.part.filter(|part| feeds_back(recognised, *part)) else { continue };
        let (Law::Resistor { a, b, .. } | Law::Capacitor { a, b, .. }) = &mut element.law else { continue };
        // The resistor is moved at its speaker end: its other end goes on loading the cathode that it lands on.
        let (near, far) = if speaker.contains(a) { (a, b) } else { (b, a) };
        let leads_back = speaker.contains(near) && !speaker.contains(far) && *far != CHASSIS;
        // One tap: several networks from it are one loop, one from another tap would be another.
        if leads_back && tap.is_none_or(|tap| tap == *near) {
            tap = Some(*near);
            *near = foot;
            if !parts.contains(&part) {
                parts.push(part);
            }
        }
    }
    let Some(tap) = tap else { return Ok(None) };
    let linear = Linearised::new(&network, &rig.point, Drive::Sources)?;
    Ok(Some((Opened { linear, tap, foot }, parts)))
}

fn feeds_back(recognised: &Recognised, part: PartId) -> bool {
    let kind = recognised.roles.get(&part).map(|role| role.kind);
    matches!(kind, Some(RoleKind::FeedbackResistor | RoleKind::FeedbackCapacitor))
}

/// Nodes of the output transformers' taps and what is linked to them.
fn speaker_nodes(rig: &Rig, recognised: &Recognised) -> Vec<Node> {
    let outputs = recognised.stages.iter().filter(|s| s.kind.is_output()).flat_map(|s| &s.outputs);
    linked(&rig.lowered.network, outputs.filter_map(|net| rig.node(*net)).collect())
}

impl Opened {
    /// Loop gain at a frequency, in hertz: less what comes out at the tap for 1 V into the opened leg, the tap
    /// loaded by the impedance that the leg shows.
    fn gain(&mut self, hertz: f64) -> Result<Complex64, Unsolved> {
        let one = Complex64::new(1.0, 0.0);
        self.linear.tune(hertz)?;
        let mut impedances = |node: Node| -> Result<(Complex64, Complex64), Unsolved> {
            self.linear.inject(&[(node, 1.0)])?;
            let at = |node: Node| self.linear.phasor(node).unwrap_or_default();
            Ok((at(self.foot), at(self.tap)))
        };
        let (foot, across) = impedances(self.foot)?;
        let (back, tap) = impedances(self.tap)?;
        // Nothing arrives: no loop, rather than 0/0.
        if across.norm() == 0.0 || foot.norm() == 0.0 {
            return Ok(Complex64::new(0.0, 0.0));
        }
        let load = one / foot;
        // The tap's volts with the load are V = across·I − tap·load·V, the leg's 1 = foot·I − back·load·V, solved for
        // V.
        let volts = one / (foot * (one + tap * load) / across - back * load);
        Ok(-volts)
    }
}
