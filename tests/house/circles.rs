//! Circles among files and folders.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::tarjan_scc;
use petgraph::graphmap::DiGraphMap;

use super::read::Module;

/// The folder of `src/` that a module is in; a file of the root is a folder of its own.
pub(crate) fn folder(module: &Module) -> &str {
    module.first().map_or("lib", String::as_str)
}

/// Arrows between folders, without those inside one.
pub(crate) fn between_folders(
    arrows: &BTreeMap<Module, BTreeSet<Module>>,
) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (from, all) in arrows.iter().filter(|(from, _)| !from.is_empty()) {
        let known = found.entry(folder(from).to_owned()).or_default();
        known.extend(all.iter().map(|to| folder(to).to_owned()).filter(|to| to != folder(from)));
    }
    found
}

/// Groups in which each knows each other, over whatever steps; in order.
pub(crate) fn circles<T: Ord + Clone>(arrows: &BTreeMap<T, BTreeSet<T>>) -> Vec<Vec<T>> {
    let names: Vec<&T> = arrows.keys().collect();
    let index = |name: &T| names.binary_search(&name).ok();
    let mut graph: DiGraphMap<usize, ()> = DiGraphMap::new();
    for (from, all) in arrows {
        for to in all {
            if let (Some(a), Some(b)) = (index(from), index(to)) {
                graph.add_edge(a, b, ());
            }
        }
    }
    let mut found: Vec<Vec<T>> = Vec::new();
    for mut group in tarjan_scc(&graph).into_iter().filter(|group| group.len() > 1) {
        group.sort_unstable();
        found.push(group.into_iter().map(|i| names[i].clone()).collect());
    }
    found.sort();
    found
}
