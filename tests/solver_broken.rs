//! Broken circuits: each ends as it should, by its name, and none panics.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use asfound::numeric::{
    Drive, FloatingGrids, GridModel, Law, Linearised, Network, Node, Outcome, Prepared, TriodeModel,
    operating_point, operating_points, response,
};

const ECC83: TriodeModel = TriodeModel {
    mu: 100.0,
    ex: 1.4,
    kg1: 1060.0,
    kp: 600.0,
    kvb: 300.0,
    grid: GridModel { gg: 6e-4, cg: 10.0, xi: 1.3 },
};

/// A network under construction; nodes by name.
struct Bench(Network);

impl Bench {
    fn new() -> Self {
        Self(Network::new())
    }

    fn node(&mut self, name: &str) -> Node {
        if name == "0" { 0 } else { self.0.node(name).unwrap_or_else(|| self.0.add_node(name)) }
    }

    fn resistor(&mut self, name: &str, a: &str, b: &str, ohms: f64) -> usize {
        let law = Law::Resistor { a: self.node(a), b: self.node(b), ohms };
        self.0.add(name, law)
    }

    fn capacitor(&mut self, name: &str, a: &str, b: &str, farads: f64) -> usize {
        let law = Law::Capacitor { a: self.node(a), b: self.node(b), farads };
        self.0.add(name, law)
    }

    fn source(&mut self, name: &str, plus: &str, minus: &str, volts: f64) -> usize {
        let law = Law::VoltageSource { plus: self.node(plus), minus: self.node(minus), volts, ac_volts: 0.0 };
        self.0.add(name, law)
    }

    fn triode(&mut self, name: &str, plate: &str, grid: &str, cathode: &str) -> usize {
        let (plate, grid, cathode) = (self.node(plate), self.node(grid), self.node(cathode));
        self.0.add(name, Law::Triode { plate, grid, cathode, model: ECC83 })
    }

    /// A common-cathode stage: 300 V, 100k, 1k5.
    fn stage(grid_leak: Option<f64>, cathode_resistor: bool) -> Self {
        let mut bench = Self::new();
        bench.source("B", "b", "0", 300.0);
        bench.resistor("R1", "b", "plate", 1e5);
        bench.triode("V1a", "plate", "grid", "cathode");
        bench.capacitor("C1", "grid", "0", 1e-8);
        if let Some(ohms) = grid_leak {
            bench.resistor("R2", "grid", "0", ohms);
        }
        if cathode_resistor {
            bench.resistor("R3", "cathode", "0", 1500.0);
        }
        bench
    }
}

fn end(network: &Network) -> Outcome {
    operating_point(network).unwrap_err().outcome
}

fn near(got: Option<f64>, want: f64) {
    let got = got.expect("defined");
    assert!((got - want).abs() <= 1e-9 + 1e-9 * want.abs(), "{got} instead of {want}");
}

#[test]
fn two_sources_in_parallel_contradict() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 300.0);
    bench.resistor("W1", "b", "c", 0.0);
    bench.source("B2", "c", "0", 310.0);
    bench.resistor("R1", "b", "0", 1e4);
    assert_eq!(end(&bench.0), Outcome::SourceLoop { elements: vec!["B1".into(), "B2".into()] });
}

#[test]
fn a_source_shorted_by_a_link() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 300.0);
    bench.resistor("W1", "b", "0", 0.0);
    assert_eq!(end(&bench.0), Outcome::SourceLoop { elements: vec!["B1".into()] });
}

#[test]
fn equal_sources_in_parallel_agree() {
    let mut bench = Bench::new();
    let first = bench.source("B1", "b", "0", 300.0);
    let second = bench.source("B2", "b", "0", 300.0);
    bench.resistor("R1", "b", "0", 1e4);
    let point = operating_point(&bench.0).unwrap();
    near(point.volts(1), 300.0);
    near(Some(point.amps(first)[0] + point.amps(second)[0]), -0.03);
}

