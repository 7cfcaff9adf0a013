//! Windows, sensitivities and Monte Carlo: against `reference/cases/tolerance.json`, finite differences, a divider
//! worked by hand, and each other.

#![allow(clippy::unwrap_used, reason = "a test that cannot solve its circuit has failed")]

use asfound::circuit::{Circuit, LegId};
use asfound::numeric::statistics::{
    Change, Distribution, Figure, Quantity, Sampled, Sampling, Varied, Within, first_order, sample,
};
use asfound::numeric::{Law, Network, OperatingPoint, Prepared, operating_point};
use asfound::solve::Setup;
use asfound::solve::tolerance::{monte_carlo, windows};
use proptest::prelude::*;
use serde_json::Value;

use crate::reference_cases::read;
use crate::support::stock;
use read::number;

/// All resistors within a share of their values, as `cases/MODEL.md` 4.4 has it.
fn resistors(network: &Network, half: f64) -> Vec<Varied> {
    let is = |law: &Law| matches!(law, Law::Resistor { ohms, .. } if *ohms > 0.0);
    let of = |(at, element): (usize, &asfound::numeric::Element)| Varied {
        name: element.name.clone(),
        spread: Distribution::Uniform { below: half, above: half },
        assumed: false,
        sets: vec![(at, Change::Ohms)],
    };
    network.elements.iter().enumerate().filter(|(_, element)| is(&element.law)).map(of).collect()
}

/// Everything that can vary, each on its own.
fn everything(network: &Network, spread: Distribution) -> Vec<Varied> {
    let mut all = Vec::new();
    let mut add = |at: usize, change: Change| {
        let name = format!("{} {change:?}", network.elements[at].name);
        all.push(Varied { name, spread, assumed: false, sets: vec![(at, change)] });
    };
    for (at, element) in network.elements.iter().enumerate() {
        match element.law {
            Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. } if ohms > 0.0 => add(at, Change::Ohms),
            Law::Windings { .. } => add(at, Change::Ohms),
            Law::VoltageSource { .. } => add(at, Change::Volts),
            Law::CurrentSource { .. } => add(at, Change::Amps),
            Law::Triode { .. } | Law::VacuumDiode { .. } => add(at, Change::Strength),
            Law::Pentode { .. } => {
                add(at, Change::Strength);
                add(at, Change::Screen);
            }
            Law::Zener { .. } => add(at, Change::Breakdown),
            _ => {}
        }
    }
    all
}

/// Every quantity of every element and node.
fn all_quantities(network: &Network, point: &OperatingPoint) -> Vec<Quantity> {
    let mut all: Vec<Quantity> = (0..network.nodes.len()).map(Quantity::Volts).collect();
    for (at, element) in network.elements.iter().enumerate() {
        all.extend((0..element.law.terminals().len()).map(|terminal| Quantity::Amps(vec![(at, terminal)])));
        all.push(Quantity::Watts(vec![at]));
        if point.valve(at).is_some() {
            all.extend(Figure::ALL.map(|figure| Quantity::Valve(at, figure)));
        }
    }
    all
}

/// The network with one figure scaled.
fn scaled(network: &Network, varied: &Varied, factor: f64) -> Network {
    let mut network = network.clone();
    for &(element, change) in &varied.sets {
        match (change, &mut network.elements[element].law) {
            (Change::Ohms, Law::Resistor { ohms, .. } | Law::Inductor { ohms, .. }) => *ohms *= factor,
            (Change::Ohms, Law::Windings { windings, .. }) => {
                for winding in windings.iter_mut() {
                    winding.ohms *= factor;
                }
            }
            (Change::Volts, Law::VoltageSource { volts, .. }) => *volts *= factor,
            (Change::Amps, Law::CurrentSource { amps, .. }) => *amps *= factor,
            (Change::Strength, Law::Triode { model, .. }) => model.kg1 /= factor,
            (Change::Strength, Law::Pentode { model, .. }) => {
                model.kg1 /= factor;
                model.kg2 /= factor;
            }
            (Change::Strength, Law::VacuumDiode { perveance, .. }) => *perveance *= factor,
            (Change::Screen, Law::Pentode { model, .. }) => model.kg2 /= factor,
            (Change::Breakdown, Law::Zener { zener_volts, .. }) => *zener_volts *= factor,
            (change, law) => panic!("{change:?} of {law:?}"),
        }
    }
    network
}

