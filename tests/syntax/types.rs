//! Any valve type, legs and clauses in any order: `12AX7` before `a.plate` is no tap, `6550A` is no current.

use asfound::circuit::Types;
use asfound::source::{FileId, has_errors};
use asfound::syntax::document::parse;
use asfound::syntax::print::print;
use asfound::syntax::tree::{Document, Replacement, Said, Spec};

use super::shape;

const SHIPPED: [&str; 3] = [
    include_str!("../../rules/types/small-signal.amp"),
    include_str!("../../rules/types/output.amp"),
    include_str!("../../rules/types/rectifiers.amp"),
];

/// Types that read like values, taps, years or units, and some that don't.
const INVENTED: [&str; 30] = [
    "6550A",
    "7027A",
    "6E5",
    "6V6",
    "5V4",
    "2A3",
    "6H6",
    "6F6",
    "6K6",
    "6J5",
    "5R4",
    "6W6",
    "6S7",
    "6M5",
    "6E5",
    "1V",
    "12A",
    "4-125A",
    "5U4GB/5AS4A",
    "6L6GC/5881",
    "6N2P-EV",
    "6SN7GTB",
    "807",
    "1625",
    "45",
    "10",
    "1968",
    "8R",
    "12AX7WA",
    "2C22",
];

/// Clauses that may stand on either side of a valve's type, each once in a line.
const CLAUSES: [&str; 14] = [
    "plate B1",
    "a.plate B1",
    "b.plate R4.2",
    "a.grid C2.2",
    "grid V1b.cathode",
    "a.cathode chassis",
    "cathode RAW",
    "screen T1.ht.a",
    "suppressor V5.pin3",
    "heater1 H1",
    "heater-centre chassis",
    "plates T1.ht.a T1.ht.b",
    "made 1968",
    "\"12AX7 in the drawing\"",
];

/// Every name of every shipped type of a kind's line, and the invented ones.
fn names(opening: &str) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for text in SHIPPED {
        let types = parse(FileId(0), text).0;
        for statement in types.statements() {
            if let Said::Type(said) = &statement.said
                && said.line.value.word() == opening
            {
                names.extend(std::iter::once(&said.name).chain(&said.also).map(|word| word.value.clone()));
            }
        }
    }
    names.extend(INVENTED.map(str::to_owned));
    names
}

/// Reads without an error, prints, reads again: the same tree; prints again: the same text.
fn comes_back(text: &str) -> Document {
    let header = "as-found \"j\" of \"a.amp\"\n";
    let (tree, problems) = parse(FileId(0), &format!("{header}{text}\n"));
    assert!(!has_errors(&problems), "{text}: {problems:?}");
    let printed = print(&tree);
    let (again, problems) = parse(FileId(0), &printed);
    assert!(!has_errors(&problems), "{text} printed as {printed}: {problems:?}");
    assert_eq!(shape(&again), shape(&tree), "{text} printed as {printed}");
    assert_eq!(print(&again), printed);
    tree
}

fn added(tree: &Document) -> &asfound::syntax::tree::PartSaid {
    let Some(Said::Added { part, .. }) = tree.statements().nth(1).map(|s| &s.said) else { panic!("no part") };
    part
}

/// The same part is said whichever side of the type a clause stands on.
#[test]
fn every_valve_type_stands_before_and_after_every_clause() {
    for name in names("tube-type") {
        for clause in CLAUSES {
            let before = comes_back(&format!("added tube V1 {clause} {name}"));
            let after = comes_back(&format!("added tube V1 {name} {clause} in \"stage\" # {name}"));
            for tree in [&before, &after] {
                let type_name = added(tree).spec.type_name.as_ref().map(|word| word.value.as_str());
                assert_eq!(type_name, Some(name.as_str()), "{clause}");
            }
            let spec_and_legs =
                |tree: &Document| print(tree).replace(&format!(" in \"stage\"  # {name}"), "");
            assert_eq!(spec_and_legs(&before), spec_and_legs(&after));
        }
        for pair in
            CLAUSES.windows(2).filter(|pair| !(pair[0].contains("a.plate") || pair[1].contains("plates")))
        {
            comes_back(&format!("added tube V1 {} {name} {}", pair[0], pair[1]));
        }
    }
}

