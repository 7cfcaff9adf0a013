//! Joints, nets and layers: what a stack of documents makes of the board.

use asfound::circuit::{Circuit, State};

use crate::support::{built, problems, stock};

const STAGE: &str = r#"stock "Bench stage" "one triode"
rail B4 "preamp"
source HT 300V behind 85R plus B4 minus chassis
tube V1 ECC83
V1b unused grid V1b.cathode cathode chassis
resistor R1 1M 0.5W from V1a.grid to chassis
resistor R3 1k8 0.5W from V1a.cathode to chassis
resistor R4 100k 1W from B4 to V1a.plate
capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis
capacitor C2 22n 400V film from V1a.plate to R5.1
resistor R5 1M 0.5W from C2.2 to chassis
"#;

fn layered(layer: &str) -> Circuit {
    built(&[("stock.amp", STAGE), ("job.amp", layer)]).remove(1)
}

/// Legs of a net as the text writes them.
fn legs(circuit: &Circuit, net: &str) -> Vec<String> {
    let net = circuit.find_net(net).unwrap_or_else(|| panic!("no net {net}"));
    circuit.net(net).legs.iter().map(|leg| circuit.leg_name(*leg)).collect()
}

fn net_of(circuit: &Circuit, part: &str, leg: &str) -> Option<String> {
    let part = circuit.find(part).unwrap_or_else(|| panic!("no part {part}"));
    circuit.leg_net(part, leg).map(|net| circuit.net(net).name.clone())
}

#[test]
fn legs_that_name_each_other_are_one_net() {
    let circuit = stock(STAGE);
    assert_eq!(legs(&circuit, "V1a.plate"), ["C2.1", "R4.2", "V1a.plate"]);
    assert_eq!(legs(&circuit, "C2.2"), ["C2.2", "R5.1"]);
    assert_eq!(net_of(&circuit, "V1", "b.grid"), Some("chassis".into()));
}

#[test]
fn a_net_is_named_by_its_most_telling_leg() {
    let circuit = stock(
        "stock \"x\"\nsource HT 9V plus R1.1 minus chassis\nresistor R1 1k from HT.plus to VR1.top\n\
         pot VR1 1M lin bottom chassis wiper R10.1\nresistor R10 1k from VR1.wiper to R9.1\nresistor R9 1k from R10.2 to chassis",
    );
    let names: Vec<&str> = circuit.nets.iter().map(|n| n.name.as_str()).collect();
    assert_eq!(names, ["chassis", "HT.plus", "R9.1", "VR1.top", "VR1.wiper"]);
}

