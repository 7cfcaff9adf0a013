//! Everything about one document: what changed since the document beneath and against stock, what that does,
//! what is dangerous, what has not been looked at.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;

use super::heads::{Heads, heads};
use super::unsolved::Restless;
use super::{Worked, cut_off, stock_islands, unsolved_problem};
use crate::change::{Change, Comparison, Effect, QuantityKind, Side, compare, effects, quantities};
use crate::circuit::{Circuit, natural};
use crate::model::{Condition, DocumentKind};
use crate::recognise::{Recognised, recognise};
use crate::rules::{Facts, RuleSet, Verdicts, check};
use crate::solve::tolerance::windows;
use crate::solve::{Setup, Solved, SolvedSet, Undefined, solve_all};
use crate::source::Problem;
use crate::units::Unit;

/// An audit of the last document of a stack.
#[derive(Debug)]
pub struct Audit {
    /// Every document's circuit, the stock spec first.
    pub worked: Vec<Arc<Worked>>,
    /// Since the document beneath; `None` for a document that rests on none.
    pub since: Option<Step>,
    /// Against the nearest stock spec, where that is not the document directly beneath.
    pub against_stock: Option<Step>,
    /// Quantities at stock, in the document beneath and now, where these are three documents.
    pub three: Vec<Three>,
    /// The rules' verdicts on the last document.
    pub verdicts: Verdicts,
    /// Its differences from the nearest stock spec, as rules saw them; of a variant, from what it varies.
    pub differences: Vec<Change>,
    /// Nets of the last document that are cut off at idle.
    pub cut_off: Vec<Undefined>,
    /// In which state effects are, in words.
    pub state: Option<String>,
    /// Conditions without an operating point, and islands that the stock spec does not explain.
    pub unsolved: Vec<Problem>,
}

/// From one document of the stack to a later one.
#[derive(Debug)]
pub struct Step {
    /// The first, as an index into the stack.
    pub before: usize,
    /// What is different.
    pub comparison: Comparison,
    /// What that does, at idle or in the condition asked for.
    pub effects: Vec<Effect>,
}

/// One quantity in three documents.
#[derive(Debug, Clone, PartialEq)]
pub struct Three {
    /// What moved.
    pub subject: String,
    /// Which quantity of it.
    pub quantity: QuantityKind,
    /// Its unit.
    pub unit: Unit,
    /// In the stock spec.
    pub stock: Option<f64>,
    /// In the document beneath.
    pub beneath: Option<f64>,
    /// Now.
    pub now: Option<f64>,
}

impl Audit {
    /// Whether effects tell the sound: at idle, with the same jack driven in both documents.
    pub fn is_heard(&self, step: &Step) -> bool {
        let driven = |worked: &Worked| {
            let circuit = &worked.circuit;
            circuit.drive.map(|(jack, _)| circuit.part(jack).name.clone())
        };
        let before = driven(&self.worked[step.before]);
        self.state.as_deref() == Some(Condition::Idle.word())
            && before.is_some()
            && self.top().is_some_and(|top| driven(top) == before)
    }

    /// The document that is audited.
    pub fn top(&self) -> Option<&Worked> {
        self.worked.last().map(Arc::as_ref)
    }

    /// What it says was assumed, in any condition, each once.
    pub fn assumed(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for line in self.top().iter().flat_map(|w| w.solved.every()).flat_map(|s| &s.assumed) {
            if !all.contains(line) {
                all.push(line.clone());
            }
        }
        all
    }

    /// Whether something in it has no defined value.
    pub fn partly_solved(&self) -> bool {
        let idle = self.idle();
        !self.cut_off.is_empty() || idle.is_none_or(|s| !s.floating_grids.is_empty() || !s.unknown.is_empty())
    }

    /// Its findings under what brings them.
    pub fn heads(&self, rules: &RuleSet) -> Heads {
        let stock = self.worked.len().checked_sub(1).and_then(|top| stock_beneath(&self.worked, top));
        heads(rules, &self.worked, stock, &self.verdicts.findings)
    }

    /// It at idle, where it has an operating point.
    pub fn idle(&self) -> Option<&Solved> {
        self.top()?.solved.idle()
    }
}

/// Audits the last of a stack's circuits.
pub fn audit(circuits: &[Circuit], rules: &RuleSet) -> Audit {
    let (worked, unsolved) = work(circuits);
    audited(worked, unsolved, rules, Condition::Idle)
}

/// The same with effects in a condition; why it can't be where the last circuit doesn't have it.
pub fn audit_in(circuits: &[Circuit], rules: &RuleSet, condition: Condition) -> Result<Audit, String> {
    let (worked, unsolved) = work(circuits);
    match worked.last().and_then(|top| top.solved.not_applicable.get(&condition)) {
        Some(why) => Err(why.clone()),
        None => Ok(audited(worked, unsolved, rules, condition)),
    }
}

/// What the rules find in the last of a stack's circuits, without comparing.
pub fn judge(circuits: &[Circuit], rules: &RuleSet) -> Audit {
    let (worked, unsolved) = work(circuits);
    judged_stack(worked, unsolved, rules)
}

