//! What holds of every circuit: currents balance, power is conserved, linear circuits scale, order is nothing.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::numeric::{
    Drive, GridModel, Law, Linearised, Network, OperatingPoint, Outcome, PentodeModel, TriodeModel, Winding,
    operating_point, response,
};
use num_complex::Complex64;
use proptest::prelude::*;

/// Koren's 12AX7 of 1996, with a grid from Dempwolf and Zölzer's range.
const ECC83: TriodeModel = TriodeModel {
    mu: 100.0,
    ex: 1.4,
    kg1: 1060.0,
    kp: 600.0,
    kvb: 300.0,
    grid: GridModel { gg: 6e-4, cg: 10.0, xi: 1.3 },
};

/// One random element; nodes are taken modulo those there are.
#[derive(Debug, Clone)]
enum Piece {
    Resistor(usize, usize, f64),
    Current(usize, usize, f64),
    Diode(usize, usize),
    Triode(usize, usize, usize),
}

const EL34: PentodeModel =
    PentodeModel { mu: 11.0, ex: 1.35, kg1: 650.0, kg2: 4200.0, kp: 60.0, kvb: 24.0, grid: ECC83.grid };

fn ohms() -> impl Strategy<Value = f64> {
    (-1.0..6.5).prop_map(|power| libm::pow(10.0, power))
}

fn piece(linear: bool) -> impl Strategy<Value = Piece> {
    let node = || 0..12_usize;
    let resistor = || (node(), node(), ohms()).prop_map(|(a, b, ohms)| Piece::Resistor(a, b, ohms));
    let current = || (node(), node(), -1e-3..1e-3).prop_map(|(a, b, amps)| Piece::Current(a, b, amps));
    if linear {
        return prop_oneof![3 => resistor(), 1 => current()].boxed();
    }
    let diode = (node(), node()).prop_map(|(a, b)| Piece::Diode(a, b));
    let triode = (node(), node(), node()).prop_map(|(p, g, k)| Piece::Triode(p, g, k));
    prop_oneof![3 => resistor(), 1 => current(), 2 => diode, 2 => triode].boxed()
}

/// Every node has a resistor to an earlier one, node 1 a supply; the rest is random.
pub(crate) fn circuit(linear: bool) -> impl Strategy<Value = Network> {
    let tree = prop::collection::vec((0..12_usize, ohms()), 2..10);
    (tree, prop::collection::vec(piece(linear), 1..12), -400.0..400.0).prop_map(|(tree, pieces, volts)| {
        let mut network = Network::new();
        let supply = network.add_node("supply");
        network.add("B", Law::VoltageSource { plus: supply, minus: 0, volts, ac_volts: 1.0 });
        for (at, (other, ohms)) in tree.iter().enumerate() {
            let node = network.add_node(format!("n{at}"));
            network.add(format!("R{at}"), Law::Resistor { a: node, b: other % node, ohms: *ohms });
        }
        let count = network.nodes.len();
        for (at, piece) in pieces.iter().enumerate() {
            let law = match *piece {
                Piece::Resistor(a, b, ohms) => Law::Resistor { a: a % count, b: b % count, ohms },
                Piece::Current(a, b, amps) => Law::CurrentSource { from: a % count, to: b % count, amps },
                Piece::Diode(a, b) => {
                    // Not straight across the ideal supply: exp(9000) has no answer.
                    let [anode, cathode] =
                        [a, b].map(|node| if node % count == supply { 0 } else { node % count });
                    Law::Diode { anode, cathode, saturation_amps: 2e-9, emission: 1.8 }
                }
                Piece::Triode(p, g, k) => {
                    Law::Triode { plate: p % count, grid: g % count, cathode: k % count, model: ECC83 }
                }
            };
            network.add(format!("X{at}"), law);
        }
        network
    })
}

