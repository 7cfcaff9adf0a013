//! What a bench asks of an amplifier with a signal in it: the response, and the names its stages go by.

use crate::circuit::{CHASSIS, Circuit, NetId};
use crate::model::{Condition, Kind};
use crate::numeric::Unsolved;
use crate::numeric::ac::Range;
use crate::recognise::{Recognised, Section, recognise};
use crate::solve::Setup;
use crate::solve::signal::gain::{StageGain, decibels};
use crate::solve::signal::ports::Port;
use crate::solve::signal::report::{Asked, Responded, respond};

/// The question.
#[derive(Debug, Clone)]
pub struct Question {
    /// Frequencies.
    pub range: Range,
    /// Where from; the drive where `None`.
    pub from: Option<String>,
    /// Where to; the output where `None`.
    pub at: Option<String>,
    /// Controls that stand elsewhere than stated: name and shaft position.
    pub turns: Vec<(String, f64)>,
    /// In which state of the amplifier.
    pub condition: Condition,
}

/// An amplifier with its answer.
#[derive(Debug)]
pub struct Heard {
    /// The circuit, its controls as asked.
    pub circuit: Circuit,
    /// What was recognised.
    pub recognised: Recognised,
    /// The response.
    pub responded: Responded,
}

/// Why there is no answer.
#[derive(Debug)]
pub enum Unheard {
    /// The question does not fit the circuit: one sentence.
    Asked(String),
    /// The circuit has no operating point, or its equations no answer.
    Unsolved(Box<Circuit>, Unsolved),
}

/// Answers the question for one circuit.
pub fn hear(circuit: &Circuit, question: &Question) -> Result<Heard, Unheard> {
    let mut circuit = circuit.clone();
    for (name, position) in &question.turns {
        turn(&mut circuit, name, *position).map_err(Unheard::Asked)?;
    }
    let recognised = recognise(&circuit);
    let setup = Setup::first(question.condition, &circuit, &recognised).map_err(|why| {
        Unheard::Asked(format!("{} has no {}: {why}", circuit.title, question.condition.word()))
    })?;
    let place = |name: &Option<String>| name.as_ref().map(|name| find(&circuit, name)).transpose();
    let asked = Asked {
        range: question.range,
        from: place(&question.from).map_err(Unheard::Asked)?,
        to: place(&question.at).map_err(Unheard::Asked)?,
    };
    match respond(&circuit, &recognised, &setup, asked) {
        Ok(responded) => Ok(Heard { circuit, recognised, responded }),
        Err(unsolved) => Err(Unheard::Unsolved(Box::new(circuit), unsolved)),
    }
}

fn turn(circuit: &mut Circuit, name: &str, position: f64) -> Result<(), String> {
    let control = circuit.find(name).filter(|id| matches!(circuit.part(*id).kind, Kind::Pot | Kind::Trimmer));
    let Some(control) = control else {
        return Err(format!("{name} is no control in {}", circuit.title));
    };
    let ganged = circuit.part(control).component.body.ganged.clone();
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let with = ganged.as_deref() == Some(part.name.as_str())
            || part.component.body.ganged.as_deref() == Some(name);
        if id == control || with {
            circuit.part_mut(id).component.body.at = Some(position);
        }
    }
    Ok(())
}

/// A net by its name or that of a leg in it.
fn find(circuit: &Circuit, name: &str) -> Result<NetId, String> {
    let by_leg = || {
        circuit.part_ids().find_map(|id| {
            let part = circuit.part(id);
            (0..part.legs.len()).find(|leg| part.leg_name(*leg) == name).and_then(|leg| part.legs[leg].net)
        })
    };
    let found = circuit.find_net(name).or_else(by_leg).filter(|net| *net != CHASSIS);
    found.ok_or_else(|| {
        let names = circuit.nets.iter().map(|net| net.name.as_str());
        let near =
            crate::source::nearest(name, names).map_or(String::new(), |n| format!("; did you mean {n}?"));
        format!("{} has no place {name} that a signal can be at{near}", circuit.title)
    })
}

impl Heard {
    /// `V1a`, `V5 V6`: the sections behind a port.
    pub fn sections(&self, port: &Port) -> String {
        let name = |s: &Section| format!("{}{}", self.circuit.part(s.tube).name, s.letter);
        port.sections.iter().map(name).collect::<Vec<_>>().join(" ")
    }

    /// A stage's name.
    pub fn stage(&self, stage: usize) -> &str {
        &self.recognised.stages[stage].name
    }

    /// A net's name.
    pub fn net(&self, net: NetId) -> &str {
        &self.circuit.net(net).name
    }

    /// From where to where the curve leads: "drive to T2.8R".
    pub fn way(&self) -> String {
        let to = self.responded.to.map_or("", |net| self.net(net));
        match self.responded.from {
            Some(from) => format!("{} to {to}", self.net(from)),
            None => match self.circuit.drive {
                Some((jack, _)) => format!("1 V into {} to {to}", self.circuit.part(jack).name),
                None => format!("drive to {to}"),
            },
        }
    }

    /// The net that the whole gain leads to.
    pub fn output_name(&self) -> &str {
        self.responded.output_net.map_or("", |net| self.net(net))
    }
}

impl Heard {
    /// The later curve less this one, in dB; `None` where either has none.
    pub fn difference(&self, later: &Heard) -> Option<Vec<f64>> {
        let (old, new) = (self.responded.sweep.as_ref()?, later.responded.sweep.as_ref()?);
        Some(new.decibels().iter().zip(old.decibels()).map(|(new, old)| new - old).collect())
    }
}

/// The gain in dB of the same sections to the same output in another amplifier; `None` where it has no such stage.
pub fn gain_of(heard: &Heard, sections: &str, output: &str) -> Option<f64> {
    let responded = &heard.responded;
    let same = |gain: &&StageGain| {
        heard.sections(&responded.ports[gain.port]) == sections && heard.net(gain.output) == output
    };
    let found = responded.gains.stages.iter().find(same)?;
    Some(decibels(found.gain))
}
