//! Every figure of `reference/cases`: DC, AC, differences, sensitivities, and values solved for.
//!
//! Source of the figures: independent solutions of invented circuits in double and multi-precision, from the
//! equations in `reference/cases/MODEL.md`. Tolerances: node volts 1 µV + 1e-6 of the value, currents 1e-6
//! of the value + 1 pA, phasors 1e-6 of the largest magnitude at that node.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

#[path = "reference/read.rs"]
pub(crate) mod read;

use asfound::numeric::{
    Drive, Law, Linearised, Network, OperatingPoint, Outcome, Prepared, operating_point, response,
};
use read::{Case, case, number, text};
use serde_json::Value;

/// Compares figures and counts them.
#[derive(Default)]
struct Count {
    checked: usize,
    wrong: Vec<String>,
}

impl Count {
    fn near(&mut self, what: &str, got: f64, want: &Value, least: f64, share: f64) {
        let want = number(want);
        self.checked += 1;
        if (got - want).abs() > least + share * want.abs() || !got.is_finite() {
            self.wrong.push(format!("{what}: {got:e} instead of {want:e}"));
        }
    }

    fn finish(self, file: &str) {
        assert!(self.checked > 0, "{file}: nothing checked");
        let few = &self.wrong[..self.wrong.len().min(12)];
        assert!(few.is_empty(), "{file}: {} of {} wrong: {few:#?}", self.wrong.len(), self.checked);
    }
}

const VOLTS: (f64, f64) = (1e-6, 1e-6);
const AMPS: (f64, f64) = (1e-12, 1e-6);
/// Products and slopes: as currents.
const REST: (f64, f64) = (1e-12, 2e-6);

fn check_dc(count: &mut Count, case: &Case, point: &OperatingPoint, dc: &Value) {
    for (section, figures) in dc.as_object().unwrap() {
        for (id, figure) in figures.as_object().unwrap() {
            match section.as_str() {
                "node_volts" => {
                    let volts = point.volts(case.nodes[id]).unwrap_or(f64::NAN);
                    count.near(id, volts, figure, VOLTS.0, VOLTS.1);
                }
                "totals" => {
                    let watts = (0..case.network.elements.len()).map(|at| point.watts(at));
                    let supplied = matches!(id.as_str(), "watts_delivered_by_sources");
                    assert!(supplied || id == "watts_absorbed", "unknown total {id}");
                    let source = |at: &usize| {
                        let law = &case.network.elements[*at].law;
                        matches!(law, Law::VoltageSource { .. } | Law::CurrentSource { .. })
                    };
                    let total: f64 =
                        watts.enumerate().filter(|(at, _)| source(at) == supplied).map(|x| x.1).sum();
                    count.near(id, if supplied { -total } else { total }, figure, REST.0, REST.1);
                }
                _ => {
                    for (field, want) in figure.as_object().unwrap().iter().filter(|x| x.1.is_number()) {
                        let (got, (least, share)) = element_figure(case, point, id, field);
                        count.near(&format!("{id} {field}"), got, want, least, share);
                    }
                }
            }
        }
    }
}

