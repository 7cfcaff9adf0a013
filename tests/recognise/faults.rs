//! Modified and broken circuits: what is proved stays, what is not is not claimed.

use asfound::circuit::Circuit;
use asfound::model::RoleKind;
use asfound::recognise::{Recognised, StageKind};

use super::full::FENNICK;
use super::{outline, roles, seen, table};

fn found(layer: &str) -> (Circuit, Recognised) {
    seen(&[FENNICK, &format!("as-found \"job\" of \"0.amp\"\n{layer}\n")])
}

/// Lines in which the roles differ from those of the stock circuit.
fn differing(layer: &str) -> Vec<String> {
    let stock = seen(&[FENNICK]);
    let stock = roles(&stock.0, &stock.1);
    let (circuit, recognised) = found(layer);
    roles(&circuit, &recognised).into_iter().filter(|r| !stock.contains(r)).collect()
}

#[test]
fn any_single_missing_part_leaves_all_roles_and_names() {
    let stock = seen(&[FENNICK]);
    let before = roles(&stock.0, &stock.1);
    for part in stock.0.part_ids() {
        let name = &stock.0.part(part).name;
        let (circuit, recognised) = found(&format!("{name} missing"));
        let after = roles(&circuit, &recognised);
        // A valve that is pulled takes its stage's name with it, from its neighbours' roles too.
        let valve = circuit.part(part).kind.word() == "tube";
        let plain = |lines: &[String]| -> Vec<String> {
            lines
                .iter()
                .map(|l| if valve { l.split(',').next().unwrap().to_owned() } else { l.clone() })
                .collect()
        };
        assert_eq!(plain(&before), plain(&after), "{name} missing");
        assert!(!recognised.roles.contains_key(&part), "{name} is not there");
        assert!(recognised.by_joint.contains_key(&part), "{name} is known by its joints");
        assert!(recognised.unrecognised.is_empty());
    }
}

#[test]
fn a_missing_bypass_leaves_a_stage_without_bypass() {
    let (_, recognised) = found("C1 missing");
    assert_eq!(recognised.stages[0].kind, StageKind::CommonCathode { bypassed: false });
}

#[test]
fn a_lifted_dropper_leaves_rails_that_are_not_fed() {
    let (circuit, recognised) = found("R53 lifted at B4");
    let unfed: Vec<&str> =
        recognised.rails.iter().filter(|r| !r.fed).map(|r| circuit.net(r.net).name.as_str()).collect();
    assert_eq!(unfed, ["B4", "B5"]);
    let b4 = recognised.rail(circuit.find_net("B4").unwrap()).unwrap();
    assert_eq!(b4.fed_by, circuit.find("R53"));
    assert_eq!(recognised.role(circuit.find("R53").unwrap()).unwrap().kind, RoleKind::Dropper);
}

#[test]
fn a_cut_rail_is_a_rail_that_is_not_fed() {
    let (circuit, recognised) = found("cut B4 leaving R20.1 R24.1 on B4x");
    let cut = recognised.rails.iter().find(|r| circuit.net(r.net).name == "B4x");
    assert!(cut.is_some_and(|r| !r.fed), "{}", outline(&circuit, &recognised));
    assert_eq!(recognised.stages.len(), 7);
}

#[test]
fn a_pulled_output_valve_leaves_a_push_pull_stage_of_one() {
    let (circuit, recognised) = found("V5 missing");
    let output = recognised.stages.last().unwrap();
    assert_eq!(output.kind, StageKind::PushPullOutput { fixed_bias: true });
    assert_eq!(output.sections.len(), 1);
    assert_eq!(circuit.part(output.sections[0].tube).name, "V4");
}

#[test]
fn a_part_replaced_by_two_gives_both_its_role() {
    let differs = differing("R25 replaced by series R25a 4k7, R25b 5k6");
    assert_eq!(differs, ["R25a: cathode resistor, third stage", "R25b: cathode resistor, third stage"]);
}

#[test]
fn an_added_stage_is_recognised_and_the_later_ones_move_on() {
    let layer = "V3b used
joined V3b.grid to VR6.wiper
C30.1 moved to R95.2
added resistor R95 100k from B4 to V3b.plate
added resistor R96 1k5 from V3b.cathode to chassis";
    let (circuit, recognised) = found(layer);
    let names: Vec<&str> = recognised.stages.iter().map(|s| s.name.as_str()).collect();
    assert!(
        names.contains(&"fourth stage"),
        "{}\n{}",
        outline(&circuit, &recognised),
        table(&circuit, &recognised)
    );
    assert_eq!(recognised.describe(&circuit, circuit.find("R95").unwrap()), "plate load, fourth stage");
}

#[test]
fn added_parts_that_nothing_proves_are_listed() {
    let (circuit, recognised) = found("added resistor R99 10k from B3 to V1a.cathode");
    let left: Vec<&str> = recognised.unrecognised.iter().map(|p| circuit.part(*p).name.as_str()).collect();
    assert_eq!(left, ["R99"]);
}

