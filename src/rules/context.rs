//! Where an expression is evaluated: which circuit, in which condition, with which names bound.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::change::Change;
use crate::circuit::{Circuit, LegId, NetId, Part, PartId, Reading, Target, TubeType};
use crate::model::{Condition, DocumentKind};
use crate::numeric::statistics::Within;
use crate::recognise::{Recognised, Stage};
use crate::solve::decay::Stored;
use crate::solve::{Case, Solved, SolvedSection};
use crate::units::{Unit, rounded};

use super::charge::Charge;
use super::facts::{Facts, Worked};
use super::finding::{Basis, Finding};
use super::leaks::{Effect, Leaks};
use super::paths::Paths;
use super::signals::{Amplifier, Signals};
use super::touch::Touch;
use super::value::{Number, SectionId, Thing, Value};
use super::warm_up;

/// Why cold-start volts behind a slow rectifier are told one level lower.
const RECTIFIER_WARMS: &str = " (the rectifier usually warms with the rest)";

/// A known value, or what is missing.
pub(crate) type Known<T> = Result<T, String>;

/// Which circuit is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Which {
    Now,
    Before,
    Stock,
}

/// What is worked out of one circuit only when a rule first asks.
#[derive(Debug, Default)]
pub(crate) struct Kept {
    /// DC paths.
    paths: Paths,
    /// Stored charge.
    pub(super) charge: Charge,
    /// What signals do.
    signals: Signals,
    /// What hands reach.
    pub(super) touch: Touch,
    /// The stages that each valve has sections in.
    stages: OnceLock<BTreeMap<PartId, Vec<usize>>>,
    /// The parts that each stage has.
    stage_parts: OnceLock<BTreeMap<usize, Vec<PartId>>>,
    /// What leaks do.
    leaks: Leaks,
}

/// The place of an evaluation.
pub(crate) struct Context<'a> {
    pub(crate) facts: &'a Facts,
    pub(crate) which: Which,
    pub(crate) condition: Condition,
    /// Which case of it.
    pub(crate) case: usize,
    /// Whether sections whose grid floats are taken as cut off, rather than with the grid at the cathode.
    pub(crate) cut_off: bool,
    /// Whether solved numbers come with their windows: worked out only where they decide or are told.
    pub(crate) windows: bool,
    /// Steps of evaluation that the rule may still take.
    pub(crate) budget: u64,
    /// Names bound so far, with the circuit that their ids belong to.
    pub(crate) slots: Vec<(Which, Value)>,
    pub(crate) limits: Vec<Number>,
    /// Findings of the rules that came before (only the last rules see them).
    pub(crate) findings: &'a [Finding],
    /// What the rule's filters gave that are the same for all things, by their place and the state.
    pub(crate) shared: Vec<((usize, State), Value)>,
}

/// A condition, which case of it, and whether floating sections are cut off.
pub(crate) type State = (Condition, usize, bool);