fn run(network: &Network, varied: &[Varied], quantities: &[Quantity], samples: usize, seed: u64) -> Sampled {
    let point = operating_point(network).unwrap();
    sample(network, &point, varied, quantities, Sampling { samples, seed }, &mut |_| {}).unwrap()
}

/// `tolerance.json`: nominal slopes, first-order deviation, and the statistics of 100 000 own samples.
#[test]
fn reference_statistics() {
    let file = read::text("tolerance");
    for want in file["cases"].as_array().unwrap() {
        let case = read::case(want, &Value::Array(Vec::new()));
        let network = &case.network;
        let varied = resistors(network, number(&want["tolerance"]["relative_half_width"]));
        let point = operating_point(network).unwrap();
        let mut prepared = Prepared::new(network).unwrap();
        let names: Vec<&str> =
            want["tolerance"]["nodes"].as_array().unwrap().iter().map(|n| n.as_str().unwrap()).collect();
        let quantities: Vec<Quantity> = names.iter().map(|name| Quantity::Volts(case.nodes[*name])).collect();
        let windows = first_order(&mut prepared, network, &point, &varied, &quantities).unwrap();
        let sampled = run(network, &varied, &quantities, 100_000, 1);
        assert_eq!(sampled.failed, 0);
        for ((name, quantity), (first, many)) in
            names.iter().zip(&quantities).zip(windows.iter().zip(&sampled.statistics))
        {
            let slopes = prepared.sensitivities_of(network, &point, quantity, &varied).unwrap().unwrap();
            for (slope, varied) in slopes.iter().zip(&varied) {
                let published = number(&want["expected"]["dV_dlnR_at_nominal"][name][&varied.name]);
                let off = (slope - published).abs();
                assert!(off <= 1e-6 + 1e-6 * published.abs(), "{name}, {}: {slope}", varied.name);
            }
            let deviation = number(&want["expected"]["first_order_standard_deviation"][name]);
            assert!((first.unwrap().deviation / deviation - 1.0).abs() < 1e-6);
            let (want, many) = (&want["expected"]["statistics_100k"][name], many.unwrap());
            let pairs = [
                ("mean", many.mean),
                ("standard_deviation", many.deviation),
                ("q01", many.within.low),
                ("q99", many.within.high),
            ];
            for (what, got) in pairs {
                let error = number(&want[format!("{what}_standard_error").as_str()]);
                let off = (got - number(&want[what])) / error / libm::sqrt(2.0);
                assert!(off.abs() < 5.0, "{name}, {what}: {got}, {off} standard errors");
            }
        }
    }
}

/// 10 k over 10 k at 100 V, both anywhere within 10 %. With ratio r = R2/R1, V = 100·r/(1 + r); the share of
/// amplifiers with V ≤ v is that of R2 ≤ c·R1, c = v/(100 − v): for c < 1 a triangle of the square of both, with legs
/// 1.1 − 0.9/c and 1.1·c − 0.9, thus (1.1·c − 0.9)²/(2·c·0.2²) of all. At 1 % this gives c = 0.841 78 and 45.705 V; 99 % is
/// its mirror image.
#[test]
fn divider_by_hand() {
    let circuit = stock(
        "stock \"divider\"\nrail B1\nnet OUT\nsource HT 100V plus B1 minus chassis\n\
         resistor R1 10k 10% 1W from B1 to OUT\nresistor R2 10k 10% 1W from OUT to chassis\n",
    );
    let low = {
        // (1.1·c − 0.9)² = 2·c·0.2²·0.01, the larger root.
        let (a, b, c) = (1.21, -(1.98 + 2.0 * 0.04 * 0.01), 0.81);
        let ratio = (-b + libm::sqrt(b * b - 4.0 * a * c)) / (2.0 * a);
        100.0 * ratio / (1.0 + ratio)
    };
    let out = circuit.find_net("OUT").unwrap();
    let sampling = Sampling { samples: 200_000, seed: 3 };
    let (solved, _) = monte_carlo(&circuit, &Setup::idle(), sampling, &mut |_| {}).unwrap();
    let many = solved.net_volts_within(&circuit, out).unwrap();
    assert!((many.low - low).abs() < 0.02, "{} for {low}", many.low);
    assert!((many.high - (100.0 - low)).abs() < 0.02, "{} for {}", many.high, 100.0 - low);
    let first = windows(&circuit, &Setup::idle()).unwrap().net_volts_within(&circuit, out).unwrap();
    assert!((first.low - low).abs() < 0.25 && (first.high - 100.0 + low).abs() < 0.25, "{first:?}");
}