#[test]
fn links_in_parallel_carry_the_current_once() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 300.0);
    let first = bench.resistor("W1", "b", "c", 0.0);
    let second = bench.resistor("W2", "c", "b", 0.0);
    bench.resistor("R1", "c", "0", 1e4);
    let point = operating_point(&bench.0).unwrap();
    near(point.volts(2), 300.0);
    near(Some(point.amps(first)[0] - point.amps(second)[0]), 0.03);
    assert!(point.amps(second)[0] == 0.0 || point.amps(first)[0] == 0.0);
}

#[test]
fn a_chain_of_links_to_the_chassis() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 100.0);
    bench.resistor("R1", "b", "x", 1e3);
    let near_chassis = bench.resistor("W1", "0", "y", 0.0);
    let far = bench.resistor("W2", "x", "y", 0.0);
    let point = operating_point(&bench.0).unwrap();
    near(point.volts(2), 0.0);
    near(Some(point.amps(far)[0]), 0.1);
    near(Some(point.amps(near_chassis)[0]), -0.1);
}

#[test]
fn a_choke_without_resistance_across_a_source() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 300.0);
    let node = bench.node("b");
    bench.0.add("L1", Law::Inductor { a: node, b: 0, henries: 1.0, ohms: 0.0 });
    assert_eq!(end(&bench.0), Outcome::SourceLoop { elements: vec!["B1".into(), "L1".into()] });
}

#[test]
fn an_island_is_undefined_and_the_rest_is_solved() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 300.0);
    bench.resistor("R1", "b", "mid", 1e5);
    bench.resistor("R2", "mid", "0", 2e5);
    bench.capacitor("C1", "mid", "x", 1e-8);
    let heater = bench.source("H", "x", "y", 6.3);
    let loaded = bench.resistor("R3", "x", "y", 21.0);
    let point = operating_point(&bench.0).unwrap();
    near(point.volts(2), 200.0);
    let [x, y] = ["x", "y"].map(|name| bench.0.node(name).unwrap());
    assert_eq!((point.volts(x), point.volts(y)), (None, None));
    assert_eq!(point.islands().iter().map(|island| island.nodes.clone()).collect::<Vec<_>>(), [vec![x, y]]);
    near(point.volts_between(x, y), 6.3);
    near(Some(point.amps(loaded)[0]), 0.3);
    near(Some(point.watts(heater)), -1.89);
    assert_eq!(point.volts_between(x, 2), None);
}

#[test]
fn between_series_capacitors_nothing_is_defined() {
    let mut bench = Bench::new();
    bench.source("B1", "b", "0", 600.0);
    bench.capacitor("C1", "b", "mid", 1e-4);
    bench.capacitor("C2", "mid", "0", 1e-4);
    let point = operating_point(&bench.0).unwrap();
    assert_eq!((point.volts(1), point.volts(2)), (Some(600.0), None));
    if let Law::VoltageSource { ac_volts, .. } = &mut bench.0.elements[0].law {
        *ac_volts = 1.0;
    }
    let halves = response(&bench.0, &point, 100.0).unwrap();
    near(halves.volts(2).map(|phasor| phasor.re), 0.5);
    assert_eq!(response(&bench.0, &point, 0.0).unwrap().volts(2), None);
}

#[test]
fn no_chassis_anywhere() {
    let mut bench = Bench::new();
    bench.source("B1", "a", "b", 9.0);
    let resistor = bench.resistor("R1", "a", "b", 1e3);
    let point = operating_point(&bench.0).unwrap();
    assert_eq!((point.volts(0), point.volts(1), point.volts(2)), (Some(0.0), None, None));
    near(Some(point.amps(resistor)[0]), 9e-3);
    assert!(operating_point(&Network::new()).is_ok());
    let none = Network { nodes: Vec::new(), elements: Vec::new() };
    assert_eq!(end(&none), Outcome::UnknownNode { element: "chassis".into() });
}

#[test]
fn a_floating_grid_is_named_and_taken_both_ways() {
    let bench = Bench::stage(None, true);
    let at_cathode = operating_point(&bench.0).unwrap();
    let grid = bench.0.node("grid").unwrap();
    assert_eq!(at_cathode.volts(grid), None);
    assert_eq!(at_cathode.floating_grids().len(), 1);
    assert_eq!((at_cathode.floating_grids()[0].element, at_cathode.floating_grids()[0].node), (2, grid));
    assert!(at_cathode.valve(2).unwrap().plate_amps > 1.5e-3);
    let off = Prepared::with(&bench.0, FloatingGrids::CutOff).unwrap().solve(&bench.0, None).unwrap();
    assert_eq!(off.floating_grids(), at_cathode.floating_grids());
    near(off.volts(bench.0.node("plate").unwrap()), 300.0);
    near(off.volts(bench.0.node("cathode").unwrap()), 0.0);
}

