//! How two circuits were laid over each other.

use super::head::counted;
use super::page::Page;
use crate::change::Change;
use crate::change::alike::{Alike, Equal};
use crate::render::text::style::{FAINT, PLAIN};

/// What matching found beside the differences: how many parts correspond, whether a shorter list is possible, what is
/// told otherwise and is the same, and what could be taken either way.
pub fn matched(page: &mut Page, alike: &Alike, changes: &[Change]) {
    page.heading("Matched by circuit");
    let otherwise = alike.names.iter().filter(|(a, b)| a != b).count();
    let known = counted(alike.names.len(), "part");
    page.item(2, "-", PLAIN, &format!("{known} in both, {otherwise} under another name"));
    let cost = alike.cost(changes);
    if cost > 0 {
        let least = alike.least.min(cost);
        let proof =
            if least == cost { "none is shorter".into() } else { format!("none is shorter than {least}") };
        page.item(2, "-", PLAIN, &format!("the list of differences weighs {cost}; {proof}"));
    }
    for equal in &alike.equal {
        page.item(2, "-", PLAIN, &same(equal));
    }
    if !alike.interchangeable.is_empty() {
        let sets: Vec<String> = alike.interchangeable.iter().map(|set| set.join(" or ")).collect();
        let count = counted(sets.len(), "interchangeable group");
        page.item(2, "-", FAINT, &format!("{count}, taken in order of names: {}", sets.join("; ")));
    }
}

/// `R9 ≙ R101 and R102: 4k9 in series, within its tolerance`.
fn same(equal: &Equal) -> String {
    let (first, second) = (equal.first.join(" and "), equal.second.join(" and "));
    let names = match (first.as_str(), second.as_str()) {
        ("", one) | (one, "") => one.to_owned(),
        (first, second) => format!("{first} ≙ {second}"),
    };
    format!("the same, told otherwise: {names}: {}", equal.why)
}