/// One resistor alone, −20/+50 %, fed by a current: its volts are as evenly spread as it is, in exact and in linear
/// terms, so that 1 % and 99 % are at 0.8 + 0.7·0.01 and 0.8 + 0.7·0.99 of the nominal ones.
#[test]
fn one_lopsided_resistor() {
    let mut network = Network::new();
    let node = network.add_node("n");
    network.add("I", Law::CurrentSource { from: 0, to: node, amps: 0.01 });
    network.add("R", Law::Resistor { a: node, b: 0, ohms: 1e4 });
    let spread = Distribution::Uniform { below: 0.2, above: 0.5 };
    let varied = vec![Varied { name: "R".into(), spread, assumed: true, sets: vec![(1, Change::Ohms)] }];
    let quantities = [Quantity::Volts(node)];
    let point = operating_point(&network).unwrap();
    let mut prepared = Prepared::new(&network).unwrap();
    let first = first_order(&mut prepared, &network, &point, &varied, &quantities).unwrap()[0].unwrap();
    assert!((first.within.low - 80.7).abs() < 1e-9 && (first.within.high - 149.3).abs() < 1e-9, "{first:?}");
    assert!((first.mean - 115.0).abs() < 1e-9 && (first.assumed - 1.0).abs() < 1e-12);
    let many = run(&network, &varied, &quantities, 100_000, 11).statistics[0].unwrap();
    assert!((many.within.low - 80.7).abs() < 0.15 && (many.within.high - 149.3).abs() < 0.15, "{many:?}");
}

const FOLLOWER: &str = "stock \"follower\"
rail B1
source HT 300V behind 1k plus B1 minus chassis
tube V1 ECC83 b.grid V1a.plate b.plate B1 a.grid chassis
resistor R1 100k 5% 1W from B1 to V1a.plate
resistor R2 1k5 10% 0.5W from V1a.cathode to chassis
resistor R3 100k 2W from V1b.cathode to chassis
";

/// What is drawn for a part goes by its name, not by its place in the text.
#[test]
fn order_of_statements_is_nothing() {
    let sampling = Sampling { samples: 2000, seed: 5 };
    let mut lines: Vec<&str> = FOLLOWER.lines().collect();
    lines[1..].reverse();
    let turned = format!("{}\n", lines.join("\n"));
    let solved = |text: &str| {
        let circuit = stock(text);
        let (solved, sampled) = monte_carlo(&circuit, &Setup::idle(), sampling, &mut |_| {}).unwrap();
        assert_eq!(sampled.failed, 0);
        (circuit, solved)
    };
    let ((circuit, one), (other_circuit, other)) = (solved(FOLLOWER), solved(&turned));
    for net in circuit.net_ids() {
        let there = other_circuit.find_net(&circuit.net(net).name).unwrap();
        let (a, b) = (
            one.net_volts_within(&circuit, net).unwrap(),
            other.net_volts_within(&other_circuit, there).unwrap(),
        );
        assert!((a.low - b.low).abs() < 1e-6 && (a.high - b.high).abs() < 1e-6, "{a:?} {b:?}");
    }
    let section = |circuit: &Circuit, solved: &asfound::solve::Solved| {
        let tube = solved.sections[0].tube;
        solved.section_within(circuit, tube, "b").unwrap().of(Figure::PlateAmps).unwrap()
    };
    assert!((section(&circuit, &one).low / section(&other_circuit, &other).low - 1.0).abs() < 1e-6);
}