/// The same for a circuit that rests on others, which were worked out before, with what could not be solved of them.
pub(super) fn judged_on(
    (beneath, restless): (&[Arc<Worked>], &[Restless]),
    circuit: Circuit,
    rules: &RuleSet,
) -> Audit {
    let mut restless = restless.to_vec();
    let mut stack = beneath.to_vec();
    let (top, more) = worked(circuit, beneath.len());
    stack.push(Arc::new(top));
    restless.extend(more);
    let unsolved = left_open(&stack, &restless);
    judged_stack(stack, unsolved, rules)
}

fn judged_stack(worked: Vec<Arc<Worked>>, unsolved: Vec<Problem>, rules: &RuleSet) -> Audit {
    let (verdicts, differences) = judged(&worked, rules);
    Audit { differences, ..of(worked, unsolved, verdicts) }
}

/// Every circuit recognised and solved, with what could not be, and what the lowest leaves open.
pub(super) fn work(circuits: &[Circuit]) -> (Vec<Arc<Worked>>, Vec<Problem>) {
    let (worked, restless) = each_worked(circuits);
    let unsolved = left_open(&worked, &restless);
    (worked, unsolved)
}

/// Every circuit that is asked for recognised and solved, with the states in which one could not be; of the others only
/// the parts.
pub(super) fn each_worked(circuits: &[Circuit]) -> (Vec<Arc<Worked>>, Vec<Restless>) {
    let asked = asked(circuits);
    let one = |(depth, circuit): (usize, &Circuit)| {
        let (worked, restless) = if asked.contains(&depth) {
            worked(circuit.clone(), depth)
        } else {
            (Worked::new(circuit.clone(), Recognised::default(), SolvedSet::default()), Vec::new())
        };
        (Arc::new(worked), restless)
    };
    let (worked, restless): (Vec<Arc<Worked>>, Vec<Vec<Restless>>) =
        circuits.par_iter().enumerate().map(one).unzip();
    (worked, restless.concat())
}

/// The circuits of a stack of which anything is asked beyond their parts: the last, what it is compared with, a plan's
/// record likewise, and this visit's records that read something. A thousand layers may lie beneath.
fn asked(circuits: &[Circuit]) -> BTreeSet<usize> {
    let mut asked = BTreeSet::from([0]);
    let is = |depth: &usize, kind: DocumentKind| circuits[*depth].kind == kind;
    for top in (0..circuits.len()).rev() {
        asked.extend([top, top.saturating_sub(1)]);
        asked.extend((0..top).rev().find(|depth| is(depth, DocumentKind::Stock)));
        if !is(&top, DocumentKind::Plan) {
            break;
        }
    }
    let visit = (0..circuits.len()).rev().take_while(|depth| !is(depth, DocumentKind::Stock));
    let visit: Vec<usize> = visit.collect();
    let first =
        visit.iter().position(|depth| is(depth, DocumentKind::AsFound)).map_or(visit.len(), |at| at + 1);
    asked.extend(visit[..first].iter().filter(|depth| !circuits[**depth].readings.is_empty()));
    asked
}

/// The states without an operating point as problems, and what the lowest circuit leaves open.
fn left_open(stack: &[Arc<Worked>], restless: &[Restless]) -> Vec<Problem> {
    let mut problems: Vec<Problem> = restless.iter().map(|one| one.problem(stack)).collect();
    problems.extend(islands_of_stock(stack));
    problems
}

fn islands_of_stock(stack: &[Arc<Worked>]) -> Vec<Problem> {
    let solved = stack.first().and_then(|first| Some((&first.circuit, first.solved.idle()?)));
    solved.map_or_else(Vec::new, |(circuit, solved)| stock_islands(circuit, solved))
}

fn of(worked: Vec<Arc<Worked>>, unsolved: Vec<Problem>, verdicts: Verdicts) -> Audit {
    let last = worked.last();
    let cut_off = last.and_then(|last| Some(cut_off(&last.circuit, last.solved.idle()?))).unwrap_or_default();
    Audit {
        worked,
        since: None,
        against_stock: None,
        three: Vec::new(),
        differences: Vec::new(),
        verdicts,
        cut_off,
        state: None,
        unsolved,
    }
}

/// Judged, and compared with what it rests on, in a condition.
fn audited(worked: Vec<Arc<Worked>>, unsolved: Vec<Problem>, rules: &RuleSet, condition: Condition) -> Audit {
    let Some(top) = worked.len().checked_sub(1) else { return of(worked, unsolved, Verdicts::default()) };
    let stock = stock_beneath(&worked, top).filter(|s| s + 1 < top);
    let steps = || {
        let step = |before| step(&worked, before, top, condition);
        rayon::join(|| top.checked_sub(1).map(step), || stock.map(step))
    };
    let ((verdicts, differences), (since, against_stock)) = rayon::join(|| judged(&worked, rules), steps);
    let three = match (&against_stock, &since) {
        (Some(stock), Some(since)) => three(&worked, stock, since, top, condition),
        _ => Vec::new(),
    };
    let state = worked[top].solved.of(condition).map(Solved::told);
    Audit { since, against_stock, three, differences, state, ..of(worked, unsolved, verdicts) }
}

