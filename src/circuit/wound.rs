//! Windings given by their volts with and without load: their resistance follows.

use super::part::{Part, Winding};

/// Turns full-load volts with `unloaded` ones into the open volts and the resistance between: what the winding loses at
/// its rated current, less what the primary's own resistance makes of that. Taps rise in the same proportion. Names the
/// windings of which the primary alone makes more than that: they come out without resistance of their own.
pub(super) fn settle(part: &mut Part) -> Vec<String> {
    let mut contradicted = Vec::new();
    let primary = part.component.body.windings.iter().find(|w| w.name.starts_with("primary"));
    let primary = primary.and_then(|w| Some((w.volts, w.ohms?)));
    for winding in &mut part.component.body.windings {
        let Some((unloaded, ohms)) = lost(winding, primary) else { continue };
        let rise = unloaded / winding.volts;
        winding.taps.iter_mut().for_each(|(_, volts, _)| *volts *= rise);
        winding.ohms = Some(ohms.max(0.0));
        winding.volts = unloaded;
        if ohms < 0.0 {
            contradicted.push(format!("{}.{}", part.name, winding.name));
        }
    }
    contradicted
}

/// Open volts, and the resistance that takes them down to the loaded ones.
fn lost(winding: &Winding, primary: Option<(f64, f64)>) -> Option<(f64, f64)> {
    let (unloaded, amps) = (winding.unloaded?, winding.amps.filter(|amps| *amps > 0.0)?);
    let reflected = primary.map_or(0.0, |(volts, ohms)| ohms * (unloaded / volts) * (unloaded / volts));
    Some((unloaded, (unloaded - winding.volts) / amps - reflected))
}
