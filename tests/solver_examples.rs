//! Worked examples: Kirchhoff by hand, and published points of the valve equations.

use asfound::numeric::{
    Drive, GridModel, Law, Linearised, Network, PentodeModel, TriodeModel, Winding, operating_point,
};

/// Koren 1996: MU 100, EX 1.4, KG1 1060, KP 600, KVB 300 (N. Koren, Glass Audio 8(5), 1996). No grid current.
const KOREN_12AX7: TriodeModel = TriodeModel {
    mu: 100.0,
    ex: 1.4,
    kg1: 1060.0,
    kp: 600.0,
    kvb: 300.0,
    grid: GridModel { gg: 0.0, cg: 10.0, xi: 1.3 },
};

fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
}

/// D. Steck, Electronics (open textbook), sect. 6.2, p. 176, read in a page that quotes it: a 12AX7 by
/// Koren's model at 1.07 mA, 221 V, −1.61 V, 1880 µS. The circuit (330 V, 100k, 1k5) is deduced from these
/// results; solving it gives 1.0742 mA, 220.97 V, −1.611 V, 1877 µS.
#[test]
fn steck_common_cathode() {
    let mut network = Network::new();
    let [supply, plate, cathode] = ["supply", "plate", "cathode"].map(|name| network.add_node(name));
    network.add("B", Law::VoltageSource { plus: supply, minus: 0, volts: 330.0, ac_volts: 0.0 });
    network.add("RL", Law::Resistor { a: supply, b: plate, ohms: 100e3 });
    network.add("RK", Law::Resistor { a: cathode, b: 0, ohms: 1.5e3 });
    let valve = network.add("V", Law::Triode { plate, grid: 0, cathode, model: KOREN_12AX7 });
    let point = operating_point(&network).unwrap();
    let valve = point.valve(valve).unwrap();
    near(valve.plate_amps, 1.0742e-3, 5e-8);
    near(valve.plate_volts, 220.97, 5e-3);
    near(valve.grid_volts, -1.611, 5e-4);
    near(valve.gm, 1877e-6, 1e-6);
    // The printed figures, with their digits.
    near(valve.plate_amps, 1.07e-3, 5e-6);
    near(valve.plate_volts, 221.0, 0.5);
    near(valve.grid_volts, -1.61, 5e-3);
}

/// The equation itself at two points, by arithmetic of more digits than needed (no source).
#[test]
fn koren_plate_current() {
    // E1 = 250/600·ln(1 + exp(600·(0.01 − 2/√62800))), Ip = 2·E1^1.4/1060.
    let inner = 600.0 * (0.01 - 2.0 / libm::sqrt(62_800.0));
    let e1 = 250.0 / 600.0 * libm::log(1.0 + libm::exp(inner));
    near(KOREN_12AX7.at(250.0, -2.0).plate_amps, 2.0 * libm::pow(e1, 1.4) / 1060.0, 1e-17);
    // The reference set's remark: 0.95 mA at 250 V and −2 V, 0.10 mA at 100 V and −1 V.
    near(KOREN_12AX7.at(250.0, -2.0).plate_amps, 0.95e-3, 5e-6);
    near(KOREN_12AX7.at(100.0, -1.0).plate_amps, 0.10e-3, 5e-6);
}

#[test]
fn laws_stay_finite_far_from_anywhere() {
    let grid = GridModel { gg: 6e-4, cg: 10.0, xi: 1.3 };
    let triode = TriodeModel { grid, ..KOREN_12AX7 };
    let pentode = PentodeModel { mu: 11.0, ex: 1.35, kg1: 650.0, kg2: 4200.0, kp: 60.0, kvb: 24.0, grid };
    let far = [-1e6, -1e3, -1.0, -1e-300, 0.0, 1e-300, 1e-9, 1.0, 1e3, 1e6];
    for plate in far {
        for control in far {
            for screen in far {
                for point in [triode.at(plate, control), pentode.at(plate, screen, control)] {
                    let figures = [
                        point.plate_amps,
                        point.screen_amps,
                        point.grid_amps,
                        point.gp,
                        point.gm,
                        point.gm_screen,
                        point.gs,
                        point.gm_to_screen,
                        point.ggrid,
                    ];
                    assert!(figures.iter().all(|figure| figure.is_finite()), "{point:?}");
                }
            }
        }
    }
}

/// Slopes against differences of the currents.
#[test]
fn slopes_are_the_derivatives() {
    let grid = GridModel { gg: 6e-4, cg: 10.0, xi: 1.3 };
    let triode = TriodeModel { grid, ..KOREN_12AX7 };
    let pentode = PentodeModel { mu: 11.0, ex: 1.35, kg1: 650.0, kg2: 4200.0, kp: 60.0, kvb: 24.0, grid };
    let step = 1e-4;
    let close = |slope: f64, up: f64, down: f64| {
        near(slope, (up - down) / (2.0 * step), 1e-9 + 1e-6 * slope.abs());
    };
    for (plate, screen, control) in
        [(200.0, 300.0, -1.2), (20.0, 250.0, 0.3), (400.0, 400.0, -38.0), (90.0, 120.0, -2.0)]
    {
        let at = triode.at(plate, control);
        close(
            at.gp,
            triode.at(plate + step, control).plate_amps,
            triode.at(plate - step, control).plate_amps,
        );
        close(
            at.gm,
            triode.at(plate, control + step).plate_amps,
            triode.at(plate, control - step).plate_amps,
        );
        close(
            at.ggrid,
            triode.at(plate, control + step).grid_amps,
            triode.at(plate, control - step).grid_amps,
        );
        let at = pentode.at(plate, screen, control);
        let by_plate = [step, -step].map(|by| pentode.at(plate + by, screen, control));
        let by_screen = [step, -step].map(|by| pentode.at(plate, screen + by, control));
        let by_grid = [step, -step].map(|by| pentode.at(plate, screen, control + by));
        close(at.gp, by_plate[0].plate_amps, by_plate[1].plate_amps);
        close(at.gm_screen, by_screen[0].plate_amps, by_screen[1].plate_amps);
        close(at.gs, by_screen[0].screen_amps, by_screen[1].screen_amps);
        close(at.gm, by_grid[0].plate_amps, by_grid[1].plate_amps);
        close(at.gm_to_screen, by_grid[0].screen_amps, by_grid[1].screen_amps);
        close(at.ggrid, by_grid[0].grid_amps, by_grid[1].grid_amps);
    }
}

