//! Statements that are well formed and senseless: taken, they would do nothing. Each is refused at its word.

use asfound::analysis::circuits;
use asfound::source::{Problem, Severity};

use crate::support::loaded;

const STOCK: &str = r#"stock "Dabchick 12" "practice head"        # an invented maker and model
mains 230V 50Hz limits 207V to 253V
inlet P1 live F1.1 neutral T1.primary.b earth chassis
fuse F1 1A 250V slow from P1.live to S1.in
switch S1 "Mains" positions off on now on
contact S1 on joins S1.in to T1.primary.a
transformer T1 mains
winding T1.primary 230V 20R
winding T1.ht 275V-0-275V 120R a side centre chassis
winding T1.heat 6.3V 0R1
winding T1.five 5V 0R1
heater T1.heat feeds V1 V2 reference a to chassis
heater T1.five feeds V5
tube V5 GZ34 plates T1.ht.a T1.ht.b cathode B1
rail B1 "plates"
rail B2 "screens"
rail B3 "preamp"
capacitor C40 16u 450V electrolytic plus B1 minus chassis
resistor R40 1k 3W wirewound from B1 to B2
capacitor C41 22u 450V electrolytic plus B2 minus chassis
resistor R41 22k 2W metal-oxide from B2 to B3
capacitor C42 22u 450V electrolytic plus B3 minus chassis
jack J1 "Input" sleeve chassis
tube V1 ECC83
resistor R1 1M 0.5W from J1.tip to chassis
resistor R2 68k 0.5W from J1.tip to V1a.grid
resistor R3 1k5 0.5W from V1a.cathode to chassis
capacitor C1 25u 25V electrolytic plus V1a.cathode minus chassis
resistor R4 100k 1W 350V from B3 to V1a.plate
capacitor C2 22n 500V film from V1a.plate to VR1.top
pot VR1 1M log "Volume" wiper V1b.grid bottom chassis at 60%
resistor R5 1k5 0.5W from V1b.cathode to chassis
resistor R6 100k 1W 350V from B3 to V1b.plate
capacitor C4 22n 500V film from V1b.plate to V2.grid
resistor R7 220k 0.5W from V2.grid to chassis
tube V2 6V6GT
resistor R9 470R 2W metal-oxide from B2 to V2.screen
resistor R8 390R 5W wirewound from V2.cathode to chassis
capacitor C5 25u 50V electrolytic plus V2.cathode minus chassis
output-transformer T2 primary 5k 250R 20H taps 8R plate V2.plate supply B1 common chassis
speaker LS1 8R 15W from T2.8R to chassis
drive J1 behind 10k
"#;
const FOUND: &str = "as-found \"job 3\" of \"stock.amp\"\n";

