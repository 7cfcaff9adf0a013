//! What signals do in one circuit, worked out once when a rule first asks: gains of stages, global feedback, and where the
//! ends of a bias control take the output valves.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use num_complex::Complex64;

use crate::circuit::{Circuit, Part, PartId};
use crate::model::{Kind, RoleKind};
use crate::recognise::Recognised;
use crate::solve::signal::feedback::{loop_gain_at_1k, loop_howls};
use crate::solve::signal::gain::{GAIN_HERTZ, decibels, gains};
use crate::solve::signal::model::Rig;
use crate::solve::signal::ports::ports;
use crate::solve::{Setup, at_rest};

use super::context::Known;

/// Where nothing arrives, in dB: far below what any meter shows, and finite.
const NOTHING: f64 = -200.0;

/// Stages beyond which gains are not worked out: each takes a solve of the whole, and no amplifier has a tenth of them.
const MOST_STAGES: usize = 300;

/// An amplifier that signals are sent through.
pub(crate) struct Amplifier<'a> {
    pub(crate) circuit: &'a Circuit,
    pub(crate) recognised: &'a Recognised,
    /// The stock spec beneath, if it is not one itself.
    pub(crate) stock: Option<&'a Circuit>,
}

impl Amplifier<'_> {
    /// The circuit with its controls as the stock spec sets them: how someone left them is no fault. A bias control stays
    /// as it is.
    fn with_stock_controls(&self) -> Cow<'_, Circuit> {
        let mut set = Cow::Borrowed(self.circuit);
        for (id, part, stock) in self.both() {
            let role = self.recognised.role(id).map(|r| r.kind);
            let turns = part.kind == Kind::Pot && role != Some(RoleKind::BiasControl);
            if turns && part.component.body.at != stock.component.body.at {
                set.to_mut().part_mut(id).component.body.at = stock.component.body.at;
            }
        }
        set
    }

    /// Whether a switch stands elsewhere than in the stock spec, so that the signal takes other ways.
    fn switched(&self) -> bool {
        self.both().any(|(_, part, stock)| part.component.body.now != stock.component.body.now)
    }

    /// Every part that the stock spec has too.
    fn both(&self) -> impl Iterator<Item = (PartId, &Part, &Part)> {
        self.circuit.part_ids().filter_map(|id| {
            let (part, stock) = (self.circuit.part(id), self.stock?);
            Some((id, part, stock.part(stock.find(&part.name)?)))
        })
    }
}

/// Gains of one circuit at 1 kHz.
#[derive(Debug, Default)]
struct AllGains {
    /// Gains in dB of a stage's sides and outputs, by the stage's index.
    stages: BTreeMap<usize, Vec<f64>>,
    /// What of a stage's output arrives at the grids after it, as a ratio, by the stage's index.
    delivered: BTreeMap<usize, f64>,
}

/// The stage that feedback comes in at, where it is known, and the loop gain at 1 kHz.
type Landing = (Option<usize>, Complex64);

/// The signals of one circuit.
#[derive(Debug, Default)]
pub(crate) struct Signals {
    rig: OnceLock<Known<Rig>>,
    gains: OnceLock<Known<AllGains>>,
    feedback: OnceLock<Known<Option<Landing>>>,
    howls: OnceLock<Known<bool>>,
    ends: OnceLock<BTreeMap<PartId, Known<f64>>>,
}

impl Signals {
    /// Gains of a stage at 1 kHz from its grids to its outputs, in dB, never empty.
    pub(crate) fn gains(&self, of: &Amplifier<'_>, stage: usize) -> Known<&[f64]> {
        let all = self.all(of)?;
        let name = || of.recognised.stages.get(stage).map_or("a stage", |s| s.name.as_str());
        let gains = all.stages.get(&stage).map(Vec::as_slice);
        gains.ok_or_else(|| format!("the grid of the {} can't be driven", name()))
    }

    /// What of a stage's output arrives at the grids after it, in dB.
    pub(crate) fn delivers(&self, of: &Amplifier<'_>, stage: usize) -> Known<f64> {
        if of.switched() {
            return Err("a switch stands elsewhere than in the stock spec".to_owned());
        }
        let all = self.all(of)?;
        let leads_on = of.recognised.couplings.iter().any(|c| c.from == stage);
        match all.delivered.get(&stage) {
            Some(ratio) => Ok((20.0 * libm::log10(*ratio)).max(NOTHING)),
            None if leads_on => {
                Err("what the stage delivers can't be worked out, its grid not being driven".to_owned())
            }
            None => Ok(NOTHING),
        }
    }

