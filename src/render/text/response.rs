//! The response to a signal as text: the curve, the stages, the feedback. Large signals are in `clipping`.

use super::page::Page;
use super::plot::{Curves, plot};
use super::table::{Align, Cell, Table};
use crate::analysis::{Heard, gain_of};
use crate::numeric::ac::margins::degrees;
use crate::render::text::style::{CAUTION, DANGER, FAINT, HEAD, PLAIN};
use crate::solve::signal::feedback::Loop;
use crate::solve::signal::gain::decibels;
use crate::solve::signal::sweep::{Corners, Sweep, at};
use crate::units::{Unit, rounded};

/// Frequencies that the curve's figures are given at, in hertz.
const FIGURES: [f64; 10] = [40.0, 80.0, 160.0, 315.0, 630.0, 1000.0, 2000.0, 4000.0, 8000.0, 16000.0];

/// The report, alone or against an earlier amplifier.
pub fn response(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    curve(page, before, now);
    stages(page, before, now);
    couplings(page, now);
    output(page, before, now);
    super::clipping::clipping(page, now);
}

fn curve(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    let responded = &now.responded;
    let Some(sweep) = &responded.sweep else {
        page.heading("Response");
        page.paragraph(2, CAUTION, "nothing drives it, or no signal reaches that place");
        return;
    };
    page.heading(&format!("Response, {}", now.way()));
    if sweep.ratio.iter().all(|ratio| decibels(*ratio) < NOTHING) {
        page.paragraph(2, CAUTION, &nothing_arrives(now));
        return;
    }
    let new = sweep.decibels();
    let old = before.and_then(|b| b.responded.sweep.as_ref()).map(Sweep::decibels);
    plot(page, &Curves { hertz: &sweep.hertz, before: old.as_deref(), now: &new }, page.width());
    page.blank();
    let mut table =
        Table::new(&[Align::Left; 1].iter().chain(&[Align::Right; 10]).copied().collect::<Vec<_>>());
    let within: Vec<f64> = FIGURES
        .into_iter()
        .filter(|f| sweep.hertz[0] <= *f && *f <= sweep.hertz[sweep.hertz.len() - 1])
        .collect();
    let mut row = |name: &str, style, figure: &dyn Fn(f64) -> String| {
        let mut cells = vec![Cell::new(name, FAINT)];
        cells.extend(within.iter().map(|f| Cell::new(figure(*f), style)));
        table.row(cells);
    };
    row("", FAINT, &|f| rounded(f, Unit::Hertz, 3));
    if let Some(old) = &old {
        row("before", FAINT, &|f| level(at(&sweep.hertz, old, f)));
        row("now", PLAIN, &|f| level(at(&sweep.hertz, &new, f)));
        row("difference", HEAD, &|f| signed(at(&sweep.hertz, &new, f) - at(&sweep.hertz, old, f)));
    } else {
        row("dB", PLAIN, &|f| level(at(&sweep.hertz, &new, f)));
    }
    page.table(2, &table);
    let whole = responded.from.is_none() && responded.to == responded.output_net;
    let corners = if whole { responded.whole_corners } else { sweep.corners() };
    if corners != Corners::default() {
        let words = corner_words(corners);
        page.paragraph(2, FAINT, &format!("3 dB below its level at 1 kHz: {words}"));
    }
}

/// Below this, in dB, there is no signal.
const NOTHING: f64 = -200.0;

/// What to say of a way with no signal at its end.
fn nothing_arrives(now: &Heard) -> String {
    match now.responded.stops_at {
        Some(part) => format!("no signal arrives; it stops at {}", now.circuit.part(part).name),
        None => "no signal arrives".to_owned(),
    }
}

/// `-3.0 dB`; "none" where there is no signal.
fn level_words(decibels: f64) -> String {
    if decibels >= NOTHING { format!("{:.1} dB", decibels + 0.0) } else { "none".into() }
}

/// `-3.0`; nothing where it is not known.
fn level(decibels: f64) -> String {
    if decibels.is_finite() { format!("{:.1}", decibels + 0.0) } else { "none".into() }
}

pub(super) fn signed(decibels: f64) -> String {
    if decibels.is_finite() { format!("{:+.1}", decibels + 0.0) } else { String::new() }
}

