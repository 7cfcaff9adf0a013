//! Two circuits that have nothing in common but what they are: which part of one is which of the other.
mod anchor;
mod colour;
mod cost;
mod equal;
mod loose;
mod mend;
mod mix;
mod pairing;
mod rename;
mod search;
mod sketch;
mod wires;

use crate::circuit::draft::Draft;
use crate::circuit::{Circuit, PartId};

pub use cost::{cost, total};
pub use equal::Equal;
pub use rename::SECOND;

/// Two circuits laid over each other.
#[derive(Debug)]
pub struct Alike {
    /// The first circuit.
    pub before: Circuit,
    /// The second, in the first one's names.
    pub after: Circuit,
    /// Parts by their names in both.
    pub names: Vec<(String, String)>,
    /// What is told otherwise and is the same.
    pub equal: Vec<Equal>,
    /// Sets of parts of the first circuit that could be taken in another way as well.
    pub interchangeable: Vec<Vec<String>>,
}

/// Lays two complete circuits over each other by what they are, not by what their parts are called.
pub fn alike(before: &Circuit, after: &Circuit) -> Alike {
    let first = before.redrawn(Draft::of(before));
    let (a, b) = (sketch::sketch(&first), sketch::sketch(after));
    let two = pairing::Two { a: &a, b: &b };
    let found = search::search(two);
    let mut same = rename::same(two, &found.pairing, &first, after);
    let (mut one, mut other) = (Draft::of(&first), Draft::of(after));
    let equal = wires::level_wires(two, &found.pairing, (&mut one, &mut other), &mut same);
    rename::rename(&first, &mut other, &same);
    let (levelled, second) = (first.redrawn(one), after.redrawn(other));
    let name = |part: &u32| first.part(a.parts[*part as usize].id).name.clone();
    let mut names: Vec<(PartId, PartId)> = same.parts.iter().map(|(b, a)| (*a, *b)).collect();
    names.sort();
    let names = names.into_iter().map(|(x, y)| (first.part(x).name.clone(), after.part(y).name.clone()));
    Alike {
        names: names.collect(),
        interchangeable: found.equals.iter().map(|set| set.iter().map(name).collect()).collect(),
        before: levelled,
        after: second,
        equal,
    }
}
