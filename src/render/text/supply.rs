//! The supply's sheet as text.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::{STING_JOULES, SupplySheet};
use crate::numeric::time::discharge::Fall;
use crate::render::text::style::{CAUTION, DANGER, FAINT, HEAD};
use crate::solve::decay::{HARMLESS_VOLTS, Stored};
use crate::solve::supply::{RectifierState, Supply};
use crate::solve::touch::{PLUG_SECONDS, PulledPlug};
use crate::units::{Unit, duration, rounded, significant};

const RIGHT: Align = Align::Right;
/// Ripple below this is heard by nobody, V.
const LEAST_RIPPLE: f64 = 1e-4;
/// A ripple current below this warms no capacitor, A.
const LEAST_CURRENT: f64 = 1e-4;
/// Volts below this are nothing to feel, V.
const LEAST_PLUG_VOLTS: f64 = 0.1;

/// The whole sheet.
pub fn supply(page: &mut Page, sheet: &SupplySheet) {
    for supply in sheet.supplies {
        let hertz = rounded(supply.hertz, Unit::Hertz, 3);
        page.heading(&format!(
            "Supply from {}, {hertz}, {}",
            sheet.fed_from(supply),
            sheet.solved.told_with_mains(sheet.circuit)
        ));
        rectifiers(page, sheet, supply);
        windings(page, sheet, supply);
        filter(page, sheet, supply);
        capacitors(page, sheet, supply);
    }
    if !sheet.sources.is_empty() {
        let names: Vec<&str> = sheet.sources.iter().map(|id| sheet.circuit.part(*id).name.as_str()).collect();
        page.blank();
        page.paragraph(
            0,
            FAINT,
            &format!(
                "{}: given as volts behind a resistance, so nothing is known of what its rectifier and winding carry. \
                 Without the `source` line they are worked out from winding, rectifier and reservoir.",
                names.join(", ")
            ),
        );
    }
    stored(page, sheet);
}

/// A figure, or that it is below what is worth one.
fn at_least(value: f64, least: f64, unit: Unit) -> String {
    if value < least { format!("under {}", rounded(least, unit, 1)) } else { rounded(value, unit, 2) }
}

fn titled(words: &[&str]) -> Vec<Cell> {
    let first = words.first().map(|word| Cell::new(*word, HEAD));
    first.into_iter().chain(words.iter().skip(1).map(|word| Cell::new(*word, FAINT))).collect()
}

/// `57 % of its most`; in the danger's colour above.
fn share(share: Option<f64>) -> Cell {
    share.map_or(Cell::from(""), |share| {
        let style = if share > 1.0 { DANGER } else { FAINT };
        Cell::new(format!("({})", rounded(share, Unit::Ratio, 3)), style)
    })
}

fn rectifiers(page: &mut Page, sheet: &SupplySheet, supply: &Supply) {
    let aligns = [Align::Left, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT];
    let mut table = Table::new(&aligns);
    table.row(titled(&[
        "Rectifier",
        "mean",
        "",
        "peak",
        "",
        "conducts",
        "holds off",
        "",
        "first charge",
        "",
    ]));
    let amps = |value: f64| Cell::from(rounded(value, Unit::Amp, 3));
    for state in &supply.rectifiers {
        table.row(vec![
            Cell::from(format!("  {}", sheet.rectifier(state))),
            amps(state.amps.mean),
            share(state.mean_share),
            amps(state.amps.greatest),
            share(state.peak_share),
            Cell::from(rounded(state.conducting_seconds, Unit::Second, 2)),
            Cell::from(rounded(state.inverse_volts, Unit::Volt, 3)),
            share(state.inverse_share),
            amps(state.inrush_amps),
            share(state.inrush_share),
        ]);
    }
    page.table(0, &table);
    supply.rectifiers.iter().for_each(|state| feed(page, sheet, state));
}

/// A feed of too little resistance for a rectifier valve.
fn feed(page: &mut Page, sheet: &SupplySheet, state: &RectifierState) {
    if let (Some(ohms), Some(share)) = (state.feed_ohms, state.feed_share)
        && share > 1.0
    {
        let (name, ohms, least) =
            (sheet.rectifier(state), rounded(ohms, Unit::Ohm, 3), rounded(ohms * share, Unit::Ohm, 3));
        page.paragraph(
            2,
            CAUTION,
            &format!("{name}: {ohms} in its feed, the type asks for {least} at least"),
        );
    }
}

fn windings(page: &mut Page, sheet: &SupplySheet, supply: &Supply) {
    let mut table = Table::new(&[Align::Left, RIGHT, RIGHT, RIGHT, RIGHT]);
    table.row(titled(&["Winding", "rms", "", "peak", "heat"]));
    for state in &supply.windings {
        table.row(vec![
            Cell::from(format!("  {}", sheet.winding(state))),
            Cell::from(rounded(state.rms_amps, Unit::Amp, 3)),
            share(state.share),
            Cell::from(rounded(state.peak_amps, Unit::Amp, 3)),
            Cell::from(rounded(state.watts, Unit::Watt, 2)),
        ]);
    }
    page.blank();
    page.table(0, &table);
}