impl<'a> Context<'a> {
    /// The circuit of a side with what was worked out of it.
    pub(crate) fn worked_of(&self, which: Which) -> Known<&'a Worked> {
        let facts = self.facts;
        let of = |worked: &'a Option<Arc<Worked>>| worked.as_deref();
        match which {
            Which::Now => Ok(&facts.now),
            Which::Before => of(&facts.before).ok_or_else(|| "there is no document beneath".to_owned()),
            Which::Stock if facts.stock.is_none() && facts.now.circuit.kind == DocumentKind::Stock => {
                Ok(&facts.now)
            }
            Which::Stock => of(&facts.stock).ok_or_else(|| "there is no stock spec beneath".to_owned()),
        }
    }

    fn worked(&self) -> &'a Worked {
        self.worked_of(self.which).expect("what is bound in a circuit is of a circuit that is there")
    }

    /// DC paths of the circuit that is looked at.
    pub(crate) fn paths(&self) -> &'a Paths {
        &self.worked().kept.paths
    }

    /// What signals do in the circuit that is looked at.
    pub(crate) fn signals(&self) -> &'a Signals {
        &self.worked().kept.signals
    }

    /// What hands reach in the document that is judged.
    pub(crate) fn touch(&self) -> &'a Touch {
        &self.facts.now.kept.touch
    }

    /// What a part's leak moves at idle.
    pub(crate) fn leak_effect(&self, part: PartId) -> Known<Effect> {
        let idle = self.solved_in(Condition::Idle)?;
        self.worked().kept.leaks.effect(self.circuit(), self.recognised(), idle, part)
    }

    /// The amplifier that is looked at, for its signals.
    pub(crate) fn amplifier(&self) -> Amplifier<'a> {
        let stock =
            self.facts.stock.as_ref().filter(|_| self.which != Which::Stock).map(|stock| &stock.circuit);
        Amplifier { circuit: self.circuit(), recognised: self.recognised(), stock }
    }

    /// A capacitor after switching off from the condition that is judged.
    pub(crate) fn stored(&self, part: PartId) -> Known<&'a Stored> {
        self.worked().kept.charge.of(self.worked(), self.condition, part)
    }

    pub(crate) fn circuit(&self) -> &'a Circuit {
        &self.worked().circuit
    }

    pub(crate) fn recognised(&self) -> &'a Recognised {
        &self.worked().recognised
    }

    pub(crate) fn part(&self, id: PartId) -> &'a Part {
        self.circuit().part(id)
    }

    /// The operating point in the condition that is judged.
    pub(crate) fn solved(&self) -> Known<&'a Solved> {
        self.solved_in(self.condition)
    }

    /// The cases of a condition.
    pub(crate) fn cases(&self, condition: Condition) -> &'a [Case] {
        self.worked().solved.cases(condition)
    }

    /// The state that is judged, in words: "switch-on with the mains at 253 V and cold valves".
    pub(crate) fn state(&self) -> String {
        let Ok(solved) = self.solved() else { return self.condition.phrase().to_owned() };
        let volts = self.circuit().mains.map(|m| rounded(m.volts * solved.mains_share, Unit::Volt, 4));
        match (self.condition, volts) {
            (Condition::ColdStart, volts) => {
                let mains = volts.map_or("high mains".to_owned(), |volts| format!("the mains at {volts}"));
                let slow = if warm_up::with_the_rest(self.circuit()) { RECTIFIER_WARMS } else { "" };
                format!("switch-on with {mains} and cold valves{slow}")
            }
            (Condition::HighMains | Condition::LowMains, Some(volts)) => {
                format!("{} ({volts})", solved.told())
            }
            _ => solved.told(),
        }
    }

    /// The operating point in a condition.
    pub(crate) fn solved_in(&self, condition: Condition) -> Known<&'a Solved> {
        let set = &self.worked().solved;
        let cases = set.cases(condition);
        let case = cases.get(if condition == self.condition { self.case } else { 0 }).or(cases.first());
        let cut_off = case.and_then(|case| case.cut_off.as_ref()).filter(|_| self.cut_off);
        cut_off.or(case.map(|case| &case.solved)).ok_or_else(|| match set.not_applicable.get(&condition) {
            Some(why) => format!("{} does not apply: {why}", condition.word()),
            None => format!("{} is not solved", condition.word()),
        })
    }

    /// What a reading taken in a condition is held against.
    pub(crate) fn as_read(&self, condition: Condition) -> Known<&'a Solved> {
        self.worked().solved.for_readings(condition).map_or_else(|| self.solved_in(condition), Ok)
    }

    pub(crate) fn net_volts(&self, net: NetId) -> Known<f64> {
        let undefined = || format!("the volts of {} are undefined", self.circuit().net(net).name);
        self.solved()?.net_volts(net).ok_or_else(undefined)
    }

    /// The same with the window that parts and valves give it.
    pub(crate) fn net_number(&self, net: NetId) -> Known<Number> {
        Ok(self.within(self.net_volts(net)?, self.solved()?, |of, circuit| of.net_volts_within(circuit, net)))
    }

    /// Volts from one net to another, with the window that parts and valves give them.
    pub(crate) fn between(&self, upper: NetId, lower: NetId) -> Known<Number> {
        let value = self.net_volts(upper)? - self.net_volts(lower)?;
        Ok(self.within(value, self.solved()?, |of, circuit| of.between_within(circuit, upper, lower)))
    }

    /// A solved number, with its window where windows are wanted.
    pub(crate) fn within(
        &self,
        value: f64,
        solved: &Solved,
        window: impl FnOnce(&Solved, &Circuit) -> Option<Within>,
    ) -> Number {
        let window = if self.windows { window(solved, self.circuit()) } else { None };
        Number::within(value, window)
    }

    /// The valve type of a part.
    pub(crate) fn tube_type(&self, tube: PartId) -> Known<&'a TubeType> {
        let part = self.part(tube);
        let name = part
            .component
            .body
            .type_name
            .as_deref()
            .ok_or_else(|| format!("the type of {} is not stated", part.name))?;
        self.circuit().types.tube(name).ok_or_else(|| format!("there is no type data for {name}"))
    }

    /// A limit of a section's type.
    pub(crate) fn type_limit(&self, tube: PartId, limit: &str) -> Known<f64> {
        let of = self.tube_type(tube)?;
        let missing = || format!("the type data of {} state no {limit} limit", of.name);
        of.limits.get(limit).copied().ok_or_else(missing)
    }

    pub(crate) fn section(&self, id: SectionId) -> Known<&'a SolvedSection> {
        let letter = letter(id);
        self.solved()?
            .section(id.tube, &letter)
            .ok_or_else(|| format!("{} has no operating point", self.section_name(id)))
    }

    pub(crate) fn section_name(&self, id: SectionId) -> String {
        format!("{}{}", self.part(id.tube).name, letter(id))
    }

    /// A leg of a section by electrode: `plate`, `grid`, `cathode`, `screen`.
    pub(crate) fn electrode(&self, id: SectionId, electrode: &str) -> Option<LegId> {
        let name = match id.letter {
            Some(letter) => format!("{letter}.{electrode}"),
            None => electrode.to_owned(),
        };
        let leg = self.part(id.tube).leg_index(&name)?;
        Some(LegId { part: id.tube, leg: leg as u32 })
    }

    pub(crate) fn electrode_net(&self, id: SectionId, electrode: &str) -> Option<NetId> {
        self.circuit().net_of(self.electrode(id, electrode)?)
    }

    /// The stage of a section.
    pub(crate) fn stage_of(&self, id: SectionId) -> Option<&'a Stage> {
        self.stage_index(id).map(|at| &self.recognised().stages[at])
    }

    fn stage_index(&self, id: SectionId) -> Option<usize> {
        let name = letter(id);
        let stages = &self.recognised().stages;
        let holds = |at: &&usize| stages[**at].sections.iter().any(|t| t.tube == id.tube && t.letter == name);
        let of = self.worked().kept.stages.get_or_init(|| stages_of(self.recognised())).get(&id.tube)?;
        of.iter().find(holds).copied()
    }

    /// The parts with a role in the stage of a section.
    pub(crate) fn parts_of_stage(&self, id: SectionId) -> &'a [PartId] {
        let of = self.worked().kept.stage_parts.get_or_init(|| parts_of_stages(self.recognised()));
        self.stage_index(id).and_then(|at| of.get(&at)).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn role_word(&self, part: PartId) -> &'static str {
        self.recognised().role(part).map_or(super::domain::NONE, |r| r.kind.word())
    }

    /// A DC reading in the condition that is judged.
    pub(crate) fn reading(&self, target: Target, unit: Unit) -> Option<&'a Reading> {
        self.circuit()
            .readings
            .iter()
            .find(|r| r.target == target && r.unit == unit && !r.ac && r.condition == self.condition.word())
    }

    /// The change that a thing is.
    pub(crate) fn change(&self, thing: Thing) -> Option<&'a Change> {
        match thing {
            Thing::Change(i) => self.facts.changes.get(i),
            Thing::Difference(i) => self.facts.differences.get(i),
            _ => None,
        }
    }

    /// The finding that a thing is.
    pub(crate) fn told(&self, thing: Thing) -> Option<&'a Finding> {
        match thing {
            Thing::Hazard(index) => self.facts.before_findings.as_ref()?.get(index),
            Thing::Introduced(index) => self.findings.get(index),
            _ => None,
        }
    }

    /// A thing of one circuit as the same thing of the circuit that is looked at now.
    pub(crate) fn brought(&self, from: Which, thing: Thing) -> Known<Thing> {
        if from == self.which {
            return Ok(thing);
        }
        let (there, here) = (&self.worked_of(from)?.circuit, self.circuit());
        let where_ = match self.which {
            Which::Now => "in this document",
            Which::Before => "in the document beneath",
            Which::Stock => "in the stock spec",
        };
        let part = |id: PartId| {
            let name = &there.part(id).name;
            here.find(name).ok_or_else(|| format!("{name} is not {where_}"))
        };
        Ok(match thing {
            Thing::Part(id) => Thing::Part(part(id)?),
            Thing::Net(id) => {
                let name = &there.net(id).name;
                Thing::Net(here.find_net(name).ok_or_else(|| format!("{name} is not {where_}"))?)
            }
            Thing::Leg(id) => {
                let (owner, name) = (part(id.part)?, &there.part(id.part).legs[id.leg as usize].name);
                let leg = here.part(owner).leg_index(name);
                let missing = || format!("{} is not {where_}", there.leg_name(id));
                Thing::Leg(LegId { part: owner, leg: leg.ok_or_else(missing)? as u32 })
            }
            Thing::Section(id) => Thing::Section(SectionId { tube: part(id.tube)?, letter: id.letter }),
            Thing::Stage(index) => self.brought_stage(from, index)?,
            other => other,
        })
    }

    fn brought_stage(&self, from: Which, index: usize) -> Known<Thing> {
        let there = self.worked_of(from)?;
        let lost = || "the stage is not recognised there".to_owned();
        let first = there.recognised.stages.get(index).and_then(|s| s.sections.first()).ok_or_else(lost)?;
        let name = &there.circuit.part(first.tube).name;
        let tube = self.circuit().find(name).ok_or_else(lost)?;
        let holds = |s: &Stage| s.sections.iter().any(|t| t.tube == tube && t.letter == first.letter);
        self.recognised().stages.iter().position(holds).map(Thing::Stage).ok_or_else(lost)
    }
}

/// The letter of a section as text: empty for a one-section valve.
pub(crate) fn letter(id: SectionId) -> String {
    id.letter.map(String::from).unwrap_or_default()
}

/// A reading as a number with the meter's accuracy as its window; 1 % where it is not stated.
pub(crate) fn measured(reading: &Reading) -> Number {
    Number::plain(reading.value, Basis::Measured).spread(reading.accuracy.unwrap_or(0.01))
}

fn stages_of(recognised: &Recognised) -> BTreeMap<PartId, Vec<usize>> {
    let mut stages: BTreeMap<PartId, Vec<usize>> = BTreeMap::new();
    for (at, stage) in recognised.stages.iter().enumerate() {
        for section in &stage.sections {
            stages.entry(section.tube).or_default().push(at);
        }
    }
    stages
}

fn parts_of_stages(recognised: &Recognised) -> BTreeMap<usize, Vec<PartId>> {
    let mut parts: BTreeMap<usize, Vec<PartId>> = BTreeMap::new();
    for (part, role) in &recognised.roles {
        if let Some(stage) = role.stage {
            parts.entry(stage).or_default().push(*part);
        }
    }
    parts
}
