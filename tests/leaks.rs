//! A leak is judged by what it does, whatever the capacitor is for: a current that it moves, a rail that it pulls down, or
//! nothing where no volts are across it.

use asfound::analysis::judge;
use asfound::rules::{Level, RuleSet, SHIPPED};
use asfound::source::FileId;

use crate::support::built;

/// Input capacitor, bypass, coupling, bright and tone capacitor, filter.
const STOCK: &str = "stock \"Pipit 2\"
rail B1 \"plates\"
source HT 280V behind 1k unloaded 300V plus B1 minus chassis
capacitor C1 47u 450V electrolytic plus B1 minus chassis
resistor R90 220k 2W 500V from B1 to chassis
jack J1 \"In\" sleeve chassis
tube V1 ECC83
resistor R1 1M 0.5W from J1.tip to chassis
resistor R2 47k 0.5W from J1.tip to C2.1
capacitor C2 22n 630V film to V1a.grid
resistor R3 1M 0.5W from V1a.grid to chassis
resistor R4 1k5 0.5W from V1a.cathode to chassis
capacitor C3 22u 25V electrolytic plus V1a.cathode minus chassis
resistor R5 100k 1W from B1 to V1a.plate
capacitor C4 22n 630V film from V1a.plate to VR1.top
pot VR1 1M log \"Volume\" bottom chassis at 100%
capacitor C5 120p 500V ceramic from VR1.top to VR1.wiper
link W1 from VR1.wiper to V1b.grid
resistor R6 1k5 0.5W from V1b.cathode to chassis
resistor R7 100k 1W from B1 to V1b.plate
capacitor C6 22n 630V film from V1b.plate to R8.1
resistor R8 100k 0.5W to J2.tip
capacitor C7 4n7 630V film from J2.tip to chassis
jack J2 \"Out\" sleeve chassis
resistor R9 1M 0.5W from J2.tip to chassis
drive J1 behind 10k
";

/// The level and text of what is said of a capacitor with this leak.
fn told(leak: &str) -> Vec<(Level, String)> {
    let job = format!("as-found \"job 3\" of \"stock.amp\"\n{leak}\n");
    let circuits = built(&[("stock.amp", STOCK), ("job.amp", &job)]);
    let texts: Vec<(FileId, &str)> =
        SHIPPED.iter().enumerate().map(|(i, (_, text))| (FileId(i as u32), *text)).collect();
    let audit = judge(&circuits, &RuleSet::load(&texts).0);
    let about = audit.verdicts.findings.into_iter().filter(|f| f.rule == "capacitor-leaks");
    about.map(|f| (f.level, f.message)).collect()
}

fn levels(leak: &str) -> Vec<Level> {
    told(leak).into_iter().map(|(level, _)| level).collect()
}

/// Nothing is across the input and bright capacitors (0 V grids), so 20 MΩ move nothing: noticed, and no more.
#[test]
fn a_leak_without_volts_across_it_moves_nothing() {
    assert_eq!(levels("C2 leaks 10uA at 200V"), [Level::Notice]);
    assert_eq!(levels("C5 leaks 10uA at 200V"), [Level::Notice]);
    assert_eq!(levels("C7 leaks 10uA at 200V"), [Level::Notice]);
}

/// From a plate at some 190 V through 20 MΩ into 1 MΩ: +9 V at the next grid, far past its bias of 1.3 V.
#[test]
fn a_leak_that_drags_a_grid_up_is_a_warning() {
    let found = told("C4 leaks 10uA at 200V");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, Level::Warning);
    assert!(found[0].1.contains("V1b at "), "{}", found[0].1);
}

/// 1 mA at 2 V is 2 kΩ beside the 1k5: 857 Ω, for which the stage draws a quarter more and over.
#[test]
fn a_leaking_bypass_moves_its_stage() {
    let found = told("C3 leaks 1mA at 2V");
    assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), [Level::Warning], "{found:?}");
    assert!(found[0].1.contains("V1a at "), "{}", found[0].1);
}

/// 40 mA at 280 V drop 35 V and more in the supply's 1 kΩ.
#[test]
fn a_leaking_filter_pulls_its_rail_down() {
    let found = told("C1 leaks 40mA at 280V");
    assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), [Level::Warning], "{found:?}");
    assert!(found[0].1.contains("without it"), "{}", found[0].1);
}

/// A plate's 190 V over 20 MΩ and 1.1 MΩ at the jack: 9 µA, which no valve sees; a film capacitor should pass nothing.
#[test]
fn a_film_capacitor_that_passes_current_is_a_caution() {
    assert_eq!(levels("C6 leaks 10uA at 200V"), [Level::Caution]);
    assert!(levels("C6 leaks 10nA at 200V").is_empty());
}
