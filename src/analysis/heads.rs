//! Which change brings which finding, proved by taking the change out and asking the finding's rule again.
//!
//! ```text
//! record   F1 3.15 A, C14 leaks, R41 missing          findings: F1 too large; V5 over its maximum; C41 overvolted
//! without F1   V5 over its maximum; C41 overvolted    so F1 brings the first
//! without C14  F1 too large; C41 overvolted           so C14 brings the second
//! without all  none                                   so none is in the stock circuit too
//! ```
//!
//! A finding stands under one head. Where none of the changes clears it alone, they are taken out together, those first
//! that move its figure most, until it clears; what isn't needed for that is put back.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;

use super::Worked;
use super::undone::undone;
use crate::change::{Change, Comparison, Undo, bundled, compare, turned};
use crate::rules::{Again, Basis, Facts, Finding, RuleSet, Severity, ask_again};

/// Parts judged anew, over all changes taken out: beyond, all changes are one head. A bench's record takes a twentieth.
const MOST_WORK: usize = 60_000;

/// What a person acts on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Root {
    /// Changes against the stock spec that are one to the amplifier, or that bring a finding only together: indices into
    /// the comparison's.
    Changes(Vec<usize>),
    /// Readings that nothing on record explains.
    Readings,
    /// Parts that nobody has looked at.
    Unseen,
    /// The design: the stock circuit has it too.
    Stock,
    /// One part or place by itself: of a document that rests on no stock spec, or where no circuit could be asked.
    Subject(String),
}

impl Root {
    /// Its changes; none where it is something else.
    pub fn changes(&self) -> &[usize] {
        if let Root::Changes(changes) = self { changes } else { &[] }
    }

    /// In JSON.
    pub fn word(&self) -> &'static str {
        match self {
            Root::Changes(_) => "changes",
            Root::Readings => "readings",
            Root::Unseen => "not-looked-at",
            Root::Stock => "in-stock-too",
            Root::Subject(_) => "subject",
        }
    }
}

/// A finding under its head.
#[derive(Debug, Clone, PartialEq)]
pub struct Under {
    /// Index into the verdicts' findings.
    pub finding: usize,
    /// Further changes, each of which clears it alone as well.
    pub also: Vec<usize>,
    /// Further changes that have to go with the head's before it clears: each brings it too.
    pub either: Vec<usize>,
}

/// One cause with all that it brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// What to act on.
    pub root: Root,
    /// What stands under it, the worst first.
    pub findings: Vec<Under>,
}

/// All heads of an audit, and the comparison with the stock spec that their changes are of.
#[derive(Debug)]
pub struct Heads {
    /// Against the nearest stock spec; `None` of a stock spec.
    pub comparison: Option<Comparison>,
    /// Its changes in bundles that are one to the amplifier.
    pub bundles: Vec<Vec<usize>>,
    /// The worst first.
    pub heads: Vec<Head>,
    /// Operating points that were worked out to prove them.
    pub solved: usize,
}

/// Puts every finding under its head. `worked` is the stack, its last the judged one; `stock` the depth of its stock spec.
pub fn heads(rules: &RuleSet, worked: &[Arc<Worked>], stock: Option<usize>, findings: &[Finding]) -> Heads {
    if let Some(stock) = stock {
        return heads_since(rules, &worked[stock], worked, findings);
    }
    let of = |(finding, found): (usize, &Finding)| {
        let under = Under { finding, also: Vec::new(), either: Vec::new() };
        (Root::Subject(found.subject().to_owned()), under)
    };
    let placed = findings.iter().enumerate().map(of).collect();
    Heads { heads: ordered(placed, findings), ..Heads::none() }
}

