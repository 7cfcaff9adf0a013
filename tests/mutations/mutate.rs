//! Every single-part mutation that the trade sees, each as a line of an as-found record.

use asfound::circuit::{Circuit, Part, PartId};
use asfound::model::{Construction, Kind};
use asfound::units::{Unit, exact, significant, value_code};

/// One thing that happened to one part.
#[derive(Debug, Clone)]
pub(crate) struct Mutation {
    /// The part.
    pub(crate) part: String,
    /// What happened, the row of the table: `open`, `x10`, `leaky`.
    pub(crate) kind: &'static str,
    /// As the record says it.
    pub(crate) line: String,
}

/// All mutations of an amplifier's parts, in order of parts.
pub(crate) fn mutations(circuit: &Circuit) -> Vec<Mutation> {
    circuit.part_ids().filter(|id| circuit.part(*id).fitted()).flat_map(|id| of_part(circuit, id)).collect()
}

fn of_part(circuit: &Circuit, id: PartId) -> Vec<Mutation> {
    let part = circuit.part(id);
    let mut found = match part.kind {
        Kind::Resistor => resistor(part),
        Kind::Capacitor => capacitor(circuit, id),
        Kind::Pot | Kind::Trimmer => control(part),
        Kind::Tube => tube(part),
        Kind::Diode => {
            vec![("shorted", "shorted".to_owned()), ("reversed", "reversed".to_owned())]
        }
        Kind::Choke => {
            let value = value_code(part.component.body.value.unwrap_or(1.0), Unit::Henry);
            let amps = exact(part.component.body.amps.unwrap_or(0.1) / 5.0, Unit::Amp);
            let small = format!("replaced {value} 90R current {amps}");
            vec![("shorted", "shorted".to_owned()), ("underrated", small)]
        }
        Kind::Fuse => {
            let larger = |times: f64| format!("replaced {} 250V", amps(part, times));
            vec![("shorted", "shorted".to_owned()), ("fuse x2", larger(2.0)), ("fuse x5", larger(5.0))]
        }
        Kind::Inlet => vec![("wrong construction", "replaced two-core".to_owned())],
        Kind::Speaker => {
            let other = |times: f64| {
                format!(
                    "replaced {} 100W",
                    value_code(part.component.body.value.unwrap_or(8.0) * times, Unit::Ohm)
                )
            };
            vec![("x0.5", other(0.5)), ("x2", other(2.0))]
        }
        _ => Vec::new(),
    };
    if !matches!(part.kind, Kind::Source | Kind::MainsTransformer | Kind::OutputTransformer | Kind::Switch) {
        found.push(("open", "missing".to_owned()));
    }
    let mut all: Vec<Mutation> =
        found.into_iter().map(|(kind, said)| mutation(part, kind, format!("{} {said}", part.name))).collect();
    if part.kind == Kind::Inlet {
        let to_chassis = format!("added capacitor C999 47n 630V film from {}.live to chassis", part.name);
        all.push(mutation(part, "added", to_chassis));
    }
    all.extend(lifted(part));
    all.extend(swapped(part));
    all.extend(ends(part));
    all
}

fn mutation(part: &Part, kind: &'static str, line: String) -> Mutation {
    Mutation { part: part.name.clone(), kind, line }
}

/// The kind of those that no bench hand would mind.
pub(crate) const TOLERABLE: &str = "in tolerance";

/// Drifted, as read with a leg free.
fn drifted(part: &Part, unit: Unit) -> Vec<(&'static str, String)> {
    let value = part.component.body.value.unwrap_or(0.0);
    [(TOLERABLE, 1.04), ("x0.1", 0.1), ("x0.5", 0.5), ("x2", 2.0), ("x10", 10.0)]
        .into_iter()
        .map(|(kind, times)| (kind, format!("reads {}", value_code(significant(value * times, 3), unit))))
        .collect()
}

fn resistor(part: &Part) -> Vec<(&'static str, String)> {
    let mut found = drifted(part, Unit::Ohm);
    let value = value_code(part.component.body.value.unwrap_or(0.0), Unit::Ohm);
    let watts = part.component.body.power.unwrap_or(0.5);
    let volts = part.component.body.volts.map_or(String::new(), |v| format!(" {v}V"));
    found.push(("shorted", "shorted".to_owned()));
    found.push(("underrated", format!("replaced {value} {}W{volts}", significant(watts / 8.0, 2))));
    found.push(("wrong construction", format!("replaced {value} {watts}W{volts} carbon-composition")));
    found
}

