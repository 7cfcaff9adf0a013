//! Published figures as rows a model can be held against, and which of them the fit doesn't see.

use super::model::{Idle, Stage};
use serde_json::Value;

/// What one row asks of a model.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Figure {
    /// A characteristic point: currents in amperes, `slope` in siemens, `resistance` in ohms, `factor` screen to grid.
    Point {
        grid: f64,
        screen: f64,
        plate: f64,
        ip: f64,
        is: Option<f64>,
        slope: f64,
        resistance: Option<f64>,
        factor: Option<f64>,
    },
    /// Screen tied to plate; the current is the cathode's.
    Tied { grid: f64, plate: f64, ik: f64, slope: f64 },
    /// A point read off a plate curve.
    Curve { grid: f64, plate: f64, ip: f64 },
    /// A resistance-coupled stage.
    Stage { stage: Stage, ip: Option<f64>, is: Option<f64>, ik: Option<f64>, gain: Option<f64> },
    /// A push-pull pair at rest; currents of both.
    Idle { idle: Idle, ip: f64, is: Option<f64> },
    /// The plate current a push-pull pair must reach at the end of its load line, grid at `grid`.
    Knee { grid: f64, screen: f64, plate: f64, ip: f64 },
}

/// One row with its table's name, its weight in the fit and whether it is held out of it.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Table, or kind of figure.
    pub(crate) table: String,
    /// The figures.
    pub(crate) figure: Figure,
    /// 1 where read, 0.5 where from memory (on the square of the residual).
    pub(crate) weight: f64,
    /// Not seen by the fit.
    pub(crate) held: bool,
}

fn number(entry: &Value, key: &str) -> Option<f64> {
    entry[key].as_f64()
}

fn milli(entry: &Value, key: &str) -> Option<f64> {
    number(entry, key).map(|v| v * 1e-3)
}

/// All rows for the valves called `names`; `tubes` and `stages` are the published files.
pub(crate) fn rows(tubes: &Value, stages: &Value, names: &[&str]) -> Vec<Row> {
    let of_type = |file: &Value| -> Vec<Value> {
        let entries = file["entries"].as_array().cloned().unwrap_or_default();
        entries.into_iter().filter(|e| e["tube"].as_str().is_some_and(|t| names.contains(&t))).collect()
    };
    let mut rows = Vec::new();
    for entry in merged(
        of_type(tubes),
        &["kind", "plate_voltage_V", "plate_supply_V", "screen_voltage_V", "grid_voltage_V"],
    ) {
        let weight = if entry["confidence"] == "read" { 1.0 } else { 0.5 };
        for (table, figure) in tube_figures(&entry) {
            rows.push(Row { table: table.to_owned(), figure, weight, held: false });
        }
    }
    for entry in merged(of_type(stages), &["table", "supply_V", "plate_load_ohm", "cathode_resistor_ohm"]) {
        let current_read =
            entry["field_confidence"]["plate_current_mA"].as_str().is_some_and(|m| m.starts_with("read"));
        let weight = if entry["confidence"] == "read" || current_read { 1.0 } else { 0.5 };
        if let Some(figure) = stage_figure(&entry) {
            rows.push(Row {
                table: entry["table"].as_str().unwrap_or("table").to_owned(),
                figure,
                weight,
                held: false,
            });
        }
    }
    hold_out(&mut rows);
    rows
}

/// Entries that agree in `keys` and lack fields of each other are one row: the later fills the earlier, the weaker mark stays.
fn merged(entries: Vec<Value>, keys: &[&str]) -> Vec<Value> {
    let mut kept: Vec<Value> = Vec::new();
    for entry in entries {
        let mergeable = entry["kind"] == "push_pull_two_tubes" || entry["table"] == "Philips 100k";
        let twin = kept.iter_mut().find(|k| mergeable && keys.iter().all(|key| k[*key] == entry[*key]));
        match (twin, entry.as_object()) {
            (Some(twin), Some(fields)) => {
                for (key, value) in fields {
                    if twin[key].is_null() || (key == "confidence" && value == "memory") {
                        twin[key] = value.clone();
                    }
                }
            }
            _ => kept.push(entry),
        }
    }
    kept
}

/// Every third row of a table stays out, shifted by one every third row: the tables run through supplies and loads in threes,
/// so each supply and each load is held out once. Of push-pull rows, every third from the second (mostly an end of a load line)
/// stays out unless it was read. Characteristic points all stay in: they are few and anchor the fit.
fn hold_out(rows: &mut [Row]) {
    let mut seen: Vec<(String, usize)> = Vec::new();
    for row in rows.iter_mut() {
        let pair = matches!(row.figure, Figure::Idle { .. } | Figure::Knee { .. });
        if matches!(row.figure, Figure::Point { .. } | Figure::Tied { .. }) {
            continue;
        }
        let table = if pair { "push-pull" } else { &row.table };
        let at = seen.iter().position(|(t, _)| t == table).unwrap_or_else(|| {
            seen.push((table.to_owned(), 0));
            seen.len() - 1
        });
        let count = seen[at].1;
        row.held = if pair { count % 3 == 1 && row.weight < 1.0 } else { (count + count / 3) % 3 == 2 };
        seen[at].1 += 1;
    }
}