#[test]
fn joining_two_declared_nets_shows_the_chain() {
    let stock = "stock \"x\"\nrail A\nrail B\nresistor R1 1k from A to chassis\nresistor R2 1k from B to chassis\njack J1 tip R1.1\n";
    let job = "as-found \"j\" of \"a.amp\"\njoined J1.tip to R2.1\n";
    insta::assert_snapshot!(problems(&[("a.amp", stock), ("j.amp", job)]), @r#"
    j.amp:2:18 error nets-joined: this joins `A` and `B`, which are declared as two nets
      a.amp:5:21 and this is part of it
      a.amp:6:13 and this is part of it
      a.amp:4:21 and this is part of it
      help: put a part (or `link`) between them, or name another leg
    "#);
    // A link, a contact or a bridge is no such join.
    let bridge = "as-found \"j\" of \"a.amp\"\nbridged J1.tip to R2.1\n";
    assert_eq!(problems(&[("a.amp", stock), ("j.amp", bridge)]), "");
    let contact = "stock \"x\"\nrail A\nresistor R1 1k from A to chassis\nswitch S1 positions off on now on\n\
                   contact S1 on joins A to chassis\nlink W1 from A to chassis\n";
    assert_eq!(problems(&[("a.amp", contact)]), "");
}

#[test]
fn a_rail_joined_to_chassis_is_refused() {
    let stock = "stock \"x\"\nrail A\nresistor R1 1k from A to R2.1\nresistor R2 1k from R1.2 to chassis\n";
    let job = "as-found \"j\" of \"a.amp\"\njoined R2.2 to A\n";
    let told = problems(&[("a.amp", stock), ("j.amp", job)]);
    assert!(told.starts_with("j.amp:2:16 error nets-joined: this joins `chassis` and `A`"), "{told}");
}

#[test]
fn a_part_joined_to_itself_is_refused() {
    let stock = "stock \"x\"\nnet C\nresistor R6 1k from C to R7.1\nresistor R7 1k from C to chassis\n";
    let told = problems(&[("a.amp", stock)]);
    assert!(told.contains("part-joined-to-itself: this joins both legs of R6 to one net"), "{told}");
}

#[test]
fn missing_lifted_and_moved_legs_leave_their_joints() {
    let circuit = layered(
        "as-found \"j\" of \"stock.amp\"\nC1 missing snipped\nR4 lifted at B4\nC2.2 moved to V1a.grid\n",
    );
    let c1 = circuit.part(circuit.find("C1").unwrap());
    assert_eq!(c1.state, State::Missing { snipped: true, note: None });
    assert_eq!(net_of(&circuit, "C1", "plus"), None);
    assert_eq!(net_of(&circuit, "R4", "1"), None);
    assert_eq!(net_of(&circuit, "R4", "2"), Some("V1a.plate".into()));
    assert_eq!(net_of(&circuit, "C2", "minus"), Some("V1a.grid".into()));
    // The joint stays on the board: a place named by it is still there.
    let further =
        layered("as-found \"j\" of \"stock.amp\"\nC1 missing\nadded resistor R9 1k from C1.plus to chassis");
    assert_eq!(net_of(&further, "R9", "1"), Some("V1a.cathode".into()));
}

#[test]
fn a_cut_takes_the_named_legs_and_a_bridge_gives_one_net() {
    let circuit = layered("as-found \"j\" of \"stock.amp\"\ncut B4 leaving R4.1 on B4x \"burnt\"\n");
    assert_eq!(legs(&circuit, "B4x"), ["R4.1"]);
    assert_eq!(legs(&circuit, "B4"), ["HT.plus"]);
    let solder = layered("as-found \"j\" of \"stock.amp\"\nbridged V1a.grid to V1a.cathode\n");
    assert_eq!(net_of(&solder, "R1", "1"), net_of(&solder, "R3", "1"));
    let wire = layered("as-found \"j\" of \"stock.amp\"\nbridged V1a.grid to V1a.cathode with wire W1\n");
    assert_ne!(net_of(&wire, "R1", "1"), net_of(&wire, "R3", "1"), "a wire keeps two names");
    assert!(wire.find("W1").is_some());
    let path = layered("as-found \"j\" of \"stock.amp\"\nbridged B4 to V1a.grid through 150k\n");
    let bridge = path.find("bridge-B4-V1a-grid").expect("the path is a part");
    assert_eq!(path.part(bridge).component.body.value, Some(150e3));
}

#[test]
fn reversed_and_swapped_legs_change_joints() {
    let circuit = layered("as-found \"j\" of \"stock.amp\"\nC1 reversed\n");
    assert_eq!(net_of(&circuit, "C1", "plus"), Some("chassis".into()));
    assert_eq!(net_of(&circuit, "C1", "minus"), Some("V1a.cathode".into()));
    let swapped = layered("as-found \"j\" of \"stock.amp\"\nV1a swapped with V1b\n");
    assert_eq!(net_of(&swapped, "V1", "b.plate"), net_of(&swapped, "R4", "2"));
    assert_eq!(net_of(&swapped, "V1", "a.cathode"), Some("chassis".into()));
}

#[test]
fn a_replacement_inherits_nothing() {
    let circuit = layered("as-found \"j\" of \"stock.amp\"\nR3 replaced 2k7\n");
    let r3 = circuit.part(circuit.find("R3").unwrap());
    assert_eq!((r3.component.body.value, r3.component.body.power), (Some(2700.0), None));
    let series = layered("as-found \"j\" of \"stock.amp\"\nR3 replaced by series R3a 1k, R3b 820R\n");
    assert_eq!(net_of(&series, "R3a", "1"), Some("V1a.cathode".into()));
    assert_eq!(net_of(&series, "R3b", "2"), Some("chassis".into()));
    assert_eq!(net_of(&series, "R3a", "2"), net_of(&series, "R3b", "1"));
    let parallel = layered("as-found \"j\" of \"stock.amp\"\nR3 replaced by parallel R3a 3k3, R3b 3k9\n");
    assert_eq!(net_of(&parallel, "R3b", "1"), Some("V1a.cathode".into()));
}

#[test]
fn an_idle_section_is_freed_by_use_and_comes_back_with_its_group() {
    let job = "as-found \"j\" of \"stock.amp\"\nV1b used in \"extra\"\n\
               added resistor R90 100k from B4 to V1b.plate in \"extra\"\n\
               added resistor R91 1M from V1b.grid to chassis in \"extra\"\n\
               added resistor R92 1k5 from V1b.cathode to chassis in \"extra\"\n";
    let plan = "plan \"back\" for \"job.amp\"\nremove \"extra\"\n";
    let circuits = built(&[("stock.amp", STAGE), ("job.amp", job), ("plan.amp", plan)]);
    assert_eq!(net_of(&circuits[1], "V1", "b.cathode"), Some("V1b.cathode".into()));
    assert_eq!(net_of(&circuits[1], "R91", "1"), Some("V1b.grid".into()));
    assert!(circuits[2].find("R90").is_none());
    assert_eq!(net_of(&circuits[2], "V1", "b.cathode"), Some("chassis".into()));
}

#[test]
fn a_plan_restores_rejoins_and_an_as_left_record_takes_only_what_is_done() {
    let job = "as-found \"j\" of \"stock.amp\"\nR3 replaced 5k6 0.5W\nC1 missing\ncut B4 leaving R4.1 on B4x\n\
               bridged B4 to B4x with wire W1\nR5 reads 1M2\n";
    let plan =
        "plan \"p\" for \"job.amp\"\nrestore C1\nchange R3 to 1k5 0.5W\nrejoin B4x to B4\nrestore R5\n";
    let left = "as-left \"l\" after \"plan.amp\"\ndone C1 B4x\n";
    let stack = built(&[("stock.amp", STAGE), ("job.amp", job), ("plan.amp", plan), ("left.amp", left)]);
    let value = |i: usize, part: &str| stack[i].part(stack[i].find(part).unwrap()).value();
    assert_eq!(value(2, "R3"), Some(1500.0));
    assert_eq!(value(2, "R5"), Some(1e6));
    assert_eq!(net_of(&stack[2], "R4", "1"), Some("B4".into()));
    assert!(stack[2].find("W1").is_none());
    assert_eq!(value(3, "R3"), Some(5600.0), "not confirmed: stays as found");
    assert_eq!(net_of(&stack[3], "C1", "plus"), Some("V1a.cathode".into()));
    assert_eq!(net_of(&stack[3], "R4", "1"), Some("B4".into()));
    assert_eq!(value(3, "R5"), Some(1.2e6));
}

#[test]
fn layers_are_held_against_what_they_rest_on() {
    let told = problems(&[
        ("stock.amp", STAGE),
        (
            "job.amp",
            "as-found \"j\" of \"stock.amp\"\nR33 checked\nR3 checked\nR3 reads 1k9\nR4 replaced 82k\nR4 missing\nadded resistor R1 1k from B4 to chassis\nC2 lifted at B4\n",
        ),
    ]);
    insta::assert_snapshot!(told, @r#"
    job.amp:2:1 error unknown-part: there is no part `R33`
      stock.amp:7:1 R3 is declared here
      help: did you mean `R3`?
    job.amp:3:1 error checked-but-different: R3 is said to be checked, and to differ
      job.amp:4:1 says something else of it
      help: a differing statement counts as looked at; take the name off the `checked` line
    job.amp:6:1 error statements-conflict: two statements about R4 disagree on the part itself
      job.amp:5:1 and this one
      help: keep the one that is true; statements count in any order
    job.amp:7:16 error declared-twice: `R1` is declared twice
      stock.amp:6:1 first here
      help: give one of them another designator
    job.amp:8:14 error not-in-net: C2 has no leg in B4
      stock.amp:10:1 declared here
    "#);
}

#[test]
fn restoring_what_is_stock_and_unknown_places_are_errors() {
    let told = problems(&[
        ("stock.amp", STAGE),
        (
            "job.amp",
            "as-found \"j\" of \"stock.amp\"\nadded capacitor C9 1u 50V electrolytic plus V1a.cathod minus chassi\n",
        ),
        ("plan.amp", "plan \"p\" for \"job.amp\"\nrestore R3\nrestore C9\nremove C99\nrejoin B4 to B4\n"),
    ]);
    insta::assert_snapshot!(told, @r#"
    plan.amp:2:9 error stock-already: R3 is as stock already
      stock.amp:7:1 as the stock spec has it
    plan.amp:3:9 error not-stock: C9 is not in the stock spec, so there is nothing to restore it to
      job.amp:2:1 it was added here
      help: take it out: `remove C9`
    plan.amp:4:8 error unknown-part: there is no part `C99`
      job.amp:2:1 C9 is declared here
      help: did you mean `C9`?
    plan.amp:5:8 error not-cut: `B4` is not a net that a cut made
      help: `rejoin NEW to NET` takes back `cut NET leaving LEG on NEW`
    job.amp:2:45 error unknown-leg: V1 has no leg `cathod`
      stock.amp:4:1 V1 is declared here
      help: did you mean `V1a.cathode`?
    job.amp:2:62 error unknown-place: `chassi` is not a declared place
      help: did you mean `chassis`?
    "#);
}

#[test]
fn documents_that_rest_on_each_other_show_the_loop() {
    let told = problems(&[
        ("a.amp", "as-found \"a\" of \"b.amp\"\nR1 checked\n"),
        ("b.amp", "plan \"b\" for \"c.amp\"\nrestore all\n"),
        ("c.amp", "as-found \"c\" of \"a.amp\"\n"),
    ]);
    insta::assert_snapshot!(told, @r#"
    b.amp:1:14 error cycle: these documents rest on each other: c.amp
      c.amp:1:17 rests on a.amp
      a.amp:1:17 rests on b.amp
      b.amp:1:14 rests on c.amp
      help: a layer rests on a document that was there before it; the lowest is a stock spec
    "#);
}

#[test]
fn a_circuit_without_ground_or_parts_is_refused() {
    assert!(
        problems(&[("a.amp", "stock \"x\"\nrail A\nrail B\nresistor R1 1k from A to B\n")])
            .contains("no-ground")
    );
    assert!(problems(&[("a.amp", "stock \"x\"\nrail A\n")]).contains("no-parts"));
}

#[test]
fn a_reading_at_a_contact_that_nothing_else_names() {
    let layer = "as-found \"j\" of \"stock.amp\"\nmeter J1.ring 0V\nmeter J1.ring-contact 1mA\n";
    let text = format!("{STAGE}jack J1 \"Input\" sleeve chassis\n");
    let circuits = built(&[("stock.amp", &text), ("job.amp", layer)]);
    assert_eq!(circuits[1].readings.len(), 2);
}

#[test]
fn a_valve_put_back_after_one_with_more_electrodes() {
    let stock = format!(
        "{STAGE}tube V5 6L6GC plate B4 screen B4 grid chassis\nresistor R9 250R 5W from V5.cathode to chassis\n"
    );
    let found = "as-found \"j\" of \"stock.amp\"\nV5 replaced EF86\njoined V5.suppressor to R9.1\n";
    let plan = "plan \"p\" for \"job.amp\"\nrestore V5\n";
    let circuits = built(&[("stock.amp", &stock), ("job.amp", found), ("plan.amp", plan)]);
    let legs = |c: usize| circuits[c].part(circuits[c].find("V5").unwrap()).legs.len();
    assert_eq!((legs(0), legs(1), legs(2)), (4, 5, 4));
}

#[test]
fn a_current_into_a_part_without_legs() {
    let layer = "as-found \"j\" of \"stock.amp\"\nmeter S9 1mA\n";
    let text = format!("{STAGE}switch S9 positions a b\n");
    assert!(
        problems(&[("stock.amp", &text), ("job.amp", layer)]).contains("S9 has no two ends to read between")
    );
}