/// The point; `None` where the random circuit is a switch with several.
fn solved(network: &Network) -> Option<OperatingPoint> {
    match operating_point(network) {
        Ok(point) => Some(point),
        Err(end) if end.outcome == Outcome::Unstable => None,
        Err(end) => panic!("{end}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn currents_balance_and_power_is_conserved(network in circuit(false)) {
        let Some(point) = solved(&network) else { return Ok(()) };
        let mut sums = vec![(0.0, 0.0); network.nodes.len()];
        let (mut watts, mut sizes) = (0.0, 0.0);
        for (at, element) in network.elements.iter().enumerate() {
            for (&node, &amps) in element.law.terminals().iter().zip(point.amps(at)) {
                sums[node].0 += amps;
                sums[node].1 += f64::abs(amps);
            }
            watts += point.watts(at);
            sizes += point.watts(at).abs();
        }
        for (node, (sum, size)) in sums.iter().enumerate() {
            prop_assert!(sum.abs() <= 1e-11 + 1e-9 * size, "{node}: {sum:e} of {size:e}");
        }
        prop_assert!(watts.abs() <= 1e-9 + 1e-8 * sizes, "{watts:e} of {sizes:e}");
    }

    #[test]
    fn order_of_elements_is_nothing(network in circuit(false), turn in 1..20_usize) {
        let Some(point) = solved(&network) else { return Ok(()) };
        let mut turned = network.clone();
        let count = turned.elements.len();
        turned.elements.rotate_left(turn % count);
        turned.elements[..count / 2].reverse();
        let Some(other) = solved(&turned) else { return Ok(()) };
        for node in 0..network.nodes.len() {
            let (a, b) = (point.volts(node).unwrap(), other.volts(node).unwrap());
            prop_assert!((a - b).abs() <= 1e-8 + 1e-9 * a.abs(), "{node}: {a} and {b}");
        }
    }

    #[test]
    fn twice_the_sources_give_twice_the_volts(network in circuit(true)) {
        let once = operating_point(&network).unwrap();
        let mut doubled = network.clone();
        for element in &mut doubled.elements {
            match &mut element.law {
                Law::VoltageSource { volts, .. } => *volts *= 2.0,
                Law::CurrentSource { amps, .. } => *amps *= 2.0,
                _ => {}
            }
        }
        let twice = operating_point(&doubled).unwrap();
        for node in 0..network.nodes.len() {
            let (a, b) = (2.0 * once.volts(node).unwrap(), twice.volts(node).unwrap());
            prop_assert!((a - b).abs() <= 1e-9 + 1e-9 * a.abs(), "{node}: {a} and {b}");
        }
    }

    /// Around the point, the response at 0 Hz is what a small change of the supply does.
    #[test]
    fn response_at_zero_is_the_derivative(network in circuit(false)) {
        let Some(point) = solved(&network) else { return Ok(()) };
        let step = 1e-5;
        let moved = |by: f64| {
            let mut network = network.clone();
            if let Law::VoltageSource { volts, .. } = &mut network.elements[0].law {
                *volts += by;
            }
            asfound::numeric::Prepared::new(&network).and_then(|mut p| p.solve(&network, Some(&point)))
        };
        let (Ok(up), Ok(down)) = (moved(step), moved(-step)) else { return Ok(()) };
        let response = Linearised::open(&network, &point, Drive::Sources).unwrap().at(0.0).unwrap();
        for node in 0..network.nodes.len() {
            let slope = (up.volts(node).unwrap() - down.volts(node).unwrap()) / (2.0 * step);
            let phasor = response.volts(node).unwrap();
            prop_assert!(phasor.im == 0.0);
            let bend = (up.volts(node).unwrap() + down.volts(node).unwrap() - 2.0 * point.volts(node).unwrap()).abs() / step;
            prop_assert!((slope - phasor.re).abs() <= 2e-3 + 1e-3 * slope.abs() + bend, "{node}: {slope} and {phasor}");
        }
    }
}

/// Anything between any nodes: islands, loops of sources, links, floating grids, opposed junctions.
fn anything() -> impl Strategy<Value = Network> {
    let element = (0..14_u8, prop::array::uniform4(0..10_usize), -0.5..6.5, -300.0..300.0);
    prop::collection::vec(element, 1..16).prop_map(|elements| {
        let mut network = Network::new();
        network.nodes.extend((1..10).map(|at| format!("n{at}")));
        for (at, (kind, [a, b, c, d], power, volts)) in elements.into_iter().enumerate() {
            let ohms = libm::pow(10.0, power);
            let law = match kind {
                0..3 => Law::Resistor { a, b, ohms },
                3 => Law::Resistor { a, b, ohms: 0.0 },
                4 => Law::Capacitor { a, b, farads: 1e-9 * ohms },
                5 => Law::Inductor { a, b, henries: 1.0, ohms: if volts > 0.0 { 50.0 } else { 0.0 } },
                6 => Law::VoltageSource { plus: a, minus: b, volts, ac_volts: 1.0 },
                7 => Law::CurrentSource { from: a, to: b, amps: volts * 1e-5 },
                8 => Law::Diode { anode: a, cathode: b, saturation_amps: 2e-9, emission: 1.8 },
                9 => Law::Zener {
                    anode: a,
                    cathode: b,
                    saturation_amps: 1e-12,
                    emission: 1.2,
                    zener_volts: 12.0,
                    zener_ohms: 5.0,
                },
                10 => Law::VacuumDiode { anode: a, cathode: b, perveance: 2e-3 },
                11 => Law::Pentode { plate: a, screen: b, grid: c, cathode: d, model: EL34 },
                12 => Law::Windings {
                    windings: vec![
                        Winding { a, b, turns: 10.0, ohms: 20.0 },
                        Winding { a: c, b: d, turns: 1.0, ohms: if volts > 0.0 { 1.0 } else { 0.0 } },
                    ],
                    henries_per_turn_squared: 0.1,
                },
                _ => Law::Triode { plate: a, grid: b, cathode: c, model: ECC83 },
            };
            network.add(format!("X{at}"), law);
        }
        network
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4096, failure_persistence: None, ..ProptestConfig::default() })]

    /// No circuit panics; what is answered is finite and balances at every node, islands included.
    #[test]
    fn anything_at_all_is_answered_or_ends_by_name(network in anything()) {
        let point = match operating_point(&network) {
            Ok(point) => point,
            Err(end) => {
                prop_assert!(!end.to_string().is_empty());
                return Ok(());
            }
        };
        let mut sums = vec![(0.0, 0.0); network.nodes.len()];
        for (at, element) in network.elements.iter().enumerate() {
            prop_assert!(point.watts(at).is_finite());
            for (&node, &amps) in element.law.terminals().iter().zip(point.amps(at)) {
                sums[node].0 += amps;
                sums[node].1 += f64::abs(amps);
            }
        }
        // A diode straight across a source carries gigaamperes, to ten digits; the rest inherits that.
        let largest = sums.iter().map(|sum| sum.1).fold(0.0, f64::max);
        for (node, (sum, _)) in sums.iter().enumerate() {
            prop_assert!(point.volts(node).is_none_or(f64::is_finite));
            prop_assert!(sum.abs() <= 1e-11 + 1e-9 * largest, "{node}: {sum:e} of {largest:e}");
        }
        if let Ok(response) = response(&network, &point, 1e3) {
            for node in 0..network.nodes.len() {
                prop_assert!(response.volts(node).is_none_or(Complex64::is_finite));
            }
        }
    }
}
