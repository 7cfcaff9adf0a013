//! The shipped type data against the published figures: the `model` lines are the fit's, and the residuals written beside them
//! come out again from equations and a solver written here a second time (bisection, no shared code with the fit).

#![allow(clippy::unwrap_used, reason = "a file that can't be read is a failed test")]

use crate::fit_types::figures::{self, Figure, Row};
use crate::fit_types::model::{Idle, Stage};
use crate::fit_types::{SUBJECTS, fit_all};
use libm::{atan, exp, log, log10, pow};
use std::collections::BTreeMap;
use std::{fs, path::PathBuf};

const FILES: [&str; 3] = ["small-signal.amp", "output.amp", "rectifiers.amp"];

fn root(below: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(below)
}

/// All type data, one statement or comment a line.
fn shipped() -> Vec<String> {
    let text = |file: &&str| fs::read_to_string(root("rules/types").join(file)).unwrap();
    FILES.iter().map(text).collect::<String>().lines().map(str::to_owned).collect()
}

/// `1039`, `618u`, `30%`.
fn value(word: &str) -> f64 {
    let scale = match word.chars().last() {
        Some('u') => 1e-6,
        Some('m') => 1e-3,
        Some('p') => 1e-12,
        Some('n') => 1e-9,
        Some('%') => 1e-2,
        _ => return word.parse().unwrap(),
    };
    word[..word.len() - 1].parse::<f64>().unwrap() * scale
}

/// The words of a type's `model` line.
fn model(lines: &[String], name: &str) -> BTreeMap<String, f64> {
    let start = format!("model {name} ");
    let line =
        lines.iter().find_map(|l| l.strip_prefix(&start)).unwrap_or_else(|| panic!("no model for {name}"));
    let words: Vec<&str> = line.split_whitespace().collect();
    words.chunks(2).map(|pair| (pair[0].to_owned(), value(pair[1]))).collect()
}

// --- The laws, written again. ----------------------------------------------------------------------------------------------

/// Plate and screen current.
fn law(m: &BTreeMap<String, f64>, grid: f64, screen: f64, plate: f64) -> (f64, f64) {
    let rise = |x: f64| if x > 40.0 { x } else { log(1.0 + exp(x)) };
    let pentode = m.contains_key("kg2");
    let (reference, spread) =
        if pentode { (screen, screen) } else { (plate, (m["kvb"] + plate * plate).sqrt()) };
    if reference <= 0.0 {
        return (0.0, 0.0);
    }
    let e1 = reference / m["kp"] * rise(m["kp"] * (1.0 / m["mu"] + grid / spread));
    let current = 2.0 / m["kg1"] * pow(e1, m["ex"]);
    if !pentode {
        return (current, 0.0);
    }
    let drive = grid + screen / m["mu"];
    let taken = if drive > 0.0 { drive * drive.sqrt() / m["kg2"] } else { 0.0 };
    (current * if plate > 0.0 { atan(plate / m["kvb"]) } else { 0.0 }, taken)
}

/// Where a rising function passes through zero.
fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn stage(m: &BTreeMap<String, f64>, s: &Stage) -> (f64, f64, f64) {
    let at = |vk: f64, grid: f64| {
        let screen = bisect(0.0, s.supply - vk, |v| v + s.screen * law(m, -vk, v, 1.0).1 + vk - s.supply);
        // The gain is the plate's answer to the grid, into the load and the next grid together; the screen is held.
        let plate = bisect(0.0, s.supply - vk, |v| v + s.load * law(m, -vk, screen, v).0 + vk - s.supply);
        let loaded = bisect(0.0, 2.0 * s.supply, |v| {
            let drawn = (plate - v) * (1.0 / s.load + 1.0 / s.next);
            law(m, grid, screen, v).0 - law(m, -vk, screen, plate).0 - drawn
        });
        let (ip, is) = law(m, -vk, screen, plate);
        (ip, is, loaded)
    };
    let vk = bisect(0.0, 0.5 * s.supply, |vk| {
        let (ip, is, _) = at(vk, -vk);
        vk - s.cathode * (ip + is)
    });
    let (ip, is, _) = at(vk, -vk);
    (ip, is, (at(vk, -vk - 1e-4).2 - at(vk, -vk + 1e-4).2) / 2e-4)
}

