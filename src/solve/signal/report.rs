//! An amplifier's small-signal report: the whole response, stages and couplings with their corners, the output's
//! impedance, the feedback loop, and what the presence control does.

use num_complex::Complex64;

use crate::circuit::{Circuit, NetId, PartId};
use crate::model::RoleKind;
use crate::numeric::ac::Range;
use crate::numeric::outcome::Unsolved;
use crate::recognise::Recognised;
use crate::solve::large_signal::power::{Power, power};
use crate::solve::large_signal::transfer::{Transfer, transfers};
use crate::solve::setup::Setup;
use crate::solve::signal::feedback::{Loop, loop_gain};
use crate::solve::signal::gain::{GAIN_HERTZ, Gains, decibels, gains};
use crate::solve::signal::lost::stops_at;
use crate::solve::signal::model::Rig;
use crate::solve::signal::ports::{Port, ports};
use crate::solve::signal::sweep::{Corners, Sweep, corners, sweep};

/// What is asked of a response.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked {
    /// Frequencies.
    pub range: Range,
    /// Where the ratio is taken from; the drive's 1 V where `None`.
    pub from: Option<NetId>,
    /// Where to; the output where `None`.
    pub to: Option<NetId>,
}

/// The report.
#[derive(Debug, Clone)]
pub struct Responded {
    /// The stages' ports.
    pub ports: Vec<Port>,
    /// Gains at 1 kHz.
    pub gains: Gains,
    /// Corners of each of `gains.stages`.
    pub stage_corners: Vec<Corners>,
    /// Corners of each of `gains.couplings`.
    pub coupling_corners: Vec<Corners>,
    /// Corners of the whole way.
    pub whole_corners: Corners,
    /// The net that the whole way leads to: the speaker's.
    pub output_net: Option<NetId>,
    /// The net the sweep begins at; the drive where `None`.
    pub from: Option<NetId>,
    /// The net the sweep leads to.
    pub to: Option<NetId>,
    /// What was asked for; `None` where the net is out of the signal's reach.
    pub sweep: Option<Sweep>,
    /// The output's side.
    pub output: Option<Output>,
    /// Behind which part there is no signal, where none arrives at the output.
    pub stops_at: Option<PartId>,
    /// Global feedback.
    pub feedback: Option<Loop>,
    /// Presence and depth controls in the feedback.
    pub presence: Vec<Presence>,
    /// Large signals in each stage but the output's.
    pub transfers: Vec<Transfer>,
    /// Large signals in the output stage.
    pub power: Option<Power>,
    /// What had to be assumed.
    pub assumed: Vec<String>,
}

/// The amplifier as the speaker sees it, at 1 kHz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Output {
    /// The load.
    pub part: PartId,
    /// Its resistance.
    pub load_ohms: f64,
    /// Impedance of the amplifier alone.
    pub ohms: Complex64,
    /// Load over the size of that.
    pub damping: f64,
}

/// What a control in the feedback does, between its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Presence {
    /// The control.
    pub part: PartId,
    /// Where it does most, in hertz, within the frequencies asked for.
    pub hertz: f64,
    /// How much, in dB: at its top over at its bottom.
    pub decibels: f64,
}

/// Works out the report of a circuit in a condition.
pub fn respond(
    circuit: &Circuit,
    recognised: &Recognised,
    setup: &Setup,
    asked: Asked,
) -> Result<Responded, Unsolved> {
    let mut rig = Rig::new(circuit, recognised, setup)?;
    let ports = ports(circuit, recognised, rig.output);
    let gains = gains(&mut rig, recognised, &ports, GAIN_HERTZ)?;
    let stops_at = stops(&mut rig, circuit, recognised)?;
    let wide = Wide::new(&mut rig, recognised, &ports, &gains)?;
    let hertz = asked.range.hertz();
    let to = asked.to.or(rig.output);
    let swept = swept(&mut rig, &asked, to, &hertz)?;
    let presence = match to {
        Some(_) => presence(circuit, recognised, setup, &asked, &hertz)?,
        None => Vec::new(),
    };
    Ok(Responded {
        output: output(&mut rig)?,
        transfers: transfers(&mut rig, circuit, recognised, &ports, &gains)?,
        power: power(&rig, circuit, recognised, &ports)?,
        feedback: loop_gain(&rig, circuit, recognised)?,
        stage_corners: wide.stages,
        coupling_corners: wide.couplings,
        whole_corners: wide.whole,
        sweep: swept,
        output_net: rig.output,
        stops_at,
        from: asked.from,
        assumed: rig.assumed,
        ports,
        gains,
        to,
        presence,
    })
}