fn capacitor(circuit: &Circuit, id: PartId) -> Vec<(&'static str, String)> {
    let part = circuit.part(id);
    let mut found = drifted(part, Unit::Farad);
    let value = value_code(part.component.body.value.unwrap_or(0.0), Unit::Farad);
    let volts = part.component.body.volts.unwrap_or(100.0);
    let built = part.component.body.construction.map_or("film", Construction::word);
    let other = match part.component.body.construction {
        Some(Construction::Film | Construction::Mica | Construction::Ceramic1) => Some("ceramic class-2"),
        Some(Construction::Electrolytic) => None,
        _ => Some("film"),
    };
    found.push(("shorted", "shorted".to_owned()));
    found.push(("underrated", format!("replaced {value} {}V {built}", significant(volts / 4.0, 3))));
    if let Some(other) = other {
        found.push(("wrong construction", format!("replaced {value} {volts}V {other}")));
    }
    if part.component.body.construction == Some(Construction::Electrolytic) {
        found.push(("reversed", "reversed".to_owned()));
        found.push(("leaky", format!("leaks 10mA at {volts}V")));
    } else {
        found.push(("leaky", "leaks 20uA at 200V".to_owned()));
    }
    found
}

fn control(part: &Part) -> Vec<(&'static str, String)> {
    drifted(part, Unit::Ohm)
        .into_iter()
        .filter(|(kind, _)| matches!(*kind, "x0.1" | "x10"))
        .map(|(kind, _)| {
            let times = if kind == "x10" { 10.0 } else { 0.1 };
            let value =
                value_code(significant(part.component.body.value.unwrap_or(0.0) * times, 3), Unit::Ohm);
            let watts = part.component.body.power.unwrap_or(0.25);
            let taper = part.component.body.taper.map_or("lin", |t| t.word());
            (kind, format!("replaced {value} {taper} {watts}W"))
        })
        .collect()
}

/// Other types that fit the socket.
fn tube(part: &Part) -> Vec<(&'static str, String)> {
    let others: &[&str] = match part.component.body.type_name.as_deref() {
        Some("ECC83") => &["ECC81", "ECC82"],
        Some("6L6GC") => &["6V6GT", "EL34"],
        Some("EL34") => &["6L6GC", "6V6GT"],
        Some("GZ34") => &["5Y3GT"],
        _ => &[],
    };
    others.iter().map(|other| ("wrong valve", format!("replaced {other}"))).collect()
}

fn lifted(part: &Part) -> Vec<Mutation> {
    let counts = |name: &str| !name.starts_with("heat");
    let legs = part.legs.iter().enumerate().filter(|(_, l)| counts(&l.name) && l.net.is_some());
    let whole = matches!(part.kind, Kind::Fitting | Kind::Link | Kind::Source | Kind::Lamp);
    legs.filter(|_| !whole)
        // Of a two-leg part one leg up is as good as the other.
        .filter(|(at, _)| part.legs.len() != 2 || *at == 0)
        .map(|(at, leg)| {
            let earth = part.kind == Kind::Inlet && leg.name == "earth";
            let kind = if earth { "missing earth" } else { "lifted leg" };
            mutation(part, kind, format!("{} lifted", part.leg_name(at)))
        })
        .collect()
}

fn swapped(part: &Part) -> Vec<Mutation> {
    let pairs: &[(&str, &str)] = match part.kind {
        Kind::Pot | Kind::Trimmer => &[("top", "bottom"), ("top", "wiper"), ("wiper", "bottom")],
        Kind::Inlet => &[("live", "neutral"), ("live", "earth")],
        Kind::OutputTransformer => &[("plate-a", "plate-b"), ("supply", "plate-a")],
        _ => &[],
    };
    let sits = |name: &str| part.legs.iter().find(|l| l.name == name).and_then(|l| l.net);
    pairs
        .iter()
        .filter(|(a, b)| sits(a).is_some() && sits(b).is_some() && sits(a) != sits(b))
        .map(|(a, b)| mutation(part, "swapped legs", format!("{} {a} swapped with {b}", part.name)))
        .collect()
}

fn ends(part: &Part) -> Vec<Mutation> {
    let both = [0, 100].into_iter().filter(|_| part.kind == Kind::Trimmer);
    both.map(|at| mutation(part, "trimmer end", format!("set {} {at}%", part.name))).collect()
}

fn amps(part: &Part, times: f64) -> String {
    exact(significant(part.component.body.value.unwrap_or(1.0) * times, 3), Unit::Amp)
}
