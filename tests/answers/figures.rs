//! Figures only: no page and no JSON says that something is infinite or no number.

use std::fs;
use std::path::Path;
use std::process::Command;

use rayon::prelude::*;

use super::faults::{Fault, faults};
use super::{AMPLIFIERS, example};
use crate::support::built;

/// One fault in so many is asked, all of them where `ASFOUND_FAULTS` is set; a prime, so that every kind comes by.
const STRIDE: usize = 307;

/// Every command that reads one document.
const COMMANDS: [&str; 8] = ["audit", "diff", "lint", "review", "volts", "supply", "response", "roles"];

#[test]
fn no_page_has_a_figure_that_is_none() {
    let stride = if std::env::var_os("ASFOUND_FAULTS").is_some() { 1 } else { STRIDE };
    let folder = tempfile::tempdir().expect("a folder");
    for name in AMPLIFIERS {
        fs::write(folder.path().join(format!("{name}.amp")), example(name)).expect("written");
        let stock = built(&[("stock.amp", &example(name))]).remove(0);
        let all = faults(&stock).into_iter().enumerate().step_by(stride);
        let wrong: Vec<String> =
            all.par_bridge().flat_map_iter(|(at, fault)| wrong(folder.path(), name, at, &fault)).collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
}

/// What is said of a fault that is no figure, by each command in both forms.
fn wrong(folder: &Path, name: &str, at: usize, fault: &Fault) -> Vec<String> {
    let file = format!("{name}-{at}.amp");
    let record = format!("as-found \"one fault\" of \"{name}.amp\"\n{}\n", fault.line);
    fs::write(folder.join(&file), record).expect("written");
    let mut found = Vec::new();
    for command in COMMANDS {
        for form in ["text", "json"] {
            let said = said(folder, &[command, &file, "--format", form]);
            let none = |word: &&str| ["nan", "inf", "infinity"].contains(&word.to_lowercase().as_str());
            if said.split(|c: char| !c.is_alphanumeric()).any(|word| none(&word)) {
                found.push(format!("{command} --format {form}: {}", fault.line));
            }
        }
    }
    found
}

fn said(folder: &Path, arguments: &[&str]) -> String {
    let ran = Command::new(env!("CARGO_BIN_EXE_asfound")).args(arguments).current_dir(folder).output();
    let ran = ran.expect("it runs");
    String::from_utf8_lossy(&ran.stdout).into_owned() + &String::from_utf8_lossy(&ran.stderr)
}

/// A valve and a grid stopper that are out: what was "-inf dB" says where the signal stops.
#[test]
fn a_lost_signal_is_told_where_it_stops() {
    for (line, part) in [("V1 missing", "V1"), ("R2 missing", "R2")] {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("rook-12.amp"), example("rook-12")).expect("written");
        let record = format!("as-found \"quiet\" of \"rook-12.amp\"\n{line}\n");
        fs::write(folder.path().join("quiet.amp"), record).expect("written");
        let said = said(folder.path(), &["response", "quiet.amp"]);
        assert!(said.contains(&format!("no signal arrives; it stops at {part}\n")), "{line}: {said}");
    }
}
