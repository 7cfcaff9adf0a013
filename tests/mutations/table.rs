//! The table of rates, and the list of what was missed.

use std::collections::BTreeMap;

use asfound::rules::Level;

use super::bench::{Class, Judged};

/// How many of how many.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Rate {
    pub(super) of: usize,
    /// Warning or danger, with the stock spec beneath and without it.
    pub(super) warned: [usize; 2],
    /// Caution or more.
    pub(super) cautioned: [usize; 2],
}

/// Adds up.
pub(super) fn rate<'a>(judged: impl Iterator<Item = &'a Judged>) -> Rate {
    judged.fold(Rate::default(), |mut rate, j| {
        rate.of += 1;
        for way in 0..2 {
            rate.warned[way] += usize::from(j.level[way] >= Some(Level::Warning));
            rate.cautioned[way] += usize::from(j.level[way] >= Some(Level::Caution));
        }
        rate
    })
}

/// The table by kind of mutation and class, then by amplifier, then the misses.
pub(super) fn print(judged: &[(&str, Vec<Judged>)]) {
    println!("{:20} {:>9} {:>6} {:>15} {:>15}", "", "class", "of", "warning+", "caution+");
    let all: Vec<&Judged> = judged.iter().flat_map(|(_, all)| all).collect();
    let mut by_kind: BTreeMap<(&str, Class), Vec<&Judged>> = BTreeMap::new();
    for j in &all {
        by_kind.entry((j.mutation.kind, j.class)).or_default().push(j);
    }
    for ((kind, class), of) in &by_kind {
        row(kind, *class, rate(of.iter().copied()));
    }
    for (name, of) in
        judged.iter().map(|(name, of)| (*name, of.iter().collect())).chain([("all", all.clone())])
    {
        for class in [Class::Hazard, Class::Sound, Class::Way, Class::Neither, Class::Unsolved] {
            row(name, class, rate(of.iter().copied().filter(|j| j.class == class)));
        }
    }
    for (name, of) in judged {
        for j in of.iter().filter(|j| missed(j)) {
            println!("missed: {name}: {}", j.line());
        }
    }
}

fn row(name: &str, class: Class, rate: Rate) {
    let both = |counts: [usize; 2]| format!("{:>6} ({:>4})", counts[0], counts[1]);
    println!(
        "{name:20} {:>9} {:>6} {:>15} {:>15}",
        format!("{class:?}"),
        rate.of,
        both(rate.warned),
        both(rate.cautioned)
    );
}

/// A hazard without a warning, a change of sound without a caution.
pub(super) fn missed(j: &Judged) -> bool {
    match j.class {
        Class::Hazard => j.level[0] < Some(Level::Warning),
        Class::Sound | Class::Way => j.level[0] < Some(Level::Caution),
        Class::Neither | Class::Unsolved => false,
    }
}