#[test]
fn grid_references_are_followed_through_what_is_joined() {
    let (circuit, recognised) = found("R41 lifted at BIAS");
    let output = recognised.stages.last().unwrap();
    let held = recognised.grid_reference(&circuit, &output.sections[0]).unwrap();
    assert_eq!(circuit.net(held.net).name, "BIAS");
    assert_eq!(held.ohms, Some(225_600.0));
    assert_eq!(recognised.grid_reference(&circuit, &output.sections[1]), None);
    assert_eq!(output.kind, StageKind::PushPullOutput { fixed_bias: true });
}

#[test]
fn any_single_lifted_leg_leaves_all_roles_and_stages() {
    let stock = seen(&[FENNICK]);
    let before = roles(&stock.0, &stock.1);
    let names: Vec<String> = stock.1.stages.iter().map(|s| s.name.clone()).collect();
    for part in stock.0.part_ids() {
        let body = stock.0.part(part);
        if body.legs.len() != 2 {
            continue;
        }
        let (circuit, recognised) = found(&format!("{} lifted", body.leg_name(0)));
        assert_eq!(before, roles(&circuit, &recognised), "{} lifted", body.leg_name(0));
        let now: Vec<String> = recognised.stages.iter().map(|s| s.name.clone()).collect();
        assert_eq!(names, now, "{} lifted", body.leg_name(0));
        assert!(recognised.by_joint.contains_key(&part));
    }
}

#[test]
fn a_resistor_added_between_any_two_places_upsets_few_roles() {
    let stock = seen(&[FENNICK]);
    let before = roles(&stock.0, &stock.1);
    let places = [
        "V1a.cathode",
        "V2a.plate",
        "VR1.wiper",
        "VR6.top",
        "V6a.grid",
        "FB",
        "BIAS",
        "B3",
        "V4.grid",
        "T2.8R",
    ];
    for a in places {
        for b in ["chassis", "B5", "V2b.cathode", "V3a.grid", "NEG"] {
            let (circuit, recognised) = found(&format!("added resistor R99 1M from {a} to {b}"));
            let after = roles(&circuit, &recognised);
            let lost: Vec<&String> = before.iter().filter(|r| !after.contains(r)).collect();
            assert!(lost.len() <= 4, "{a} to {b}: {lost:?}\n{}", outline(&circuit, &recognised));
        }
    }
}

#[test]
fn a_bias_supply_without_rectifier_is_still_a_bias_supply() {
    let (circuit, recognised) = found("D3 missing");
    let output = recognised.stages.last().unwrap();
    assert_eq!(output.kind, StageKind::PushPullOutput { fixed_bias: true });
    assert_eq!(recognised.describe(&circuit, circuit.find("VR9").unwrap()), "bias control");
    let stripped: Vec<&str> = FENNICK
        .lines()
        .filter(|l| {
            !["diode D3", "resistor R60", "net NEG", "capacitor C60"].iter().any(|w| l.starts_with(w))
        })
        .collect();
    let stripped = stripped.join("\n").replace("from NEG to VR9.top", "from VR9.top to R61.1");
    let stripped =
        stripped.replace("resistor R61 15k 0.5W from VR9.top to R61.1", "resistor R61 15k 0.5W to VR9.top");
    let (circuit, recognised) = seen(&[&stripped]);
    assert_eq!(recognised.stages.last().unwrap().kind, StageKind::PushPullOutput { fixed_bias: true });
    assert_eq!(recognised.describe(&circuit, circuit.find("C61").unwrap()), "bias filter");
}

#[test]
fn couplings_tell_the_way_between_stages() {
    let (circuit, recognised) = seen(&[FENNICK]);
    let why: Vec<&str> = recognised.couplings.iter().map(|c| c.why.as_str()).collect();
    assert_eq!(
        why,
        [
            "V1a.plate — C2 — VR1.top — VR1 — VR1.wiper — R6 — V2a.grid",
            "V1b.plate — C12 — VR2.top — VR2 — VR2.wiper — R16 — V2a.grid",
            "V2a.plate — C20 — C20.2 — R22 — R22.2 — R28 — V2b.grid",
            "V2b.plate — W3 — V3a.grid",
            "V3a.cathode — C21 — VR3.top — VR3 — VR3.wiper — VR6 — VR6.wiper — C30 — V6a.grid",
            "V6a.plate — C34 — C34.2 — R42 — V4.grid",
            "V6b.plate — C35 — C35.2 — R43 — V5.grid",
        ]
    );
    let dropper = circuit.find("R53").unwrap();
    let net = |name: &str| circuit.find_net(name).unwrap();
    assert_eq!(recognised.droppers_between(&circuit, net("B3"), net("B4")), [dropper]);
    assert_eq!(recognised.parts_with(RoleKind::PlateLoad).count(), 6);
}