fn idle(m: &BTreeMap<String, f64>, pair: &Idle) -> (f64, f64) {
    let at = |vk: f64| {
        let lost = if pair.to_chassis { vk } else { 0.0 };
        let top = pair.screen - lost;
        let screen = bisect(0.0, top, |v| v + pair.stopper * law(m, pair.grid - vk, v, 1.0).1 - top);
        law(m, pair.grid - vk, screen, pair.plate - lost)
    };
    let vk = bisect(0.0, if pair.cathode > 0.0 { 0.5 * pair.plate } else { 1e-9 }, |vk| {
        vk - pair.cathode * (at(vk).0 + at(vk).1)
    });
    at(vk)
}

/// Every compared quantity of a row: name and residual in the comment's unit.
fn compare(m: &BTreeMap<String, f64>, row: &Row) -> Vec<(&'static str, f64)> {
    let percent = |modelled: f64, published: f64| 100.0 * (modelled / published - 1.0);
    let step = |f: &dyn Fn(f64) -> f64, at: f64| (f(at + 1e-3) - f(at - 1e-3)) / 2e-3;
    match row.figure {
        Figure::Point { grid, screen, plate, ip, is, slope, resistance, factor } => {
            let (mp, ms) = law(m, grid, screen, plate);
            let gm = step(&|g| law(m, g, screen, plate).0, grid);
            let mut found = vec![("plate current", percent(mp, ip)), ("slope", percent(gm, slope))];
            found.extend(is.map(|i| ("screen current", percent(ms, i))));
            found.extend(resistance.map(|r| {
                ("plate resistance", percent(1.0 / step(&|v| law(m, grid, screen, v).0, plate), r))
            }));
            found
                .extend(factor.map(|f| {
                    ("screen factor", percent(gm / step(&|s| law(m, grid, s, plate).0, screen), f))
                }));
            found
        }
        Figure::Tied { grid, plate, ik, slope } => {
            let total = |g: f64| law(m, g, plate, plate).0 + law(m, g, plate, plate).1;
            vec![("cathode current", percent(total(grid), ik)), ("slope", percent(step(&total, grid), slope))]
        }
        Figure::Curve { grid, plate, ip } if ip < 0.5e-3 => {
            vec![("current near cut-off", 1e6 * (law(m, grid, 0.0, plate).0 - ip))]
        }
        Figure::Curve { grid, plate, ip } => vec![("plate current", percent(law(m, grid, 0.0, plate).0, ip))],
        Figure::Stage { stage: s, ip, is, ik, gain } => {
            let (mp, ms, mg) = stage(m, &s);
            let mut found = Vec::new();
            found.extend(ip.map(|i| ("plate current", percent(mp, i))));
            found.extend(ik.map(|i| ("cathode current", percent(mp + ms, i))));
            found.extend(is.map(|i| ("screen current", percent(ms, i))));
            found.extend(gain.map(|g| ("gain", 20.0 * log10(mg / g))));
            found
        }
        Figure::Idle { idle: pair, ip, is } => {
            let (mp, ms) = idle(m, &pair);
            let mut found = vec![("plate current", percent(2.0 * mp, ip))];
            found.extend(is.map(|i| ("screen current", percent(2.0 * ms, i))));
            found
        }
        Figure::Knee { grid, screen, plate, ip } => {
            vec![("plate current", percent(law(m, grid, screen, plate).0, ip))]
        }
    }
}

// --- The tests. ------------------------------------------------------------------------------------------------------------

#[test]
fn model_lines_are_the_fit() {
    let lines = shipped();
    for fit in fit_all(&root("tests/reference/published")).unwrap() {
        for name in std::iter::once(&fit.subject.name).chain(fit.subject.shared_by) {
            let shipped = model(&lines, name);
            for (word, fitted) in fit.words() {
                let (here, there) = (shipped[word], value(&fitted));
                assert!((here / there - 1.0).abs() < 2e-3, "{name} {word}: shipped {here}, fitted {there}");
            }
        }
    }
}