fn filter(page: &mut Page, sheet: &SupplySheet, supply: &Supply) {
    let mut table = Table::new(&[Align::Left, RIGHT, RIGHT]);
    table.row(titled(&["Filter", "mean", "ripple, peak to peak"]));
    for state in &supply.nets {
        table.row(vec![
            Cell::from(format!("  {}", sheet.circuit.net(state.net).name)),
            Cell::from(rounded(state.volts.mean, Unit::Volt, 4)),
            Cell::from(at_least(state.volts.swing(), LEAST_RIPPLE, Unit::Volt)),
        ]);
    }
    for state in &supply.chokes {
        let name = &sheet.circuit.part(state.part).name;
        table.row(vec![
            Cell::from(format!("  {name}")),
            Cell::from(rounded(state.amps.mean, Unit::Amp, 3)),
            Cell::from(rounded(state.amps.swing(), Unit::Amp, 2)),
        ]);
    }
    page.blank();
    page.table(0, &table);
}

fn capacitors(page: &mut Page, sheet: &SupplySheet, supply: &Supply) {
    let mut table = Table::new(&[Align::Left, RIGHT, RIGHT, RIGHT]);
    table.row(titled(&["Capacitor", "at most", "", "ripple current rms"]));
    for state in &supply.capacitors {
        table.row(vec![
            Cell::from(format!("  {}", sheet.circuit.part(state.part).name)),
            Cell::from(rounded(state.volts.peak(), Unit::Volt, 3)),
            share(sheet.share_of_rating(state)),
            Cell::from(at_least(state.rms_amps, LEAST_CURRENT, Unit::Amp)),
        ]);
    }
    page.blank();
    page.table(0, &table);
    page.paragraph(
        0,
        FAINT,
        "In brackets: the share of what the part or its type is rated for, where that is known.",
    );
}

fn stored(page: &mut Page, sheet: &SupplySheet) {
    page.heading("After switch-off, valves cold");
    sheet.unjudged.iter().for_each(|why| page.paragraph(2, CAUTION, why));
    if sheet.stored.is_empty() {
        page.paragraph(2, FAINT, &format!("No capacitor holds more than {HARMLESS_VOLTS} V."));
        return;
    }
    let mut table = Table::new(&[Align::Left, RIGHT, RIGHT, RIGHT, Align::Left]);
    table.row(titled(&["", "holds", "energy", "under 60 V after", ""]));
    let (small, large): (Vec<&Stored>, Vec<&Stored>) =
        sheet.stored.iter().partition(|s| s.joules < STING_JOULES && s.fall != Fall::Never);
    for stored in large {
        let after = match stored.fall {
            Fall::Never => Cell::new("never: nothing discharges it", DANGER),
            Fall::After(seconds) => Cell::from(duration(seconds)),
            Fall::Below => Cell::from("at once"),
        };
        table.row(vec![
            Cell::from(format!("  {}", sheet.circuit.part(stored.part).name)),
            Cell::from(rounded(stored.volts.abs(), Unit::Volt, 3)),
            Cell::from(joules(stored.joules)),
            after,
            Cell::new(how(stored), FAINT),
        ]);
    }
    page.table(0, &table);
    if let Some(longest) = small.first().and_then(|s| s.fall.seconds()) {
        let names: Vec<&str> = small.iter().map(|s| sheet.circuit.part(s.part).name.as_str()).collect();
        page.paragraph(
            2,
            FAINT,
            &format!(
                "Under {} each, and under 60 V within {}: {}.",
                joules(STING_JOULES),
                duration(longest),
                names.join(" ")
            ),
        );
    }
    page.paragraph(
        0,
        FAINT,
        &format!(
            "{} in all. Sound parts are taken for granted: a bleeder may be open, a capacitor's own charge comes back. \
             Discharge through a resistor and verify with a meter, whatever this table says.",
            joules(sheet.joules)
        ),
    );
}

/// In which positions of the switches, and by what.
fn how(stored: &Stored) -> String {
    let read = if stored.by_readings { "by its readings" } else { "" };
    let both = [stored.state.as_str(), read];
    both.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ")
}

/// What the pins of the mains plug keep.
pub fn plug(page: &mut Page, plug: &PulledPlug) {
    if plug.charges.is_empty() && plug.unjudged.is_none() {
        return;
    }
    page.heading(&format!("At the plug, {PLUG_SECONDS} s after pulling it"));
    let mut table = Table::new(&[Align::Left, RIGHT, RIGHT, RIGHT]);
    table.row(titled(&["", "holds", "energy", "on"]));
    for charge in &plug.charges {
        table.row(vec![
            Cell::from(format!("  {}", charge.between())),
            Cell::from(at_least(charge.volts, LEAST_PLUG_VOLTS, Unit::Volt)),
            Cell::from(joules(charge.joules)),
            Cell::from(rounded(charge.farads, Unit::Farad, 2)),
        ]);
    }
    page.table(0, &table);
    plug.unjudged.iter().for_each(|why| page.paragraph(2, CAUTION, why));
}

/// Energy: `2.3 J`, `14 mJ`.
fn joules(joules: f64) -> String {
    let (value, unit) = if joules >= 0.1 { (joules, "J") } else { (joules * 1e3, "mJ") };
    format!("{} {unit}", significant(value, 2))
}
