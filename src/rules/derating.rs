//! What a resistor bears of its rating where it sits.

/// The air inside a chassis that has played for an hour, °C: common practice, no source.
pub const INSIDE_CELSIUS: f64 = 50.0;
/// Up to here a film resistor bears its rating, °C (makers' film series sheets, read; IEC 60115 rates at 70 °C).
const FULL_CELSIUS: f64 = 70.0;
/// Here it bears nothing more, °C (same).
const NOTHING_CELSIUS: f64 = 155.0;

/// Share of a film resistor's rating that it bears in air of a temperature: all to 70 °C, nothing at 155 °C, a straight
/// line between.
pub fn bearable_share(celsius: f64) -> f64 {
    ((NOTHING_CELSIUS - celsius) / (NOTHING_CELSIUS - FULL_CELSIUS)).clamp(0.0, 1.0)
}
