//! What capacitors keep, on every page that tells of it.

use serde_json::Value;

use super::Folder;

const STANDBY: &str = r#"stock "Dunnock 6"
rail RAW "reservoir"
rail B1 "plates"
source HT 400V behind 100R unloaded 440V plus RAW minus chassis
capacitor C1 100u 500V electrolytic plus RAW minus chassis
resistor R1 220k 2W from RAW to chassis
switch S1 600V 3A positions standby play now play "Standby"
contact S1 play joins RAW to B1
capacitor C2 47u 500V electrolytic plus B1 minus chassis
"#;

fn json(folder: &Folder, line: &str) -> Value {
    let ran = folder.run(&format!("{line} --format json"));
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}{}", ran.out, ran.err))
}

fn cautions(report: &Value) -> Vec<String> {
    let all = report["cautions"].as_array().into_iter().flatten();
    all.filter_map(|caution| caution.as_str().map(str::to_owned)).collect()
}

/// The middle of the stack reads 236 V with the reservoir at 397 V: C40 (100 µ) holds the 161 V between them, ½·C·V² =
/// 1.3 J, where the prediction, its lower bleeder gone, says none.
#[test]
fn a_reading_that_shows_charge_is_told() {
    let read = |name: &str| {
        let path = format!("{}/examples/sedge-45/{name}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).unwrap()
    };
    let (stock, job) = (read("sedge-45.amp"), read("job-0412.amp"));
    let folder = Folder::of(&[("sedge-45.amp", &stock), ("job-0412.amp", &job)]);
    let sheet = json(&folder, "supply job-0412.amp");
    let stored = sheet["cases"][0]["stored"].as_array().unwrap();
    let upper = stored.iter().find(|s| s["part"] == "C40").unwrap();
    assert_eq!(upper["by_readings"], true);
    let volts = upper["volts"].as_f64().unwrap();
    assert!((volts - 161.0).abs() < 1.0, "{volts}");
    assert!((upper["joules"].as_f64().unwrap() / (50e-6 * volts * volts) - 1.0).abs() < 1e-6);
    assert!(folder.run("supply job-0412.amp").out.lines().any(|l| l.contains("C40   161 V   1.3 J")));
    let told = cautions(&json(&folder, "audit job-0412.amp"));
    assert!(told.iter().any(|c| c.contains("C40 is charged to 161 V by what was read")), "{told:?}");
    assert!(told.iter().any(|c| c.starts_with("C41 holds 7.9 J, above 60 V for 2.1 min")), "{told:?}");
}

/// A bleeder before the standby does nothing for what stands behind it: 47 µ at 400 V, 3.8 J.
#[test]
fn behind_an_open_standby_it_stays() {
    let folder = Folder::of(&[("stock.amp", STANDBY)]);
    let kept = "C2 keeps 3.8 J after switch-off: nothing discharges it, left with S1 at standby.";
    for line in ["audit stock.amp", "supply stock.amp"] {
        let told = cautions(&json(&folder, line));
        assert!(told.iter().any(|c| c == kept), "{line}: {told:?}");
    }
    let ran = folder.run("supply stock.amp").out;
    let row = ran.lines().find(|line| line.trim_start().starts_with("C2 ")).unwrap();
    assert!(row.ends_with("never: nothing discharges it  left with S1 at standby"), "{row}");
    let ran = folder.run("lint stock.amp");
    assert_eq!(ran.status, 1, "{}", ran.out);
    let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("nothing discharges it, left with S1 at standby"), "{flat}");
    // With a bleeder of its own it goes, and nothing is told but the time.
    let bled = format!("{STANDBY}resistor R2 220k 2W from B1 to chassis\n");
    folder.write("stock.amp", bled.as_bytes());
    let findings = json(&folder, "lint stock.amp")["findings"].as_array().unwrap().clone();
    assert!(findings.iter().all(|f| f["rule"] != "charge-stays-long"), "{findings:?}");
}
