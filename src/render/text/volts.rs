//! The voltage chart as text.

use anstyle::Style;

use super::head::mains_of_the_day;
use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::analysis::{Chart, ChartRow, Compared, Mark, SectionRows};
use crate::circuit::Circuit;
use crate::numeric::statistics::{Figure, Within};
use crate::render::text::style::{CAUTION, DANGER, FAINT, GOOD, HEAD, PLAIN};
use crate::solve::tolerance::Method;
use crate::units::{Unit, rounded};

const COLUMNS: [Align; 8] = [
    Align::Left,
    Align::Right,
    Align::Right,
    Align::Left,
    Align::Right,
    Align::Right,
    Align::Left,
    Align::Left,
];

/// The last digit of a bench meter on its lowest range, V.
const METER_VOLTS: f64 = 50e-6;

/// The whole chart.
pub fn volts(page: &mut Page, chart: &Chart) {
    let mut table = Table::new(&COLUMNS);
    let all = || chart.rows();
    let named = |word: &'static str, there: bool| Cell::new(if there { word } else { "" }, FAINT);
    let read = all().any(|row| !row.readings.is_empty());
    table.row(vec![
        Cell::new("Rails", HEAD),
        named("predicted", true),
        named("1 % to 99 %", all().any(|row| row.spread.is_some())),
        named("window", all().any(|row| row.window.is_some())),
        named("read", read),
        named("differs by", read),
    ]);
    chart.rails.iter().for_each(|row| rows(&mut table, row, row.title.unwrap_or("")));
    for section in &chart.sections {
        let stage = section.stage.unwrap_or("in no recognised stage");
        let type_name = section.type_name.unwrap_or("type unknown");
        let out = if section.fitted { "" } else { ", not fitted" };
        titled(&mut table, &section.name, &format!("{type_name}{out}, {stage}"));
        section.electrodes.iter().for_each(|row| rows(&mut table, row, ""));
        idle(&mut table, section);
    }
    if !chart.others.is_empty() {
        titled(&mut table, "Elsewhere", "");
        chart.others.iter().for_each(|row| rows(&mut table, row, ""));
    }
    page.table(0, &table);
}

fn titled(table: &mut Table, name: &str, what: &str) {
    table.across(vec![]);
    table.across(vec![Cell::new(name, HEAD), Cell::new(what, FAINT)]);
}

/// Volts as a bench meter shows them: what is below its last digit is 0.
fn figure(value: f64, unit: Unit) -> String {
    let seen = if unit == Unit::Volt && value.abs() < METER_VOLTS { 0.0 } else { value };
    rounded(seen, unit, 4)
}

/// `290 V to 330 V`.
fn from_to(low: f64, high: f64, unit: Unit) -> String {
    format!("{} to {}", rounded(low, unit, 4), rounded(high, unit, 4))
}

/// Where 98 amplifiers of 100 are, `297.5 to 308.7 V`; empty where a meter shows no difference.
fn spread_cell(spread: Option<Within>, unit: Unit, digits: usize) -> Cell {
    let seen = |value: f64| if unit == Unit::Volt && value.abs() < METER_VOLTS { 0.0 } else { value };
    let [low, high] = spread.map_or([0.0; 2], |w| [seen(w.low), seen(w.high)]);
    if low == high {
        return Cell::from("");
    }
    let (low, high) = (rounded(low, unit, digits), rounded(high, unit, digits));
    let (figure, sign) = low.split_once(' ').unwrap_or((&low, ""));
    let same = high.split_once(' ').is_some_and(|(_, other)| other == sign);
    Cell::from(format!("{} to {high}", if same { figure } else { &low }))
}

/// One row, and a further one for every reading after the first.
fn rows(table: &mut Table, row: &ChartRow, remark: &str) {
    let place = format!("  {}", row.place);
    let predicted = match row.predicted {
        Some(value) => Cell::new(figure(value, row.unit), if row.mark.bad() { CAUTION } else { PLAIN }),
        None => Cell::new("undefined", CAUTION),
    };
    let window = row.window.map_or(String::new(), |w| from_to(w.low, w.high, w.unit));
    let spread = spread_cell(row.spread, row.unit, 4);
    let mut lead = vec![Cell::from(place), predicted, spread, Cell::from(window)];
    if row.readings.is_empty() {
        let mark = if row.mark.bad() { format!("predicted {}", row.mark.word()) } else { String::new() };
        lead.extend([Cell::from(""), Cell::from(""), Cell::new(mark, CAUTION), Cell::new(remark, FAINT)]);
        table.row(lead);
        return;
    }
    for (index, reading) in row.readings.iter().enumerate() {
        let mut cells = if index == 0 { std::mem::take(&mut lead) } else { vec!["".into(); 4] };
        cells.extend(reading_cells(reading));
        cells.push(Cell::new(if index == 0 { remark } else { "" }, FAINT));
        table.row(cells);
    }
}