fn stops(rig: &mut Rig, circuit: &Circuit, recognised: &Recognised) -> Result<Option<PartId>, Unsolved> {
    rig.linear.tune(GAIN_HERTZ)?;
    rig.linear.excite()?;
    Ok(stops_at(rig, circuit, recognised))
}

fn swept(rig: &mut Rig, asked: &Asked, to: Option<NetId>, hertz: &[f64]) -> Result<Option<Sweep>, Unsolved> {
    let node = |net: Option<NetId>| net.and_then(|net| rig.node(net));
    let (from, to) = (node(asked.from), node(to));
    match to {
        Some(to) if rig.driven && from.is_some() == asked.from.is_some() => sweep(rig, from, to, hertz),
        _ => Ok(None),
    }
}

/// Corners of everything, from one walk over all frequencies.
struct Wide {
    stages: Vec<Corners>,
    couplings: Vec<Corners>,
    whole: Corners,
}

impl Wide {
    fn new(rig: &mut Rig, recognised: &Recognised, ports: &[Port], middle: &Gains) -> Result<Wide, Unsolved> {
        let hertz = Range::WIDE.hertz();
        let every: Vec<Gains> =
            hertz.iter().map(|f| gains(rig, recognised, ports, *f)).collect::<Result<_, _>>()?;
        let of = |ratio: &dyn Fn(&Gains) -> Option<Complex64>| -> Corners {
            let curve: Option<Vec<f64>> = every.iter().map(|g| ratio(g).map(decibels)).collect();
            curve
                .filter(|c| c.iter().all(|x| x.is_finite()))
                .map_or(Corners::default(), |c| corners(&hertz, &c))
        };
        let stages = 0..middle.stages.len();
        let couplings = middle.couplings.iter().map(|c| c.coupling);
        let coupling = |at: usize| of(&|g| g.couplings.iter().find(|c| c.coupling == at).map(|c| c.gain));
        Ok(Wide {
            stages: stages.map(|at| of(&|g| g.stages.get(at).map(|s| s.gain))).collect(),
            couplings: couplings.map(coupling).collect(),
            whole: of(&|g| g.whole),
        })
    }
}

/// The impedance at the load's place with the load away.
fn output(rig: &mut Rig) -> Result<Option<Output>, Unsolved> {
    let Some(load) = rig.load else { return Ok(None) };
    rig.linear.tune(GAIN_HERTZ)?;
    rig.linear.inject(&[(load.nodes.0, 1.0), (load.nodes.1, -1.0)])?;
    let (Some(hot), Some(cold)) = (rig.linear.phasor(load.nodes.0), rig.linear.phasor(load.nodes.1)) else {
        return Ok(None);
    };
    let one = Complex64::new(1.0, 0.0);
    let ohms = one / (one / (hot - cold) - 1.0 / load.ohms);
    let damping = load.ohms / ohms.norm();
    Ok(damping.is_finite().then_some(Output { part: load.part, load_ohms: load.ohms, ohms, damping }))
}

/// Each presence or depth control turned from bottom to top, the amplifier solved anew.
fn presence(
    circuit: &Circuit,
    recognised: &Recognised,
    setup: &Setup,
    asked: &Asked,
    hertz: &[f64],
) -> Result<Vec<Presence>, Unsolved> {
    let mut found = Vec::new();
    for part in recognised.parts_with(RoleKind::PresenceControl) {
        let at = |position: f64| -> Result<Option<Sweep>, Unsolved> {
            let mut turned = circuit.clone();
            turned.part_mut(part).component.body.at = Some(position);
            let mut rig = Rig::new(&turned, recognised, setup)?;
            let to = asked.to.or(rig.output);
            swept(&mut rig, asked, to, hertz)
        };
        let (Some(bottom), Some(top)) = (at(0.0)?, at(1.0)?) else { continue };
        let change = hertz.iter().zip(top.ratio.iter().zip(&bottom.ratio));
        let change = change.map(|(f, (top, bottom))| (*f, decibels(top / bottom)));
        let change = change.filter(|(_, decibels)| decibels.is_finite());
        if let Some((hertz, decibels)) = change.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) {
            found.push(Presence { part, hertz, decibels });
        }
    }
    Ok(found)
}
