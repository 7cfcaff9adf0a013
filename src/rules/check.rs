//! Rules over facts: each thing ends flagged, passed or could not tell.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::circuit::{Target, Window};
use crate::model::Condition;
use crate::units::digits_apart;

use super::RuleSet;
use super::compile::Code;
use super::context::{Context, State, Which};
use super::dimension::Ty;
use super::eval::{MOST_STEPS, TOO_LARGE, compared, eval, figures, shown};
use super::facts::Facts;
use super::finding::{Accepted, CouldNotTell, Finding, Tally, Verdicts};
use super::level::Severity;
use super::names::{Subject, name, subject};
use super::rule::{Compiled, Filter, LevelLine, Piece, Rule};
use super::value::{Thing, Value};

/// Asks every rule that is in use about one document.
pub fn check(set: &RuleSet, facts: &Facts) -> Verdicts {
    let mut verdicts = Verdicts::default();
    let mut rules: Vec<&Rule> = set.rules().filter(|rule| rule.off.is_none()).collect();
    for last in [false, true] {
        let before = std::mem::take(&mut verdicts.findings);
        let asked: Vec<_> = rules.par_iter().map(|rule| (*rule, ask(rule, facts, last, &before))).collect();
        verdicts.findings = before;
        rules.clear();
        for (rule, asked) in asked {
            match asked {
                Some(asked) => add(&mut verdicts, rule, asked),
                None => rules.push(rule),
            }
        }
    }
    offer_acceptance(&mut verdicts.findings);
    verdicts.findings.sort_by(Finding::order);
    verdicts.tallies.sort_by(|a, b| a.0.cmp(&b.0));
    verdicts.off = set.rules().filter_map(|r| Some((r.name.clone(), r.off.clone()?))).collect();
    verdicts.changed = set.rules().flat_map(Rule::changed).collect();
    verdicts
}

fn add(verdicts: &mut Verdicts, rule: &Rule, asked: Asked) {
    verdicts.findings.extend(asked.found);
    verdicts.could_not_tell.extend(asked.could_not_tell);
    verdicts.too_large.extend((asked.too_large && !rule.is_shipped()).then(|| rule.name.clone()));
    verdicts.tallies.push((rule.name.clone(), asked.tally));
}

/// Adds to the advice that a finding may be accepted, where it may. Not while anything endangers people: which change
/// makes a danger is not always the one that its finding names.
fn offer_acceptance(findings: &mut [Finding]) {
    if findings.iter().any(|finding| finding.to_people) {
        return;
    }
    for advice in findings.iter_mut().filter(|f| f.or_accept).filter_map(|f| f.advice.as_mut()) {
        advice.push_str(", or accept it with a reason");
    }
}

/// How a rule ends with a thing in another circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Again {
    /// At which level it is flagged there.
    pub flagged: Option<Severity>,
    /// Which of its filters and level lines can't be told there in some state, a bit each.
    untold: u64,
    /// The figure that its first level line compares first, in the finding's own state.
    pub figure: Option<f64>,
}

impl Again {
    /// Whether a finding is gone: not flagged, or at a lower level. What can't be told, and could be in the circuit that the
    /// finding is of, is not gone.
    pub fn clears(self, finding: &Finding, there: Again) -> bool {
        self.untold & !there.untold == 0 && self.flagged.is_none_or(|severity| severity < finding.severity())
    }
}

/// Asks a rule again about the things of some of its findings in another circuit, one answer for each.
pub fn ask_again(rule: &Rule, facts: &Facts, findings: &[&Finding]) -> Vec<Again> {
    let mut context = context(rule, facts, &[]);
    let mut things: BTreeMap<String, Thing> = BTreeMap::new();
    for thing in rule.noun.members(&context) {
        things.entry(name(&context, thing)).or_insert(thing);
    }
    let states = rule_states(rule.asks(), facts);
    findings
        .iter()
        .map(|finding| again(rule, finding, things.get(finding.subject()), &states, &mut context))
        .collect()
}