/// The same by the changes from any amplifier to the last of a stack: with a plan's in its place, what the plan clears is
/// put under the steps that clear it.
pub fn heads_since(rules: &RuleSet, earlier: &Worked, worked: &[Arc<Worked>], findings: &[Finding]) -> Heads {
    let (Some(later), Some(facts)) = (worked.last(), Facts::of_stack(rules, worked)) else {
        return Heads::none();
    };
    let comparison = compare(earlier.side(), later.side());
    let nets = turned(&comparison);
    let bundles = bundled(&comparison, &earlier.circuit, &later.circuit);
    let every = || vec![bundles.concat()];
    let too_much = bundles.len() * later.circuit.parts.len() > MOST_WORK;
    let proof = Proof {
        rules,
        facts: &facts,
        undo: Undo::new(&comparison, &earlier.circuit, &later.circuit, &nets),
        bundles: if too_much { every() } else { bundles.clone() },
        findings,
        comparison: &comparison,
    };
    let (placed, solved) = proof.placed();
    Heads { heads: ordered(placed, findings), bundles, comparison: Some(comparison), solved }
}

impl Heads {
    /// The changes of some indices.
    pub fn changes(&self, of: &[usize]) -> impl Iterator<Item = &Change> {
        let all = self.comparison.as_ref().map_or(&[][..], |comparison| &comparison.changes);
        of.iter().map(|index| &all[*index])
    }

    fn none() -> Heads {
        Heads { comparison: None, bundles: Vec::new(), heads: Vec::new(), solved: 0 }
    }
}

/// What each finding comes to without some bundles.
type Answers = BTreeMap<usize, Again>;

struct Proof<'a> {
    rules: &'a RuleSet,
    facts: &'a Facts,
    undo: Undo<'a>,
    bundles: Vec<Vec<usize>>,
    findings: &'a [Finding],
    comparison: &'a Comparison,
}

