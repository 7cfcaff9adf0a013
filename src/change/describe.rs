//! Parts in words, for the before and after of a change.

use crate::circuit::{Body, Circuit, NetId, Part};
use crate::syntax::tree::{Kind, Taper};
use crate::units::{Unit, exact, rounded, value_code};

/// A part's body as its label would say: `100k 1W metal-film`.
pub fn body(kind: Kind, body: &Body) -> String {
    let mut words: Vec<String> = Vec::new();
    words.extend(body.type_name.clone());
    if let (Some(value), Some(unit)) = (body.value, kind.unit()) {
        words.push(exact(value, unit));
    }
    if let Some(taper) = body.taper {
        words.push(
            match taper {
                Taper::Lin => "lin",
                Taper::Log => "log",
                Taper::ReverseLog => "reverse-log",
            }
            .into(),
        );
    }
    words.extend(body.power.map(|p| exact(p, Unit::Watt)));
    words.extend(body.volts.map(|v| exact(v, Unit::Volt)));
    words.extend(body.amps.map(|a| exact(a, Unit::Amp)));
    words.extend(body.slow.map(|slow| if slow { "slow" } else { "fast" }.to_owned()));
    words.extend(body.construction.map(|c| c.word().to_owned()));
    if words.is_empty() { "nothing stated".into() } else { words.join(" ") }
}

/// A measured value: `131k, +31 %`.
pub(super) fn measured(part: &Part, value: f64) -> String {
    let unit = part.kind.unit().unwrap_or(Unit::Ratio);
    let shown = value_code(crate::units::significant(value, 4), unit);
    match part.body.value {
        Some(nominal) if nominal != 0.0 => {
            let off = value / nominal - 1.0;
            let sign = if off >= 0.0 { "+" } else { "−" };
            format!("measures {shown}, {sign}{}", rounded(off.abs(), Unit::Ratio, 2))
        }
        _ => format!("measures {shown}"),
    }
}

/// A net by name, or that the leg is free.
pub(super) fn place(circuit: &Circuit, net: Option<NetId>) -> String {
    net.map_or_else(|| "free".into(), |net| circuit.net(net).name.clone())
}

/// Where a part sits: `from B2 to V1a.plate`.
pub(super) fn seat(circuit: &Circuit, part: &Part) -> String {
    match part.legs.as_slice() {
        [a, b] => format!("from {} to {}", place(circuit, a.net), place(circuit, b.net)),
        _ => String::new(),
    }
}

/// How a control stands: `60%`, `play`.
pub(super) fn setting(body: &Body) -> String {
    match (&body.now, body.at) {
        (Some(now), _) => now.clone(),
        (None, Some(at)) => exact(at, Unit::Ratio),
        (None, None) => "not stated".into(),
    }
}
