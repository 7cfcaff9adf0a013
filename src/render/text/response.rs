//! The response to a signal as text: the curve, the stages, the feedback.

use super::page::{CAUTION, FAINT, HEAD, PLAIN, Page};
use super::plot::{Curves, plot};
use super::table::{Align, Cell, Table};
use crate::bench::Heard;
use crate::solve::gain::{StageGain, decibels};
use crate::solve::loop_margin::degrees;
use crate::solve::response_sweep::Corners;
use crate::units::{Unit, rounded};

/// The report, alone or against an earlier amplifier.
pub fn response(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    curve(page, before, now);
    stages(page, before, now);
}

fn curve(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    let Some(sweep) = &now.responded.sweep else { return };
    page.heading("Response");
    let new = sweep.decibels();
    let old = before
        .and_then(|b| b.responded.sweep.as_ref())
        .map(super::super::super::solve::response_sweep::Sweep::decibels);
    plot(page, &Curves { hertz: &sweep.hertz, before: old.as_deref(), now: &new }, page.width());
}

fn stages(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    page.heading("Stages at 1 kHz");
    let mut table = Table::new(&[Align::Left, Align::Left, Align::Right, Align::Right, Align::Right]);
    for gain in &now.responded.gains.stages {
        let port = &now.responded.ports[gain.port];
        table.row(vec![
            Cell::new(now.sections(port), HEAD),
            Cell::from(now.stage(port.stage)),
            Cell::from(now.net(gain.output)),
            Cell::from(format!("{:.1} dB", decibels(gain.gain))),
            Cell::from(format!("{:.0}°", degrees(gain.gain))),
        ]);
    }
    page.table(2, &table);
    let _ = before;
}
