//! The voltage chart as JSON.

use serde::Serialize;

use super::{Figure, Head, Report, SolvingJson};
use crate::analysis::{Chart, ChartRow, Compared, SectionRows};
use crate::model::Condition;
use crate::numeric::statistics::{Figure as Of, Within};
use crate::solve::tolerance::{Method, SectionSpread, Spread};

/// The whole report of `volts`.
#[derive(Debug, Serialize)]
pub struct VoltsJson<'a> {
    condition: &'static str,
    charts: Vec<ChartJson<'a>>,
}

/// One case of the condition: most conditions have one.
#[derive(Debug, Serialize)]
pub struct ChartJson<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    case: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spread: Option<MethodJson>,
    #[serde(flatten)]
    solving: SolvingJson<'a>,
    rails: Vec<RowJson<'a>>,
    sections: Vec<SectionJson<'a>>,
    others: Vec<RowJson<'a>>,
}

#[derive(Debug, Serialize)]
struct RowJson<'a> {
    place: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    title: Option<&'a str>,
    unit: &'static str,
    predicted: Option<Figure>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spread: Option<SpreadJson>,
    window: Option<WindowJson<'a>>,
    mark: &'static str,
    readings: Vec<ReadingJson<'a>>,
}

/// From the 1 % point to the 99 % point.
#[derive(Debug, Serialize)]
struct SpreadJson {
    low: Figure,
    high: Figure,
}

/// How spreads were worked out.
#[derive(Debug, Serialize)]
struct MethodJson {
    method: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    samples: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    seed: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    failed: Option<usize>,
    varied: usize,
    assumed: usize,
}

#[derive(Debug, Serialize)]
struct WindowJson<'a> {
    low: Figure,
    high: Figure,
    because: Option<&'a str>,
}

/// A reading against its prediction.
#[derive(Debug, Serialize)]
pub(super) struct ReadingJson<'a> {
    place: &'a str,
    value: Figure,
    unit: &'static str,
    ac: bool,
    condition: &'a str,
    accuracy: Option<Figure>,
    predicted: Option<Figure>,
    share: Option<Figure>,
    mark: &'static str,
}

#[derive(Debug, Serialize)]
struct SectionJson<'a> {
    section: &'a str,
    #[serde(rename = "type")]
    type_name: Option<&'a str>,
    fitted: bool,
    stage: Option<&'a str>,
    electrodes: Vec<RowJson<'a>>,
    at_rest: Option<AtRestJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spread: Option<SectionSpreadJson>,
}

#[derive(Debug, Serialize)]
struct SectionSpreadJson {
    plate_volts: Option<SpreadJson>,
    screen_volts: Option<SpreadJson>,
    grid_volts: Option<SpreadJson>,
    plate_amps: Option<SpreadJson>,
    screen_amps: Option<SpreadJson>,
    cathode_amps: Option<SpreadJson>,
    plate_watts: Option<SpreadJson>,
    screen_watts: Option<SpreadJson>,
    plate_share: Option<SpreadJson>,
    screen_share: Option<SpreadJson>,
}

#[derive(Debug, Serialize)]
struct AtRestJson {
    plate_volts: Figure,
    screen_volts: Option<Figure>,
    grid_volts: Figure,
    plate_amps: Figure,
    screen_amps: Option<Figure>,
    cathode_amps: Figure,
    plate_watts: Figure,
    screen_watts: Option<Figure>,
    plate_share: Option<Figure>,
    screen_share: Option<Figure>,
}

/// The charts of a condition's cases with the documents they are of.
pub fn volts<'a>(
    head: Head<'a>,
    condition: Condition,
    charts: Vec<ChartJson<'a>>,
) -> Report<'a, VoltsJson<'a>> {
    Report::new("asfound/volts/2", head, VoltsJson { condition: condition.word(), charts })
}

/// One chart, and how much of it was solved.
pub fn chart<'a>(solving: SolvingJson<'a>, chart: &'a Chart) -> ChartJson<'a> {
    ChartJson {
        case: chart.case,
        spread: chart.spread.map(method),
        solving,
        rails: chart.rails.iter().map(row).collect(),
        sections: chart.sections.iter().map(section).collect(),
        others: chart.others.iter().map(row).collect(),
    }
}

fn method(spread: &Spread) -> MethodJson {
    let (varied, assumed) = (spread.varied, spread.assumed);
    match spread.method {
        Method::FirstOrder => {
            MethodJson { method: "first-order", samples: None, seed: None, failed: None, varied, assumed }
        }
        Method::MonteCarlo { samples, seed, failed } => MethodJson {
            method: "monte-carlo",
            samples: Some(samples),
            seed: Some(seed),
            failed: Some(failed),
            varied,
            assumed,
        },
    }
}

fn within(within: Within) -> SpreadJson {
    SpreadJson { low: Figure(within.low), high: Figure(within.high) }
}

fn section_spread(of: &SectionSpread, has_screen: bool) -> SectionSpreadJson {
    let figure = |figure| of.of(figure).map(within);
    let screen = |what| if has_screen { figure(what) } else { None };
    SectionSpreadJson {
        plate_volts: figure(Of::PlateVolts),
        screen_volts: screen(Of::ScreenVolts),
        grid_volts: figure(Of::GridVolts),
        plate_amps: figure(Of::PlateAmps),
        screen_amps: screen(Of::ScreenAmps),
        cathode_amps: figure(Of::CathodeAmps),
        plate_watts: figure(Of::PlateWatts),
        screen_watts: screen(Of::ScreenWatts),
        plate_share: of.plate_share.map(within),
        screen_share: of.screen_share.map(within),
    }
}

fn row<'a>(row: &'a ChartRow) -> RowJson<'a> {
    let window = row.window.map(|w| WindowJson {
        low: Figure(w.low),
        high: Figure(w.high),
        because: w.because.as_deref(),
    });
    RowJson {
        place: &row.place,
        title: row.title,
        unit: row.unit.sign(),
        predicted: row.predicted.map(Figure),
        spread: row.spread.map(within),
        window,
        mark: row.mark.word(),
        readings: row.readings.iter().map(reading).collect(),
    }
}

/// One reading.
pub(super) fn reading<'a>(compared: &Compared<'a>) -> ReadingJson<'a> {
    let reading = compared.reading;
    ReadingJson {
        place: &reading.place,
        value: Figure(reading.value),
        unit: reading.unit.sign(),
        ac: reading.ac,
        condition: &reading.condition,
        accuracy: reading.accuracy.map(Figure),
        predicted: compared.predicted.map(Figure),
        share: compared.share.map(Figure),
        mark: compared.mark.word(),
    }
}

fn section<'a>(section: &'a SectionRows) -> SectionJson<'a> {
    let at_rest = section.at_rest.map(|s| AtRestJson {
        plate_volts: Figure(s.plate_volts),
        screen_volts: s.screen_volts.map(Figure),
        grid_volts: Figure(s.grid_volts),
        plate_amps: Figure(s.plate_amps),
        screen_amps: s.screen_amps.map(Figure),
        cathode_amps: Figure(s.cathode_amps),
        plate_watts: Figure(s.plate_watts),
        screen_watts: s.screen_watts.map(Figure),
        plate_share: s.plate_share.map(Figure),
        screen_share: s.screen_share.map(Figure),
    });
    SectionJson {
        section: &section.name,
        type_name: section.type_name,
        fitted: section.fitted,
        stage: section.stage,
        electrodes: section.electrodes.iter().map(row).collect(),
        at_rest,
        spread: section
            .spread
            .map(|of| section_spread(of, section.at_rest.is_some_and(|rest| rest.screen_amps.is_some()))),
    }
}
