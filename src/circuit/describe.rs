//! Parts in words, for the before and after of a change.

use std::collections::BTreeSet;

use crate::circuit::{Body, Circuit, Leak, NetId, Part, Stray, Winding};
use crate::model::{Kind, Taper};
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

/// Two bodies as their labels would say; where that is the same, with the details in which they differ.
pub(crate) fn bodies(old: &Part, new: &Part) -> (String, String) {
    let (before, after) = (body(old.kind, &old.component.body), body(new.kind, &new.component.body));
    if before != after {
        return (before, after);
    }
    let (x, y) = (details(old), details(new));
    let told = |label: &str, own: &BTreeSet<String>, other: &BTreeSet<String>| {
        let mut words = vec![label.to_owned()];
        words.extend(own.difference(other).cloned());
        words.join(", ")
    };
    (told(&before, &x, &y), told(&after, &y, &x))
}

/// What a label does not say of a body.
fn details(part: &Part) -> BTreeSet<String> {
    let body = &part.component.body;
    let mut found = BTreeSet::new();
    let number = |word: &str, value: Option<f64>, unit| value.map(|v| format!("{word} {}", exact(v, unit)));
    found.extend(body.tolerance.map(|(below, above)| {
        format!("tolerance -{} +{}", exact(below, Unit::Ratio), exact(above, Unit::Ratio))
    }));
    found.extend(number("resistance", body.ohms, Unit::Ohm));
    found.extend(number("inductance", body.henries, Unit::Henry));
    found.extend(number("unloaded", body.unloaded, Unit::Volt));
    found.extend(body.made.map(|year| format!("made {year}")));
    found.extend(body.ganged.as_ref().map(|name| format!("ganged with {name}")));
    found.extend(body.on.as_ref().map(|name| format!("on {name}")));
    found.extend(body.slow.map(|slow| if slow { "slow".into() } else { "fast".into() }));
    let flags = [
        (body.steady, "steady"),
        (body.two_core, "two-core"),
        (body.a_side, "resistance a side"),
        (body.in_phase, "in phase"),
    ];
    found.extend(flags.iter().filter(|(set, _)| *set).map(|(_, word)| (*word).to_owned()));
    found.extend(body.taps.iter().map(|at| format!("tap at {}", exact(*at, Unit::Ratio))));
    found.extend(body.positions.iter().map(|position| format!("position {position}")));
    found.extend(body.output_taps.iter().map(|(_, ohms)| format!("tap {}", exact(*ohms, Unit::Ohm))));
    found.extend(body.windings.iter().map(winding));
    found.extend(
        part.named_contacts().into_iter().map(|(position, a, b)| format!("{position} joins {a} {b}")),
    );
    found.extend(body.normals.iter().map(|(contact, leg)| format!("{contact} touches {leg}")));
    found
}

fn winding(winding: &Winding) -> String {
    let volts = exact(winding.volts, Unit::Volt);
    let both = if winding.centre_tapped { format!("{volts}-0-{volts}") } else { volts };
    let mut words = vec![format!("winding {} {both}", winding.name)];
    words.extend(winding.ohms.map(|ohms| exact(ohms, Unit::Ohm)));
    words.extend(winding.amps.map(|amps| exact(amps, Unit::Amp)));
    for (name, volts, end) in &winding.taps {
        words.push(format!("{name} {} from {end}", exact(*volts, Unit::Volt)));
    }
    words.join(" ")
}

/// A measured value: `131k, +31 %`.
/// A path inside a part: without it and with it.
pub(crate) fn stray(part: &Part, stray: &Stray) -> (String, String) {
    let ends = part.stray_ends(stray);
    match stray.leak {
        Some(leak) => (format!("{ends} does not leak"), format!("{ends} {}", leaks(leak))),
        None => (format!("{ends} apart"), format!("{ends} conducts")),
    }
}

/// `leaks 12 µA at 250 V`.
pub(crate) fn leaks(leak: Leak) -> String {
    let (amps, volts) = (rounded(leak.amps, Unit::Amp, 3), rounded(leak.volts, Unit::Volt, 3));
    format!("leaks {amps} at {volts}")
}

pub(crate) fn measured(part: &Part, value: f64) -> String {
    let unit = part.kind.unit().unwrap_or(Unit::Ratio);
    let shown = value_code(crate::units::significant(value, 4), unit);
    match part.component.body.value {
        Some(nominal) if nominal != 0.0 => {
            let off = value / nominal - 1.0;
            let sign = if off >= 0.0 { "+" } else { "−" };
            format!("measures {shown}, {sign}{}", rounded(off.abs(), Unit::Ratio, 2))
        }
        _ => format!("measures {shown}"),
    }
}

/// A net by name, or that the leg is free.
pub(crate) fn place(circuit: &Circuit, net: Option<NetId>) -> String {
    net.map_or_else(|| "free".into(), |net| circuit.net(net).name.clone())
}

/// Where a part sits: `from B2 to V1a.plate`.
pub(crate) fn seat(circuit: &Circuit, part: &Part) -> String {
    match part.legs.as_slice() {
        [a, b] => format!("from {} to {}", place(circuit, a.net), place(circuit, b.net)),
        _ => String::new(),
    }
}

/// How a control stands: `60%`, `play`.
pub fn setting(body: &Body) -> String {
    match (&body.now, body.at) {
        (Some(now), _) => now.clone(),
        (None, Some(at)) => exact(at, Unit::Ratio),
        (None, None) => "not stated".into(),
    }
}