/// In a stock spec: the statement, and the problem with the words it stands at.
const IN_STOCK: &[(&str, &str, &str)] = &[
    ("pot VR2 1M log top B3 bottom chassis ganged with VR9", "unknown-part", "VR9"),
    ("pot VR2 1M log top B3 bottom chassis ganged with VR2", "with-itself", "VR2"),
    ("pot VR2 1M log top B3 bottom chassis ganged with R1", "wrong-kind", "R1"),
    ("fitting SH1 \"shield\" on V9", "unknown-part", "V9"),
    ("fitting SH1 \"shield\" on SH1", "with-itself", "SH1"),
    ("drive R1", "wrong-kind", "R1"),
    ("drive J1 behind 5k", "statements-conflict", "drive J1 behind 5k"),
    ("mains 110V", "statements-conflict", "mains 110V"),
    ("rail V1a", "name-taken", "V1a"),
    ("rail chassis", "name-taken", "chassis"),
    ("jack J2 tip R1.1 sleeve chassis normals tip to chassis", "unknown-leg", "tip"),
    ("jack J2 tip R1.1 sleeve chassis normals plate to chassis", "unknown-leg", "plate"),
    ("jack J2 normals tip-contact to B1 normals tip-contact to B2", "said-twice", "tip-contact"),
    ("winding T2.x 5V 1R", "wrong-kind", "T2.x"),
    ("winding R1.x 5V 1R", "wrong-kind", "R1.x"),
    ("winding T1.ht2 300V 30R taps bias 400V from a", "wrong-value", "400V"),
    ("winding T1.ht2 300V 30R taps bias 40V from q", "unknown-leg", "q"),
    ("source HT 462V behind 85R unloaded 400V plus B1 minus chassis", "wrong-value", "400V"),
    ("made 1960\nmade 1970", "statements-conflict", "made 1970"),
    ("insulation class-I\ninsulation class-II", "statements-conflict", "insulation class-II"),
    ("heater T1.five feeds R1", "wrong-kind", "R1"),
    ("heater T1.five feeds V2", "statements-conflict", "heater T1.five feeds V2"),
    ("heater T1.five feeds V5 reference q to chassis", "unknown-leg", "q"),
    ("contact S1 on joins B1 to B1", "with-itself", "B1"),
    ("V1c unused", "unknown-section", "V1c"),
    ("V2a unused", "unknown-section", "V2a"),
    ("role R1 grid-leak\nrole R1 plate-load", "statements-conflict", "role R1 plate-load"),
    ("open R1.1", "not-open", "R1.1"),
    ("open B1", "not-a-leg", "B1"),
    ("window B1 100V to 100V", "window-empty", "100V to 100V"),
    ("window B1 100V to 200V\nwindow B1 150V to 300V", "statements-conflict", "window B1 150V to 300V"),
    ("window B1 1W to 2W", "not-a-part", "B1"),
    ("window VR1 1V to 2V", "which-leg", "VR1"),
    ("note \" \"", "blank-text", "\" \""),
    ("rail B9 \"\"", "blank-text", "\"\""),
    ("pot VR9 1M lin top B3 bottom chassis tap 0% to B2", "wrong-value", "0%"),
    ("pot VR9 1M lin top B3 bottom chassis tap 50% to B2 tap 50% to B1", "said-twice", "50%"),
    ("switch S9 positions a", "no-positions", "S9"),
    ("switch S9", "no-positions", "S9"),
    ("link W1 from B1 to B1", "with-itself", "B1"),
    ("link W1 from B1 to R40.1", "already-joined", "W1"),
    ("inlet P2 live B1 earth chassis two-core", "said-twice", "two-core"),
    ("tube V9", "type-not-said", "V9"),
    ("transformer T9 mains", "no-winding", "T9"),
    ("tube-type FOO triode\ntube-type FOO pentode", "declared-twice", "FOO"),
    ("tube-type FOO triode also FOO", "said-twice", "FOO"),
    ("tube-type FOO triode also BAR BAR", "said-twice", "BAR"),
    ("pins ECC83 wibble 1", "unknown-word", "wibble"),
    ("pins ECC83 a.plate 1 b.plate 1", "said-twice", "b.plate"),
    ("heater-data ECC83 6.3V", "type-incomplete", "heater-data"),
    ("model ECC83 mu 100 ex 1.4 kg1 1060 kp 600 kvb 300 wibble 3", "unknown-word", "wibble"),
    ("limits ECC83 wibble 300V", "unknown-word", "wibble"),
    ("limits ECC83 plate 300mA", "wrong-value", "plate"),
    ("limits ECC83 plate -300V", "value-out-of-range", "plate"),
    ("limits ECC83 design-centre absolute plate 300V", "said-twice", "absolute"),
    ("capacitances ECC83 grid-plate 1.7V", "wrong-value", "grid-plate"),
    ("capacitances ECC83 wibble 1.7pF", "unknown-word", "wibble"),
    ("diode-type D1X saturation 7n emission 1.8 wibble 3", "unknown-word", "wibble"),
    ("diode-type D1X saturation -7n emission 1.8", "value-out-of-range", "saturation"),
    ("tube V9 ECC99 a.plate B1", "unknown-type", "ECC99"),
];

