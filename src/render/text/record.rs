//! What the bench asks: what has not been looked at, what the readings say, what to mind before opening.

use super::head::mains_of_the_day;
use super::page::Page;
use super::table::{Align, Cell, Table};
use super::volts::reading_cells;
use crate::analysis::{CAUTIONS, Compared, Coverage, Mark};
use crate::analysis::{Matter, Open};
use crate::circuit::Circuit;
use crate::render::text::style::{CAUTION, FAINT, HEAD, PLAIN};
use crate::units::rounded;

/// Parts nobody has looked at, by stage and role.
pub fn not_looked_at(page: &mut Page, circuit: &Circuit, coverage: &Coverage) {
    page.heading(&format!("Not yet looked at ({} of {} parts seen)", coverage.looked_at, coverage.parts));
    let mut table = Table::new(&[Align::Left; 2]);
    for group in &coverage.groups {
        let roles: Vec<String> = group
            .by_role
            .iter()
            .map(|(role, parts)| {
                let names: Vec<&str> = parts.iter().map(|id| circuit.part(*id).name.as_str()).collect();
                format!("{role} {}", names.join(" "))
            })
            .collect();
        table.row(vec![group.stage.clone().into(), roles.join(" · ").into()]);
    }
    page.table(2, &table);
}

/// Readings against predictions.
pub fn readings(page: &mut Page, circuit: &Circuit, readings: &[Compared]) {
    page.heading(&match mains_of_the_day(circuit) {
        Some(volts) => format!("Readings, predictions at {volts} mains"),
        None => "Readings".to_owned(),
    });
    let columns =
        [Align::Left, Align::Right, Align::Left, Align::Right, Align::Right, Align::Left, Align::Left];
    let mut table = Table::new(&columns);
    table
        .row(["", "predicted", "window", "read", "differs by", "", ""].map(|w| Cell::new(w, FAINT)).to_vec());
    for compared in readings {
        let reading = compared.reading;
        let predicted = compared
            .predicted
            .map_or(Cell::new("no figure", FAINT), |value| rounded(value, reading.unit, 4).into());
        let window = compared.window.map_or(String::new(), |w| {
            format!("{} to {}", rounded(w.low, w.unit, 4), rounded(w.high, w.unit, 4))
        });
        let condition = if reading.condition == "idle" { String::new() } else { reading.condition.clone() };
        let mut row = vec![Cell::new(reading.place.clone(), HEAD), predicted, window.into()];
        row.extend(reading_cells(compared));
        row.push(Cell::new(condition, FAINT));
        table.row(row);
    }
    page.table(2, &table);
}

/// Which readings agree with the prediction, and those that don't.
pub fn meter(page: &mut Page, readings: &[Compared]) {
    let known: Vec<&Compared> = readings.iter().filter(|compared| compared.share.is_some()).collect();
    let off = |compared: &&&Compared| compared.share.is_some_and(|share| share.abs() > NEAR);
    let near = known.iter().filter(|compared| !off(compared)).count();
    let words = |compared: &&&Compared| {
        let (reading, unit) = (compared.reading, compared.reading.unit);
        let predicted =
            compared.predicted.map_or(String::new(), |p| format!(", {} predicted", rounded(p, unit, 3)));
        let window = match compared.mark {
            Mark::Good if compared.window.is_some() => ", inside its window",
            Mark::Low | Mark::High => ", outside its window",
            _ => "",
        };
        let share = compared.share.unwrap_or_default() * 100.0;
        format!("{} {}{predicted} ({share:+.0} %){window}", reading.place, rounded(reading.value, unit, 3))
    };
    let far: Vec<String> = known.iter().filter(off).map(|compared| words(&compared)).collect();
    let near = format!("{near} of {} agree within {:.0} %", readings.len(), NEAR * 100.0);
    let all: Vec<String> = std::iter::once(near).chain(far).collect();
    page.blank();
    page.paragraph(0, PLAIN, &format!("Meter against prediction: {}", all.join(" · ")));
}

/// How near a reading is that needs no line.
const NEAR: f64 = 0.05;

/// What to mind, in few lines.
pub fn cautions_in_short(page: &mut Page, own: &[String]) {
    let all: Vec<&str> = own.iter().map(String::as_str).chain(CAUTIONS).collect();
    page.blank();
    page.item(0, "!", CAUTION, &all.join(" "));
}

/// What was said or read and nothing has answered since.
pub fn open(page: &mut Page, matters: &[Open]) {
    if matters.is_empty() {
        return;
    }
    page.heading("Still open: neither read nor looked at since");
    for Open { document, about, said, .. } in matters {
        let words = match said {
            Matter::Words(words) => format!("\"{words}\""),
            Matter::Reading { read, predicted, unit, condition } => {
                let state = if condition == "idle" { String::new() } else { format!(" in {condition}") };
                let figure = |value: f64| rounded(value, *unit, 4);
                let expected =
                    predicted.map_or("no figure for it".to_owned(), |p| format!("{} predicted", figure(p)));
                format!("reads {}{state}, {expected}: nothing explains it", figure(*read))
            }
        };
        let about = about.as_ref().map_or(String::new(), |about| format!("{about} "));
        page.item(2, "-", CAUTION, &format!("{about}{words} ({document})"));
    }
}

/// The same in one paragraph.
pub fn open_in_short(page: &mut Page, matters: &[&Open]) {
    if matters.is_empty() {
        return;
    }
    let one = |open: &&Open| {
        let about = open.about.as_ref().map_or(String::new(), |about| format!("{about} "));
        match &open.said {
            Matter::Words(words) => format!("{about}\"{words}\""),
            Matter::Reading { read, predicted, unit, .. } => {
                let expected =
                    predicted.map_or(String::new(), |p| format!(", {} predicted", rounded(p, *unit, 3)));
                format!("{about}reads {}{expected}, and nothing explains it", rounded(*read, *unit, 3))
            }
        }
    };
    let words: Vec<String> = matters.iter().map(one).collect();
    page.blank();
    page.paragraph(0, PLAIN, &format!("Still open: {}", words.join(" · ")));
}

/// What to mind before opening, measuring or powering, this amplifier's `own` first.
pub fn cautions(page: &mut Page, own: &[String]) {
    page.heading("Before you open it");
    for caution in own {
        page.item(2, "!", CAUTION, caution);
    }
    for caution in CAUTIONS {
        page.item(2, "!", CAUTION, caution);
    }
}

/// The text of a page that leads someone to open or probe: it ends with the caution.
pub fn cautioned(mut page: Page) -> String {
    page.blank();
    page.item(0, "!", CAUTION, crate::analysis::CAUTION);
    page.finish()
}

/// A line that is not weighty.
pub fn aside(page: &mut Page, words: &str) {
    page.paragraph(0, FAINT, words);
}

/// A line that is.
pub fn last_line(page: &mut Page, words: &str) {
    page.blank();
    page.paragraph(0, PLAIN, words);
}
