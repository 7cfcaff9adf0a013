//! Proof that a clean result means something: every part of four clean amplifiers goes wrong in every way that the trade sees, and
//! what the rules say is held against what it does, worked out from the solved quantities without any rule.

#![allow(clippy::print_stdout, reason = "the table is shown with --nocapture")]

mod bench;
mod hazard;
mod mutate;
mod table;
mod way;

use rayon::prelude::*;

use crate::rules_proofs::on_disk;
use bench::{Bench, Class, Judged};

const AMPLIFIERS: [&str; 4] = ["sedge-45", "wren-8", "fallow-18", "hollin-100"];

/// Of the mutations only every so manieth is judged, unless `ASFOUND_MUTATIONS=all`; a prime, so that all kinds come by.
const STRIDE: usize = 5;

fn judged() -> Vec<(&'static str, Vec<Judged>)> {
    let rules = on_disk();
    let all = std::env::var_os("ASFOUND_MUTATIONS").is_some();
    let stride = if all { 1 } else { STRIDE };
    let one = |name: &&'static str| {
        let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
        let bench = Bench::new(std::fs::read_to_string(path).expect("the example is there"), &rules);
        assert!(bench.alarms().is_empty(), "{name} is clean: {:?}", bench.alarms());
        let mutations = mutate::mutations(&bench.stock.circuit);
        let judged = mutations.par_iter().step_by(stride).map(|m| bench.judge(m, &rules)).collect();
        (*name, judged)
    };
    AMPLIFIERS.iter().map(one).collect()
}

#[test]
fn what_goes_wrong_is_told() {
    let judged = judged();
    table::print(&judged);
    let of = |class: Class| judged.iter().flat_map(|(_, all)| all).filter(move |j| j.class == class);
    assert!(of(Class::Hazard).count() > 0);
}
