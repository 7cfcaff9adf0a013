//! Fits the valve laws of `rules/types` to the figures in `tests/reference/published` and prints the `model` lines with their
//! residuals; `write` puts them into the files. Deterministic: Levenberg–Marquardt from fixed starting values.

#![allow(clippy::print_stdout, reason = "printing is this program's output")]
#![allow(dead_code, reason = "the tests use the fits, the program also prints and writes them")]

#[path = "fit_types/figures.rs"]
pub(crate) mod figures;
#[path = "fit_types/model.rs"]
pub(crate) mod model;

use figures::{Figure, Row};
use libm::{exp, log, log10, pow};
use model::{currents, rounded_screen, slope};
use std::{fs, path::Path};

/// A type, the names the published figures give it, and where the search starts.
pub(crate) struct Subject {
    /// Name in `rules/types`.
    pub(crate) name: &'static str,
    /// Names in the published files.
    pub(crate) published: &'static [&'static str],
    /// Other types that carry the same model.
    pub(crate) shared_by: &'static [&'static str],
    /// Koren's published set where there is one (`models.json`), with the sheet's mu; else the nearest relative's.
    start: &'static [f64],
}

const fn subject(
    name: &'static str,
    published: &'static [&'static str],
    shared_by: &'static [&'static str],
    start: &'static [f64],
) -> Subject {
    Subject { name, published, shared_by, start }
}

/// All fitted types.
pub(crate) const SUBJECTS: &[Subject] = &[
    subject("ECC83", &["12AX7", "12AX7A", "ECC83"], &[], &[100.0, 1.4, 1060.0, 600.0, 300.0]),
    subject("ECC81", &["12AT7"], &[], &[60.0, 1.35, 460.0, 300.0, 300.0]),
    subject("ECC82", &["12AU7"], &[], &[21.5, 1.3, 1180.0, 84.0, 300.0]),
    subject("12AY7", &["12AY7"], &[], &[44.0, 1.35, 1100.0, 400.0, 300.0]),
    subject("6SL7", &["6SL7GT"], &[], &[70.0, 1.4, 1300.0, 450.0, 300.0]),
    subject("6SN7", &["6SN7GT", "6SN7GTB"], &["6SN7GTB"], &[20.0, 1.3, 1040.0, 120.0, 300.0]),
    subject("ECC88", &["ECC88"], &[], &[33.0, 1.3, 330.0, 320.0, 300.0]),
    subject("EF86", &["EF86", "EF804S"], &[], &[38.0, 1.35, 1800.0, 4000.0, 200.0, 5.0]),
    subject("EL84", &["EL84"], &[], &[20.0, 1.35, 400.0, 4200.0, 110.0, 17.0]),
    subject("EL34", &["EL34"], &[], &[11.0, 1.35, 650.0, 4200.0, 60.0, 24.0]),
    subject("6L6GC", &["6L6GC"], &[], &[8.7, 1.35, 1460.0, 4500.0, 48.0, 12.0]),
    subject("5881", &["5881"], &[], &[8.7, 1.35, 1460.0, 4500.0, 48.0, 12.0]),
    subject(
        "6V6GT",
        &["6V6GT", "6V6GT (triode-connected)"],
        &["6V6GTA"],
        &[9.8, 1.35, 1700.0, 6000.0, 50.0, 12.0],
    ),
    subject("6550", &["6550", "6550A"], &["6550A"], &[7.9, 1.35, 890.0, 4200.0, 60.0, 24.0]),
    subject("KT88", &["KT88"], &[], &[8.8, 1.35, 730.0, 4800.0, 32.0, 16.0]),
];

const TRIODE: &[&str] = &["mu", "ex", "kg1", "kp", "kvb"];
const PENTODE: &[&str] = &["mu", "ex", "kg1", "kg2", "kp", "kvb"];
/// How far, in ln, a parameter may stray from its start before that costs as much as one residual at its tolerance.
const TRIODE_LEASH: &[f64] = &[0.1, 0.12, 0.7, 0.7, 2.0];
const PENTODE_LEASH: &[f64] = &[0.1, 0.06, 0.7, 3.0, 0.7, 0.7];

/// One quantity of one row: modelled against published.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Residual {
    /// What is compared: `plate current`, `gain`, …
    pub(crate) quantity: &'static str,
    /// Modelled over published less one, in per cent; gain in dB; near cut-off µA off.
    pub(crate) value: f64,
    /// Value over the tolerance the fit works with.
    pub(crate) cost: f64,
    /// Published over modelled less one, for the screen's window; 0 where it doesn't count.
    pub(crate) excess: f64,
}