fn hertz(value: Option<f64>) -> String {
    value.map_or("·".into(), |f| rounded(f, Unit::Hertz, 3))
}

fn corner_words(corners: Corners) -> String {
    match (corners.low, corners.high) {
        (Some(low), Some(high)) => format!("{} and {}", hertz(Some(low)), hertz(Some(high))),
        (Some(one), None) => format!("{} below, none above", hertz(Some(one))),
        (None, Some(one)) => format!("{} above, none below", hertz(Some(one))),
        (None, None) => "nowhere".into(),
    }
}

fn stages(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    page.heading("Stages at 1 kHz, each from its grid, loaded as it stands");
    let right = Align::Right;
    let columns = [Align::Left, Align::Left, Align::Left, right, right, right, right, right, right, right];
    let mut table = Table::new(&columns);
    let mut head = vec!["", "", "to"];
    head.push(if before.is_some() { "before" } else { "" });
    head.extend([
        "gain",
        if before.is_some() { "moved" } else { "" },
        "phase",
        "from",
        "up to",
        "at its grid",
    ]);
    table.row(head.into_iter().map(|w| Cell::new(w, FAINT)).collect());
    let responded = &now.responded;
    for (gain, corners) in responded.gains.stages.iter().zip(&responded.stage_corners) {
        let port = &responded.ports[gain.port];
        let farads = responded.gains.inputs.iter().find(|i| i.port == gain.port).map(|i| i.farads);
        let level_now = decibels(gain.gain);
        let old = before.and_then(|b| gain_of(b, &now.sections(port), now.net(gain.output)));
        let moved = old.map_or(String::new(), |old| signed(level_now - old));
        let stands_out = old.is_some_and(|old| (level_now - old).abs() > 0.5);
        table.row(vec![
            Cell::new(now.sections(port), HEAD),
            Cell::new(now.stage(port.stage), FAINT),
            Cell::from(now.net(gain.output)),
            Cell::new(old.map_or(String::new(), level_words), FAINT),
            Cell::from(level_words(level_now)),
            Cell::new(moved, if stands_out { CAUTION } else { PLAIN }),
            Cell::new(format!("{:.0}°", degrees(gain.gain) + 0.0), FAINT),
            Cell::from(hertz(corners.low)),
            Cell::from(hertz(corners.high)),
            Cell::from(farads.map_or(String::new(), |f| rounded(f, Unit::Farad, 2))),
        ]);
    }
    page.table(2, &table);
    whole(page, now);
    imbalance(page, now);
}

fn whole(page: &mut Page, now: &Heard) {
    let gains = &now.responded.gains;
    let Some(whole) = gains.whole else { return };
    if decibels(whole) < NOTHING {
        page.paragraph(2, CAUTION, &format!("drive to {}: {}", now.output_name(), nothing_arrives(now)));
        return;
    }
    let miss = gains.difference().filter(|_| gains.loop_or_bypass()).map_or(String::new(), |difference| {
        let names: Vec<&str> = gains.in_loop.iter().map(|stage| now.stage(*stage)).collect();
        let more = if difference < 0.0 { "less" } else { "more" };
        let places = if names.is_empty() { String::new() } else { format!(" at {}", names.join(", ")) };
        let size = difference.abs();
        format!("; gains and couplings multiply to {size:.1} dB {more}: loop or bypass{places}")
    });
    let words = format!("drive to {}: {:.1} dB at 1 kHz{miss}", now.output_name(), decibels(whole));
    page.paragraph(2, PLAIN, &words);
}

/// An inverter's outputs against each other.
fn imbalance(page: &mut Page, now: &Heard) {
    let gains = &now.responded.gains;
    for (index, port) in now.responded.ports.iter().enumerate() {
        let own: Vec<f64> =
            gains.stages.iter().filter(|g| g.port == index).map(|g| decibels(g.gain)).collect();
        if let [one, other] = own[..]
            && one.min(other) >= NOTHING
        {
            let name = now.stage(port.stage);
            page.paragraph(2, PLAIN, &format!("{name}: its outputs differ by {:.2} dB", (one - other).abs()));
        }
    }
}