fn again(
    rule: &Rule,
    finding: &Finding,
    thing: Option<&Thing>,
    states: &[State],
    context: &mut Context<'_>,
) -> Again {
    let Some(&thing) = thing else { return Again { flagged: None, untold: 0, figure: None } };
    let flagged = match judge(rule, thing, states, context) {
        Verdict::Flagged(found) => Some(found.severity()),
        _ => None,
    };
    let untold = states.iter().fold(0, |bits, state| bits | untold(rule, thing, *state, context));
    let own = states.iter().find(|state| {
        let case = context.facts.now.solved.cases(state.0).get(state.1);
        Some(state.0) == finding.condition
            && case.and_then(|c| c.solved.case.as_deref()) == finding.case.as_deref()
    });
    if let Some(state) = own.or(states.first()) {
        (context.condition, context.case, context.cut_off) = *state;
    }
    context.slots.clear();
    context.slots.push((Which::Now, Value::Thing(thing)));
    let mut values = Vec::new();
    if let Some(line) = rule.asks().levels.first() {
        compared(&line.code, context, &mut values);
    }
    Again { flagged, untold, figure: values.first().map(|fired| fired.value) }
}

/// The filters and level lines of a rule that can't be told of a thing in a state, a bit each; none where it is not the
/// rule's business.
fn untold(rule: &Rule, thing: Thing, state: State, context: &mut Context<'_>) -> u64 {
    (context.condition, context.case, context.cut_off) = state;
    context.slots.clear();
    context.slots.push((Which::Now, Value::Thing(thing)));
    let asks = rule.asks();
    let codes =
        asks.filters.iter().map(|filter| &filter.code).chain(asks.levels.iter().map(|line| &line.code));
    let mut bits = 0;
    for (at, code) in codes.enumerate() {
        match eval(code, context) {
            Value::Truth(false) if at < asks.filters.len() => return 0,
            Value::Truth(_) => {}
            _ => bits |= 1 << (at % 64),
        }
    }
    bits
}

/// How one thing ended.
enum Verdict {
    Flagged(Box<Finding>),
    Passed,
    CouldNotTell(String),
    NotLookedAt,
}

/// How one rule ended.
#[derive(Default)]
struct Asked {
    found: Vec<Finding>,
    tally: Tally,
    could_not_tell: Vec<CouldNotTell>,
    /// Its budget was used up.
    too_large: bool,
}

/// Asks a rule of everything that it selects; `None` where it is not its turn. One that selects nothing here is never
/// compiled.
fn ask(rule: &Rule, facts: &Facts, last: bool, before: &[Finding]) -> Option<Asked> {
    let mut context = context(rule, facts, before);
    let things = rule.noun.members(&context);
    if things.is_empty() {
        return (rule.noun.looks_at_findings() == last).then(Asked::default);
    }
    (rule.asks().last == last).then(|| judged(rule, &things, &mut context))
}

/// Where a rule's expressions are evaluated.
fn context<'a>(rule: &Rule, facts: &'a Facts, before: &'a [Finding]) -> Context<'a> {
    Context {
        facts,
        which: Which::Now,
        condition: Condition::Idle,
        case: 0,
        cut_off: false,
        windows: false,
        budget: MOST_STEPS,
        slots: Vec::new(),
        limits: rule.limits.iter().map(|l| l.value).collect(),
        findings: before,
        shared: Vec::new(),
    }
}

fn judged(rule: &Rule, things: &[Thing], context: &mut Context<'_>) -> Asked {
    let mut asked = Asked::default();
    let states = rule_states(rule.asks(), context.facts);
    for &thing in things {
        let verdict = judge(rule, thing, &states, context);
        match if context.budget == 0 { Verdict::CouldNotTell(TOO_LARGE.to_owned()) } else { verdict } {
            Verdict::Flagged(finding) => {
                asked.tally.flagged += 1;
                asked.found.push(*finding);
            }
            Verdict::Passed => asked.tally.passed += 1,
            Verdict::CouldNotTell(missing) => {
                asked.tally.could_not_tell += 1;
                let subject = subject(context, thing).names.into_iter().next().unwrap_or_default();
                asked.could_not_tell.push(CouldNotTell { rule: rule.name.clone(), subject, missing });
            }
            Verdict::NotLookedAt => {}
        }
    }
    asked.too_large = context.budget == 0;
    asked
}

