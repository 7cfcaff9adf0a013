//! Proof that a clean result means something: every part of four clean amplifiers goes wrong in every way that the trade
//! sees, and what the rules say of it is held against what it does, worked out from solved quantities without any rule.
//!
//! A mutation is a hazard where a rating is passed or a person is at risk, a matter of sound where a rail moves by 10 % or a
//! stage's gain by 3 dB, of the way where 3 dB less of a stage's signal arrives at the next. A finding counts if it names
//! the part, its stage, a net of it or what is affected, if a rule gave it that judges the circuit (not one that says what
//! differs), and if the clean amplifier does not have it. Rules that hold a solved quantity against stock don't count for
//! hazards. Each is judged twice: on the stock spec, and as if it were a stock spec itself.

#![allow(clippy::print_stdout, reason = "the table is shown with --nocapture")]

mod bench;
mod grid;
mod hazard;
pub(crate) mod mutate;
mod table;
mod way;

use rayon::prelude::*;

use crate::rules_proofs::on_disk;
use asfound::rules::Level;
use bench::{Bench, Class, Judged};
use table::{Rate, rate};

const AMPLIFIERS: [&str; 4] = ["sedge-45", "wren-8", "fallow-18", "hollin-100"];

/// One mutation in so many is judged, all of them where `ASFOUND_MUTATIONS` is set; a prime, so that every kind comes by.
const STRIDE: usize = 19;

#[test]
fn what_goes_wrong_is_told() {
    let judged = judged();
    table::print(&judged);
    let of = |class: Class| rate(judged.iter().flat_map(|(_, all)| all).filter(|j| j.class == class));
    let share = |rate: Rate, count: fn(Rate) -> usize| count(rate) as f64 / rate.of.max(1) as f64;
    let (hazard, sound, way) = (of(Class::Hazard), of(Class::Sound), of(Class::Way));
    assert!(hazard.of > 15 && sound.of > 20 && way.of > 3, "{hazard:?} {sound:?} {way:?}");
    assert_eq!(hazard.warned[0], hazard.of, "a hazard without a warning");
    assert!(share(hazard, |r| r.warned[1]) > 0.9, "hazards without stock beneath: {hazard:?}");
    assert!(share(sound, |r| r.cautioned[0]) > 0.97, "{sound:?}");
    assert!(share(sound, |r| r.warned[0]) > 0.65, "{sound:?}");
    assert!(share(sound, |r| r.cautioned[1]) > 0.65, "{sound:?}");
    assert!(share(way, |r| r.cautioned[0]) > 0.95, "{way:?}");
    let tolerable = judged.iter().flat_map(|(_, all)| all).filter(|j| j.mutation.kind == mutate::TOLERABLE);
    let alarms: Vec<String> =
        tolerable.filter(|j| j.level[0] >= Some(Level::Caution)).map(Judged::line).collect();
    assert!(alarms.is_empty(), "{alarms:?}");
    // One without an operating point is told as such, with exit status 2: no clean bill either.
    assert!(of(Class::Unsolved).of <= 4, "{:?}", of(Class::Unsolved));
}

fn judged() -> Vec<(&'static str, Vec<Judged>)> {
    let rules = on_disk();
    let stride = if std::env::var_os("ASFOUND_MUTATIONS").is_some() { 1 } else { STRIDE };
    let one = |name: &&'static str| {
        let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
        let bench = Bench::new(std::fs::read_to_string(path).expect("the example is there"), &rules);
        let alarms: Vec<_> = bench.told().filter(|(_, level, _)| *level > Level::Notice).collect();
        assert!(alarms.is_empty(), "{name} is clean: {alarms:?}");
        let mutations = mutate::mutations(&bench.stock.circuit);
        let judged = mutations.par_iter().step_by(stride).map(|m| bench.judge(m, &rules)).collect();
        (*name, judged)
    };
    AMPLIFIERS.iter().map(one).collect()
}
