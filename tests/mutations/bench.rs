//! One amplifier on the bench: worked out as it should be, and once more with each mutation.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::sync::Arc;

use crate::support;
use asfound::analysis::{Worked, circuits};
use asfound::change::{Quantities, QuantityKind, quantities};
use asfound::circuit::{Circuit, Origin};
use asfound::load::{Loaded, load};
use asfound::model::{Condition, DocumentKind};
use asfound::recognise::recognise;
use asfound::rules::{Level, RuleSet};
use asfound::solve::{Setup, SolvedSet};

use super::hazard::{Hazard, hazards, larger_fuses};
use super::mutate::Mutation;
use super::way::ways;

/// Rules that say what is different, or what was looked at, and judge no circuit.
const DIFFERENCE: [&str; 19] = [
    "acceptance-stale",
    "bright-capacitor-not-stock",
    "leg-unconnected",
    "legs-left-behind",
    "non-stock",
    "part-added",
    "part-drifted",
    "part-missing",
    "part-of-no-known-use",
    "part-shorted-out",
    "plan-leaves-hazard",
    "rating-not-stated",
    "reading-a-prefix-off",
    "reading-off",
    "reading-out-of-window",
    "safety-part-not-looked-at",
    "valve-does-not-fit-its-socket",
    "valve-out-of-its-socket",
    "wiring-not-stock",
];

/// Rules that hold a quantity or a value against stock: they tell a change of sound, but no hazard.
const COMPARING: [&str; 18] = [
    "bias-control-reaches-too-far",
    "cathode-bypass-far-from-stock",
    "cathode-bypass-gone",
    "coupling-capacitor-far-from-stock",
    "feedback-amount-off",
    "feedback-open",
    "output-valve-idle-off-stock",
    "plate-fed-from-another-rail",
    "rail-far-from-stock",
    "screen-resistor-too-small",
    "sense-resistor-off",
    "signal-lost-on-the-way",
    "stage-has-lost-gain",
    "stage-has-too-much-gain",
    "stage-turned-cold",
    "stage-turned-hot",
    "tail-current-off",
    "tone-part-far-from-stock",
];

/// Rails that move by this share, and stages by this many dB, matter.
const RAIL_SHARE: f64 = 0.10;
const GAIN_DECIBELS: f64 = 3.0;

/// An amplifier as it should be.
pub(super) struct Bench {
    text: String,
    pub(super) stock: Arc<Worked>,
    quantities: Quantities,
    ways: BTreeMap<String, f64>,
    hazards: BTreeSet<Hazard>,
    told: [BTreeSet<Told>; 2],
}

/// Rule, level and what it is about.
pub(super) type Told = (String, Level, Vec<String>);

/// Why a mutation matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Class {
    /// A rating is passed, or a person is at risk.
    Hazard,
    /// A rail or a gain is off.
    Sound,
    /// Less of the signal arrives at a stage.
    Way,
    /// Neither.
    Neither,
    /// No operating point: the tool says so and gives no clean bill.
    Unsolved,
}

/// A mutation and what was said of it.
#[derive(Debug, Clone)]
pub(super) struct Judged {
    pub(super) mutation: Mutation,
    pub(super) class: Class,
    /// Hazards, or quantities that moved.
    pub(super) why: Vec<String>,
    /// Worst level of a finding that counts and names what is concerned, with the stock spec beneath and without it.
    pub(super) level: [Option<Level>; 2],
}

impl Bench {
    pub(super) fn new(text: String, rules: &RuleSet) -> Bench {
        let loaded = read(&[("stock.amp", &text)]);
        let circuit = circuits(&loaded).map(|(mut all, _)| all.remove(0)).expect("a stock spec builds");
        let (stock, unsolved) = work_out(circuit);
        assert!(!unsolved, "a stock spec solves in every condition");
        let own = quantities(&stock.circuit, stock.side(), stock.solved.idle().expect("it idles"));
        let mut bench = Bench {
            text,
            quantities: own,
            ways: ways(&stock),
            hazards: hazards(&stock),
            told: Default::default(),
            stock,
        };
        bench.told = [told(&bench.stock, None, rules), told(&as_stock(&bench.stock), None, rules)];
        bench
    }

    /// What is told of the amplifier as it should be.
    pub(super) fn told(&self) -> impl Iterator<Item = &Told> {
        self.told[0].iter()
    }

    pub(super) fn judge(&self, mutation: &Mutation, rules: &RuleSet) -> Judged {
        let record = format!("as-found \"job\" of \"stock.amp\"\n{}\n", mutation.line);
        let loaded = read(&[("stock.amp", &self.text), ("found.amp", &record)]);
        let circuit = match circuits(&loaded) {
            Ok((mut all, _)) => all.remove(1),
            Err(problems) => {
                panic!("{}: {:?}", mutation.line, problems.iter().map(|p| &p.message).collect::<Vec<_>>())
            }
        };
        let (found, unsolved) = work_out(circuit);
        let (class, why, mut names) = self.matters(&found, unsolved);
        names.extend(self.concerned(&mutation.part));
        let worst = |told: BTreeSet<Told>, clean: &BTreeSet<Told>| {
            let counts = |(rule, ..): &&Told| class != Class::Hazard || !COMPARING.contains(&rule.as_str());
            let named = |(_, _, subjects): &&Told| subjects.iter().any(|s| names.contains(s));
            told.difference(clean).filter(counts).filter(named).map(|t| t.1).max()
        };
        let level = [
            worst(told(&found, Some(&self.stock), rules), &self.told[0]),
            worst(told(&as_stock(&found), None, rules), &self.told[1]),
        ];
        Judged { mutation: mutation.clone(), class, why, level }
    }

