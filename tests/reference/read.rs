//! Reads the reference cases (`cases/MODEL.md`) into networks.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its case has failed")]

use std::collections::BTreeMap;

use asfound::numeric::{GridModel, Law, Network, Node, PentodeModel, TriodeModel, Winding};
use serde_json::Value;

/// A case's elements as a network, with what is needed to find its figures again.
#[derive(Clone)]
pub(crate) struct Case {
    pub(crate) network: Network,
    pub(crate) nodes: BTreeMap<String, Node>,
    /// For each id its first element; a pot has two, top to wiper and wiper to bottom.
    pub(crate) elements: BTreeMap<String, usize>,
    /// Rated plate and screen watts of each valve.
    pub(crate) ratings: BTreeMap<String, [f64; 2]>,
}

/// The text of a case's file.
pub(crate) fn text(name: &str) -> Value {
    let path = format!("{}/tests/reference/cases/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// A file of published figures.
#[allow(dead_code, reason = "the benchmarks read cases alone")]
pub(crate) fn published(name: &str) -> Value {
    let path = format!("{}/tests/reference/published/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// A field that must be a number.
pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// The case with the given fields replaced (`set` of a setting).
pub(crate) fn case(file: &Value, set: &Value) -> Case {
    let mut case = Case {
        network: Network::new(),
        nodes: [("0".to_owned(), 0)].into(),
        elements: BTreeMap::new(),
        ratings: BTreeMap::new(),
    };
    for element in file["elements"].as_array().unwrap() {
        let mut element = element.clone();
        for change in set.as_array().unwrap() {
            if change["id"] == element["id"] {
                element[change["field"].as_str().unwrap()] = change["value"].clone();
            }
        }
        case.add(&element, &file["tube_types"]);
    }
    case
}

impl Case {
    fn node(&mut self, element: &Value, terminal: &str) -> Node {
        let name = element[terminal].as_str().unwrap();
        if let Some(&node) = self.nodes.get(name) {
            return node;
        }
        let node = self.network.add_node(name);
        self.nodes.insert(name.to_owned(), node);
        node
    }

    fn add(&mut self, element: &Value, types: &Value) {
        let id = element["id"].as_str().unwrap();
        let value = |field: &str| number(&element[field]);
        let law = match element["kind"].as_str().unwrap() {
            "resistor" => {
                Law::Resistor { a: self.node(element, "a"), b: self.node(element, "b"), ohms: value("ohms") }
            }
            "capacitor" => Law::Capacitor {
                a: self.node(element, "a"),
                b: self.node(element, "b"),
                farads: value("farads"),
            },
            "inductor" => Law::Inductor {
                a: self.node(element, "a"),
                b: self.node(element, "b"),
                henries: value("henries"),
                ohms: value("dcr_ohms"),
            },
            "voltage_source" => Law::VoltageSource {
                plus: self.node(element, "plus"),
                minus: self.node(element, "minus"),
                volts: value("volts_dc"),
                ac_volts: value("ac_magnitude"),
            },
            "current_source" => Law::CurrentSource {
                from: self.node(element, "from"),
                to: self.node(element, "to"),
                amps: value("amps_dc"),
            },
            "diode" => Law::Diode {
                anode: self.node(element, "anode"),
                cathode: self.node(element, "cathode"),
                saturation_amps: value("saturation_A"),
                emission: value("emission"),
            },
            "triode" | "pentode" => self.valve(element, types),
            "transformer_ct" => self.transformer(element),
            "pot" => return self.pot(element),
            "winding" => Law::Resistor {
                a: self.node(element, "a"),
                b: self.node(element, "b"),
                ohms: value("dcr_ohms"),
            },
            "switch" => {
                let (a, b) = (self.node(element, "a"), self.node(element, "b"));
                if element["closed"] != true {
                    return;
                }
                Law::Resistor { a, b, ohms: 0.0 }
            }
            other => panic!("unknown kind {other}"),
        };
        let index = self.network.add(id, law);
        self.elements.insert(id.to_owned(), index);
    }

    fn valve(&mut self, element: &Value, types: &Value) -> Law {
        let of = &types[element["type"].as_str().unwrap()];
        let value = |field: &str| number(&of[field]);
        let grid = GridModel { gg: value("Gg"), cg: value("Cg"), xi: value("xi") };
        let (mu, ex, kg1, kp, kvb) = (value("MU"), value("EX"), value("KG1"), value("KP"), value("KVB"));
        let screen_watts = of["screen_max_watts"].as_f64().unwrap_or(f64::NAN);
        let id = element["id"].as_str().unwrap().to_owned();
        self.ratings.insert(id, [value("plate_max_watts"), screen_watts]);
        let (plate, cathode) = (self.node(element, "plate"), self.node(element, "cathode"));
        let control = self.node(element, "grid");
        if element["kind"] == "triode" {
            return Law::Triode {
                plate,
                grid: control,
                cathode,
                model: TriodeModel { mu, ex, kg1, kp, kvb, grid },
            };
        }
        let model = PentodeModel { mu, ex, kg1, kg2: value("KG2"), kp, kvb, grid };
        Law::Pentode { plate, screen: self.node(element, "screen"), grid: control, cathode, model }
    }

    fn transformer(&mut self, element: &Value) -> Law {
        let value = |field: &str| number(&element[field]);
        let ratio = value("turns_ratio_total_primary_to_secondary");
        let mut winding = |a: &str, b: &str, turns: f64, ohms: &str| Winding {
            a: self.node(element, a),
            b: self.node(element, b),
            turns,
            ohms: value(ohms),
        };
        let windings = vec![
            winding("plate_a", "centre", ratio / 2.0, "primary_dcr_each_half"),
            winding("centre", "plate_b", ratio / 2.0, "primary_dcr_each_half"),
            winding("secondary_hot", "secondary_cold", 1.0, "secondary_dcr"),
        ];
        Law::Windings { windings, henries_per_turn_squared: value("primary_henries_total") / (ratio * ratio) }
    }

    fn pot(&mut self, element: &Value) {
        let id = element["id"].as_str().unwrap();
        let (ohms, position) = (number(&element["ohms"]), number(&element["position"]));
        let share = match element["taper"].as_str().unwrap() {
            "linear" => position,
            "log" => (libm::pow(10.0, 2.0 * position) - 1.0) / 99.0,
            other => panic!("unknown taper {other}"),
        };
        let [top, wiper, bottom] = ["top", "wiper", "bottom"].map(|terminal| self.node(element, terminal));
        let upper = Law::Resistor { a: top, b: wiper, ohms: ohms * (1.0 - share) };
        let lower = Law::Resistor { a: wiper, b: bottom, ohms: ohms * share };
        let index = self.network.add(format!("{id}, top to wiper"), upper);
        self.network.add(format!("{id}, wiper to bottom"), lower);
        self.elements.insert(id.to_owned(), index);
    }
}