#[test]
fn every_valve_type_replaces_another() {
    for name in names("tube-type") {
        let tree = comes_back(&format!("V1 replaced {name} made 1968 \"{name}\""));
        let Some(Said::Replaced { by: Replacement::One(spec), .. }) =
            tree.statements().nth(1).map(|s| &s.said)
        else {
            panic!("{name}")
        };
        let settled = asfound::syntax::document::settle(spec, asfound::model::Kind::Tube);
        let type_name = |spec: &Spec| spec.type_name.as_ref().map(|word| word.value.clone());
        assert_eq!((type_name(&settled.0), settled.1), (Some(name), Vec::new()));
    }
}

#[test]
fn every_diode_type_stands_before_and_after_every_clause() {
    for name in
        names("diode-type").iter().filter(|name| name.starts_with("1N") || !INVENTED.contains(&name.as_str()))
    {
        for clause in ["anode A", "cathode V1a.cathode", "1000V", "1A", "made 1990", "\"x\""] {
            comes_back(&format!("added diode D1 {clause} {name}"));
            comes_back(&format!("added diode D1 {name} {clause}"));
        }
    }
}

/// What reads as a type and as a value is what the part it replaces has.
#[test]
fn a_word_that_may_be_either_is_settled_by_the_part() {
    use asfound::model::Kind;
    let settled = |text: &str, kind: Kind| {
        let tree = comes_back(&format!("X1 replaced {text}"));
        let Some(Said::Replaced { by: Replacement::One(spec), .. }) =
            tree.statements().nth(1).map(|s| &s.said)
        else {
            panic!("{text}")
        };
        let (spec, problems) = asfound::syntax::document::settle(spec, kind);
        let number = |value: Option<asfound::syntax::tree::Value>| value.map(|v| v.value.value);
        (number(spec.value), number(spec.ohms), spec.type_name.map(|w| w.value), problems.len())
    };
    assert_eq!(settled("5600R 0.5W", Kind::Resistor), (Some(5600.0), None, None, 0));
    assert_eq!(settled("6550A", Kind::Tube), (None, None, Some("6550A".into()), 0));
    assert_eq!(settled("6K6", Kind::Tube), (None, None, Some("6K6".into()), 0));
    assert_eq!(settled("6600R 95R", Kind::OutputTransformer), (Some(6600.0), Some(95.0), None, 0));
    assert_eq!(settled("6600R 95R", Kind::Tube).3, 1);
    assert_eq!(settled("6V6", Kind::Resistor).3, 1);
}

/// The types that are known are looked up by any of their names.
#[test]
fn names_are_those_that_the_circuit_knows() {
    let mut types = Types::default();
    let mut problems = Vec::new();
    for text in SHIPPED {
        types.take(&parse(FileId(0), text).0, &mut problems);
    }
    let known = names("tube-type").iter().filter(|name| types.tube(name).is_some()).count();
    assert_eq!(known, names("tube-type").len() - INVENTED.iter().filter(|n| types.tube(n).is_none()).count());
}

/// A type that begins with a digit, before and after the legs of its two sections: one circuit.
#[test]
fn both_sections_of_a_type_that_begins_with_a_digit_are_joined() {
    let text = |tube: &str| {
        format!(
            "stock \"Pipit\" \"test board\"\nrail B1 \"plates\"\nsource HT 300V behind 1R plus B1 minus chassis\n\
             resistor R1 100k 1W from B1 to V1a.plate\nresistor R2 1k5 from V1a.cathode to chassis\ntube V1 {tube}\n"
        )
    };
    let legs = "b.plate B1 b.cathode chassis a.grid chassis b.grid chassis";
    let circuits =
        [format!("12AX7 {legs}"), format!("{legs} 12AX7")].map(|tube| crate::support::stock(&text(&tube)));
    for circuit in &circuits {
        let net = |leg: &str| {
            let net = circuit.leg_net(circuit.find("V1").unwrap(), leg).unwrap();
            circuit.net(net).name.clone()
        };
        assert_eq!(
            ["a.plate", "b.plate", "a.grid", "b.cathode"].map(net),
            ["V1a.plate", "B1", "chassis", "chassis"]
        );
    }
    assert_eq!(asfound::circuit::spelled_out(&circuits[0]), asfound::circuit::spelled_out(&circuits[1]));
}