/// The published rows of every subject, as the fit splits them.
fn all_rows() -> Vec<(&'static str, Vec<Row>)> {
    let read = |file: &str| {
        serde_json::from_str(&fs::read_to_string(root("tests/reference/published").join(file)).unwrap())
            .unwrap()
    };
    let (tubes, stages): (serde_json::Value, serde_json::Value) =
        (read("tubes.json"), read("rc_tables.json"));
    SUBJECTS.iter().map(|s| (s.name, figures::rows(&tubes, &stages, s.published))).collect()
}

#[test]
fn stated_residuals_come_out_again() {
    let lines = shipped();
    for (name, rows) in all_rows() {
        let m = model(&lines, name);
        let mut groups: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for row in &rows {
            for (quantity, residual) in compare(&m, row) {
                let side = if row.held { "held out" } else { "fitted" };
                groups
                    .entry(format!("# fit: {side}, {}, {quantity}: ", row.table))
                    .or_default()
                    .push(residual);
            }
        }
        let start = lines.iter().position(|l| l.starts_with(&format!("model {name} "))).unwrap();
        let stated: Vec<&String> =
            lines[start + 1..].iter().take_while(|l| l.starts_with("# fit: ")).collect();
        assert_eq!(stated.len(), groups.len(), "{name}: one comment a table and quantity");
        for (head, residuals) in groups {
            let line = stated
                .iter()
                .find_map(|l| l.strip_prefix(&head))
                .unwrap_or_else(|| panic!("{name}: no line {head}"));
            check_line(name, line, residuals);
        }
    }
}

/// `2 rows, median 0.4 dB, worst -0.6 dB` against the residuals it sums up.
fn check_line(name: &str, line: &str, mut residuals: Vec<f64>) {
    let words: Vec<&str> = line.split_whitespace().collect();
    residuals.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    let (n, worst) = (residuals.len(), residuals[residuals.len() - 1]);
    let median = 0.5 * (residuals[(n - 1) / 2].abs() + residuals[n / 2].abs());
    assert_eq!(words[0], n.to_string(), "{name}: {line}");
    for (word, computed) in [(words[3], median), (words[6], worst)] {
        let stated: f64 = word.parse().unwrap();
        assert!(
            (stated - computed).abs() < 0.06 + 1e-3 * stated.abs(),
            "{name}: {line}, computed {computed}"
        );
    }
}

#[test]
fn held_out_rows_are_within_the_targets() {
    let lines = shipped();
    for (name, rows) in all_rows() {
        let m = model(&lines, name);
        for row in rows.iter().filter(|r| r.held) {
            for (quantity, residual) in compare(&m, row) {
                let limit = match (&row.figure, quantity) {
                    (Figure::Stage { .. }, "plate current" | "cathode current") => 10.0,
                    (Figure::Stage { .. }, "gain") => 1.0,
                    (Figure::Knee { .. }, _) => 15.0,
                    _ => continue,
                };
                assert!(residual.abs() <= limit, "{name}, {}, {quantity}: {residual:.2}", row.table);
            }
        }
    }
}

#[test]
fn every_group_has_a_provenance_and_a_mark() {
    let lines = shipped();
    let groups = ["pins", "heater-data", "model", "limits", "capacitances"];
    for line in &lines {
        let words: Vec<&str> = line.split_whitespace().collect();
        if let [group, name, ..] = words[..]
            && groups.contains(&group)
        {
            let start = format!("provenance {name} {group} ");
            let marks: Vec<&str> = lines
                .iter()
                .filter(|l| l.starts_with(&start))
                .filter_map(|l| l.split_whitespace().last())
                .collect();
            assert!(!marks.is_empty(), "{name}: {group} has no provenance");
            assert!(
                marks.iter().all(|m| ["read", "memory", "fitted"].contains(m)),
                "{name}: {group}: {marks:?}"
            );
        }
    }
}