#[test]
fn an_open_cathode_or_plate_load_cuts_the_valve_off() {
    let bench = Bench::stage(Some(1e6), false);
    let point = operating_point(&bench.0).unwrap();
    assert_eq!(point.volts(bench.0.node("cathode").unwrap()), None);
    near(point.volts(bench.0.node("plate").unwrap()), 300.0);
    assert_eq!(point.valve(2).unwrap().plate_amps, 0.0);

    let mut bench = Bench::stage(Some(1e6), true);
    bench.0.elements.remove(1);
    let point = operating_point(&bench.0).unwrap();
    assert_eq!(point.volts(bench.0.node("plate").unwrap()), None);
    near(point.volts(bench.0.node("cathode").unwrap()), 0.0);
}

/// A cascode: its middle is held by valves alone.
fn cascode(lower_grid: f64) -> Bench {
    let mut bench = Bench::new();
    bench.source("B", "b", "0", 300.0);
    bench.source("G2", "upper", "0", 100.0);
    bench.source("G1", "lower", "0", lower_grid);
    bench.resistor("R1", "b", "plate", 1e5);
    bench.triode("V1b", "plate", "upper", "middle");
    bench.triode("V1a", "middle", "lower", "0");
    bench
}

#[test]
fn the_middle_of_a_cascode_is_defined_while_current_flows() {
    let bench = cascode(-1.0);
    let point = operating_point(&bench.0).unwrap();
    let middle = point.volts(bench.0.node("middle").unwrap()).expect("held by two valves");
    assert!((95.0..110.0).contains(&middle), "{middle}");
    near(Some(point.valve(4).unwrap().cathode_amps()), point.valve(5).unwrap().plate_amps);

    let bench = cascode(-80.0);
    let point = operating_point(&bench.0).unwrap();
    assert_eq!(point.volts(bench.0.node("middle").unwrap()), None);
    near(point.volts(bench.0.node("plate").unwrap()), 300.0);
}

/// Cross-coupled triodes: a switch.
fn switch() -> Bench {
    let mut bench = Bench::new();
    bench.source("B", "b", "0", 300.0);
    bench.source("N", "n", "0", -150.0);
    for (own, other) in [("1", "2"), ("2", "1")] {
        let (plate, grid, far) = (format!("p{own}"), format!("g{own}"), format!("p{other}"));
        bench.resistor(&format!("RP{own}"), "b", &plate, 1e5);
        bench.triode(&format!("V{own}"), &plate, &grid, "0");
        bench.resistor(&format!("RX{own}"), &far, &grid, 1e6);
        bench.resistor(&format!("RN{own}"), &grid, "n", 1e6);
    }
    bench
}

#[test]
fn a_switch_has_two_points_and_none_is_picked() {
    let bench = switch();
    assert_eq!(end(&bench.0), Outcome::Unstable);
    let points = operating_points(&bench.0, FloatingGrids::AtCathode).unwrap();
    assert_eq!(points.len(), 2);
    let [one, two] = ["p1", "p2"].map(|name| bench.0.node(name).unwrap());
    assert!(
        points[0].volts(one) > points[0].volts(two).map(|volts| volts + 50.0)
            || points[0].volts(two) > points[0].volts(one).map(|volts| volts + 50.0)
    );
    near(points[0].volts(one), points[1].volts(two).unwrap());
    near(points[0].volts(two), points[1].volts(one).unwrap());
}

#[test]
fn an_ordinary_stage_has_one_point() {
    let bench = Bench::stage(Some(1e6), true);
    assert_eq!(operating_points(&bench.0, FloatingGrids::AtCathode).unwrap().len(), 1);
}