/// A fitted type.
pub(crate) struct Fit {
    /// The subject.
    pub(crate) subject: &'static Subject,
    /// Parameters, rounded as shipped.
    pub(crate) parameters: Vec<f64>,
    /// The rows it was held against.
    pub(crate) rows: Vec<Row>,
}

/// Tolerances of the fit: two-sided, in the unit of the residual.
fn share(quantity: &'static str, modelled: f64, published: f64, tolerance: f64) -> Residual {
    let value = modelled / published - 1.0;
    Residual { quantity, value: 100.0 * value, cost: value / tolerance, excess: 0.0 }
}

/// Screen currents are fitted by their ratio, so that half and double weigh alike. `rounded` is the current with the law's
/// cut-off rounded, which shows the search a way where the law itself gives nothing.
fn screen_share(p: &[f64], (modelled, rounded): (f64, f64), published: f64, tolerance: f64) -> Residual {
    let covered = p[0] * pow(rounded * p[3], 1.0 / 1.5) > COLD_SCREEN;
    let excess = if covered { published / modelled - 1.0 } else { 0.0 };
    Residual {
        cost: log(rounded / published) / tolerance,
        excess,
        ..share("screen current", modelled, published, 1.0)
    }
}

/// Volts the screen must stand above its own cut-off, Vg2 + mu·Vg, for a row to count in `screen-residual`; the law has run out below.
const COLD_SCREEN: f64 = 30.0;

fn gain(modelled: f64, published: f64) -> Residual {
    let db = 20.0 * log10(modelled / published);
    Residual { quantity: "gain", value: db, cost: db / 0.5, excess: 0.0 }
}

/// Residuals of one row, whatever computes the currents.
pub(crate) fn residuals(p: &[f64], figure: &Figure) -> Vec<Residual> {
    match *figure {
        Figure::Point { .. } => point_residuals(p, figure),
        Figure::Tied { grid, plate, ik, slope: gm } => {
            let cathode = |g: f64| {
                let (ip, is) = currents(p, g, plate, plate);
                ip + is
            };
            vec![
                share("cathode current", cathode(grid), ik, 0.05),
                share("slope", slope(grid, cathode), gm, 0.1),
            ]
        }
        Figure::Curve { grid, plate, ip } => {
            // A chart is read to about 3 V and 0.05 mA.
            let modelled = currents(p, grid, 0.0, plate).0;
            let read = 0.05e-3 + 3.0 * slope(plate, |v| currents(p, grid, 0.0, v).0) + 0.05 * ip;
            let off = modelled - ip;
            if ip < 0.5e-3 {
                return vec![Residual {
                    quantity: "current near cut-off",
                    value: 1e6 * off,
                    cost: off / read,
                    excess: 0.0,
                }];
            }
            vec![share("plate current", modelled, ip, read / ip)]
        }
        Figure::Stage { stage, ip, is, ik, gain: published } => {
            let (mp, ms, mg) = stage.solve(p);
            let mut found = Vec::new();
            found.extend(ip.map(|i| share("plate current", mp, i, 0.04)));
            found.extend(ik.map(|i| share("cathode current", mp + ms, i, 0.04)));
            found.extend(is.map(|i| screen_share(p, (ms, ms), i, 0.25)));
            found.extend(published.map(|g| gain(mg, g)));
            found
        }
        Figure::Idle { idle, ip, is } => {
            let (mp, ms, rounded) = idle.solve(p);
            // The law's drive knows no plate volts, so it can't follow plates far above their screens.
            let high = (idle.plate / idle.screen).max(1.0);
            let mut found = vec![share("plate current", 2.0 * mp, ip, 0.08 * high)];
            found.extend(is.map(|i| screen_share(p, (ms, rounded), 0.5 * i, 1.0)));
            found
        }
        Figure::Knee { grid, screen, plate, ip } => {
            vec![share("plate current", currents(p, grid, screen, plate).0, ip, 0.12)]
        }
    }
}

