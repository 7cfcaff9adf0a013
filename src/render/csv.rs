//! Curves for spreadsheets: comma-separated, a head line with units, full digits.

use crate::analysis::Heard;
use crate::numeric::ac::margins::degrees;
use crate::units::significant;

/// Significant digits of a figure, as in JSON.
const DIGITS: usize = 12;

/// The response, one frequency a line: dB and degrees; against an earlier amplifier also its figures and the
/// difference. Empty where there is no curve.
pub fn response(before: Option<&Heard>, now: &Heard) -> String {
    let Some(sweep) = &now.responded.sweep else { return String::new() };
    let old = before.and_then(|before| before.responded.sweep.as_ref());
    let difference = before.and_then(|before| before.difference(now));
    let mut text = String::from("hertz,decibels,degrees");
    if old.is_some() {
        text.push_str(",decibels before,degrees before,difference in decibels");
    }
    text.push('\n');
    let now_levels = sweep.decibels();
    let old_levels = old.map(crate::solve::signal::sweep::Sweep::decibels);
    for (at, hertz) in sweep.hertz.iter().enumerate() {
        let mut figures = vec![*hertz, now_levels[at], degrees(sweep.ratio[at])];
        if let (Some(old), Some(levels), Some(difference)) = (old, &old_levels, &difference) {
            figures.extend([levels[at], degrees(old.ratio[at]), difference[at]]);
        }
        let cells: Vec<String> = figures.into_iter().map(figure).collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

/// A figure; nothing where it is not finite.
fn figure(value: f64) -> String {
    if value.is_finite() { format!("{}", significant(value, DIGITS) + 0.0) } else { String::new() }
}