/// Judges one thing in every condition of the rule, and where a grid floats once more with its section cut off: the
/// worst finding stands, then what could not be told.
fn judge(rule: &Rule, thing: Thing, states: &[State], context: &mut Context<'_>) -> Verdict {
    let mut worst: Option<Box<Finding>> = None;
    let mut missing = None;
    let mut passed = false;
    for state in states {
        (context.condition, context.case, context.cut_off) = *state;
        match judge_once(rule, thing, context) {
            Verdict::Flagged(finding) => {
                if worst.as_ref().is_none_or(|w| finding.severity() > w.severity()) {
                    worst = Some(finding);
                }
            }
            Verdict::CouldNotTell(why) => {
                missing.get_or_insert(why);
            }
            Verdict::Passed => passed = true,
            Verdict::NotLookedAt => {}
        }
    }
    match (worst, missing, passed) {
        (Some(finding), ..) => Verdict::Flagged(finding),
        (None, Some(why), _) => Verdict::CouldNotTell(why),
        (None, None, true) => Verdict::Passed,
        (None, None, false) => Verdict::NotLookedAt,
    }
}

/// The states that a rule is judged in. What the amplifier has no such condition for is judged in the rule's others;
/// without any nothing can be told.
fn rule_states(asks: &Compiled, facts: &Facts) -> Vec<State> {
    let conditions = asks.conditions.as_deref().unwrap_or(&[Condition::Idle]);
    let has = |c: &&Condition| !facts.now.solved.not_applicable.contains_key(*c);
    let any = conditions.iter().any(|c| has(&c));
    let judged = conditions.iter().filter(|c| !any || has(c));
    judged.flat_map(|condition| states(facts, *condition)).collect()
}

/// The cases of a condition, each once more with floating sections cut off where there are any. A condition that was not
/// solved is one state, in which nothing can be told.
fn states(facts: &Facts, condition: Condition) -> Vec<State> {
    let cases = facts.now.solved.cases(condition);
    let floats = |case: usize| cases.get(case).is_some_and(|c| c.cut_off.is_some());
    let both = |case: usize| [false, true].into_iter().take(1 + usize::from(floats(case)));
    (0..cases.len().max(1)).flat_map(|case| both(case).map(move |off| (condition, case, off))).collect()
}

fn judge_once(rule: &Rule, thing: Thing, context: &mut Context<'_>) -> Verdict {
    context.slots.clear();
    context.slots.push((Which::Now, Value::Thing(thing)));
    let mut doubt = None;
    for (index, filter) in rule.asks().filters.iter().enumerate() {
        match if filter.own { eval(&filter.code, context) } else { shared(index, filter, context) } {
            Value::Truth(true) => {}
            Value::Truth(false) => return Verdict::NotLookedAt,
            other => {
                doubt.get_or_insert(other.missing().unwrap_or("a value").to_owned());
            }
        }
    }
    // What may not be the rule's business at all is not flagged by it.
    if let Some(why) = doubt {
        return Verdict::CouldNotTell(why);
    }
    for line in &rule.asks().levels {
        match eval(&line.code, context) {
            Value::Truth(holds) if holds != line.required => {
                return Verdict::Flagged(Box::new(finding(rule, line, thing, context)));
            }
            Value::Truth(_) => {}
            other => {
                doubt.get_or_insert(other.missing().unwrap_or("a value").to_owned());
            }
        }
    }
    doubt.map_or(Verdict::Passed, Verdict::CouldNotTell)
}

/// What a filter that doesn't depend on the thing gives, worked out once in each state: over all things it would cost
/// their number times what it counts.
fn shared(index: usize, filter: &Filter, context: &mut Context<'_>) -> Value {
    let key = (index, (context.condition, context.case, context.cut_off));
    if let Some((_, value)) = context.shared.iter().find(|(known, _)| *known == key) {
        return value.clone();
    }
    let value = eval(&filter.code, context);
    context.shared.push((key, value.clone()));
    value
}