/// Two loops by hand: 10 V through 1k to a node with 2k to the chassis, and 5 V through 4k to the same node.
/// (10 − v)/1k + (5 − v)/4k = v/2k gives v = 45/7 V.
#[test]
fn kirchhoff_two_loops() {
    let mut network = Network::new();
    let [ten, five, middle] = ["ten", "five", "middle"].map(|name| network.add_node(name));
    network.add("E1", Law::VoltageSource { plus: ten, minus: 0, volts: 10.0, ac_volts: 0.0 });
    let second = network.add("E2", Law::VoltageSource { plus: five, minus: 0, volts: 5.0, ac_volts: 0.0 });
    network.add("R1", Law::Resistor { a: ten, b: middle, ohms: 1e3 });
    let charged = network.add("R2", Law::Resistor { a: five, b: middle, ohms: 4e3 });
    network.add("R3", Law::Resistor { a: middle, b: 0, ohms: 2e3 });
    let point = operating_point(&network).unwrap();
    near(point.volts(middle).unwrap(), 45.0 / 7.0, 1e-12);
    near(point.amps(charged)[0], -10.0 / 7.0 / 4e3, 1e-15);
    near(point.watts(second), 5.0 * 10.0 / 7.0 / 4e3, 1e-14);
}

/// A rectifier valve: 100 V through R to P·v^1.5 with v = 25 V, P = 1 mA/V^1.5: 125 mA, so R = 75/0.125 = 600 Ω.
#[test]
fn vacuum_diode_by_hand() {
    let mut network = Network::new();
    let [supply, anode] = ["supply", "anode"].map(|name| network.add_node(name));
    network.add("E", Law::VoltageSource { plus: supply, minus: 0, volts: 100.0, ac_volts: 0.0 });
    network.add("R", Law::Resistor { a: supply, b: anode, ohms: 600.0 });
    let diode = network.add("D", Law::VacuumDiode { anode, cathode: 0, perveance: 1e-3 });
    let point = operating_point(&network).unwrap();
    near(point.volts(anode).unwrap(), 25.0, 1e-9);
    near(point.amps(diode)[0], 0.125, 1e-12);
    network.elements[diode].law = Law::VacuumDiode { anode: 0, cathode: anode, perveance: 1e-3 };
    near(operating_point(&network).unwrap().volts(anode).unwrap(), 100.0, 1e-9);
}

/// A 12 V zener of 10 Ω fed from 40 V by 2k8: (40 − 12)/(2800 + 10) = 9.964 mA, 12.0996 V, less the knee.
#[test]
fn zener_by_hand() {
    let mut network = Network::new();
    let [supply, held] = ["supply", "held"].map(|name| network.add_node(name));
    network.add("E", Law::VoltageSource { plus: supply, minus: 0, volts: 40.0, ac_volts: 0.0 });
    network.add("R", Law::Resistor { a: supply, b: held, ohms: 2800.0 });
    let zener = Law::Zener {
        anode: 0,
        cathode: held,
        saturation_amps: 1e-12,
        emission: 1.5,
        zener_volts: 12.0,
        zener_ohms: 10.0,
    };
    network.add("Z", zener);
    near(operating_point(&network).unwrap().volts(held).unwrap(), 12.0996, 0.01);
    network.elements[0].law = Law::VoltageSource { plus: supply, minus: 0, volts: 9.0, ac_volts: 0.0 };
    near(operating_point(&network).unwrap().volts(held).unwrap(), 9.0, 1e-6);
}

/// An ideal transformer of 20:1 shows 8 Ω as 3200 Ω, in parallel with its 50 H primary.
#[test]
fn transformer_by_hand() {
    let mut network = Network::new();
    let [primary, secondary] = ["primary", "secondary"].map(|name| network.add_node(name));
    network.add("R", Law::Resistor { a: secondary, b: 0, ohms: 8.0 });
    let windings = vec![
        Winding { a: primary, b: 0, turns: 20.0, ohms: 0.0 },
        Winding { a: secondary, b: 0, turns: 1.0, ohms: 0.0 },
    ];
    network.add("T", Law::Windings { windings, henries_per_turn_squared: 50.0 / 400.0 });
    let point = operating_point(&network).unwrap();
    let mut linear = Linearised::new(&network, &point, Drive::Ampere(primary)).unwrap();
    let impedance = linear.at(1e3).unwrap().volts(primary).unwrap();
    let reactance = std::f64::consts::TAU * 1e3 * 50.0;
    let scale = 3200.0 * reactance / (3200.0 * 3200.0 + reactance * reactance);
    near(impedance.re, scale * reactance, 1e-6);
    near(impedance.im, scale * 3200.0, 1e-6);
}