fn element_figure(case: &Case, point: &OperatingPoint, id: &str, field: &str) -> (f64, (f64, f64)) {
    let at = case.elements[id];
    let amps = point.amps(at);
    let law = &case.network.elements[at].law;
    if let Some(valve) = point.valve(at).filter(|_| case.ratings.contains_key(id)) {
        let [plate_max, screen_max] = case.ratings[id];
        return match field {
            "volts_plate_cathode" => (valve.plate_volts, VOLTS),
            "volts_screen_cathode" => (valve.screen_volts, VOLTS),
            "volts_grid_cathode" => (valve.grid_volts, VOLTS),
            "amps_plate" => (amps[0], AMPS),
            "amps_screen" => (amps[1], AMPS),
            "amps_grid" => (amps[amps.len() - 2], AMPS),
            "amps_cathode" => (-amps[amps.len() - 1], AMPS),
            "watts_plate" => (valve.plate_watts(), REST),
            "watts_screen" => (valve.screen_watts(), REST),
            "watts_grid" => (valve.grid_watts(), REST),
            "plate_percent_of_rating" => (100.0 * valve.plate_watts() / plate_max, REST),
            "screen_percent_of_rating" => (100.0 * valve.screen_watts() / screen_max, REST),
            "gm_S" => (valve.gm, REST),
            "gp_S" => (valve.gp, REST),
            "gm_screen_to_plate_S" => (valve.gm_screen, REST),
            "gs_S" => (valve.gs, REST),
            "gm_grid_to_screen_S" => (valve.gm_to_screen, REST),
            "ggrid_S" => (valve.ggrid, REST),
            other => panic!("unknown figure {other} of {id}"),
        };
    }
    match (field, law) {
        ("amps" | "amps_top_to_wiper" | "amps_into_plate_a", _) => (amps[0], AMPS),
        ("watts", Law::Resistor { .. }) if case.network.elements[at].name != id => {
            (point.watts(at) + point.watts(at + 1), REST)
        }
        ("watts", _) => (point.watts(at), REST),
        ("amps_wiper_to_bottom", _) => (point.amps(at + 1)[0], AMPS),
        ("volts", Law::Capacitor { a, b, .. }) => (point.volts_between(*a, *b).unwrap(), VOLTS),
        ("amps_out_of_plus", _) => (-amps[0], AMPS),
        ("watts_delivered", _) => (-point.watts(at), REST),
        ("volts_from_minus_to", Law::CurrentSource { from, to, .. }) => {
            (point.volts_between(*from, *to).unwrap(), VOLTS)
        }
        ("amps_into_plate_b", _) => (amps[3], AMPS),
        ("amps_into_secondary_hot", _) => (amps[4], AMPS),
        other => panic!("unknown figure {other:?} of {id}"),
    }
}

fn check_ac(count: &mut Count, case: &Case, point: &OperatingPoint, file: &Value, phasors: &Value) {
    let list = |value: &Value| value.as_array().unwrap().iter().map(number).collect::<Vec<_>>();
    let hertz = list(&file["analysis"]["ac"]["frequencies_hz"]);
    let mut linearised = Linearised::new(&case.network, point, Drive::Sources).unwrap();
    let responses: Vec<_> = hertz.iter().map(|&hertz| linearised.at(hertz).unwrap()).collect();
    for (name, want) in phasors.as_object().unwrap() {
        let (re, im) = (list(&want["re"]), list(&want["im"]));
        assert_eq!((re.len(), im.len()), (hertz.len(), hertz.len()));
        let largest = re.iter().zip(&im).map(|(re, im)| libm::hypot(*re, *im)).fold(0.0, f64::max);
        for (at, response) in responses.iter().enumerate() {
            let got = response.volts(case.nodes[name]).unwrap();
            let what = format!("{name} at {} Hz", hertz[at]);
            count.near(&format!("{what}, real"), got.re, &want["re"][at], 1e-6 * largest, 0.0);
            count.near(&format!("{what}, imaginary"), got.im, &want["im"][at], 1e-6 * largest, 0.0);
            if let Some(db) =
                want["mag_db"][at].as_f64().filter(|_| largest > 0.0 && got.norm() > 1e-4 * largest)
            {
                count.near(
                    &format!("{what}, dB"),
                    20.0 * libm::log10(got.norm()),
                    &Value::from(db),
                    1e-4 + 1e-6,
                    0.0,
                );
            }
        }
    }
}

/// All settings of a file.
fn check_file(name: &str) {
    let file = text(name);
    let mut count = Count::default();
    for setting in file["settings"].as_array().unwrap() {
        let case = case(&file, &setting["set"]);
        let point = operating_point(&case.network).unwrap_or_else(|end| panic!("{name} {setting}: {end}"));
        let expected = &file["expected"][setting["name"].as_str().unwrap()];
        assert!(point.islands().is_empty() && point.floating_grids().is_empty());
        check_dc(&mut count, &case, &point, &expected["dc"]);
        if !expected["ac"].is_null() {
            check_ac(&mut count, &case, &point, &file, &expected["ac"]["node_phasors"]);
        }
    }
    count.finish(name);
}

