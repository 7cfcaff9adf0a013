//! Signal order: which stage comes when, and what it is called.
//!
//! ```text
//! V1a → V1b → V3 (long-tailed pair) → V4, V5; jacks J1 at V1a, J2 at V2a, V2a → V1b:
//! depth     V1a 0, V2a 0, V1b 1, V3 2, output 3: the longest way counts
//! gain      V1a first, V2a first, V1b second; the pair is no gain stage of its own
//! channels  V1a {0}, V2a {1}, V1b {0, 1}: "first stage, channel 1", "first stage, channel 2", "second stage"
//! ```

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::toposort;
use petgraph::graph::{DiGraph, NodeIndex};

use super::recognised::StageKind;
use super::signal::Signal;
use super::work::Work;

/// A stage's place in the order.
#[derive(Debug, Clone, Default)]
pub(super) struct Place {
    /// Stages before it on the longest way.
    pub depth: usize,
    /// Number of the gain stage on the longest way, from 1.
    pub gain: usize,
    /// Channels that lead to it.
    pub channels: BTreeSet<usize>,
    /// An inverter lies before it.
    pub inverted: bool,
}

/// Drafts in signal order, and the place of each draft.
pub(super) fn places(work: &Work, signal: &Signal) -> (Vec<usize>, Vec<Place>) {
    let count = work.drafts.len();
    let mut graph: DiGraph<(), ()> = DiGraph::new();
    for _ in 0..count {
        graph.add_node(());
    }
    for way in &signal.ways {
        graph.update_edge(NodeIndex::new(way.from), NodeIndex::new(way.to), ());
    }
    // Backward ways are gone, so that an order exists; without one, the order of the valves serves.
    let order: Vec<usize> = toposort(&graph, None)
        .map_or_else(|_| (0..count).collect(), |o| o.into_iter().map(NodeIndex::index).collect());
    let mut places = vec![Place::default(); count];
    for (channel, root) in roots(work, signal).into_iter().enumerate() {
        places[root].channels.insert(channel);
    }
    for stage in order {
        let before: BTreeSet<usize> = signal.ways.iter().filter(|w| w.to == stage).map(|w| w.from).collect();
        let mut place = std::mem::take(&mut places[stage]);
        let gains = matches!(work.drafts[stage].kind, StageKind::CommonCathode { .. });
        place.gain = before.iter().map(|b| places[*b].gain).max().unwrap_or(0) + usize::from(gains);
        place.depth = before.iter().map(|b| places[*b].depth + 1).max().unwrap_or(0);
        for stage in before {
            place.channels.extend(places[stage].channels.iter().copied());
            place.inverted |= places[stage].inverted
                || matches!(work.drafts[stage].kind, StageKind::LongTailedPair | StageKind::SplitLoad);
        }
        places[stage] = place;
    }
    let mut sorted: Vec<usize> = (0..count).collect();
    let late = |d: &usize| work.drafts[*d].kind.is_output();
    // Output stages last, however few stages lead to them: a booster's own output is not before the others' first
    // stage.
    sorted.sort_by_key(|d| {
        (
            late(d),
            places[*d].depth,
            places[*d].channels.iter().next().copied(),
            work.drafts[*d].valves.clone(),
        )
    });
    (sorted, places)
}

/// Stages that none precedes: those with an input jack first, by their jacks.
fn roots(work: &Work, signal: &Signal) -> Vec<usize> {
    let entered: BTreeSet<usize> = signal.ways.iter().map(|w| w.to).collect();
    let mut roots: Vec<usize> = (0..work.drafts.len())
        .filter(|d| !entered.contains(d) && !work.drafts[*d].kind.is_output())
        .collect();
    let jack = |d: &usize| signal.jacks.get(d).and_then(|j| j.first());
    // A root without a jack (an oscillator, a reverb's recovery) must not shift the numbers of the channels.
    roots.sort_by_key(|d| (jack(d).is_none(), jack(d).copied(), *d));
    roots
}

/// The trade's names, each once.
pub(super) fn names(work: &Work, signal: &Signal, places: &[Place]) -> Vec<String> {
    let channels = roots(work, signal).len();
    let mut names: Vec<String> = Vec::new();
    for (draft, place) in work.drafts.iter().zip(places) {
        names.push(match draft.kind {
            StageKind::CommonCathode { .. } if place.inverted => "driver stage".to_owned(),
            StageKind::CommonCathode { .. } => match place.channels.iter().next() {
                Some(channel) if channels > 1 && place.channels.len() == 1 => {
                    format!("{} stage, channel {}", ordinal(place.gain), channel + 1)
                }
                _ => format!("{} stage", ordinal(place.gain)),
            },
            StageKind::CathodeFollower { .. } => "cathode follower".to_owned(),
            StageKind::LongTailedPair | StageKind::SplitLoad => "phase inverter".to_owned(),
            StageKind::ReverbDriver => "reverb driver".to_owned(),
            StageKind::SingleEndedOutput { .. } | StageKind::PushPullOutput { .. } => {
                "output stage".to_owned()
            }
        });
    }
    let mut times: BTreeMap<String, usize> = BTreeMap::new();
    for name in &names {
        *times.entry(name.clone()).or_default() += 1;
    }
    for (name, draft) in names.iter_mut().zip(&work.drafts) {
        if times[name] > 1 {
            let section = draft.valves.first().map(|v| &work.valves[*v].section);
            let valve = section.map(|s| format!("{}{}", work.circuit().part(s.tube).name, s.letter));
            *name = format!("{name} ({})", valve.unwrap_or_default());
        }
    }
    names
}

fn ordinal(number: usize) -> String {
    const WORDS: [&str; 8] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
    match number.checked_sub(1).and_then(|n| WORDS.get(n)) {
        Some(word) => (*word).to_owned(),
        None => format!("{number}th"),
    }
}