/// Bit by bit the same on any number of threads.
#[test]
fn threads_are_nothing() {
    let case = read::case(&read::text("p08_push_pull_fixed_bias"), &Value::Array(Vec::new()));
    let network = &case.network;
    let varied = everything(network, Distribution::Normal { ends: 0.1 });
    let quantities = all_quantities(network, &operating_point(network).unwrap());
    let results: Vec<Vec<u64>> = [1, 2, 3]
        .iter()
        .map(|threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(*threads).build().unwrap();
            let sampled = pool.install(|| run(network, &varied, &quantities, 2600, 9));
            let bits = |of: asfound::numeric::statistics::Statistic| {
                [of.mean, of.deviation, of.within.low, of.within.high].map(f64::to_bits)
            };
            sampled.statistics.iter().flatten().flat_map(|of| bits(*of)).collect()
        })
        .collect();
    assert!(!results[0].is_empty() && results[0] == results[1] && results[1] == results[2]);
    let other = run(network, &varied, &quantities, 2600, 10);
    assert!(
        other.statistics[1].unwrap().mean.to_bits() != results[0][4],
        "another seed gives another result"
    );
}

/// Samples without an operating point are counted, not dropped: two sources that agree only at their nominal volts.
#[test]
fn failures_are_counted() {
    let mut network = Network::new();
    let node = network.add_node("n");
    network.add("A", Law::VoltageSource { plus: node, minus: 0, volts: 10.0, ac_volts: 0.0 });
    network.add("B", Law::VoltageSource { plus: node, minus: 0, volts: 10.0, ac_volts: 0.0 });
    network.add("R", Law::Resistor { a: node, b: 0, ohms: 1e3 });
    let varied = everything(&network, Distribution::Uniform { below: 0.1, above: 0.1 });
    let mut told = Vec::new();
    let point = operating_point(&network).unwrap();
    let sampling = Sampling { samples: 4100, seed: 0 };
    let sampled =
        sample(&network, &point, &varied, &[Quantity::Volts(node)], sampling, &mut |n| told.push(n)).unwrap();
    assert_eq!((sampled.failed, sampled.samples), (4100, 4100));
    assert!(sampled.statistics[0].is_none() && sampled.first_failure.is_some());
    assert_eq!(told, [2000, 4000, 4100]);
}

/// For small tolerances the mean and the deviation of many samples are those of the first order.
#[test]
fn small_tolerances_are_first_order() {
    for name in ["p05_dc_coupled_follower", "p08_push_pull_fixed_bias", "p14_full_amp_a_stock"] {
        let case = read::case(&read::text(name), &Value::Array(Vec::new()));
        let network = &case.network;
        let point = operating_point(network).unwrap();
        let varied = everything(network, Distribution::Uniform { below: 1e-4, above: 1e-4 });
        let quantities = all_quantities(network, &point);
        let mut prepared = Prepared::new(network).unwrap();
        let windows = first_order(&mut prepared, network, &point, &varied, &quantities).unwrap();
        let many = 4000;
        let sampled = run(network, &varied, &quantities, many, 2);
        assert_eq!(sampled.failed, 0);
        for ((quantity, first), sampled) in quantities.iter().zip(&windows).zip(&sampled.statistics) {
            let (Some(first), Some(sampled)) = (first, sampled) else {
                assert_eq!(first.is_some(), sampled.is_some(), "{quantity:?}");
                continue;
            };
            // What the iteration leaves open, and what bends: a part in ten thousand of the deviation.
            let least = 1e-8 * (1.0 + first.value.abs());
            let error = first.deviation / libm::sqrt(many as f64) * 5.0 + least;
            assert!((sampled.mean - first.mean).abs() <= error, "{name} {quantity:?}: {first:?} {sampled:?}");
            let off = (sampled.deviation - first.deviation).abs();
            let error = first.deviation / libm::sqrt(2.0 * many as f64) * 5.0 + 10.0 * least;
            assert!(off <= error, "{name} {quantity:?}: {first:?} {sampled:?}");
        }
    }
}

