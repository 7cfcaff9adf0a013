//! Two records of one job put together: by what each statement is about, not by lines.
//!
//! What only one of the two changed is taken from it; what both say alike is said once; where they say different things of
//! one part or place, that is a conflict, which stands in the text with both, between marks. Every statement and every
//! comment of either is decided for itself; the lines as both have them only tell where it goes. So what is decided to
//! stay is never lost, and a side that changed nothing leaves the other exactly as it is.
//!
//! ```text
//! base `R4 100k`, `C1 22n`; ours `R4 120k`, `C1 22n`; theirs `R4 100k`, `C1 22n`, `R9 1M`
//! R4      only ours differs from the base: taken from ours
//! C1      both as the base: said once
//! R9      only theirs has it: taken, at its place behind C1
//! had theirs `R4 110k`, R4 would stand twice, between marks: the one thing that is not decided here
//! ```

mod facts;
mod sequence;

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use crate::syntax::conflict::{APART, BEGINS, ENDS};
use crate::syntax::print::{comment, joined};
use crate::syntax::tree::Document;
use facts::{Fact, Item, Remark, items};
use sequence::{Placed, sequence};

/// What the two differ over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The part, place or matter.
    pub about: String,
    /// What the first says of it and the second doesn't; nothing where it has no word.
    pub ours: Vec<String>,
    /// What the second says.
    pub theirs: Vec<String>,
}

/// The two put together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// The text; what is in conflict stands between marks, which no command takes for a record.
    pub text: String,
    /// Conflicts, in the order of their subjects.
    pub conflicts: Vec<Conflict>,
}

/// How often something is said.
type Counts<T> = BTreeMap<T, usize>;

/// Merges two records that grew out of one.
pub fn merge(base: &Document, ours: &Document, theirs: &Document) -> Merged {
    let all = [base, ours, theirs].map(items);
    let (facts, conflicts) = facts_to_say(&all);
    let laying = Laying {
        sides: [&all[1], &all[2]],
        saying: [saying(&all[1]), saying(&all[2])],
        facts,
        remarks: remarks_to_say(&all),
        told: BTreeSet::new(),
    };
    let text = laying.text(&sequence(&all), &conflicts);
    Merged { text, conflicts }
}

/// Which facts the result says, and what it can't decide.
fn facts_to_say(all: &[Vec<Item>; 3]) -> (Counts<Fact>, Vec<Conflict>) {
    let [was, first, second] = all.each_ref().map(|items| by_matter(items));
    let none = Counts::new();
    let matters: BTreeSet<&String> = was.keys().chain(first.keys()).chain(second.keys()).collect();
    let (mut kept, mut conflicts) = (Counts::new(), Vec::new());
    for about in matters {
        let [a, x, y] = [&was, &first, &second].map(|said| said.get(about).unwrap_or(&none));
        let only = |one: &Counts<String>, other: &Counts<String>| -> Vec<String> {
            one.keys().filter(|words| !other.contains_key(*words)).cloned().collect()
        };
        // Three ways (as any merge of three texts): who stands where the base was has nothing to say.
        let says = if x == y || a == y {
            x.clone()
        } else if a == x {
            y.clone()
        } else {
            let (ours, theirs) = (only(x, y), only(y, x));
            if !(ours.is_empty() && theirs.is_empty()) {
                conflicts.push(Conflict { about: about.clone(), ours, theirs });
            }
            // What both say of a matter stands, though they disagree on the rest of it.
            let both = x.iter().filter_map(|(words, n)| Some((words.clone(), *n.max(y.get(words)?))));
            both.collect()
        };
        kept.extend(says.into_iter().map(|(words, n)| (Fact { about: about.clone(), words }, n)));
    }
    (kept, conflicts)
}

/// What is said by what it is about.
fn by_matter(items: &[Item]) -> BTreeMap<String, Counts<String>> {
    let mut said: BTreeMap<String, Counts<String>> = BTreeMap::new();
    for fact in items.iter().flat_map(|item| &item.facts) {
        *said.entry(fact.about.clone()).or_default().entry(fact.words.clone()).or_default() += 1;
    }
    said
}

/// The items that say some words.
fn saying<'a>(items: &'a [Item]) -> BTreeMap<&'a str, Vec<usize>> {
    let mut saying: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, item) in items.iter().enumerate() {
        for fact in &item.facts {
            saying.entry(&fact.words).or_default().push(at);
        }
    }
    saying
}

/// Which comments the result has, and how often: no two of them are ever in each other's way.
fn remarks_to_say(all: &[Vec<Item>; 3]) -> Counts<Remark> {
    let [was, first, second] = all.each_ref().map(|items| {
        let mut counts: Counts<&Remark> = Counts::new();
        for remark in items.iter().filter_map(|item| item.remark.as_ref()) {
            *counts.entry(remark).or_default() += 1;
        }
        counts
    });
    let remarks: BTreeSet<&Remark> = first.keys().chain(second.keys()).copied().collect();
    let count = |of: &Counts<&Remark>, remark: &Remark| of.get(remark).copied().unwrap_or(0);
    let said = |remark: &Remark| {
        let [a, x, y] = [&was, &first, &second].map(|of| count(of, remark));
        // Both added it, or both struck one out: once. Else each side's steps from the base, one after the other.
        match (x.cmp(&a), y.cmp(&a)) {
            (Ordering::Greater, Ordering::Greater) => x.max(y),
            (Ordering::Less, Ordering::Less) => x.min(y),
            // Never negative: where one side struck some out the other has at least as many as the base.
            _ => x + y - a,
        }
    };
    remarks.into_iter().map(|remark| (remark.clone(), said(remark))).collect()
}

