//! Phase and gain margins of a loop over all frequencies.
//!
//! ```text
//! Three equal poles at 10 kHz, loop gain 4 at low frequencies: L = 4/(1 + jf/10k)³, critical at −1
//! phase     3·atan(f/10k) = 180° at f = 17.3 kHz, where |L| = 4/2³ = 0.5
//! gain      0.5 short of 1: a gain margin of 6.0 dB
//! |L| = 1   at f = 12.3 kHz, phase 3·50.9° = 153°: a phase margin of 27°
//! with 10   |L| = 1.25 where it aids: past −1, encircled, it howls
//! ```

use num_complex::Complex64;

use crate::numeric::ac::Range;
use crate::numeric::outcome::Unsolved;

/// Where loops of valve amplifiers with a transformer in them have long lost their gain.
// Twenty a decade: an output transformer's resonance of Q 5 is wider than a step.
const LOOP_RANGE: Range = Range { low: 0.05, high: 20e6, points: 173 };

/// Between two neighbouring frequencies at which it is this small the loop gain does not reach 1.
// To reach 1 between neighbours 12 % apart that are at 0.1 takes a resonance with a Q of over 80, by its curve.
const PLAINLY_SMALL: f64 = 0.1;

/// How near a loop comes to howling.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Margins {
    /// Where the loop gain is 1: frequency in hertz, and phase in degrees short of aiding.
    pub phase: Vec<(f64, f64)>,
    /// Where the loop aids: frequency in hertz, and dB short of 1 (negative: past it).
    pub gain: Vec<(f64, f64)>,
    /// The loop gain goes round −1: the amplifier howls (H. Nyquist, 1932; the opened amplifier is stable).
    pub encircled: bool,
    /// Frequency of the largest loop gain.
    pub middle: f64,
    /// The loop gain there.
    pub at_middle: Complex64,
}

impl Margins {
    /// The smallest phase margin, in degrees; `None` where the loop gain never reaches 1.
    pub fn least_phase(&self) -> Option<(f64, f64)> {
        self.phase.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The smallest gain margin, in dB; `None` where the loop never aids.
    pub fn least_gain(&self) -> Option<(f64, f64)> {
        self.gain.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Margins of a loop gain given by frequency.
pub fn margins(loop_gain: &mut dyn FnMut(f64) -> Result<Complex64, Unsolved>) -> Result<Margins, Unsolved> {
    let hertz = LOOP_RANGE.hertz();
    let gains: Vec<Complex64> = hertz.iter().map(|f| loop_gain(*f)).collect::<Result<_, _>>()?;
    let mut found = Margins::default();
    for (f, gain) in hertz.iter().zip(&gains) {
        // Ties keep the lower frequency.
        if gain.norm() > found.at_middle.norm() {
            (found.middle, found.at_middle) = (*f, *gain);
        }
    }
    let mut turns = 0;
    for (f, l) in hertz.windows(2).zip(gains.windows(2)) {
        if (l[0].norm() > 1.0) != (l[1].norm() > 1.0) {
            let at = halve((f[0], f[1]), |x| Ok(loop_gain(x)?.norm() > 1.0))?;
            found.phase.push((at, short_of_aiding(degrees(loop_gain(at)?), l[0].norm() > 1.0)));
        }
        if aids(l) {
            let (at, size) = size_where_it_aids((f[0], f[1]), loop_gain)?;
            found.gain.push((at, -20.0 * libm::log10(size)));
            // Nyquist by crossings: each pass over the real axis beyond −1 is half a turn, the mirrored half at
            // negative frequencies the other. Passes there and back cancel: a loop that aids with gain above 1 on
            // both may be stable all the same.
            if size > 1.0 {
                turns += turn(l);
            }
        }
    }
    found.encircled = turns != 0;
    Ok(found)
}

/// [`Margins::encircled`] alone, which takes fewer frequencies.
pub(crate) fn encircled(
    loop_gain: &mut dyn FnMut(f64) -> Result<Complex64, Unsolved>,
) -> Result<bool, Unsolved> {
    let hertz = LOOP_RANGE.hertz();
    let gains: Vec<Complex64> = hertz.iter().map(|f| loop_gain(*f)).collect::<Result<_, _>>()?;
    let mut turns = 0;
    for (f, l) in hertz.windows(2).zip(gains.windows(2)) {
        let small = l.iter().all(|gain| gain.norm() < PLAINLY_SMALL);
        if aids(l) && !small && size_where_it_aids((f[0], f[1]), loop_gain)?.1 > 1.0 {
            turns += turn(l);
        }
    }
    Ok(turns != 0)
}

/// Whether the loop aids somewhere between two neighbouring frequencies.
fn aids(gains: &[Complex64]) -> bool {
    // On the negative real axis the loop's signal comes back as it went in. A crossing of the positive one is full
    // feedback.
    gains.iter().all(|gain| gain.re < 0.0) && (gains[0].im > 0.0) != (gains[1].im > 0.0)
}

/// Which way round it passes there.
fn turn(gains: &[Complex64]) -> i32 {
    if gains[0].im > 0.0 { 1 } else { -1 }
}

/// Where between two frequencies the loop aids, and the size of its gain there.
fn size_where_it_aids(
    between: (f64, f64),
    loop_gain: &mut dyn FnMut(f64) -> Result<Complex64, Unsolved>,
) -> Result<(f64, f64), Unsolved> {
    let at = halve(between, |x| Ok(loop_gain(x)?.im > 0.0))?;
    Ok((at, loop_gain(at)?.norm()))
}

/// Degrees short of aiding where the gain crosses 1; negative past it. A falling gain lags, so that more than a
/// quarter turn of lead there is a lag past half a turn; a rising one the other way round.
fn short_of_aiding(phase: f64, falling: bool) -> f64 {
    let past = if falling { phase > 90.0 } else { phase < -90.0 };
    let short = 180.0 - phase.abs();
    if past { -short } else { short }
}

/// Phase in degrees, −180 to 180.
pub(crate) fn degrees(phasor: Complex64) -> f64 {
    libm::atan2(phasor.im, phasor.re).to_degrees()
}

/// The frequency between two where a condition changes.
fn halve(
    (low, high): (f64, f64),
    mut holds: impl FnMut(f64) -> Result<bool, Unsolved>,
) -> Result<f64, Unsolved> {
    // By logarithms: a phase changes with the ratio of frequencies.
    let (mut low, mut high) = (libm::log(low), libm::log(high));
    let first = holds(libm::exp(low))?;
    // A step of the range is 12 %: thirty halvings place the frequency to 1e-10 of it, well within what it is asked
    // for.
    for _ in 0..30 {
        let middle = f64::midpoint(low, high);
        if holds(libm::exp(middle))? == first { low = middle } else { high = middle }
    }
    Ok(libm::exp(f64::midpoint(low, high)))
}