macro_rules! cases {
    ($($name:ident)*) => { $( #[test] fn $name() { check_file(stringify!($name)); } )* };
}

cases! {
    p01_single_source p02_cc_bypassed p03_cc_unbypassed p04_cold_bias p05_dc_coupled_follower p06_long_tailed_pair
    p07_tone_tmb p08_push_pull_fixed_bias p09_grid_positive p10_milliohm_links p11_bias_supply_failed
    p12_random_ladder_200 p13_random_mesh_2000 p14_full_amp_a_stock p15_full_amp_a_modified p16_cascade_three
    p17_diode_clamp
}

/// Not checked here: periodic steady states, decay, touch currents (`touch.rs`) and ohms (`in_circuit.rs`) are other analyses (of large signals see
/// `large_signal.rs`); MODEL.md describes the cases.
const LATER: [&str; 4] = ["time_domain", "touch_current", "in_circuit_ohms", "MODEL"];

#[test]
fn no_case_is_left_out() {
    let folder = format!("{}/tests/reference/cases", env!("CARGO_MANIFEST_DIR"));
    let source = include_str!("reference_cases.rs");
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let stem = name.split('.').next().unwrap();
        assert!(source.contains(stem) || LATER.contains(&stem), "{name} is not checked");
    }
}

/// `expected_difference` of the modified amplifier: modified less stock, both solved here.
#[test]
fn p15_differs_from_p14_as_expected() {
    let (stock, modified) = (text("p14_full_amp_a_stock"), text("p15_full_amp_a_modified"));
    let mut count = Count::default();
    for setting in modified["settings"].as_array().unwrap() {
        let name = setting["name"].as_str().unwrap();
        let expected = &modified["expected_difference"][name];
        let cases = [&stock, &modified].map(|file| {
            let same =
                file["settings"].as_array().unwrap().iter().find(|other| other["name"] == name).unwrap();
            case(file, &same["set"])
        });
        let points = [0, 1].map(|at| operating_point(&cases[at].network).unwrap());
        for (node, want) in expected["node_volts_modified_minus_stock"].as_object().unwrap() {
            let [before, after] = [0, 1].map(|at| points[at].volts(cases[at].nodes[node]).unwrap());
            count.near(node, after - before, want, 2e-6, 2e-6);
        }
        for (id, want) in expected["plate_percent_modified_minus_stock"].as_object().unwrap() {
            let field = "plate_percent_of_rating";
            let [before, after] = [0, 1].map(|at| element_figure(&cases[at], &points[at], id, field).0);
            count.near(id, after - before, want, 1e-6, 2e-6);
        }
        let mut linear =
            [0, 1].map(|at| Linearised::new(&cases[at].network, &points[at], Drive::Sources).unwrap());
        for (node, want) in expected["mag_db_modified_minus_stock"].as_object().unwrap() {
            for (hertz, want) in modified["analysis"]["ac"]["frequencies_hz"]
                .as_array()
                .unwrap()
                .iter()
                .zip(want.as_array().unwrap())
            {
                let [before, after] = [0, 1].map(|at| {
                    let phasor = linear[at].at(number(hertz)).unwrap().volts(cases[at].nodes[node]).unwrap();
                    20.0 * libm::log10(phasor.norm())
                });
                count.near(&format!("{node} at {hertz} Hz"), after - before, want, 1e-4, 0.0);
            }
        }
    }
    count.finish("expected_difference");
}

/// Exact sensitivities of `tolerance.json`, and its nominal volts. The statistics belong to the spread.
#[test]
fn tolerance_sensitivities() {
    let mut count = Count::default();
    for file in text("tolerance")["cases"].as_array().unwrap() {
        let case = case(file, &Value::Array(Vec::new()));
        let mut prepared = Prepared::new(&case.network).unwrap();
        let point = prepared.solve(&case.network, None).unwrap();
        for (node, want) in file["expected"]["nominal_volts"].as_object().unwrap() {
            count.near(node, point.volts(case.nodes[node]).unwrap(), want, VOLTS.0, VOLTS.1);
        }
        for (node, want) in file["expected"]["dV_dlnR_at_nominal"].as_object().unwrap() {
            let slopes = prepared.sensitivities(&case.network, &point, case.nodes[node]).unwrap();
            for (id, want) in want.as_object().unwrap() {
                count.near(&format!("{node} by {id}"), slopes[case.elements[id]], want, 1e-6, 1e-6);
            }
        }
    }
    count.finish("tolerance");
}

/// `solve_for.json` by a root finder over warm solves.
#[test]
fn solve_for_values() {
    let mut count = Count::default();
    for file in text("solve_for")["cases"].as_array().unwrap() {
        let (solve, expected) = (&file["solve"], &file["expected"]);
        let with = |value: f64| {
            let mut change = solve["unknown"].clone();
            change["value"] = Value::from(value);
            case(file, &Value::Array(vec![change]))
        };
        let target = &solve["target"];
        let miss = |value: f64| {
            let case = with(value);
            let point = operating_point(&case.network).unwrap();
            let of = target["of"].as_str().unwrap();
            let got = match target["quantity"].as_str().unwrap() {
                "node_volts" => point.volts(case.nodes[of]).unwrap(),
                quantity => element_figure(&case, &point, of, quantity).0,
            };
            (got - number(&target["value"]), point)
        };
        let value = bisect(number(&solve["bracket"][0]), number(&solve["bracket"][1]), |value| miss(value).0);
        count.near("value", value, &expected["value"], 0.0, 1e-6);
        let (case, point) = (with(value), miss(value).1);
        for (node, want) in expected["node_volts"].as_object().unwrap() {
            count.near(node, point.volts(case.nodes[node]).unwrap(), want, VOLTS.0, VOLTS.1);
        }
    }
    count.finish("solve_for");
}

fn bisect(mut low: f64, mut high: f64, mut miss: impl FnMut(f64) -> f64) -> f64 {
    let low_is_positive = miss(low) > 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (miss(middle) > 0.0) == low_is_positive { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// What a bench sees: every single fault in whole amplifiers, and pairs of them. Each either solves or is a
/// short across an ideal source; a warm start from the sound amplifier ends where a cold one does.
#[test]
fn faulty_amplifiers_are_solved() {
    let mut random: usize = 7;
    for name in
        ["p14_full_amp_a_stock", "p15_full_amp_a_modified", "p11_bias_supply_failed", "p16_cascade_three"]
    {
        let file = text(name);
        let sound = case(&file, &file["settings"][0]["set"]).network;
        let start = operating_point(&sound).unwrap();
        let count = sound.elements.len();
        for at in 0..6 * count {
            let mut faulty = sound.clone();
            break_element(&mut faulty, at % count, at / count);
            if at >= 3 * count {
                random = random.wrapping_mul(1_103_515_245).wrapping_add(12345) % (1 << 31);
                break_element(&mut faulty, random / 8 % count, random / 1024 % 3);
            }
            let names = [&sound.elements[at % count].name, &sound.elements[random / 8 % count].name];
            let cold = match operating_point(&faulty) {
                Ok(cold) => cold,
                Err(end) if matches!(end.outcome, Outcome::SourceLoop { .. }) => continue,
                Err(end) => panic!("{name} {names:?} {}: {end}", at / count),
            };
            let warm = Prepared::new(&faulty).unwrap().solve(&faulty, Some(&start)).unwrap();
            for node in 0..faulty.nodes.len() {
                let same = match (cold.volts(node), warm.volts(node)) {
                    (Some(cold), Some(warm)) => (cold - warm).abs() < 1e-6 + 1e-6 * cold.abs(),
                    (cold, warm) => cold == warm,
                };
                assert!(same, "{name} {names:?} {}: {node}", at / count);
            }
            for hertz in [0.0, 1e-3, 1e3, 1e6] {
                response(&faulty, &cold, hertz)
                    .unwrap_or_else(|end| panic!("{name} {names:?} {hertz}: {end}"));
            }
        }
    }
}

/// Opens an element, shorts its first two terminals, or makes its value ten times larger.
fn break_element(network: &mut Network, at: usize, how: usize) {
    let element = &mut network.elements[at];
    let ends = element.law.terminals();
    match (how % 3, &mut element.law) {
        (0, _) => element.law = Law::Capacitor { a: ends[0], b: ends[1], farads: 0.0 },
        (1, _) => element.law = Law::Resistor { a: ends[0], b: ends[1], ohms: 0.0 },
        (_, Law::Resistor { ohms: value, .. } | Law::Capacitor { farads: value, .. }) => *value *= 10.0,
        (_, Law::VoltageSource { volts, .. }) => *volts *= 2.0,
        _ => {}
    }
}
