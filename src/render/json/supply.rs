//! The supply's sheet as JSON.

use serde::Serialize;

use super::{Figure, Head, Report};
use crate::analysis::SupplySheet;
use crate::circuit::Circuit;
use crate::numeric::time::rectifier::Course;
use crate::solve::decay::HARMLESS_VOLTS;
use crate::solve::supply::{CapacitorState, RectifierState, Supply, WindingState};
use crate::solve::touch::{PlugCharge, PulledPlug};

/// The whole report of `supply`.
#[derive(Debug, Serialize)]
pub struct SupplyReportJson<'a> {
    condition: &'static str,
    cases: Vec<SheetJson<'a>>,
    /// Between every two pins of the mains plug that a capacitor joins, 2 s after pulling it.
    plug: Vec<PlugJson<'a>>,
    /// A case of the plug that could not be worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    plug_unjudged: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct PlugJson<'a> {
    inlet: &'a str,
    pins: [&'static str; 2],
    volts: Figure,
    farads: Figure,
    joules: Figure,
    /// Where switches stand, where that tells.
    state: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    assumed: Option<&'a str>,
}

/// One case of the condition.
#[derive(Debug, Serialize)]
pub struct SheetJson<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    case: Option<&'a str>,
    supplies: Vec<SupplyJson<'a>>,
    sources: Vec<&'a str>,
    harmless_volts: Figure,
    joules: Figure,
    stored: Vec<StoredJson<'a>>,
    /// Positions of the switches in which that could not be worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    stored_unjudged: Option<&'a str>,
    assumed: &'a [String],
}

#[derive(Debug, Serialize)]
struct SupplyJson<'a> {
    hertz: Figure,
    rectifiers: Vec<RectifierJson>,
    windings: Vec<WindingJson>,
    nets: Vec<NetJson<'a>>,
    capacitors: Vec<CapacitorJson<'a>>,
    chokes: Vec<ChokeJson<'a>>,
}

#[derive(Debug, Serialize)]
struct CourseJson {
    mean: Figure,
    rms: Figure,
    least: Figure,
    greatest: Figure,
}

#[derive(Debug, Serialize)]
struct RectifierJson {
    rectifier: String,
    amps: CourseJson,
    conducting_seconds: Figure,
    inverse_volts: Figure,
    inrush_amps: Figure,
    feed_ohms: Option<Figure>,
    watts: Figure,
    mean_share: Option<Figure>,
    peak_share: Option<Figure>,
    inverse_share: Option<Figure>,
    inrush_share: Option<Figure>,
    feed_share: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct WindingJson {
    winding: String,
    rms_amps: Figure,
    peak_amps: Figure,
    watts: Figure,
    share: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct NetJson<'a> {
    net: &'a str,
    volts: CourseJson,
    ripple_volts: Figure,
}

#[derive(Debug, Serialize)]
struct CapacitorJson<'a> {
    part: &'a str,
    volts: CourseJson,
    ripple_rms_amps: Figure,
    share: Option<Figure>,
}

#[derive(Debug, Serialize)]
struct ChokeJson<'a> {
    part: &'a str,
    amps: CourseJson,
}

#[derive(Debug, Serialize)]
struct StoredJson<'a> {
    part: &'a str,
    volts: Figure,
    joules: Figure,
    /// `null`: nothing discharges it.
    seconds_to_harmless: Option<Figure>,
    /// Where the switches stand then, where that is not where they stand now.
    state: &'a str,
    /// It is charged by what was read; the prediction says less.
    by_readings: bool,
}

/// The sheets of a condition's cases and what the pulled plug keeps, with the documents they are of.
pub fn supply<'a>(
    head: Head<'a>,
    condition: &'static str,
    cases: Vec<SheetJson<'a>>,
    (circuit, plug): (&'a Circuit, &'a PulledPlug),
) -> Report<'a, SupplyReportJson<'a>> {
    let charge = |charge: &'a PlugCharge| PlugJson {
        inlet: &circuit.part(charge.inlet).name,
        pins: charge.pins,
        volts: Figure(charge.volts),
        farads: Figure(charge.farads),
        joules: Figure(charge.joules),
        state: &charge.state,
        assumed: charge.assumed.as_deref(),
    };
    let plug_unjudged = plug.unjudged.as_deref();
    let plug = plug.charges.iter().map(charge).collect();
    Report::new("asfound/supply/1", head, SupplyReportJson { condition, cases, plug, plug_unjudged })
}

