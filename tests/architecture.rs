//! What the folders of `src/` know of each other is what DEVELOPERS.md draws.

#[path = "house/circles.rs"]
mod circles;
#[path = "house/figures.rs"]
#[allow(dead_code, reason = "the example prints the figures")]
mod figures;
#[path = "house/read.rs"]
#[allow(dead_code, reason = "as above")]
mod read;
#[path = "house/uses.rs"]
mod uses;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

/// Circles of files that still stand: this number may only fall.
const CIRCLES_OF_FILES: usize = 8;

fn between() -> BTreeMap<String, BTreeSet<String>> {
    circles::between_folders(&uses::arrows(&read::modules()))
}

/// The block under "The arrows" holds a line a folder: its name, then those that it knows.
#[test]
fn the_arrows_are_those_of_the_drawing() {
    let developers =
        fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md")).expect("it is there");
    let block = developers.split("### The arrows").nth(1).and_then(|rest| rest.split("```").nth(1));
    let drawn = block.expect("a block of arrows").trim_start_matches("text").trim();
    let line = |(from, to): (&String, &BTreeSet<String>)| {
        let to: Vec<&str> = to.iter().map(String::as_str).collect();
        format!("{from:9} {}", to.join(" ")).trim_end().to_owned()
    };
    let found: Vec<String> = between().iter().map(line).collect();
    assert_eq!(drawn, found.join("\n"));
}

#[test]
fn no_folders_know_each_other_in_a_circle() {
    let found = circles::circles(&between());
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn circles_of_files_only_grow_fewer() {
    let found = circles::circles(&uses::arrows(&read::modules()));
    assert!(found.len() <= CIRCLES_OF_FILES, "{found:?}");
}

/// Files, the terminal, the clock and the environment are `cli`'s alone; `rules` never sees the tree.
#[test]
fn what_only_some_may_know() {
    const OUTSIDE: [&str; 6] = ["std::fs", "std::env", "std::process", "std::time", "std::net", "std::io"];
    for (module, file) in read::modules() {
        let folder = circles::folder(&module);
        let told = |word: &str| format!("{} knows {word}", module.join("/"));
        let text = file.code;
        for word in OUTSIDE.iter().filter(|_| !matches!(folder, "cli" | "main" | "lib")) {
            assert!(!text.contains(word), "{}", told(word));
        }
        if folder == "rules" {
            assert!(!text.contains("syntax::tree"), "{}", told("the tree"));
        }
    }
}