fn tube_figures(e: &Value) -> Vec<(&'static str, Figure)> {
    match e["kind"].as_str() {
        Some("operating_point") => point(e).map(|f| ("points", f)).into_iter().collect(),
        Some("plate_curve") => curve(e),
        Some("push_pull_two_tubes") => push_pull(e),
        _ => Vec::new(),
    }
}

fn point(e: &Value) -> Option<Figure> {
    let (plate, ip) = (number(e, "plate_voltage_V")?, milli(e, "plate_current_mA")?);
    let is = milli(e, "screen_current_mA");
    let ik = ip + is.unwrap_or(0.0);
    let grid = number(e, "grid_voltage_V").or_else(|| number(e, "cathode_resistor_ohm").map(|r| -r * ik))?;
    let slope = milli(e, "transconductance_mA_per_V")?;
    if e["tube"].as_str()?.contains("triode-connected") {
        return Some(Figure::Tied { grid, plate, ik, slope });
    }
    let resistance = number(e, "plate_resistance_ohm");
    let Some(screen) = number(e, "screen_voltage_V") else {
        return Some(Figure::Point { grid, screen: 0.0, plate, ip, is, slope, resistance, factor: None });
    };
    let factor = number(e, "mu_g2_g1").or_else(|| number(e, "amplification_factor"));
    Some(Figure::Point { grid, screen, plate, ip, is, slope, resistance, factor })
}

fn curve(e: &Value) -> Vec<(&'static str, Figure)> {
    let points = e["points_plateV_mA"].as_array().cloned().unwrap_or_default();
    let row = |p: &Value| {
        Some(Figure::Curve {
            grid: number(e, "grid_voltage_V")?,
            plate: p[0].as_f64()?,
            ip: p[1].as_f64()? * 1e-3,
        })
    };
    points
        .iter()
        .filter_map(row)
        .filter(|f| matches!(f, Figure::Curve { ip, .. } if *ip > 0.0))
        .map(|f| ("curves", f))
        .collect()
}

fn push_pull(e: &Value) -> Vec<(&'static str, Figure)> {
    let supply = number(e, "plate_supply_V");
    let Some(plate) = number(e, "plate_voltage_V").or(supply) else { return Vec::new() };
    let idle = Idle {
        plate,
        screen: number(e, "screen_voltage_V").or_else(|| number(e, "screen_supply_V")).unwrap_or(plate),
        grid: number(e, "grid_voltage_V").unwrap_or(0.0),
        cathode: 2.0 * number(e, "shared_cathode_resistor_ohm").unwrap_or(0.0),
        stopper: 2.0 * number(e, "shared_screen_resistor_ohm").unwrap_or(0.0),
        to_chassis: supply.is_some(),
    };
    let mut found = Vec::new();
    if let Some(ip) = milli(e, "zero_signal_plate_current_mA") {
        found.push((
            "push-pull idle",
            Figure::Idle { idle, ip, is: milli(e, "zero_signal_screen_current_mA") },
        ));
    }
    found.extend(knee(e, &idle).map(|f| ("knee", f)));
    found
}

/// The end of the load line from the printed maximum power, with one valve cut off there: the peak current is
/// sqrt(8 P/Raa) and swings the plate down by a quarter of Raa times that. The grid is at the printed drive's peak, else at 0; the
/// screen has lost the mean drop in a shared resistor. Own arithmetic on published figures, good to a tenth or so. Not formed
/// for class A pairs (the other valve still conducts), nor where bias is by cathode and no drive is printed.
fn knee(e: &Value, idle: &Idle) -> Option<Figure> {
    let (power, load) = (number(e, "power_output_W")?, number(e, "load_plate_to_plate_ohm")?);
    let screen_now = 0.5 * idle.stopper * milli(e, "max_signal_screen_current_mA").unwrap_or(0.0);
    let drive = number(e, "drive_Vrms").map(|v| v * std::f64::consts::SQRT_2);
    let class_a = e["source"].as_str().is_some_and(|s| s.contains("class A1"));
    if class_a
        || (idle.cathode > 0.0 && drive.is_none())
        || number(e, "max_signal_plate_current_mA").is_none()
    {
        return None;
    }
    let ip = (8.0 * power / load).sqrt();
    let grid = if idle.cathode > 0.0 { 0.0 } else { drive.map_or(0.0, |d| (idle.grid + d).min(0.0)) };
    Some(Figure::Knee { grid, screen: idle.screen - screen_now, plate: idle.plate - 0.25 * ip * load, ip })
}

fn stage_figure(e: &Value) -> Option<Figure> {
    let pentode = e["tube"].as_str().is_some_and(|t| t.starts_with("EF"));
    // The circuit 2 row's note gives its screen and next grid resistors, from memory.
    let noted =
        |key: &str, value: f64| number(e, key).or(if e["table"] == "circuit 2" { Some(value) } else { None });
    let screen = if pentode { noted("screen_resistor_ohm", 1e6)? } else { 0.0 };
    let stage = Stage {
        supply: number(e, "supply_V")?,
        load: number(e, "plate_load_ohm")?,
        cathode: number(e, "cathode_resistor_ohm")?,
        screen,
        next: noted("following_grid_resistor_ohm", 680e3).unwrap_or(f64::INFINITY),
    };
    let (ip, is, ik) =
        (milli(e, "plate_current_mA"), milli(e, "screen_current_mA"), milli(e, "cathode_current_mA"));
    Some(Figure::Stage { stage, ip, is, ik, gain: number(e, "voltage_gain") })
}
