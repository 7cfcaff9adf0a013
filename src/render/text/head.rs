//! What stands at the top and the foot of every report: which documents, how much was solved, what was assumed.

use super::page::Page;
use super::table::{Align, Cell, Table};
use crate::circuit::Circuit;
use crate::model::DocumentKind;
use crate::render::text::style::{CAUTION, FAINT, HEAD, PLAIN};
use crate::solve::{Solved, Undefined};
use crate::units::{Unit, rounded};

/// The documents, the one that was asked for first, each with its path; then the mains.
pub fn head(page: &mut Page, stack: &[(&str, &Circuit)]) {
    let mut table = Table::new(&[Align::Left; 4]);
    for (index, (path, circuit)) in stack.iter().rev().enumerate() {
        let title = match &circuit.subtitle {
            Some(subtitle) => format!("{}, {subtitle}", circuit.title),
            None => circuit.title.clone(),
        };
        let style = if index == 0 { HEAD } else { PLAIN };
        let kind = if index == 0 { String::new() } else { "rests on".into() };
        table.row(vec![
            Cell::new(kind, FAINT),
            Cell::from(circuit.kind.word()),
            Cell::new(title, style),
            Cell::new(*path, FAINT),
        ]);
    }
    page.table(0, &table);
    if let Some((_, circuit)) = stack.last() {
        page.paragraph(0, FAINT, &mains(circuit));
    }
}

/// The document that was asked for, what it is judged against, and the mains, in one paragraph.
pub fn title(page: &mut Page, stack: &[(&str, &Circuit)]) {
    let Some(((_, top), beneath)) = stack.split_last() else { return };
    let stock = beneath.iter().rev().find(|(_, circuit)| circuit.kind == DocumentKind::Stock);
    let mut words = vec![match stock {
        Some((_, stock)) => format!("{}, {}, {}", stock.title, top.title, top.kind.word()),
        None => format!("{}, {}", top.title, top.kind.word()),
    }];
    words.extend(stock.map(|_| "against the stock spec".to_owned()));
    words.push(mains_in_short(top));
    page.paragraph(0, HEAD, &words.join(" · "));
}

fn mains_in_short(circuit: &Circuit) -> String {
    let Some(mains) = circuit.mains else { return "mains not stated".into() };
    let read = mains_of_the_day(circuit).map_or(String::new(), |volts| format!(", readings at {volts}"));
    format!("{} mains{read}", rounded(mains.volts, Unit::Volt, 4))
}

fn mains(circuit: &Circuit) -> String {
    let Some(mains) = circuit.mains else { return "mains not stated; supply taken as written".into() };
    let volts = |value: f64| rounded(value, Unit::Volt, 4);
    let hertz = mains.hertz.map_or("50 Hz assumed".into(), |hertz| rounded(hertz, Unit::Hertz, 3));
    let limits = match mains.limits {
        Some((low, high)) => format!("limits {} to {}", volts(low), volts(high)),
        None => "limits ±10 % assumed".into(),
    };
    let measured =
        circuit.mains_measured.as_ref().map_or(String::new(), |m| format!(", {} when read", volts(m.value)));
    format!("mains {}, {hertz}, {limits}{measured}", volts(mains.volts))
}

/// "236 V", where readings were taken at another mains than nominal and are held against predictions at that.
pub(super) fn mains_of_the_day(circuit: &Circuit) -> Option<String> {
    let (nominal, read) = (circuit.mains?.volts, circuit.mains_measured.as_ref()?.value);
    (nominal != read).then(|| rounded(read, Unit::Volt, 4))
}

/// What has no defined volts, and why; nothing where all was solved.
pub fn partly_solved(page: &mut Page, circuit: &Circuit, solved: &Solved, cut_off: &[Undefined]) {
    let name = |id| circuit.part(id).name.as_str();
    let mut lines: Vec<String> = Vec::new();
    for undefined in cut_off {
        let net = &circuit.net(undefined.net).name;
        lines.push(match undefined.cut_by {
            Some(part) => format!("{net}: volts undefined, no DC path to chassis; cut off by {}", name(part)),
            None => format!("{net}: volts undefined, no DC path to chassis"),
        });
    }
    for grid in &solved.floating_grids {
        let grid = circuit.leg_name(*grid);
        lines.push(format!(
            "{grid}: floats; solved with the grid at its cathode's volts, judged with the section cut off too"
        ));
    }
    for part in &solved.unknown {
        lines.push(format!("{}: value or type unknown, left out", name(*part)));
    }
    if !lines.is_empty() {
        page.heading("Partly solved");
        for line in &lines {
            page.item(2, "-", CAUTION, line);
        }
    }
}

/// Figures that had to be assumed.
pub fn assumed(page: &mut Page, lines: &[String]) {
    if !lines.is_empty() {
        page.heading("Assumed");
        for line in lines {
            page.item(2, "-", FAINT, line);
        }
    }
}

/// The same in one paragraph.
pub fn assumed_in_short(page: &mut Page, lines: &[String]) {
    if !lines.is_empty() {
        page.blank();
        page.paragraph(0, FAINT, &format!("Assumed: {}", lines.join(" · ")));
    }
}

/// Two documents that are compared.
pub fn between(page: &mut Page, before: (&str, &Circuit), after: (&str, &Circuit)) {
    let mut table = Table::new(&[Align::Left; 4]);
    for (word, (path, circuit)) in [("from", before), ("to", after)] {
        let title = Cell::new(circuit.title.clone(), HEAD);
        table.row(vec![Cell::new(word, FAINT), circuit.kind.word().into(), title, Cell::new(path, FAINT)]);
    }
    page.table(0, &table);
}

/// `1 difference`, `3 differences`.
pub fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}