impl Proof<'_> {
    /// Every finding with its cause, and how many operating points that took.
    fn placed(&self) -> (Vec<(Root, Under)>, usize) {
        let asked: BTreeSet<usize> = (0..self.findings.len()).filter(|at| self.is_asked(*at)).collect();
        let every: Vec<usize> = (0..self.bundles.len()).collect();
        let ((none, in_none), (all, in_all)) =
            rayon::join(|| self.answers(&[], &asked), || self.answers(&every, &asked));
        // What no change brings needs no change of it.
        let brought = |at: &usize| all[at].clears(&self.findings[*at], none[at]);
        let brought: BTreeSet<usize> = asked.iter().copied().filter(brought).collect();
        let (single, counts): (Vec<Answers>, Vec<usize>) =
            every.par_iter().map(|bundle| self.answers(&[*bundle], &brought)).unzip();
        let mut solved = in_none + in_all + counts.iter().sum::<usize>();
        let mut placed = Vec::new();
        for (at, finding) in self.findings.iter().enumerate() {
            let under = Under { finding: at, also: Vec::new(), either: Vec::new() };
            placed.push(if !asked.contains(&at) {
                (Root::Subject(finding.subject().to_owned()), under)
            } else if !brought.contains(&at) {
                (self.without_change(finding, none[&at]), under)
            } else {
                let mut order = every.clone();
                let moved = |b: usize| moved(none[&at], single[b][&at]);
                order.sort_by(|x, y| moved(*y).total_cmp(&moved(*x)).then(x.cmp(y)));
                let alone: Vec<usize> =
                    order.iter().copied().filter(|b| single[*b][&at].clears(finding, none[&at])).collect();
                let (head, more) = self.head(under, none[&at], (&order, &alone));
                solved += more;
                head
            });
        }
        self.told_of_others(&mut placed);
        (placed, solved)
    }

    /// What is found of another finding stands with that, where it is on the page.
    fn told_of_others(&self, placed: &mut [(Root, Under)]) {
        for at in (0..placed.len()).filter(|at| !self.is_asked(*at)) {
            let same = |other: &usize| {
                self.is_asked(*other) && self.findings[*other].subject() == self.findings[at].subject()
            };
            if let Some(other) = (0..placed.len()).find(same) {
                placed[at].0 = placed[other].0.clone();
            }
        }
    }

    /// The head of a finding that the changes bring: bundles by how much they move its figure, and those that clear it alone;
    /// and how many more operating points that took.
    fn head(
        &self,
        under: Under,
        there: Again,
        (order, alone): (&[usize], &[usize]),
    ) -> ((Root, Under), usize) {
        let named = self.named(&self.findings[under.finding], alone);
        if let Some(first) = named.or(alone.first().copied()) {
            let others = alone.iter().filter(|bundle| **bundle != first);
            let also = others.flat_map(|bundle| self.bundles[*bundle].clone()).collect();
            return ((Root::Changes(self.bundles[first].clone()), Under { also, ..under }), 0);
        }
        let (needed, more) = self.needed(under.finding, there, order);
        (self.together(under.finding, there, &needed), more)
    }

    /// Whether a finding is asked again: not of findings.
    fn is_asked(&self, at: usize) -> bool {
        self.rules.rule(&self.findings[at].rule).is_some_and(|rule| !rule.judges_findings())
    }

    /// The cause of a finding that stands with every change taken out: the design, where the stock spec has it by itself;
    /// else what was read, or not looked at. Where neither is it, the other circuit could not be told: it stands by itself.
    fn without_change(&self, finding: &Finding, there: Again) -> Root {
        let Some(stock) = self.facts.stock.clone() else { return Root::Stock };
        let facts = Facts::of_stack(self.rules, &[stock]).expect("a stack of one");
        match self.rules.rule(&finding.rule) {
            Some(rule) if !ask_again(rule, &facts, &[finding])[0].clears(finding, there) => Root::Stock,
            Some(rule) if rule.judges_records() && !rule.judges_readings() => Root::Unseen,
            Some(rule) if rule.judges_readings() || rests_on_a_reading(finding) => Root::Readings,
            _ => Root::Subject(finding.subject().to_owned()),
        }
    }

    /// Of the bundles that clear a finding alone the one that it is about.
    fn named(&self, finding: &Finding, alone: &[usize]) -> Option<usize> {
        let parts: Vec<&str> =
            finding.parts.iter().map(|id| self.facts.now.circuit.part(*id).name.as_str()).collect();
        let about = |bundle: &&usize| {
            self.bundles[**bundle].iter().any(|change| {
                let subject = self.comparison.changes[*change].subject.as_str();
                finding.subjects.iter().any(|name| name == subject) || parts.contains(&subject)
            })
        };
        alone.iter().find(about).copied()
    }

    /// The fewest of the bundles, taken in an order, without which a finding clears.
    fn needed(&self, at: usize, there: Again, order: &[usize]) -> (Vec<usize>, usize) {
        let asked = BTreeSet::from([at]);
        let mut solved = 0;
        let mut clears = |set: &[usize]| {
            let (answers, count) = self.answers(set, &asked);
            solved += count;
            answers[&at].clears(&self.findings[at], there)
        };
        // Halving finds where the first of them are enough: with more taken out it stays clear.
        let (mut short, mut enough) = (0, order.len());
        while enough - short > 1 {
            let middle = usize::midpoint(short, enough);
            if clears(&order[..middle]) {
                enough = middle;
            } else {
                short = middle;
            }
        }
        let mut out = order[..enough].to_vec();
        let mut at = 0;
        while at < out.len() {
            let mut fewer = out.clone();
            fewer.remove(at);
            if clears(&fewer) {
                out = fewer;
            } else {
                at += 1;
            }
        }
        (out, solved)
    }

    /// Bundles that all have to go: where one of them brings the finding alone, it stands under that one and the others
    /// are named; else under all of them.
    fn together(&self, at: usize, there: Again, needed: &[usize]) -> (Root, Under) {
        let asked = BTreeSet::from([at]);
        let others = |kept: usize| (0..self.bundles.len()).filter(|b| *b != kept).collect::<Vec<_>>();
        let brings =
            |bundle: &usize| !self.answers(&others(*bundle), &asked).0[&at].clears(&self.findings[at], there);
        let changes = |of: &mut dyn Iterator<Item = &usize>| -> Vec<usize> {
            of.flat_map(|bundle| self.bundles[*bundle].clone()).collect()
        };
        let under = |either| Under { finding: at, also: Vec::new(), either };
        if let Some(first) = needed.iter().find(|bundle| brings(bundle)) {
            let either = changes(&mut needed.iter().filter(|bundle| *bundle != first));
            return (Root::Changes(self.bundles[*first].clone()), under(either));
        }
        let mut all = changes(&mut needed.iter());
        all.sort_unstable();
        (Root::Changes(all), under(Vec::new()))
    }

    /// What the asked findings come to without some of the bundles, and how many operating points that took.
    fn answers(&self, out: &[usize], asked: &BTreeSet<usize>) -> (Answers, usize) {
        let changes: Vec<usize> = out.iter().flat_map(|bundle| self.bundles[*bundle].clone()).collect();
        let circuit = self.undo.without(&changes);
        let now = Arc::new(undone(&self.facts.now, circuit));
        let solved = now.solved.every().count();
        let differences = self.facts.stock.as_ref().map(|stock| compare(stock.side(), now.side()).changes);
        let changes = self.facts.before.as_ref().map(|before| compare(before.side(), now.side()).changes);
        let facts = Facts {
            now,
            differences: differences.unwrap_or_default(),
            changes: changes.unwrap_or_default(),
            ..self.facts.clone()
        };
        let mut by_rule: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for at in asked {
            by_rule.entry(&self.findings[*at].rule).or_default().push(*at);
        }
        let ask = |(name, places): (&str, Vec<usize>)| {
            let rule = self.rules.rule(name).expect("a finding is of a rule in use");
            let findings: Vec<&Finding> = places.iter().map(|at| &self.findings[*at]).collect();
            let answers = ask_again(rule, &facts, &findings);
            places.into_iter().zip(answers).collect::<Vec<_>>()
        };
        (by_rule.into_iter().flat_map(ask).collect(), solved)
    }
}