/// Adjoint and tangent agree with the difference of two solutions, for every quantity and every figure.
fn slopes_hold(network: &Network) -> Result<(), TestCaseError> {
    let Ok(point) = operating_point(network) else { return Ok(()) };
    let varied = everything(network, Distribution::Normal { ends: 0.1 });
    let quantities = all_quantities(network, &point);
    let mut prepared = Prepared::new(network).unwrap();
    let step = 1e-4;
    let volts = quantities.iter().filter(|q| matches!(q, Quantity::Volts(_))).filter_map(|q| q.of(&point));
    let largest = volts.map(f64::abs).fold(0.0, f64::max);
    for one in &varied {
        let alone = std::slice::from_ref(one);
        let forward = first_order(&mut prepared, network, &point, alone, &quantities).unwrap();
        let ends = [1.0 - step, 1.0 + step].map(|factor| {
            let network = scaled(network, one, factor);
            Prepared::new(&network).and_then(|mut p| p.solve(&network, Some(&point)))
        });
        let [Ok(down), Ok(up)] = ends else { continue };
        for (quantity, forward) in quantities.iter().zip(&forward) {
            let (Some(value), Some(low), Some(high)) =
                (quantity.of(&point), quantity.of(&down), quantity.of(&up))
            else {
                continue;
            };
            let slope = (high - low) / (2.0 * step);
            let bend = (high + low - 2.0 * value).abs() / step;
            let least = if matches!(quantity, Quantity::Volts(_)) { 2e-4 } else { 2e-6 };
            let room = least + 1e-4 * slope.abs() + bend + 1e-5 * value.abs();
            // A single normal figure: the deviation is the slope's size times its own.
            let size = forward.unwrap().deviation * 2.326_347_874_040_841 / 0.1;
            prop_assert!((size - slope.abs()).abs() <= room, "{quantity:?} {}: {size} {slope}", one.name);
            if let Some(adjoint) = prepared.sensitivities_of(network, &point, quantity, alone).unwrap() {
                prop_assert!(
                    (adjoint[0] - slope).abs() <= room,
                    "{quantity:?} {}: {adjoint:?} {slope}",
                    one.name
                );
                // Two orders of the same sums: a slope that is a small difference of large ones keeps their rounding.
                let same = (adjoint[0].abs() - size).abs() <= 1e-9 * (1.0 + largest) + 1e-7 * size;
                prop_assert!(same, "{quantity:?} {}: {adjoint:?} {size}", one.name);
            }
        }
    }
    Ok(())
}

#[test]
fn slopes_of_the_cases() {
    for name in
        ["p05_dc_coupled_follower", "p08_push_pull_fixed_bias", "p10_milliohm_links", "p17_diode_clamp"]
    {
        let case = read::case(&read::text(name), &Value::Array(Vec::new()));
        slopes_hold(&case.network).unwrap();
    }
}

/// What the cases lack: a rectifier valve, a choke, a zener in breakdown, two plates' worth of current.
#[test]
fn slopes_of_a_supply() {
    let mut network = Network::new();
    let [raw, held, filtered, steady] = ["raw", "held", "filtered", "steady"].map(|n| network.add_node(n));
    network.add("B", Law::VoltageSource { plus: raw, minus: 0, volts: 300.0, ac_volts: 0.0 });
    network.add("V", Law::VacuumDiode { anode: raw, cathode: held, perveance: 1e-3 });
    network.add("L", Law::Inductor { a: held, b: filtered, henries: 10.0, ohms: 200.0 });
    network.add("R1", Law::Resistor { a: filtered, b: steady, ohms: 5e3 });
    network.add("R2", Law::Resistor { a: filtered, b: 0, ohms: 1e4 });
    network.add("R3", Law::Resistor { a: steady, b: 0, ohms: 2e4 });
    network.add(
        "Z",
        Law::Zener {
            anode: 0,
            cathode: steady,
            saturation_amps: 1e-12,
            emission: 1.2,
            zener_volts: 150.0,
            zener_ohms: 50.0,
        },
    );
    let point = operating_point(&network).unwrap();
    assert!(point.amps(6)[1] > 5e-3, "the zener is to conduct");
    slopes_hold(&network).unwrap();
}

