//! Pages as wide as they are asked for: on the examples, at the widths of a phone, a bench terminal and a desk.

use std::process::Command;

use asfound::cli::{Console, run};
use unicode_width::UnicodeWidthStr;

const ASKED: [&str; 12] = [
    "audit sedge-45/job-0412.amp",
    "audit --whole sedge-45/job-0412.amp",
    "audit rook-12/job-7.amp",
    "lint sedge-45/job-0412.amp",
    "lint --whole sedge-45/job-0412.amp",
    "review sedge-45/plan-0412.amp",
    "diff sedge-45/sedge-45.amp sedge-45/job-0412.amp",
    "roles hollin-100/hollin-100.amp",
    "supply sedge-45/job-0412.amp",
    "volts sedge-45/job-0412.amp",
    "response sedge-45/job-0412.amp",
    "survey .",
];

fn examples(rest: &str) -> Vec<String> {
    let place = |word: &str| match word {
        "." => concat!(env!("CARGO_MANIFEST_DIR"), "/examples").to_owned(),
        word if word.contains('/') => format!("{}/examples/{word}", env!("CARGO_MANIFEST_DIR")),
        word => word.to_owned(),
    };
    std::iter::once("asfound".to_owned()).chain(rest.split(' ').map(place)).collect()
}

/// A path and an address have no place to break; all else keeps within.
#[test]
fn pages_keep_within_the_width() {
    for asked in ASKED {
        for width in [60, 80, 100] {
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let asked_for = examples(asked).into_iter().map(Into::into);
            run(asked_for, &mut Console::new(&mut out, &mut err, Some(width)));
            let page = anstream::adapter::strip_str(std::str::from_utf8(&out).unwrap()).to_string();
            assert!(page.lines().count() > 5, "{asked}: {page}");
            let longest = |line: &str| line.split_whitespace().map(UnicodeWidthStr::width).max().unwrap_or(0);
            for line in page.lines().filter(|line| longest(line) < 30) {
                assert!(line.width() <= width, "{asked} at {width}: {} columns: {line}", line.width());
            }
        }
    }
}

/// A shell tells what it pipes to how wide its terminal is.
#[test]
fn a_pipe_takes_its_width_from_columns() {
    let widest = |columns: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_asfound"));
        let ran = command.args(&examples(ASKED[3])[1..]).env("COLUMNS", columns).output().expect("it runs");
        String::from_utf8(ran.stdout).unwrap().lines().map(UnicodeWidthStr::width).max().unwrap()
    };
    assert!((50..=60).contains(&widest("60")), "{}", widest("60"));
    assert!((90..=100).contains(&widest("100")), "{}", widest("100"));
    assert_eq!(widest("wide"), widest("100"));
}

/// Of the log with every finding each points at the worst under its head; JSON has all of them as it is.
#[test]
fn every_finding_of_a_log_points_at_its_head() {
    let log = |asked: &str| -> Vec<serde_json::Value> {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let asked_for = examples(asked).into_iter().map(Into::into);
        run(asked_for, &mut Console::new(&mut out, &mut err, None));
        let log: serde_json::Value = serde_json::from_slice(&out).unwrap();
        log["runs"][0]["results"].as_array().unwrap().clone()
    };
    let heads = log("lint --format sarif sedge-45/job-0412.amp");
    let all = log("lint --format sarif --whole sedge-45/job-0412.amp");
    assert!(all.len() > 2 * heads.len(), "{} of {}", heads.len(), all.len());
    let worst = |of: &serde_json::Value| {
        of["message"]["text"].as_str().unwrap().split('\n').next().map(str::to_owned)
    };
    let over = all.iter().find(|of| of["ruleId"] == "output-valve-over-maximum").expect("V5 is told");
    let leak = heads.iter().find(|of| of["ruleId"] == "capacitor-leaks").expect("C14 is told");
    let related = over["relatedLocations"].as_array().unwrap().iter();
    let told: Vec<&str> = related.filter_map(|at| at["message"]["text"].as_str()).collect();
    assert!(told.contains(&worst(leak).unwrap().as_str()), "{told:?}");
    for command in ["audit", "lint", "review"] {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let asked = examples(&format!("{command} --whole --format json sedge-45/plan-0412.amp"));
        let asked_for = asked.into_iter().map(Into::into);
        let status = run(asked_for, &mut Console::new(&mut out, &mut err, None));
        let said = String::from_utf8([out, err].concat()).unwrap();
        assert!(status == 2 && said.contains("--whole is for text"), "{command}: {said}");
    }
}

/// Where nothing is said to drive it, a snipped bright capacitor is not told to do nothing.
#[test]
fn a_sound_that_was_not_judged_is_not_called_unchanged() {
    let silent = super::MOOR.replace("drive J1 behind 10k\n", "");
    let record = "as-found \"job\" of \"stock.amp\"\nC3 missing\n";
    let told = |stock: &str| {
        let folder = super::Folder::of(&[("stock.amp", stock), ("found.amp", record)]);
        folder.run("audit found.amp").out
    };
    assert!(told(super::MOOR).contains("C3  treble -"), "{}", told(super::MOOR));
    let page = told(&silent);
    assert!(
        page.contains("the sound could not be judged: C3") && !page.contains("nothing noticeable"),
        "{page}"
    );
}