/// One sheet.
pub fn supply_sheet<'a>(sheet: &SupplySheet<'a>) -> SheetJson<'a> {
    let name = |id| sheet.circuit.part(id).name.as_str();
    let stored = sheet.stored.iter().map(|s| StoredJson {
        part: name(s.part),
        volts: Figure(s.volts),
        joules: Figure(s.joules),
        seconds_to_harmless: s.fall.seconds().map(Figure),
        state: &s.state,
        by_readings: s.by_readings,
    });
    SheetJson {
        case: sheet.solved.case.as_deref(),
        supplies: sheet.supplies.iter().map(|supply| one(sheet, supply)).collect(),
        sources: sheet.sources.iter().map(|id| name(*id)).collect(),
        harmless_volts: Figure(HARMLESS_VOLTS),
        joules: Figure(sheet.joules),
        stored: stored.collect(),
        stored_unjudged: sheet.unjudged,
        assumed: &sheet.solved.assumed,
    }
}

fn one<'a>(sheet: &SupplySheet<'a>, supply: &'a Supply) -> SupplyJson<'a> {
    let part = |id| sheet.circuit.part(id).name.as_str();
    SupplyJson {
        hertz: Figure(supply.hertz),
        rectifiers: supply.rectifiers.iter().map(|state| rectifier(sheet, state)).collect(),
        windings: supply.windings.iter().map(|state| winding(sheet, state)).collect(),
        nets: supply
            .nets
            .iter()
            .map(|state| NetJson {
                net: &sheet.circuit.net(state.net).name,
                volts: course(&state.volts),
                ripple_volts: Figure(state.volts.swing()),
            })
            .collect(),
        capacitors: supply.capacitors.iter().map(|state| capacitor(sheet, state)).collect(),
        chokes: supply
            .chokes
            .iter()
            .map(|state| ChokeJson { part: part(state.part), amps: course(&state.amps) })
            .collect(),
    }
}

fn course(course: &Course) -> CourseJson {
    CourseJson {
        mean: Figure(course.mean),
        rms: Figure(course.rms),
        least: Figure(course.least),
        greatest: Figure(course.greatest),
    }
}

fn rectifier(sheet: &SupplySheet, state: &RectifierState) -> RectifierJson {
    RectifierJson {
        rectifier: sheet.rectifier(state),
        amps: course(&state.amps),
        conducting_seconds: Figure(state.conducting_seconds),
        inverse_volts: Figure(state.inverse_volts),
        inrush_amps: Figure(state.inrush_amps),
        feed_ohms: state.feed_ohms.map(Figure),
        watts: Figure(state.watts),
        mean_share: state.mean_share.map(Figure),
        peak_share: state.peak_share.map(Figure),
        inverse_share: state.inverse_share.map(Figure),
        inrush_share: state.inrush_share.map(Figure),
        feed_share: state.feed_share.map(Figure),
    }
}

fn winding(sheet: &SupplySheet, state: &WindingState) -> WindingJson {
    WindingJson {
        winding: sheet.winding(state),
        rms_amps: Figure(state.rms_amps),
        peak_amps: Figure(state.peak_amps),
        watts: Figure(state.watts),
        share: state.share.map(Figure),
    }
}

fn capacitor<'a>(sheet: &SupplySheet<'a>, state: &CapacitorState) -> CapacitorJson<'a> {
    CapacitorJson {
        part: &sheet.circuit.part(state.part).name,
        volts: course(&state.volts),
        ripple_rms_amps: Figure(state.rms_amps),
        share: sheet.share_of_rating(state).map(Figure),
    }
}