/// What a rule says of an output valve nobody has read carries the section's own window, and without reading there is
/// no danger while its low end is within the limit.
#[test]
fn rules_see_the_windows() {
    let text = "stock \"Wren\"\nrail B1\nrail B2\nnet VB\n\
        source HT 440V behind 60R plus B1 minus chassis\nsource BIAS 32V behind 10k steady plus chassis minus VB\n\
        resistor R1 470R 10W wirewound from B1 to B2\nresistor R3 220k 0.5W from VB to V4.grid\n\
        resistor R5 1k 5W wirewound from B2 to V4.screen\ntube V4 EL34 cathode chassis\n\
        output-transformer T2 primary 3k4 40R 20H taps 8R plate V4.plate supply B1 common chassis\n\
        speaker LS1 8R 60W from T2.8R to chassis\n";
    let circuit = stock(text);
    let audit = asfound::analysis::audit(&[circuit], &asfound::rules::RuleSet::shipped());
    let idle = audit.idle().unwrap();
    let within = idle
        .section_within(&audit.top().unwrap().circuit, idle.sections[0].tube, "")
        .unwrap()
        .plate_share
        .unwrap();
    assert!(within.low < idle.sections[0].plate_share.unwrap() && within.high > 1.0, "{within:?}");
    let finding = audit.verdicts.findings.iter().find(|f| f.rule == "output-valve-over-maximum").unwrap();
    let share = finding.values.iter().find(|v| v.name.contains("idle-share")).unwrap();
    assert!((share.value / idle.sections[0].plate_share.unwrap() - 1.0).abs() < 1e-9);
    assert_eq!(finding.level == asfound::rules::Level::Danger, within.low > 1.0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn slopes_are_differences(network in crate::solver_properties::circuit(false)) {
        slopes_hold(&network)?;
    }
}

/// One window at a time, by the transposed equations, is what all of them together are, by the slopes along each figure:
/// every net, part and leg of the examples, links and fuses included.
#[test]
fn one_window_is_as_of_all() {
    let mut compared = 0;
    for name in ["sedge-45", "wren-8", "fallow-18", "hollin-100"] {
        let path = format!("{}/examples/{name}/{name}.amp", env!("CARGO_MANIFEST_DIR"));
        let circuit = stock(&std::fs::read_to_string(path).unwrap());
        let solved = windows(&circuit, &Setup::idle()).unwrap();
        let spread = solved.spread(&circuit).unwrap();
        let mut same = |what: String, one: Option<Within>, of_all: Option<Within>| {
            let (Some(one), Some(of_all)) = (one, of_all) else {
                assert_eq!(one, of_all, "{name} {what}");
                return;
            };
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-7 * (a.abs() + b.abs()) + 1e-12;
            assert!(
                near(one.low, of_all.low) && near(one.high, of_all.high),
                "{name} {what}: {one:?} {of_all:?}"
            );
            compared += 1;
        };
        for net in circuit.net_ids() {
            let one = solved.net_volts_within(&circuit, net);
            same(circuit.net(net).name.clone(), one, spread.volts[net.0 as usize]);
        }
        for id in circuit.part_ids() {
            let (part, at) = (circuit.part(id), id.0 as usize);
            same(part.name.clone(), solved.watts_within(&circuit, id), spread.watts[at]);
            same(part.name.clone(), solved.across_within(&circuit, id), spread.across[at]);
            for leg in 0..part.legs.len() {
                let one = solved.leg_amps_within(&circuit, LegId { part: id, leg: leg as u32 });
                same(part.leg_name(leg), one, spread.amps[at][leg]);
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}