/// The reading, its difference, and the mark.
pub(super) fn reading_cells(compared: &Compared) -> [Cell; 3] {
    let reading = compared.reading;
    let kind = if reading.ac { " AC" } else { "" };
    let value = format!("{}{kind}", rounded(reading.value, reading.unit, 4));
    let share = compared.share.map_or(String::new(), signed_share);
    let mark = if compared.mark == Mark::Open { "" } else { compared.mark.word() };
    [value.into(), share.into(), Cell::new(mark, mark_style(compared.mark))]
}

/// `+3.2 %`.
pub(super) fn signed_share(share: f64) -> String {
    format!("{}{}", if share >= 0.0 { "+" } else { "" }, rounded(share, Unit::Ratio, 2))
}

fn mark_style(mark: Mark) -> Style {
    match mark {
        Mark::Good => GOOD,
        Mark::Low | Mark::High | Mark::Off => CAUTION,
        Mark::Open => FAINT,
    }
}

/// Idle current and dissipation of a section.
fn idle(table: &mut Table, section: &SectionRows) {
    let Some(rest) = section.at_rest else { return };
    let mut line = |what: &str, value: f64, figure: Figure, share: Option<Option<f64>>| {
        let unit = match figure {
            Figure::PlateWatts | Figure::ScreenWatts => Unit::Watt,
            _ => Unit::Amp,
        };
        let spread = section.spread.and_then(|spread| spread.of(figure));
        let mut row = vec![Cell::from(format!("  {what}")), Cell::from(rounded(value, unit, 3))];
        row.push(spread_cell(spread, unit, 3));
        row.extend((0..4).map(|_| Cell::from("")));
        row.extend(share.map(of_maximum));
        table.row(row);
    };
    line("plate current", rest.plate_amps, Figure::PlateAmps, None);
    line("plate power", rest.plate_watts, Figure::PlateWatts, Some(rest.plate_share));
    if let (Some(amps), Some(watts)) = (rest.screen_amps, rest.screen_watts) {
        line("screen current", amps, Figure::ScreenAmps, None);
        line("screen power", watts, Figure::ScreenWatts, Some(rest.screen_share));
    }
}

/// How the spreads were worked out; nothing where they were not.
pub fn spread_note(page: &mut Page, chart: &Chart) {
    let Some(spread) = chart.spread else { return };
    let how = match spread.method {
        Method::FirstOrder => "to first order".to_owned(),
        Method::MonteCarlo { samples, seed, failed } => {
            let lost = match failed {
                0 => String::new(),
                _ => format!("; {failed} of them had no operating point and are in no figure"),
            };
            format!("by {samples} amplifiers drawn at random, seed {seed}{lost}")
        }
    };
    page.blank();
    page.paragraph(
        0,
        FAINT,
        &format!(
            "1 % to 99 %: 98 amplifiers of 100 lie between, {how}. Parts are anywhere within their tolerance, measured \
             ones within the meter's, valves about their type's mean, none of them matched; the mains is as stated. {} of \
             {} tolerances are assumed.",
            spread.assumed, spread.varied
        ),
    );
}

/// A share of the type's maximum.
fn of_maximum(share: Option<f64>) -> Cell {
    match share {
        Some(share) => {
            let style = if share > 1.0 { DANGER } else { FAINT };
            Cell::new(format!("{} of maximum", rounded(share, Unit::Ratio, 3)), style)
        }
        None => Cell::new("maximum not known", FAINT),
    }
}

/// What the marks mean; nothing where there is none.
pub fn legend(page: &mut Page, circuit: &Circuit, chart: &Chart) {
    if chart.rows().all(|row| row.readings.is_empty()) {
        return;
    }
    page.blank();
    if let Some(volts) = mains_of_the_day(circuit) {
        let words = "Readings differ by so much from what is predicted at the mains they were taken at,";
        page.paragraph(0, FAINT, &format!("{words} {volts}."));
    }
    page.paragraph(
        0,
        FAINT,
        "good, low, high: the reading against its stated window. Without a window: off is more than 10 % from the \
         prediction, good is nearer.",
    );
}