fn rests_on_a_reading(finding: &Finding) -> bool {
    finding.values.iter().any(|value| value.basis == Basis::Measured)
}

/// How far a bundle moves a figure; what makes it unknown moves it most.
fn moved(with: Again, without: Again) -> f64 {
    match (with.figure, without.figure) {
        (Some(with), Some(without)) => (with - without).abs(),
        _ => f64::INFINITY,
    }
}

/// Findings gathered under their causes, the worst first, what the design has after what was done to it; what nobody has
/// looked at comes last.
fn ordered(placed: Vec<(Root, Under)>, findings: &[Finding]) -> Vec<Head> {
    let mut by_root: BTreeMap<Root, Vec<Under>> = BTreeMap::new();
    for (root, under) in placed {
        by_root.entry(root).or_default().push(under);
    }
    let mut heads: Vec<Head> = by_root.into_iter().map(|(root, findings)| Head { root, findings }).collect();
    for head in &mut heads {
        head.findings.sort_by_key(|under| under.finding);
    }
    heads.sort_by(|a, b| {
        let looked_at = |head: &Head| head.root != Root::Unseen;
        let rank = |head: &Head| {
            (looked_at(head), head.worst(findings), head.root != Root::Stock, head.findings.len())
        };
        rank(b).cmp(&rank(a)).then_with(|| a.root.cmp(&b.root))
    });
    heads
}

impl Head {
    /// The worst that stands under it and counts; `None` where all is set aside.
    pub fn worst(&self, findings: &[Finding]) -> Option<Severity> {
        let counted = self.findings.iter().map(|under| &findings[under.finding]).filter(|f| f.counts());
        counted.map(Finding::severity).max()
    }
}