fn finding(rule: &Rule, line: &LevelLine, thing: Thing, context: &mut Context<'_>) -> Finding {
    let mut values = Vec::new();
    context.windows = true;
    compared(&line.code, context, &mut values);
    context.windows = false;
    let message = worded(line.say.as_ref().unwrap_or(&rule.asks().say), context);
    // An advice with a hole in it (no rating is made that high) is none.
    let advise = line.advise.as_ref().or(rule.asks().advise.as_ref());
    let advice = advise.filter(|a| is_whole(&a.text, context)).map(|a| worded(&a.text, context));
    let subject = subject(context, thing);
    let severity = rule.set(line.severity);
    let mut finding = Finding {
        rule: rule.name.clone(),
        level: severity.level,
        to_people: severity.to_people,
        message,
        advice,
        or_accept: advise.is_some_and(|a| a.or_accept),
        condition: rule.asks().conditions.as_ref().map(|_| context.condition),
        case: context.solved().ok().and_then(|solved| solved.case.clone()),
        values,
        accepted: None,
        known: false,
        known_because: None,
        subjects: subject.names.clone(),
        parts: subject.parts.clone(),
        spans: subject.spans.clone(),
    };
    finding.accepted = accepted(&finding, &subject, context);
    finding
}

/// Whether every value of a template is known.
fn is_whole(template: &[Piece], context: &mut Context<'_>) -> bool {
    template.iter().all(|piece| match piece {
        Piece::Text(_) => true,
        Piece::Value(code, _) => !matches!(eval(code, context), Value::Unknown(_)),
    })
}

/// A message in words; its figures with as many digits as tell them apart.
fn worded(template: &[Piece], context: &mut Context<'_>) -> String {
    let values: Vec<Option<(Value, Ty)>> = template
        .iter()
        .map(|piece| match piece {
            Piece::Text(_) | Piece::Value(Code::Condition, _) => None,
            Piece::Value(code, ty) => Some((eval(code, context), *ty)),
        })
        .collect();
    let figures: Vec<_> = values.iter().flatten().flat_map(|(value, ty)| figures(value, *ty)).collect();
    let digits = digits_apart(&figures, 3);
    let words = template.iter().zip(&values).map(|(piece, value)| match (piece, value) {
        (Piece::Text(words), _) => words.clone(),
        // In words, and with the case: "uneven warm-up, V3a cold".
        (_, None) => context.state(),
        (_, Some((value, ty))) => shown(value, *ty, digits, context),
    });
    words.collect()
}

/// A written reason for this finding: an `accept`, or a window with `because` that holds the value.
fn accepted(finding: &Finding, subject: &Subject, context: &Context<'_>) -> Option<Accepted> {
    let circuit = context.circuit();
    let accepts = circuit.accepts.iter().filter(|a| a.rule == finding.rule);
    let named =
        |on: &String| finding.subjects.contains(on) || finding.subject().starts_with(&format!("{on}."));
    let mut fitting = accepts.filter(|a| a.on.as_ref().is_none_or(named));
    if let Some(accept) = fitting.next() {
        return Some(Accepted { because: accept.because.clone(), span: accept.span });
    }
    let window = circuit.windows.iter().find(|w| excuses(w, finding, subject, context))?;
    Some(Accepted { because: window.because.clone()?, span: window.span })
}

/// Stock circuits that exceed a limit by period practice carry a window with a reason.
fn excuses(window: &Window, finding: &Finding, subject: &Subject, context: &Context<'_>) -> bool {
    let circuit = context.circuit();
    let about = match window.target {
        Target::Part(part) => subject.parts.contains(&part),
        Target::Leg(leg) => subject.parts.contains(&leg.part),
        Target::Net(net) => {
            let on =
                |part: &crate::circuit::PartId| circuit.part(*part).legs.iter().any(|l| l.net == Some(net));
            subject.parts.iter().any(on) || subject.names.contains(&circuit.net(net).name)
        }
        Target::Between(..) => false,
    };
    let holds = finding
        .values
        .first()
        .is_some_and(|v| v.unit == window.unit && v.value >= window.low && v.value <= window.high);
    let condition = finding.condition.map_or("idle", Condition::word);
    window.because.is_some() && about && holds && window.condition == condition
}
