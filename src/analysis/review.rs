//! A document against another that comes before it: what changes, what that does, which findings it brings and clears,
//! and where stated windows stand before and after.

use std::sync::Arc;

use rayon::prelude::*;

use super::audit::{Step, compared, judged, work};
use super::heads::{Heads, heads_since};
use super::open::{Open, open_matters};
use crate::analysis::{Mark, predicted};
use crate::circuit::{Circuit, Target, Window};
use crate::model::{Condition, DocumentKind};
use crate::rules::{Finding, Level, RuleChange, RuleSet, Verdicts};
use crate::source::Problem;
use crate::units::Unit;

/// One page for a colleague to approve.
#[derive(Debug)]
pub struct Review {
    /// What is different, and what that does at idle; names and windows are those of `worked`.
    pub step: Step,
    /// How many count at each level before and after, the worst first.
    pub counts: Vec<(Level, usize, usize)>,
    /// Findings that only the later one has, or has at a worse level.
    pub brought: Vec<Finding>,
    /// The same under the changes that bring them.
    pub brought_by: Heads,
    /// Findings that only the earlier one has.
    pub cleared: Vec<Finding>,
    /// The same under the changes that clear them.
    pub cleared_by: Heads,
    /// Findings that both have, as the later one has them.
    pub still: Vec<Finding>,
    /// What packs changed of the rules.
    pub changed: Vec<RuleChange>,
    /// Windows that the later one states, at idle.
    pub windows: Vec<WindowRow>,
    /// What records say and nothing has answered since.
    pub open: Vec<Open>,
    /// Conditions without an operating point in either.
    pub unsolved: Vec<Problem>,
    /// Rules of packs that took more steps than a rule may, in either.
    pub too_large: Vec<String>,
}

/// A stated window before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowRow {
    /// `B3`, `V4a.plate`.
    pub place: String,
    /// The unit.
    pub unit: Unit,
    /// Predicted in the stock spec, where that is a third document.
    pub stock: Option<f64>,
    /// Lowest and highest as stated.
    pub window: (f64, f64),
    /// Predicted before, and how it stands.
    pub before: Option<(f64, Mark)>,
    /// Predicted after, and how it stands.
    pub after: Option<(f64, Mark)>,
}

impl Review {
    /// The worst level that counts: of what it brings, and of every danger to people that stays.
    pub fn worst(&self) -> Option<Level> {
        let stays = self.still.iter().filter(|finding| finding.to_people);
        self.brought.iter().chain(stays).map(|finding| finding.level).max()
    }
}

/// Reviews the last of one stack of circuits against the last of another; `None` where one is empty.
pub fn review(before: &[Circuit], after: &[Circuit], rules: &RuleSet) -> Option<Review> {
    let sides: Vec<_> = [before, after]
        .par_iter()
        .map(|circuits| {
            let (worked, unsolved) = work(circuits);
            let (verdicts, _) = judged(&worked, rules);
            (worked, unsolved, verdicts)
        })
        .collect();
    let [(a, mut unsolved, was), (b, more, is)] = <[_; 2]>::try_from(sides).ok()?;
    let (first, last) = (a.last()?, b.last()?);
    for problem in more {
        if unsolved.iter().all(|known: &Problem| known.message != problem.message) {
            unsolved.push(problem);
        }
    }
    let step = compared(first, last, Condition::Idle);
    let mut too_large = [was.too_large.as_slice(), &is.too_large].concat();
    too_large.sort();
    too_large.dedup();
    let open = |verdicts: &Verdicts| -> Vec<Finding> {
        // What a rule says of other findings the page itself says.
        let own = |f: &&Finding| f.counts() && !rules.judges_findings(&f.rule);
        verdicts.findings.iter().filter(own).cloned().collect()
    };
    let same = |x: &Finding, y: &Finding| x.rule == y.rule && x.subject() == y.subject();
    // What is accepted now, or what only a record can have (a plan reads no meter and looks at no part), is not cleared.
    let record = last.circuit.kind == DocumentKind::AsFound;
    let gone = |old: &&Finding| {
        !is.findings.iter().any(|new| same(old, new)) && (record || !rules.judges_records(&old.rule))
    };
    let changed = is.changed.clone();
    let was = open(&was);
    let cleared: Vec<Finding> = was.iter().filter(gone).cloned().collect();
    let is = open(&is);
    let counts = counts(&was, &is);
    let known = |new: &Finding| was.iter().any(|old| same(old, new) && old.level >= new.level);
    let (still, brought): (Vec<Finding>, Vec<Finding>) = is.into_iter().partition(known);
    let (cleared_by, brought_by) =
        rayon::join(|| heads_since(rules, last, &a, &cleared), || heads_since(rules, first, &b, &brought));
    let of_side = |circuit: &Circuit, window: &Window, solved| {
        let target = same_target(&last.circuit, circuit, window.target)?;
        let value = predicted(circuit, solved, target, window.unit)?;
        Some((value, Mark::of_window(value, window)))
    };
    let stock = b.iter().rev().find(|worked| worked.circuit.kind == DocumentKind::Stock);
    let stock = stock.filter(|stock| !Arc::ptr_eq(stock, last) && stock.circuit.title != first.circuit.title);
    let in_stock = |window: &Window| of_side(&stock?.circuit, window, stock?.solved.idle()?);
    let row = |window: &Window| WindowRow {
        place: place(&last.circuit, window.target),
        unit: window.unit,
        stock: in_stock(window).map(|(value, _)| value),
        window: (window.low, window.high),
        before: first.solved.idle().and_then(|solved| of_side(&first.circuit, window, solved)),
        after: last.solved.idle().and_then(|solved| of_side(&last.circuit, window, solved)),
    };
    let stated = last.circuit.windows.iter().filter(|w| w.condition == "idle" && w.because.is_none());
    let windows = stated.map(row).collect();
    Some(Review {
        step,
        counts,
        brought,
        brought_by,
        cleared,
        cleared_by,
        still,
        changed,
        windows,
        open: open_matters(&b),
        unsolved,
        too_large,
    })
}

/// How many findings of each level there are before and after.
fn counts(was: &[Finding], is: &[Finding]) -> Vec<(Level, usize, usize)> {
    let of = |all: &[Finding], level: Level| all.iter().filter(|f| f.counts() && f.level == level).count();
    Level::ALL.into_iter().map(|level| (level, of(was, level), of(is, level))).collect()
}

fn place(circuit: &Circuit, target: Target) -> String {
    match target {
        Target::Net(net) => circuit.net(net).name.clone(),
        Target::Part(part) => circuit.part(part).name.clone(),
        Target::Leg(leg) => circuit.leg_name(leg),
        Target::Between(a, b) => format!("{} to {}", circuit.net(a).name, circuit.net(b).name),
    }
}

/// A place of one circuit by its name in another.
fn same_target(from: &Circuit, to: &Circuit, target: Target) -> Option<Target> {
    Some(match target {
        Target::Net(net) => Target::Net(to.find_net(&from.net(net).name)?),
        Target::Part(part) => Target::Part(to.find(&from.part(part).name)?),
        Target::Leg(leg) => {
            let part = to.find(&from.part(leg.part).name)?;
            let index = to.part(part).leg_index(&from.part(leg.part).legs[leg.leg as usize].name)?;
            Target::Leg(crate::circuit::LegId { part, leg: index as u32 })
        }
        Target::Between(a, b) => {
            Target::Between(to.find_net(&from.net(a).name)?, to.find_net(&from.net(b).name)?)
        }
    })
}
