//! A control's track: the one law of its taper, of its taps, and of a shaft whose position isn't stated.

use super::part::Part;
use crate::model::{Kind, Taper};

/// Where a shaft is taken to stand that no statement sets: halfway, which is said as assumed.
const ASSUMED_SHAFT: f64 = 0.5;

/// Share of a pot's resistance between bottom and wiper at a shaft position.
pub fn pot_share(taper: Taper, position: f64) -> f64 {
    match taper {
        Taper::Lin => position,
        Taper::Log => (libm::pow(10.0, 2.0 * position) - 1.0) / 99.0,
        Taper::ReverseLog => 1.0 - (libm::pow(10.0, 2.0 * (1.0 - position)) - 1.0) / 99.0,
    }
}

/// A stretch of a track between two of its legs that nothing lies between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Index of the leg at its upper end.
    pub upper: usize,
    /// Index of the leg at its lower end.
    pub lower: usize,
    /// Its share of the whole resistance.
    pub share: f64,
}

impl Part {
    /// Whether it is a pot or trimmer.
    pub fn is_control(&self) -> bool {
        matches!(self.kind, Kind::Pot | Kind::Trimmer)
    }

    /// Where a control's shaft stands, and whether that is assumed.
    pub fn shaft(&self) -> (f64, bool) {
        match self.component.body.at {
            Some(at) => (at.clamp(0.0, 1.0), false),
            None => (ASSUMED_SHAFT, true),
        }
    }

    /// Share of a control's resistance between bottom and wiper as its shaft stands.
    pub fn wiper_share(&self) -> f64 {
        pot_share(self.component.body.taper.unwrap_or(Taper::Lin), self.shaft().0)
    }

    /// A control's track from bottom to top with the wiper at a share of it, and the taps between.
    pub fn track(&self, wiper: f64) -> Vec<Stretch> {
        let mut points = vec![(0.0, 2), (wiper, 1), (1.0, 0)];
        points.extend(self.component.body.taps.iter().enumerate().map(|(i, share)| (*share, 3 + i)));
        points.sort_by(|x, y| x.0.total_cmp(&y.0).then_with(|| rank(x.1).cmp(&rank(y.1))));
        let stretch = |pair: &[(f64, usize)]| Stretch {
            upper: pair[1].1,
            lower: pair[0].1,
            share: pair[1].0 - pair[0].0,
        };
        points.windows(2).map(stretch).collect()
    }
}

/// At equal shares the ends of the track keep their places.
fn rank(leg: usize) -> u8 {
    match leg {
        2 => 0,
        0 => 2,
        _ => 1,
    }
}
