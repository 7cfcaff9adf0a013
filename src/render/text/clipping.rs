//! Large signals as text: where each stage clips, and what the output stage gives.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::Heard;
use crate::render::text::style::{CAUTION, FAINT, HEAD};
use crate::solve::large_signal::power::{Power, PowerPoint};
use crate::solve::large_signal::transfer::{Class, Limit};
use crate::units::{Unit, rounded};

/// Clipping limits and the output stage.
pub(super) fn clipping(page: &mut Page, now: &Heard) {
    limits(page, now);
    if let Some(power) = &now.responded.power {
        output(page, now, power);
    }
}

fn limits(page: &mut Page, now: &Heard) {
    let responded = &now.responded;
    if responded.transfers.is_empty() {
        return;
    }
    page.heading("Clipping, capacitors held: peak volts at the grid from rest");
    let columns = [
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Left,
        Align::Right,
        Align::Left,
        Align::Right,
        Align::Left,
    ];
    let mut table = Table::new(&columns);
    let head = ["", "", "rising", "", "falling", "", "output between", "bias"];
    table.row(head.map(|w| Cell::new(w, FAINT)).to_vec());
    for transfer in &responded.transfers {
        let port = &responded.ports[transfer.port];
        let volts = |limit: Option<Limit>| {
            limit.map_or("none found".into(), |l| {
                let sign = if l.grid > 0.0 { "+" } else { "" };
                format!("{sign}{}", rounded(l.grid, Unit::Volt, 3))
            })
        };
        let cause = |limit: Option<Limit>| limit.map_or("", |l| l.cause.word());
        let class = transfer.class();
        let style = if class == Some(Class::Centred) { super::style::GOOD } else { CAUTION };
        let between = transfer.up.zip(transfer.down).map_or(String::new(), |(up, down)| {
            let (low, high) = (up.output.min(down.output), up.output.max(down.output));
            format!("{} and +{}", rounded(low, Unit::Volt, 3), rounded(high, Unit::Volt, 3))
        });
        table.row(vec![
            Cell::new(now.sections(port), HEAD),
            Cell::new(now.stage(port.stage), FAINT),
            Cell::from(volts(transfer.up)),
            Cell::new(cause(transfer.up), FAINT),
            Cell::from(volts(transfer.down)),
            Cell::new(cause(transfer.down), FAINT),
            Cell::from(between),
            Cell::new(class.map_or("", Class::word), style),
        ]);
    }
    page.table(2, &table);
}

fn output(page: &mut Page, now: &Heard, power: &Power) {
    let transformer = &now.circuit.part(power.transformer).name;
    page.heading(&format!(
        "Output stage, {} at the plates by {transformer} and its load, supply held",
        rounded(power.load_ohms, Unit::Ohm, 3)
    ));
    let mut table = Table::new(&[Align::Right; 8]);
    let head =
        ["drive peak", "into the load", "distortion", "plate current", "plate", "screen current", "screen"];
    table.row(head.map(|w| Cell::new(w, FAINT)).to_vec());
    for point in &power.points {
        table.row(row(point));
    }
    page.table(2, &table);
    page.paragraph(
        2,
        FAINT,
        "currents of all its valves together, watts of the hottest; the last line is the onset of grid current",
    );
}

fn row(point: &PowerPoint) -> Vec<Cell> {
    let sum =
        |of: fn(&crate::solve::large_signal::power::SectionPower) -> f64| point.sections.iter().map(of).sum();
    let most = |of: fn(&crate::solve::large_signal::power::SectionPower) -> f64| {
        point.sections.iter().map(of).fold(0.0, f64::max)
    };
    vec![
        Cell::from(rounded(point.drive, Unit::Volt, 3)),
        Cell::from(rounded(point.watts, Unit::Watt, 3)),
        Cell::from(point.distortion.map_or(String::new(), |d| rounded(d, Unit::Ratio, 2))),
        Cell::from(rounded(sum(|s| s.plate_amps), Unit::Amp, 3)),
        Cell::from(rounded(most(|s| s.plate_watts), Unit::Watt, 3)),
        Cell::from(rounded(sum(|s| s.screen_amps), Unit::Amp, 3)),
        Cell::from(rounded(most(|s| s.screen_watts), Unit::Watt, 2)),
    ]
}