fn point_residuals(p: &[f64], figure: &Figure) -> Vec<Residual> {
    let Figure::Point { grid, screen, plate, ip, is, slope: gm, resistance, factor } = *figure else {
        return Vec::new();
    };
    let (mp, ms) = currents(p, grid, screen, plate);
    let pentode = screen > 0.0;
    let transconductance = slope(grid, |g| currents(p, g, screen, plate).0);
    let mut found = vec![
        share("plate current", mp, ip, 0.05),
        share("slope", transconductance, gm, if pentode { 0.1 } else { 0.08 }),
    ];
    found.extend(is.map(|i| screen_share(p, (ms, rounded_screen(p, grid, screen)), i, 0.3)));
    if let Some(r) = resistance {
        let modelled = 1.0 / slope(plate, |v| currents(p, grid, screen, v).0);
        // The arctangent has one constant for knee and plate resistance; the knee has the say.
        let tolerance = if pentode { 8.0 } else { 0.15 };
        found.push(share("plate resistance", modelled, r, tolerance));
    }
    if let Some(mu) = factor {
        let modelled = transconductance / slope(screen, |s| currents(p, grid, s, plate).0);
        found.push(share("screen factor", modelled, mu, 0.15));
    }
    found
}

fn leash(start: &[f64]) -> &'static [f64] {
    if start.len() == TRIODE.len() { TRIODE_LEASH } else { PENTODE_LEASH }
}

/// Costs of all rows the fit sees, then the leash; softened (2(√(1+z)−1) of the square), so that one row that contradicts the
/// rest doesn't rule them.
fn costs(ln: &[f64], start: &[f64], rows: &[Row]) -> Vec<f64> {
    let p: Vec<f64> = ln.iter().map(|x| exp(*x)).collect();
    let mut found = Vec::new();
    for row in rows.iter().filter(|r| !r.held) {
        for residual in residuals(&p, &row.figure) {
            let square = row.weight * residual.cost * residual.cost;
            found.push((2.0 * ((1.0 + square).sqrt() - 1.0)).sqrt().copysign(residual.cost));
        }
    }
    found.extend(ln.iter().zip(start).zip(leash(start)).map(|((x, s), l)| (x - log(*s)) / l));
    found
}

fn sum_of_squares(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum()
}

/// Levenberg–Marquardt on the logarithms of the parameters.
fn descend(start: &[f64], rows: &[Row]) -> Vec<f64> {
    let mut at: Vec<f64> = start.iter().map(|v| log(*v)).collect();
    let mut here = costs(&at, start, rows);
    let mut damping = 1e-2;
    for _ in 0..200 {
        let columns: Vec<Vec<f64>> = (0..at.len()).map(|j| derivative(&at, start, rows, j)).collect();
        let before = sum_of_squares(&here);
        while damping < 1e9 {
            let trial = step(&at, &here, &columns, damping);
            let there = costs(&trial, start, rows);
            if sum_of_squares(&there) < before {
                (at, here) = (trial, there);
                damping *= 0.2;
                break;
            }
            damping *= 4.0;
        }
        if before - sum_of_squares(&here) < 1e-10 * before {
            break;
        }
    }
    at.iter().map(|x| round(exp(*x))).collect()
}

fn derivative(at: &[f64], start: &[f64], rows: &[Row], j: usize) -> Vec<f64> {
    let side = |h: f64| {
        let mut moved = at.to_vec();
        moved[j] += h;
        costs(&moved, start, rows)
    };
    side(1e-4).iter().zip(side(-1e-4)).map(|(a, b)| (a - b) / 2e-4).collect()
}

/// Solves `(JᵀJ + λ·diag) d = −Jᵀr` by elimination; the matrix is positive definite, so no pivoting.
fn step(at: &[f64], here: &[f64], columns: &[Vec<f64>], damping: f64) -> Vec<f64> {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let n = at.len();
    let mut m: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            let mut line: Vec<f64> = columns.iter().map(|c| dot(&columns[i], c)).collect();
            line[i] *= 1.0 + damping;
            line.push(-dot(&columns[i], here));
            line
        })
        .collect();
    for i in 0..n {
        for k in i + 1..n {
            let factor = m[k][i] / m[i][i];
            let upper = m[i].clone();
            m[k].iter_mut().zip(&upper).for_each(|(a, b)| *a -= factor * b);
        }
    }
    let mut moved = at.to_vec();
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| m[i][k] * (moved[k] - at[k])).sum();
        moved[i] += (m[i][n] - known) / m[i][i];
    }
    moved
}

/// Four significant digits.
fn round(v: f64) -> f64 {
    format!("{v:.3e}").parse().unwrap_or(v)
}

/// Reads the published figures and fits every subject.
pub(crate) fn fit_all(published: &Path) -> Result<Vec<Fit>, Box<dyn std::error::Error>> {
    let read = |name: &str| -> Result<serde_json::Value, Box<dyn std::error::Error>> {
        Ok(serde_json::from_str(&fs::read_to_string(published.join(name))?)?)
    };
    let (tubes, stages) = (read("tubes.json")?, read("rc_tables.json")?);
    let fit = |subject: &'static Subject| {
        let rows = figures::rows(&tubes, &stages, subject.published);
        Fit { subject, parameters: descend(subject.start, &rows), rows }
    };
    Ok(SUBJECTS.iter().map(fit).collect())
}

