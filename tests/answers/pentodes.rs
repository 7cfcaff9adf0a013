//! Pentodes with a positive grid: the screen starves and the plate bottoms, and both still have a point.

use asfound::solve::{Setup, at_rest};

use crate::support::stock;

const TYPES: [&str; 10] =
    ["EF86", "EL34", "EL84", "6V6GT", "6V6GTA", "6L6GC", "5881", "6550", "6550A", "KT88"];
const LOADS: [&str; 5] = ["1k", "10k", "220k", "1M", "10M"];
const SCREENS: [&str; 4] = ["100R", "22k", "470k", "1M2"];
const GRIDS: [f64; 3] = [0.5, 2.0, 20.0];

/// 600 circuits, ten types at sixty operating conditions each.
#[test]
fn a_positive_grid_into_any_load_has_a_point() {
    let mut tried = 0;
    for tube in TYPES {
        for (load, screen, grid) in
            LOADS.iter().flat_map(|l| SCREENS.iter().flat_map(move |s| GRIDS.iter().map(move |g| (l, s, g))))
        {
            let text = format!(
                "stock \"starved\" \"practice head\"\nrail B1\nrail G\n\
                 source HT 300V behind 100R plus B1 minus chassis\nsource GS {grid}V behind 1R plus G minus chassis\n\
                 tube V1 {tube} cathode chassis{suppressor}\nresistor RL {load} from B1 to V1.plate\n\
                 resistor RS {screen} from B1 to V1.screen\nresistor RG 1k from G to V1.grid\n",
                suppressor = if tube == "EF86" || tube == "EL34" { " suppressor V1.cathode" } else { "" },
            );
            let circuit = stock(&text);
            let solved = at_rest(&circuit, &Setup::idle());
            let solved = solved.unwrap_or_else(|why| panic!("{tube} {load} {screen} {grid} V: {why}"));
            let valve = &solved.sections[0];
            // Neither electrode lies below the cathode nor over its feed: it draws what its resistor lets through.
            let screen_volts = valve.screen_volts.expect("a pentode");
            assert!(
                valve.plate_volts > 0.0 && valve.plate_volts < 300.0,
                "{tube} {load} {screen}: {valve:?}"
            );
            assert!(screen_volts > 0.0 && screen_volts < 300.0, "{tube} {load} {screen}: {valve:?}");
            tried += 1;
        }
    }
    assert_eq!(tried, 600);
}
