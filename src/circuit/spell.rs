//! A circuit spelled out as text, one line a part, in natural order: what a layer makes of the amplifier, to be laid
//! side by side with another. For people; windings, contacts and type data are told with their part.

use super::{Circuit, NetId, Part};
use crate::circuit::describe;
use crate::model::Kind;

/// One line for each fitted part: its kind, name, body as it measures, and where its legs sit.
pub fn spelled_out(circuit: &Circuit) -> String {
    let mut text = String::new();
    for part in circuit.parts.iter().filter(|p| p.fitted()) {
        text += &line(circuit, part);
        text.push('\n');
    }
    text
}

fn line(circuit: &Circuit, part: &Part) -> String {
    let mut words = vec![part.kind.word().to_owned(), part.name.clone()];
    words.extend(
        Some(describe::body(part.kind, &part.component.body)).filter(|body| body != "nothing stated"),
    );
    if let (Some(value), Some(unit)) = (part.component.measured, part.kind.unit()) {
        words.push(format!("reads {}", crate::units::exact(value, unit)));
    }
    if part.component.shorted {
        words.push("shorted".into());
    }
    words.extend(part.component.strays.iter().map(|stray| match stray.leak {
        Some(_) => format!("{} leaks", part.stray_ends(stray)),
        None => format!("{} shorted", part.stray_ends(stray)),
    }));
    if matches!(part.kind, Kind::Pot | Kind::Trimmer | Kind::Switch | Kind::Relay) {
        words.push(format!("at {}", describe::setting(&part.component.body)));
    }
    for (index, leg) in part.legs.iter().enumerate() {
        let own = part.leg_name(index);
        match leg.net.map(|net| place(circuit, net)) {
            Some(place) if place == own && circuit.net(leg.net.unwrap_or(super::CHASSIS)).legs.len() == 1 => {
            }
            Some(place) => words.push(format!("{} {place}", word(short(&own)))),
            None => words.push(format!("{} free", short(&own))),
        }
    }
    words.join(" ")
}

fn place(circuit: &Circuit, net: NetId) -> String {
    circuit.net(net).name.clone()
}

/// `from` and `to` for the legs of a plain two-leg part.
fn word(leg: &str) -> &str {
    match leg {
        "1" => "from",
        "2" => "to",
        other => other,
    }
}

/// The leg's name without its part's.
fn short(leg: &str) -> &str {
    leg.split_once('.').map_or(leg, |(_, name)| name)
}