impl Fit {
    /// The fitted words of the `model` line with their values.
    pub(crate) fn words(&self) -> Vec<(&'static str, String)> {
        let names = if self.parameters.len() == TRIODE.len() { TRIODE } else { PENTODE };
        let mut words: Vec<(&str, String)> =
            names.iter().zip(&self.parameters).map(|(n, v)| (*n, v.to_string())).collect();
        if names.len() == PENTODE.len() {
            words.push(("screen-residual", format!("{}%", self.screen_residual())));
        }
        words
    }

    /// The largest |published/modelled − 1| of the screen current, in per cent, rounded up to fives; at least 25, and 50 where
    /// fewer than three rows speak, since printed screen currents agree no better than that among themselves.
    fn screen_residual(&self) -> u32 {
        let all = self.rows.iter().flat_map(|r| residuals(&self.parameters, &r.figure));
        let told: Vec<f64> = all.map(|r| r.excess.abs()).filter(|e| *e > 0.0).collect();
        let least = if told.len() < 3 { 50 } else { 25 };
        let worst = told.iter().copied().fold(0.0, f64::max);
        least.max(5 * (20.0 * worst).ceil() as u32)
    }

    /// One `# fit:` comment for each table and quantity.
    pub(crate) fn comments(&self) -> Vec<String> {
        let mut groups: Vec<(bool, String, &str, Vec<f64>)> = Vec::new();
        for row in &self.rows {
            for residual in residuals(&self.parameters, &row.figure) {
                let same = groups
                    .iter_mut()
                    .find(|g| g.0 == row.held && g.1 == row.table && g.2 == residual.quantity);
                match same {
                    Some(group) => group.3.push(residual.value),
                    None => {
                        groups.push((row.held, row.table.clone(), residual.quantity, vec![residual.value]));
                    }
                }
            }
        }
        groups.sort_by_key(|g| g.0);
        groups.iter().map(|(held, table, quantity, values)| comment(*held, table, quantity, values)).collect()
    }
}

/// `# fit: held out, Philips 100k, gain: 2 rows, median 0.4 dB, worst -0.6 dB`
fn comment(held: bool, table: &str, quantity: &str, values: &[f64]) -> String {
    let unit = if quantity == "gain" {
        "dB"
    } else if quantity == "current near cut-off" {
        "uA"
    } else {
        "%"
    };
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let median = 0.5 * (sizes[(sizes.len() - 1) / 2] + sizes[sizes.len() / 2]);
    let worst = values.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    let (of, rows) =
        (if held { "held out" } else { "fitted" }, if values.len() == 1 { "row" } else { "rows" });
    format!(
        "# fit: {of}, {table}, {quantity}: {} {rows}, median {median:.1} {unit}, worst {worst:+.1} {unit}",
        values.len()
    )
}

/// The text with the fitted values put into each type's `model` line and its `# fit:` lines renewed below it.
pub(crate) fn put_into(text: &str, fits: &[Fit]) -> String {
    let mut out = String::new();
    for line in text.lines().filter(|l| !l.starts_with("# fit: ")) {
        let name = line.strip_prefix("model ").and_then(|rest| rest.split(' ').next());
        let found = fits
            .iter()
            .find(|f| name.is_some_and(|n| f.subject.name == n || f.subject.shared_by.contains(&n)));
        let Some(fit) = found else {
            out.push_str(line);
            out.push('\n');
            continue;
        };
        let mut words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        for (word, value) in fit.words() {
            if let Some(at) = words.iter().position(|w| w == word) {
                words[at + 1] = value;
            }
        }
        out.push_str(&(words.join(" ") + "\n"));
        if name == Some(fit.subject.name) {
            for comment in fit.comments() {
                out.push_str(&comment);
                out.push('\n');
            }
        }
    }
    out
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let fits = fit_all(&root.join("tests/reference/published"))?;
    let write = std::env::args().nth(1).is_some_and(|a| a == "write");
    for file in ["small-signal.amp", "output.amp"] {
        let path = root.join("rules/types").join(file);
        let text = put_into(&fs::read_to_string(&path)?, &fits);
        if write {
            fs::write(&path, text)?;
        } else {
            text.lines()
                .filter(|l| l.starts_with("model ") || l.starts_with("# fit: "))
                .for_each(|l| println!("{l}"));
        }
    }
    Ok(())
}