    fn all(&self, of: &Amplifier<'_>) -> Known<&AllGains> {
        self.gains.get_or_init(|| all_gains(self.rig(of)?, of)).as_ref().map_err(String::clone)
    }

    /// Loop gain at 1 kHz of the feedback that comes in at a stage; `None` where none does.
    pub(crate) fn feedback(&self, of: &Amplifier<'_>, stage: usize) -> Known<Option<Complex64>> {
        let found = self
            .feedback
            .get_or_init(|| loop_gain_at_1k(self.rig(of)?, of.recognised).map_err(|_| OPEN.to_owned()));
        Ok(found.clone()?.filter(|(at, _)| *at == Some(stage)).map(|(_, gain)| gain))
    }

    fn rig(&self, of: &Amplifier<'_>) -> Known<&Rig> {
        let rig = || {
            Rig::new(&of.with_stock_controls(), of.recognised, &Setup::idle())
                .map_err(|_| "idle is not solved".to_owned())
        };
        self.rig.get_or_init(rig).as_ref().map_err(String::clone)
    }

    /// The highest share of its plate's maximum that any output valve idles at with a bias control's shaft at either end.
    pub(crate) fn share_at_ends(&self, of: &Amplifier<'_>, control: PartId) -> Known<f64> {
        let bias = |id: &PartId| of.recognised.role(*id).is_some_and(|r| r.kind == RoleKind::BiasControl);
        let all = self.ends.get_or_init(|| {
            let controls = of.circuit.part_ids().filter(bias);
            controls.map(|id| (id, share_at_ends(of.circuit, of.recognised, id))).collect()
        });
        all.get(&control).cloned().unwrap_or_else(|| share_at_ends(of.circuit, of.recognised, control))
    }

    /// Whether the feedback makes the amplifier oscillate.
    pub(crate) fn howls(&self, of: &Amplifier<'_>) -> Known<bool> {
        let howls = || loop_howls(self.rig(of)?, of.recognised).map_err(|_| OPEN.to_owned());
        self.howls.get_or_init(howls).clone()
    }
}

/// Why there is no loop gain.
const OPEN: &str = "the feedback loop can't be solved";

fn all_gains(rig: &Rig, of: &Amplifier<'_>) -> Known<AllGains> {
    if of.recognised.stages.len() > MOST_STAGES {
        return Err(format!("there are more than {MOST_STAGES} stages"));
    }
    let mut rig = rig.clone();
    let ports = ports(of.circuit, of.recognised, rig.output);
    // Only stages and couplings are asked for, and not the whole way, which costs as much again.
    rig.driven = false;
    let found = gains(&mut rig, of.recognised, &ports, GAIN_HERTZ);
    let found = found.map_err(|_| "the gains can't be solved".to_owned())?;
    let mut all = AllGains::default();
    for gain in &found.stages {
        let stage = ports[gain.port].stage;
        all.stages.entry(stage).or_default().push(decibels(gain.gain).max(NOTHING));
    }
    for coupling in &found.couplings {
        *all.delivered.entry(of.recognised.couplings[coupling.coupling].from).or_default() +=
            coupling.gain.norm();
    }
    Ok(all)
}

/// The highest share of its plate's maximum that any output valve idles at with a control's shaft at either end.
fn share_at_ends(circuit: &Circuit, recognised: &Recognised, control: PartId) -> Known<f64> {
    let mut highest: Option<f64> = None;
    for end in [0.0, 1.0] {
        let mut turned = circuit.clone();
        turned.part_mut(control).component.body.at = Some(end);
        let solved = at_rest(&turned, &Setup::idle()).map_err(|_| "its end is not solved".to_owned())?;
        let outputs = recognised.stages.iter().filter(|s| s.kind.is_output()).flat_map(|s| &s.sections);
        for section in outputs {
            let share = solved.section(section.tube, &section.letter).and_then(|s| s.plate_share);
            highest = share.into_iter().chain(highest).reduce(f64::max);
        }
    }
    highest.ok_or_else(|| "no share of an output valve's maximum is known".to_owned())
}