/// In an as-found record.
const IN_FOUND: &[(&str, &str, &str)] = &[
    ("V1 swapped with V1", "with-itself", "V1"),
    ("V1a swapped with V1a", "with-itself", "V1a"),
    ("VR1 top swapped with top", "with-itself", "top"),
    (
        "VR1 top swapped with bottom\nVR1 bottom swapped with top",
        "statements-conflict",
        "VR1 bottom swapped with top",
    ),
    ("R4.1 moved to R4.1", "with-itself", "R4.1"),
    ("R4.1 moved to R6.1", "already-there", "R6.1"),
    ("R4 missing\nR4 reads 100k", "missing-but-said", "R4 reads 100k"),
    ("R4 missing\nR4.1 moved to B1", "missing-but-said", "R4.1 moved to B1"),
    ("VR1 missing\nset VR1 50%", "missing-but-said", "set VR1 50%"),
    ("R4 missing\nmeter R4 100V", "not-fitted", "R4"),
    ("B1 missing", "not-a-part", "B1"),
    ("R4.1 missing", "not-a-part", "R4.1"),
    ("V1a missing", "not-a-part", "V1a"),
    ("joined R4.1 to B3", "already-joined", "B3"),
    ("joined R4.1 to R4.1", "with-itself", "R4.1"),
    ("joined B1 to B2", "not-a-leg", "B1"),
    ("cut B3 leaving R4.1 R4.1 on B3x", "said-twice", "R4.1"),
    ("cut B3 leaving R40.1 R40.1 on B3x", "not-in-net", "R40.1"),
    ("cut B3 leaving R41.2 R4.1 R6.1 C42.plus on B3x", "nothing-cut", "B3"),
    ("cut B3 leaving R4.1 on chassis", "name-taken", "chassis"),
    ("bridged B1 to B1", "with-itself", "B1"),
    ("bridged B1 to B2 with wire W1 through 10k", "said-twice", "10k"),
    ("bridged B1 to B2 through 0R", "value-out-of-range", "0R"),
    ("bridged B1 to B2\nbridged B2 to B1", "statements-conflict", "bridged B2 to B1"),
    ("meter B1 300V at 1kHz", "not-of-this-part", "1kHz"),
    ("meter B1 300V with 0%", "wrong-value", "0%"),
    ("meter chassis 100V", "with-itself", "chassis"),
    ("meter B1 to B1 5V", "with-itself", "B1"),
    ("meter VR1 5V", "which-leg", "VR1"),
    ("meter V1 5mA", "which-leg", "V1"),
    ("mains 231V limits 200V to 250V", "wrong-document", "200V to 250V"),
    ("mains 231V 60Hz", "wrong-document", "60Hz"),
    ("made 1960", "wrong-document", "made"),
    ("V1b unused", "wrong-document", "unused"),
    ("C2 reads 22n in circuit", "wrong-unit", "22n"),
    ("T2 reads 250R", "wrong-kind", "250R"),
    ("C2 leaks 0uA at 250V", "value-out-of-range", "0uA"),
    ("R4 replaced by series R4a 50k", "one-part", "R4a"),
    ("S1 replaced positions a b", "unknown-position", "S1"),
    ("VR1 replaced 1M log ganged with VR7", "unknown-part", "VR7"),
    ("added fitting SH1 on V9", "unknown-part", "V9"),
    ("added transformer T9 mains", "no-winding", "T9"),
    ("added resistor V1b 10k from B1 to chassis", "name-taken", "V1b"),
    ("added resistor R99 10k from B2 to B1 in \"\"", "blank-text", "\"\""),
    ("drive R1", "wrong-kind", "R1"),
    ("V1 replaced ECC99", "unknown-type", "ECC99"),
];

/// In records on other documents.
const ELSEWHERE: &[(&str, &str, &str, &str)] = &[
    ("as-left \"l\" after \"found.amp\"\n", "done R9", "not-planned", "done R9"),
    (
        "plan \"p\" for \"found.amp\"\n",
        "window B1 1V to 2V\nwindow B1 3V to 4V",
        "statements-conflict",
        "window B1 3V to 4V",
    ),
    ("plan \"p\" for \"found.amp\"\n", "move R4.1 to R4.1", "with-itself", "R4.1"),
    ("plan \"p\" for \"found.amp\"\n", "mains 240V", "wrong-document", "mains"),
];

fn refused(documents: &[(&str, &str)]) -> Vec<(Problem, String)> {
    let loaded = loaded(documents);
    let problems = match circuits(&loaded) {
        Ok((_, notices)) => notices,
        Err(problems) => problems,
    };
    let covered = |p: &Problem| loaded.sources.text(p.span()).to_owned();
    problems
        .into_iter()
        .filter(|p| p.severity == Severity::Error)
        .map(|p| (covered(&p), p))
        .map(|(a, b)| (b, a))
        .collect()
}

fn assert_refused(documents: &[(&str, &str)], statement: &str, code: &str, at: &str) {
    let told = refused(documents);
    let short: Vec<_> = told.iter().map(|(p, at)| (p.code.word(), at.as_str(), p.message.as_str())).collect();
    let hit = told.iter().find(|(p, covered)| p.code.word() == code && covered == at);
    let Some((problem, _)) = hit else { panic!("{statement}\n  wanted {code} at `{at}`, told {short:?}") };
    assert!(
        problem.help.is_some() || !problem.labels[0].1.is_empty() || problem.labels.len() > 1,
        "{statement}: no cure"
    );
}