#[test]
fn impossible_values_and_nodes_are_named() {
    let mut bench = Bench::stage(Some(1e6), true);
    for ohms in [f64::NAN, f64::INFINITY, -1.0] {
        bench.0.elements[1].law = Law::Resistor { a: 1, b: 2, ohms };
        assert_eq!(end(&bench.0), Outcome::BadValue { element: "R1".into() });
    }
    bench.0.elements[1].law = Law::Resistor { a: 1, b: 99, ohms: 1.0 };
    assert_eq!(end(&bench.0), Outcome::UnknownNode { element: "R1".into() });
}

#[test]
fn current_sources_that_fight_determine_nothing() {
    let mut bench = Bench::new();
    let node = bench.node("x");
    bench.0.add("I1", Law::CurrentSource { from: 0, to: node, amps: 1e-3 });
    bench.0.add("I2", Law::CurrentSource { from: node, to: 0, amps: 2e-3 });
    assert_eq!(end(&bench.0), Outcome::Singular { unknown: "x".into() });
    let message = operating_point(&bench.0).unwrap_err().to_string();
    assert_eq!(message, "nothing determines x; worst at x, where 1.000e-3 A do not balance");
}

#[test]
fn a_warm_start_across_a_changed_topology() {
    let mut bench = Bench::stage(Some(1e6), true);
    let mut prepared = Prepared::new(&bench.0).unwrap();
    let point = prepared.solve(&bench.0, None).unwrap();
    bench.resistor("R9", "plate", "0", 1e5);
    let loaded = prepared.solve(&bench.0, Some(&point)).unwrap();
    assert!(loaded.volts(2) < point.volts(2));
    bench.0.elements[1].law = Law::Resistor { a: 1, b: 2, ohms: 0.0 };
    let shorted = prepared.solve(&bench.0, Some(&loaded)).unwrap();
    near(shorted.volts(2), 300.0);
    assert_eq!(Some(shorted), operating_point(&bench.0).ok());
}

#[test]
fn a_test_source_and_an_impedance() {
    let bench = Bench::stage(Some(1e6), true);
    let point = operating_point(&bench.0).unwrap();
    let [grid, plate] = ["grid", "plate"].map(|name| bench.0.node(name).unwrap());
    let valve = point.valve(2).unwrap();
    let gain = Linearised::new(&bench.0, &point, Drive::Volt(grid)).unwrap().at(1e3).unwrap();
    // Small-signal common cathode with an unbypassed cathode resistor, by hand.
    let (ra, mu) = (1.0 / valve.gp, valve.gm / valve.gp);
    let want = -mu * 1e5 / (ra + 1e5 + (mu + 1.0) * 1500.0);
    let got = gain.volts(plate).unwrap();
    assert!((got.re - want).abs() < 1e-4 && got.im.abs() < 1e-3, "{got} instead of {want}");
    let impedance = Linearised::new(&bench.0, &point, Drive::Ampere(plate)).unwrap().at(1e3).unwrap();
    let own = ra + (mu + 1.0) * 1500.0;
    let want = own * 1e5 / (own + 1e5);
    assert!((impedance.volts(plate).unwrap().re - want).abs() < 1e-3 * want);
}

/// A bridge whose reservoir is held up from elsewhere: its four diodes are reversed, and the winding between them
/// is held by their leakage alone.
#[test]
fn behind_reversed_diodes_nothing_is_defined() {
    let mut bench = Bench::new();
    bench.source("B", "b", "0", 300.0);
    bench.resistor("R1", "b", "0", 1e5);
    bench.resistor("W", "x", "y", 100.0);
    for (anode, cathode) in [("0", "x"), ("0", "y"), ("x", "b"), ("y", "b")] {
        let (anode, cathode) = (bench.node(anode), bench.node(cathode));
        bench.0.add("D", Law::Diode { anode, cathode, saturation_amps: 2e-9, emission: 1.8 });
    }
    let point = operating_point(&bench.0).unwrap();
    let [x, y] = ["x", "y"].map(|name| bench.0.node(name).unwrap());
    assert_eq!((point.volts(x), point.volts(y)), (None, None));
    near(point.volts(1), 300.0);
    // With a leak the diodes hold again.
    bench.resistor("R2", "x", "0", 1e7);
    let point = operating_point(&bench.0).unwrap();
    assert!(point.volts(x).unwrap() < 0.05);
}