/// Recognises and solves a circuit of a stack in every condition it has; those in which it can't be solved are told
/// and left out.
fn worked(circuit: Circuit, depth: usize) -> (Worked, Vec<Restless>) {
    let recognised = recognise(&circuit);
    let (solved, restless) = solved(&circuit, &recognised, depth);
    (Worked::new(circuit, recognised, solved), restless)
}

fn solved(circuit: &Circuit, recognised: &Recognised, depth: usize) -> (SolvedSet, Vec<Restless>) {
    let mut set = SolvedSet::default();
    let mut restless = Vec::new();
    // What ends the same way in every condition is told once.
    let mut ends = Vec::new();
    for condition in Condition::ALL {
        match Setup::cases(condition, circuit, recognised) {
            Ok(cases) => {
                for setup in &cases {
                    let Err(why) = set.solve(circuit, setup) else { continue };
                    let end = std::mem::discriminant(&why.outcome);
                    if !ends.contains(&end) {
                        ends.push(end);
                        restless.push(Restless { depth, state: (condition, setup.case.clone()), why });
                    }
                }
            }
            Err(why) => {
                set.not_applicable.insert(condition, why);
            }
        }
    }
    let as_read = Setup::as_read(circuit).and_then(|setup| windows(circuit, &setup).ok());
    set.as_read = as_read.map(Box::new);
    (set, restless)
}

/// The nearest stock spec beneath a document.
fn stock_beneath(worked: &[Arc<Worked>], top: usize) -> Option<usize> {
    (0..top).rev().find(|depth| worked[*depth].circuit.kind == DocumentKind::Stock)
}

fn step(worked: &[Arc<Worked>], before: usize, after: usize, condition: Condition) -> Step {
    Step { before, ..compared(&worked[before], &worked[after], condition) }
}

/// What the differences between two circuits do at idle; where one has no operating point, that.
pub fn effects_at_idle(comparison: &Comparison, sides: [Side<'_>; 2]) -> Result<Vec<Effect>, Problem> {
    let rests = |side: Side| {
        let solved = solve_all(side.circuit, side.recognised, &[Condition::Idle]);
        solved.map_err(|(condition, why)| unsolved_problem(side.circuit, condition, &why))
    };
    let [first, second] = sides;
    let (a, b) = (rests(first)?, rests(second)?);
    let mut effects = match (a.idle(), b.idle()) {
        (Some(x), Some(y)) => effects(comparison, (first, x), (second, y)),
        _ => Vec::new(),
    };
    effects.sort_by(order);
    Ok(effects)
}

/// From one circuit to a later one.
pub(super) fn compared(a: &Worked, b: &Worked, condition: Condition) -> Step {
    let comparison = compare(a.side(), b.side());
    let (x, y) = (a.solved.of(condition), b.solved.of(condition));
    let mut effects = match (x, y) {
        (Some(x), Some(y)) => effects(&comparison, (a.side(), x), (b.side(), y)),
        _ => Vec::new(),
    };
    effects.sort_by(order);
    Step { before: 0, comparison, effects }
}

/// The rules' verdicts on the last document of a stack, and its differences from stock as they saw them.
pub(super) fn judged(worked: &[Arc<Worked>], rules: &RuleSet) -> (Verdicts, Vec<Change>) {
    let Some(facts) = Facts::of_stack(rules, worked) else { return Default::default() };
    let verdicts = check(rules, &facts);
    (verdicts, if facts.stock.is_some() { facts.differences } else { facts.changes })
}

/// Quantities in their order, and within it by name as people count.
fn order(a: &Effect, b: &Effect) -> Ordering {
    a.quantity.cmp(&b.quantity).then_with(|| natural(&a.subject, &b.subject))
}

/// Every quantity that moved since stock or since the document beneath, in all three.
fn three(worked: &[Arc<Worked>], stock: &Step, since: &Step, top: usize, condition: Condition) -> Vec<Three> {
    let named_by = worked[stock.before].side();
    let values = |depth: usize| {
        let solved = worked[depth].solved.of(condition);
        solved.map_or_else(BTreeMap::new, |solved| quantities(&worked[depth].circuit, named_by, solved))
    };
    let (at_stock, beneath, now) = (values(stock.before), values(since.before), values(top));
    let mut moved: Vec<&Effect> = stock.effects.iter().chain(&since.effects).collect();
    moved.sort_by(|a, b| order(a, b));
    moved.dedup_by(|a, b| (a.quantity, &a.subject) == (b.quantity, &b.subject));
    let row = |effect: &&Effect| {
        let key = (effect.quantity, effect.subject.clone());
        Three {
            subject: effect.subject.clone(),
            quantity: effect.quantity,
            unit: effect.unit,
            stock: at_stock.get(&key).copied(),
            beneath: beneath.get(&key).copied(),
            now: now.get(&key).copied(),
        }
    };
    moved.iter().map(row).collect()
}