/// The result on its way: what is still to be said.
struct Laying<'a> {
    sides: [&'a [Item<'a>]; 2],
    /// Where each side says some words.
    saying: [BTreeMap<&'a str, Vec<usize>>; 2],
    facts: Counts<Fact>,
    remarks: Counts<Remark>,
    /// Conflicts that stand in the text.
    told: BTreeSet<&'a str>,
}

impl<'a> Laying<'a> {
    fn text(mut self, sequence: &[Placed], conflicts: &'a [Conflict]) -> String {
        let by_about: BTreeMap<&str, &Conflict> =
            conflicts.iter().map(|conflict| (conflict.about.as_str(), conflict)).collect();
        let mut lines = Vec::new();
        for placed in sequence {
            let abouts: BTreeSet<&str> = placed.item.facts.iter().map(|fact| fact.about.as_str()).collect();
            for conflict in abouts.iter().filter_map(|about| by_about.get(about)) {
                if conflict.holds(placed.item) {
                    self.conflict(conflict, &mut lines);
                }
            }
            self.line(placed, &mut lines);
        }
        for conflict in conflicts {
            self.conflict(conflict, &mut lines);
        }
        // What no line of the sequence had a place for.
        let facts = std::mem::take(&mut self.facts);
        lines.extend(facts.into_iter().flat_map(|(fact, n)| std::iter::repeat_n(fact.words, n)));
        let remarks = std::mem::take(&mut self.remarks);
        lines.extend(remarks.iter().flat_map(|(remark, n)| std::iter::repeat_n(comment(&remark.text), *n)));
        joined(lines)
    }

    /// What is still to be said of a line; a comment that the other side put after the same statement goes there too.
    fn line(&mut self, &Placed { item, across }: &Placed, lines: &mut Vec<String>) {
        let kept: Vec<bool> = item.facts.iter().map(|fact| take(&mut self.facts, fact)).collect();
        let own = item.remark.as_ref().filter(|remark| take(&mut self.remarks, remark));
        let statement = item.saying(&kept);
        let mut remarks: Vec<&Remark> = own.into_iter().collect();
        if statement.is_some() {
            let same = across.iter().filter(|other| other.facts == item.facts);
            remarks.extend(
                same.filter_map(|other| other.remark.as_ref())
                    .filter(|remark| take(&mut self.remarks, remark)),
            );
        } else if item.is_blank() {
            lines.push(String::new());
        }
        // One comment fits behind a statement; further ones get a line of their own right after it.
        let first = statement.is_some().then(|| remarks.first().copied()).flatten();
        let (after, rest) = remarks.split_at(usize::from(first.is_some()));
        lines.extend(statement.map(|words| with(words, after.first().copied())));
        lines.extend(rest.iter().map(|remark| comment(&remark.text)));
    }

    /// Both sides' words between marks, once, each with the comment after it.
    fn conflict(&mut self, conflict: &'a Conflict, lines: &mut Vec<String>) {
        let Conflict { about, ours, theirs } = conflict;
        if !self.told.insert(about) {
            return;
        }
        lines.push(format!("{BEGINS} ours: {about}"));
        self.side(0, ours, lines);
        lines.push(APART.to_owned());
        self.side(1, theirs, lines);
        lines.push(format!("{ENDS} theirs: {about}"));
    }

    fn side(&mut self, side: usize, words: &[String], lines: &mut Vec<String>) {
        let said = words.iter().filter_map(|words| self.saying[side].get(words.as_str())).flatten();
        let items: BTreeSet<usize> = said.copied().collect();
        for item in items.into_iter().map(|at| &self.sides[side][at]) {
            let mut remark = item.remark.as_ref();
            for fact in item.facts.iter().filter(|fact| words.contains(&fact.words)) {
                if let Some(remark) = remark {
                    take(&mut self.remarks, remark);
                }
                lines.push(with(fact.words.clone(), remark.take()));
            }
        }
    }
}

impl Conflict {
    fn holds(&self, item: &Item) -> bool {
        let said = |fact: &Fact| self.ours.contains(&fact.words) || self.theirs.contains(&fact.words);
        item.facts.iter().any(|fact| fact.about == self.about && said(fact))
    }
}

/// A statement with the comment after it.
fn with(words: String, remark: Option<&Remark>) -> String {
    match remark {
        Some(remark) => format!("{words}  {}", comment(&remark.text)),
        None => words,
    }
}

/// Takes one of what is still to be said, if there is one.
fn take<T: Ord>(counts: &mut Counts<T>, of: &T) -> bool {
    match counts.get_mut(of) {
        Some(left) if *left > 0 => {
            *left -= 1;
            true
        }
        _ => false,
    }
}