    /// The class of a mutated amplifier, why, and the names of what is concerned.
    fn matters(&self, found: &Worked, unsolved: bool) -> (Class, Vec<String>, BTreeSet<String>) {
        let mut new: Vec<Hazard> = hazards(found).difference(&self.hazards).cloned().collect();
        new.extend(larger_fuses(&self.stock.circuit, &found.circuit));
        let (moved, lost) = (self.moved(found), self.lost(found));
        let victims: Vec<String> = new.iter().map(|(name, _)| name.clone()).collect();
        let class = match (new.is_empty(), unsolved, moved.is_empty(), lost.is_empty()) {
            (false, ..) => Class::Hazard,
            (_, true, ..) => Class::Unsolved,
            (.., false, _) => Class::Sound,
            (.., false) => Class::Way,
            _ => Class::Neither,
        };
        let moved: Vec<String> = moved.into_iter().chain(lost).collect();
        let (affected, why) = if class == Class::Hazard {
            (victims, new.iter().map(|(name, what)| format!("{name} {what}")).collect())
        } else {
            (moved.clone(), moved)
        };
        let mut names = BTreeSet::new();
        for name in affected.iter().flat_map(|name| name.split(' ')) {
            names.insert(name.to_owned());
            let valve = name.split('.').next().unwrap_or(name).trim_end_matches(['a', 'b']);
            if self.stock.circuit.find(valve).is_some() {
                names.extend(self.concerned(valve));
            }
        }
        (class, why, names)
    }

    /// Ways between stages by which less of the signal comes.
    fn lost(&self, found: &Worked) -> Vec<String> {
        let now = ways(found);
        let less = |(name, was): &(&String, &f64)| now.get(*name).is_none_or(|is| *is < *was - GAIN_DECIBELS);
        self.ways.iter().filter(less).map(|(name, _)| name.clone()).collect()
    }

    /// Rails and stages that are off, by name.
    fn moved(&self, found: &Worked) -> Vec<String> {
        let Some(idle) = found.solved.idle() else { return Vec::new() };
        let now = quantities(&found.circuit, self.stock.side(), idle);
        let off = |(kind, name): &(QuantityKind, String), was: f64| {
            let is = now.get(&(*kind, name.clone())).copied();
            match kind {
                QuantityKind::RailVolts => is.is_none_or(|is| (is - was).abs() > RAIL_SHARE * was.abs()),
                QuantityKind::StageGain => is.is_none_or(|is| (is - was).abs() > GAIN_DECIBELS),
                _ => false,
            }
        };
        self.quantities
            .iter()
            .filter(|(key, was)| off(key, **was))
            .map(|((_, name), _)| name.clone())
            .collect()
    }

    /// A part, the nets its legs sit in, its stage and the stage's valves.
    fn concerned(&self, name: &str) -> BTreeSet<String> {
        let circuit = &self.stock.circuit;
        let id = circuit.find(name).expect("a part of the stock spec");
        let mut names = BTreeSet::from([name.to_owned()]);
        for (at, leg) in circuit.part(id).legs.iter().enumerate() {
            names.insert(circuit.part(id).leg_name(at));
            names.extend(leg.net.filter(|n| n.0 != 0).map(|net| circuit.net(net).name.clone()));
        }
        let own = self.stock.recognised.stage_of(id).into_iter();
        let within = self.stock.recognised.stages.iter().filter(|s| s.sections.iter().any(|t| t.tube == id));
        for stage in own.chain(within) {
            names.insert(stage.name.clone());
            for section in &stage.sections {
                names.insert(format!("{}{}", circuit.part(section.tube).name, section.letter));
            }
        }
        names
    }
}

/// The findings that count, nobody having accepted them.
fn told(now: &Arc<Worked>, stock: Option<&Arc<Worked>>, rules: &RuleSet) -> BTreeSet<Told> {
    let findings = support::findings(now, stock, rules).into_iter();
    findings
        .filter(|f| f.accepted.is_none() && !DIFFERENCE.contains(&f.rule.as_str()))
        .map(|f| (f.rule, f.level, f.subjects))
        .collect()
}

/// The same amplifier as if a stock spec said it: nothing to compare with.
fn as_stock(found: &Worked) -> Arc<Worked> {
    let mut circuit = found.circuit.clone();
    circuit.kind = DocumentKind::Stock;
    for part in circuit.parts_mut() {
        part.origin = Origin::Stock;
    }
    Arc::new(Worked::new(circuit, found.recognised.clone(), found.solved.clone()))
}

/// In every condition it has; and whether one of them has no operating point.
fn work_out(circuit: Circuit) -> (Arc<Worked>, bool) {
    let recognised = recognise(&circuit);
    let mut solved = SolvedSet::default();
    let mut unsolved = false;
    for condition in Condition::ALL {
        match Setup::cases(condition, &circuit, &recognised) {
            Ok(cases) => {
                let failed = cases.iter().filter(|setup| solved.solve(&circuit, setup).is_err()).count();
                unsolved |= failed > 0;
            }
            Err(why) => {
                solved.not_applicable.insert(condition, why);
            }
        }
    }
    (Arc::new(Worked::new(circuit, recognised, solved)), unsolved)
}

fn read(documents: &[(&str, &str)]) -> Loaded {
    let text =
        |path: &str| documents.iter().find(|(name, _)| *name == path).map(|(_, text)| (*text).to_owned());
    let top = documents.last().expect("a document").0;
    load(top, &mut |path| text(path).ok_or_else(|| format!("no {path}"))).expect("it is there")
}

impl Judged {
    /// A line for the list of misses.
    pub(super) fn line(&self) -> String {
        let mut line = format!("{:24} {:18}", self.mutation.line, self.mutation.kind);
        let _ = write!(line, " {:?} {:?}: {}", self.class, self.level[0], self.why.join(", "));
        line
    }
}