fn couplings(page: &mut Page, now: &Heard) {
    let responded = &now.responded;
    if responded.gains.couplings.is_empty() {
        return;
    }
    page.heading("Couplings at 1 kHz");
    let mut table = Table::new(&[
        Align::Left,
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Left,
    ]);
    table.row(["", "", "", "", "from", "up to", "by"].map(|w| Cell::new(w, FAINT)).to_vec());
    for (gain, corners) in responded.gains.couplings.iter().zip(&responded.coupling_corners) {
        let coupling = &now.recognised.couplings[gain.coupling];
        let parts: Vec<&str> = coupling.parts.iter().map(|p| now.circuit.part(*p).name.as_str()).collect();
        let by = if parts.is_empty() { "direct".to_owned() } else { parts.join(" ") };
        table.row(vec![
            Cell::from(now.net(coupling.output)),
            Cell::from("→"),
            Cell::from(now.net(coupling.input)),
            Cell::from(level_words(decibels(gain.gain))),
            Cell::from(hertz(corners.low)),
            Cell::from(hertz(corners.high)),
            Cell::new(by, FAINT),
        ]);
    }
    page.table(2, &table);
}

fn output(page: &mut Page, before: Option<&Heard>, now: &Heard) {
    let responded = &now.responded;
    if responded.output.is_none() && responded.feedback.is_none() {
        return;
    }
    page.heading("Output and feedback");
    if let Some(output) = responded.output {
        let name = &now.circuit.part(output.part).name;
        let was = before.and_then(|b| b.responded.output).map_or(String::new(), |b| {
            format!(" (before: {} and {:.2})", rounded(b.ohms.norm(), Unit::Ohm, 3), b.damping)
        });
        let words = format!(
            "at {name}, {}: output impedance {} at 1 kHz, damping {:.2}{was}",
            rounded(output.load_ohms, Unit::Ohm, 3),
            rounded(output.ohms.norm(), Unit::Ohm, 3),
            output.damping
        );
        page.item(2, "-", PLAIN, &words);
    }
    if let Some(found) = &responded.feedback {
        feedback(page, now, found);
    }
    for presence in &responded.presence {
        let name = &now.circuit.part(presence.part).name;
        let words = format!(
            "{name} from bottom to top: {:+.1} dB at most, at {}",
            presence.decibels,
            rounded(presence.hertz, Unit::Hertz, 2)
        );
        page.item(2, "-", PLAIN, &words);
    }
}

fn feedback(page: &mut Page, now: &Heard, found: &Loop) {
    let names: Vec<&str> = found.parts.iter().map(|p| now.circuit.part(*p).name.as_str()).collect();
    let to = found.stage.map_or(String::new(), |stage| format!(", into the {}", now.stage(stage)));
    let sense = match found.transformer {
        Some((part, false)) => {
            format!(
                "; {}'s sense is not stated, falling taps for a rising plate-a assumed",
                now.circuit.part(part).name
            )
        }
        _ => String::new(),
    };
    let names = names.join(" and ");
    if found.positive {
        let words = format!(
            "feedback over {names}{to} is wired the wrong way round: it aids, {:+.1} dB at 1 kHz{}{sense}",
            -found.decibels,
            if found.oscillates() { ", and the amplifier howls" } else { "" },
        );
        page.item(2, "-", DANGER, &words);
        return;
    }
    let phase = found.margins.least_phase().map_or("loop gain stays below 1".to_owned(), |(f, margin)| {
        format!("phase margin {margin:.0}° at {}", rounded(f, Unit::Hertz, 3))
    });
    let gain = found.margins.least_gain().map_or("it never aids".to_owned(), |(f, margin)| {
        format!("gain margin {margin:.1} dB at {}", rounded(f, Unit::Hertz, 3))
    });
    let words = format!(
        "feedback over {names}{to}: takes {:.1} dB at 1 kHz, loop gain there {}; {phase}; {gain}{sense}",
        found.decibels,
        level_words(decibels(found.at_1k))
    );
    page.item(2, "-", PLAIN, &words);
    if found.oscillates() {
        page.item(2, "-", DANGER, "the loop gain goes round the point of 1 in phase: the amplifier howls");
    }
}