#[test]
fn senseless_statements_are_refused_at_their_word() {
    assert_eq!(refused(&[("stock.amp", STOCK)]), [], "the spec itself is sound");
    for (statement, code, at) in IN_STOCK {
        assert_refused(&[("stock.amp", &format!("{STOCK}{statement}\n"))], statement, code, at);
    }
    for (statement, code, at) in IN_FOUND {
        let found = format!("{FOUND}{statement}\n");
        assert_refused(&[("stock.amp", STOCK), ("found.amp", &found)], statement, code, at);
    }
    for (header, statement, code, at) in ELSEWHERE {
        let top = format!("{header}{statement}\n");
        assert_refused(&[("stock.amp", STOCK), ("found.amp", FOUND), ("top.amp", &top)], statement, code, at);
    }
}

fn help(statement: &str) -> String {
    let found = format!("{FOUND}{statement}\n");
    let told = refused(&[("stock.amp", STOCK), ("found.amp", &found)]);
    told.into_iter().filter_map(|(p, _)| p.help).collect::<Vec<_>>().join("\n")
}

/// A valve that is nearly the right one is the wrong one: none is offered; another spelling is.
#[test]
fn an_unknown_valve_is_never_another() {
    let words = help("V1 replaced ECC99");
    assert!(words.starts_with("check the print on the glass"), "{words}");
    assert!(words.contains("`tube-type ECC99 double-triode`"), "{words}");
    assert_eq!(help("V1 replaced ecc-83"), "it is written `ECC83`");
}

/// What is told of a leg of a valve whose type is not known is that, and nothing of its legs.
#[test]
fn legs_of_a_valve_of_no_known_type_are_no_second_problem() {
    let text = STOCK.replace("tube V1 ECC83\n", "") + "tube V1 ECC99\n";
    let told: Vec<_> =
        refused(&[("stock.amp", &text)]).into_iter().map(|(p, at)| (p.code.word(), at)).collect();
    assert_eq!(told, [("unknown-type", "ECC99".to_owned())]);
}

#[test]
fn what_stands_in_a_place_is_told_as_what_it_is() {
    assert!(help("joined B1 to B2").contains("`bridged B1 to NET`"), "{}", help("joined B1 to B2"));
    assert!(help("open B1").contains("C40.plus, R40.1, T2.supply"), "{}", help("open B1"));
    assert!(help("joined T1 to B1").contains("its legs are T1.five.a"), "{}", help("joined T1 to B1"));
    let bare = "added switch S9 positions a b\njoined S9.1 to B1";
    assert!(help(bare).contains("`contact S9 POSITION joins PLACE to PLACE`"), "{}", help(bare));
    assert!(help("R2 missing\njoined V1a.anode to B1").contains("did you mean `V1a.plate`?"));
}

/// Declarations of a variant act as those of the spec it rests on.
#[test]
fn a_variant_s_parts_are_joined() {
    let variant = "stock \"Dabchick 12 export\" of \"stock.amp\"\nmains 110V 60Hz\n\
                   resistor R99 220k 1W from B1 to chassis\ncontact S1 off joins B1 to B2\n";
    let circuit = crate::support::built(&[("stock.amp", STOCK), ("export.amp", variant)]).remove(1);
    let net = |part: &str, leg: usize| {
        circuit.part(circuit.find(part).unwrap()).legs[leg].net.map(|n| circuit.net(n).name.clone())
    };
    assert_eq!((net("R99", 0), net("R99", 1)), (Some("B1".into()), Some("chassis".into())));
    assert_eq!((net("S1", 2), net("S1", 3)), (Some("B1".into()), Some("B2".into())));
    assert_eq!(circuit.mains.map(|mains| mains.volts), Some(110.0));
}

/// A document's own type takes the place of a shipped one: told with the file that had it.
#[test]
fn a_shipped_type_redefined_is_told() {
    let own = "tube-type 12AX7 double-triode \"our own\"\n\
               model 12AX7 mu 90 ex 1.4 kg1 1060 kp 600 kvb 300\n";
    let told = crate::support::problems(&[("stock.amp", &format!("{STOCK}{own}"))]);
    assert!(told.contains("notice type-redefined: this `12AX7` takes the place"), "{told}");
    assert!(told.contains("rules/types/small-signal.amp:"), "{told}");
    let circuit = crate::support::stock(&format!("{STOCK}{own}"));
    assert_eq!(circuit.types.tube("12AX7").and_then(|tube| tube.note.as_deref()), Some("our own"));
    assert_eq!(
        circuit.types.tube("ECC83").and_then(|tube| tube.note.as_deref()),
        Some("high-mu double triode")
    );
}
