//! The response of whole amplifiers: loops, couplings, the command and its forms.

#![allow(clippy::unwrap_used, reason = "a test that can't read its example has failed")]
#![allow(clippy::print_stdout, reason = "errors are shown")]
#![allow(clippy::format_push_string, reason = "documents are put together from lines")]

use asfound::analysis;
use asfound::analysis::{Heard, Question, audit, circuits, hear, tone_of};
use asfound::change::{Cause, QuantityKind};
use asfound::circuit::Circuit;
use asfound::cli::{Console, run};
use asfound::load::load;
use asfound::model::Condition;
use asfound::numeric::ac::Range;
use asfound::rules::RuleSet;
use asfound::solve::Setup;
use asfound::solve::signal::gain::decibels;
use num_complex::Complex64;

use crate::support::built;

const SEDGE: &str = include_str!("../examples/sedge-45/sedge-45.amp");

fn question() -> Question {
    Question {
        range: Range { low: 20.0, high: 20e3, points: 31 },
        from: None,
        at: None,
        turns: Vec::new(),
        condition: Condition::Idle,
    }
}

fn answer(circuit: &Circuit, question: &Question) -> Heard {
    hear(circuit, question).unwrap_or_else(|why| panic!("{why:?}"))
}

/// The example with statements on top.
fn with(statements: &str) -> Heard {
    let layer = format!("as-found \"job\" of \"sedge-45.amp\"\n{statements}\n");
    let circuits = built(&[("sedge-45.amp", SEDGE), ("job.amp", &layer)]);
    answer(circuits.last().unwrap(), &question())
}

fn stock() -> Heard {
    let circuits = built(&[("sedge-45.amp", SEDGE)]);
    answer(&circuits[0], &question())
}

fn whole(heard: &Heard) -> f64 {
    decibels(heard.responded.gains.whole.unwrap())
}

/// Return ratio and closed loop (H. W. Bode; common textbook result): the gain with the feedback resistor's far end at
/// chassis over the gain with it at the tap is 1 + L.
#[test]
fn loop_gain_is_what_closing_the_loop_takes_off() {
    let closed = stock();
    let found = closed.responded.feedback.as_ref().unwrap();
    assert!(!found.positive && !found.oscillates());
    let open = with("R27.1 moved to chassis");
    let taken = whole(&open) - whole(&closed);
    println!("loop opened by hand: {taken:.3} dB, by its loop gain {:.3} dB", found.decibels);
    assert!((taken - found.decibels).abs() < 0.1, "{taken} and {}", found.decibels);
    assert!(found.margins.least_phase().unwrap().1 > 20.0);
}

/// Plates changed over: the same loop, aiding.
#[test]
fn feedback_wired_the_wrong_way_round() {
    let turned = with("T2 plate-a swapped with plate-b");
    let found = turned.responded.feedback.as_ref().unwrap();
    assert!(found.positive && found.decibels < 0.0, "{found:?}");
    let right = stock().responded.feedback.unwrap();
    assert!((found.at_1k + right.at_1k).norm() < 0.05 * right.at_1k.norm());
    assert!(found.oscillates(), "a loop gain of {} in phase howls", decibels(found.at_1k));
    assert_eq!(right.transformer.map(|t| t.1), Some(false), "the sense is not stated");
}

/// Without feedback the stages multiply to the whole; the definition's own loading makes it so.
#[test]
fn stages_and_couplings_multiply_to_the_whole() {
    for statements in ["R27 missing", "R27 missing\nset VR1 80%\nset VR6 30%"] {
        let heard = with(statements);
        let gains = &heard.responded.gains;
        println!("{statements:?}: product less whole {:+.4} dB", gains.difference().unwrap());
        assert!(!gains.loop_or_bypass(), "{:?}", gains.difference());
        assert!(gains.in_loop.is_empty());
    }
    // The lead stage over the spare half of V3 is a second way: it is summed, and the two ways load each other.
    let examples = ["wren-8/wren-8", "hollin-100/hollin-100", "fallow-18/fallow-18"];
    for name in examples {
        let heard = answer(&example(&format!("examples/{name}.amp")), &question());
        let gains = &heard.responded.gains;
        println!("{name}: product less whole {:+.4} dB", gains.difference().unwrap());
        assert!(!gains.loop_or_bypass(), "{name}: {:?}", gains.difference());
    }
}

fn example(path: &str) -> Circuit {
    let root = env!("CARGO_MANIFEST_DIR");
    let mut read = |p: &str| std::fs::read_to_string(format!("{root}/{p}")).map_err(|e| e.to_string());
    let loaded = load(path, &mut read).unwrap();
    analysis::circuits(&loaded).unwrap().0.pop().unwrap()
}

/// The capacitances pass no DC: the point found without them is that with them, to the last bit.
#[test]
fn capacitances_leave_dc_alone() {
    let circuit = example("examples/sedge-45/sedge-45.amp");
    let (mut lowered, point) = asfound::solve::at_rest::network_at_rest(&circuit, &Setup::idle()).unwrap();
    lowered.add_capacitances(&circuit);
    let again = asfound::numeric::operating_point(&lowered.network).unwrap();
    for node in 0..lowered.network.nodes.len() {
        assert_eq!(point.volts(node), again.volts(node));
    }
}

/// A cathode follower's output impedance and an output stage's: with the load away, as a second load shows it.
#[test]
fn output_impedance_is_what_a_second_load_shows() {
    let heard = stock();
    let output = heard.responded.output.unwrap();
    let other = with("LS1 replaced 16R 60W");
    // The tap's volts into 8 ohms and into 16: two equations for the source behind them.
    let ratio = {
        let (a, b) = (heard.responded.gains.whole.unwrap(), other.responded.gains.whole.unwrap());
        a / b
    };
    let one = Complex64::new(1.0, 0.0);
    let ohms = (one - ratio) / (ratio / 8.0 - one / 16.0);
    println!("output impedance {:.3} and {:.3} ohms", output.ohms.norm(), ohms.norm());
    assert!((ohms - output.ohms).norm() < 1e-6 * ohms.norm(), "{ohms} and {}", output.ohms);
    assert!((other.responded.output.unwrap().ohms - output.ohms).norm() < 1e-9 * ohms.norm());
}

#[test]
fn presence_lifts_the_top() {
    let heard = stock();
    let presence = &heard.responded.presence;
    assert_eq!(presence.len(), 1);
    assert!(presence[0].hertz > 2000.0 && presence[0].decibels.abs() > 2.0, "{presence:?}");
}

/// A removed bypass and bright capacitor, told by stage and by cause.
#[test]
fn stage_gain_is_an_effect_with_causes() {
    let circuits = built(&[
        ("sedge-45.amp", SEDGE),
        ("job-0412.amp", include_str!("../examples/sedge-45/job-0412.amp")),
    ]);
    let rules = asfound::rules::RuleSet::default();
    let audit = analysis::audit(&circuits, &rules);
    let since = audit.since.as_ref().unwrap();
    let gains: Vec<_> = since.effects.iter().filter(|e| e.quantity == QuantityKind::StageGain).collect();
    for effect in &gains {
        let (before, after) = (effect.before, effect.after);
        println!("{} {before:.2?} → {after:.2?}", effect.subject);
        for cause in &effect.causes {
            let changes: Vec<usize> = match cause {
                Cause::Share { changes, .. } => changes.clone(),
                Cause::Joint { members, .. } => members.iter().flat_map(|m| m.changes.clone()).collect(),
                Cause::Mutual { .. } => Vec::new(),
            };
            let names: Vec<&str> =
                changes.iter().map(|i| since.comparison.changes[*i].subject.as_str()).collect();
            if cause.amount().abs() > 0.02 {
                println!("    {names:?} {:+.3}", cause.amount());
            }
        }
    }
    let second = gains.iter().find(|e| e.subject == "V1b").expect("V1b's gain moved");
    let largest = second.causes.iter().max_by(|a, b| a.amount().abs().total_cmp(&b.amount().abs())).unwrap();
    let largest = match largest {
        Cause::Share { changes, .. } => changes.clone(),
        Cause::Joint { members, .. } => members.iter().flat_map(|m| m.changes.clone()).collect(),
        Cause::Mutual { .. } => Vec::new(),
    };
    let names: Vec<&str> = largest.iter().map(|i| since.comparison.changes[*i].subject.as_str()).collect();
    assert!(names.contains(&"C90"), "{names:?}: the added bypass");
    let sum: f64 = second.causes.iter().map(Cause::amount).sum();
    assert!((sum - (second.after.unwrap() - second.before.unwrap())).abs() < 1e-9);
}

fn said(arguments: &[&str]) -> (u8, String, String) {
    let root = env!("CARGO_MANIFEST_DIR");
    let words = arguments.iter().map(|w| w.replace("examples/", &format!("{root}/examples/")).into());
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let status =
        run(std::iter::once("asfound".into()).chain(words), &mut Console::new(&mut out, &mut err, Some(100)));
    (status, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

#[test]
fn the_command_in_its_forms() {
    let stock = "examples/sedge-45/sedge-45.amp";
    let (status, text, err) = said(&["response", stock]);
    assert_eq!((status, err.as_str()), (0, ""));
    for words in ["V1b", "phase inverter", "damping", "gain margin", "Clipping", "into the load"] {
        assert!(text.contains(words), "{words}:\n{text}");
    }
    let (status, csv, _) =
        said(&["response", "--format", "csv", "--range", "100Hz", "1kHz", "--points", "5", stock]);
    let lines: Vec<&str> = csv.lines().collect();
    assert_eq!((status, lines.len(), lines[0]), (0, 6, "hertz,decibels,degrees"));
    assert!(lines[1].starts_with("100,") && lines[5].starts_with("1000,"), "{csv}");
    let (_, json, _) = said(&["response", "--format", "json", "examples/sedge-45/job-0412.amp"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["schema"], "asfound/response/1");
    let (before, now) = (&json["before"]["curve"]["decibels"][60], &json["now"]["curve"]["decibels"][60]);
    let difference = json["difference"][60].as_f64().unwrap();
    assert!((now.as_f64().unwrap() - before.as_f64().unwrap() - difference).abs() < 1e-6);
    assert!(json["now"]["feedback"]["phase_margins"].is_array());
}

#[test]
fn a_place_or_control_that_is_not_there_is_said() {
    let stock = "examples/sedge-45/sedge-45.amp";
    let (status, _, err) = said(&["response", "--at", "V1a.plat", stock]);
    assert!(status == 2 && err.contains("did you mean V1a.plate?"), "{err}");
    let (status, _, err) = said(&["response", "--turn", "R4=50%", stock]);
    assert!(status == 2 && err.contains("R4 is no control"), "{err}");
    let (status, _, _) = said(&["response", "--range", "1kHz", "100Hz", stock]);
    assert_eq!(status, 2);
}

/// Treble up, and the top comes up at the follower's load; the tone network between two places.
#[test]
fn tone_network_between_two_places() {
    let circuit = example("examples/sedge-45/sedge-45.amp");
    let at = |treble: f64| {
        let turned = Question {
            from: Some("V3a.cathode".into()),
            at: Some("V4a.grid".into()),
            turns: vec![("VR3".into(), treble)],
            ..question()
        };
        let heard = answer(&circuit, &turned);
        *heard.responded.sweep.unwrap().decibels().last().unwrap()
    };
    assert!(at(1.0) - at(0.0) > 10.0, "{} and {}", at(1.0), at(0.0));
}

/// Bass, middle and treble of a change are the difference of two curves: with the change, and with it alone put right.
#[test]
fn what_is_heard_of_a_change_is_the_curve_with_and_without_it() {
    let stock = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/sedge-45/sedge-45.amp");
    let circuits_of = |record: &str| {
        let text = format!("as-found \"job\" of \"{stock}\"\n{record}");
        let mut read = |asked: &str| match asked {
            "job.amp" => Ok(text.clone()),
            other => std::fs::read_to_string(other).map_err(|why| why.to_string()),
        };
        circuits(&load("job.amp", &mut read).expect("read")).expect("sound").0
    };
    // Two that act on the treble against each other, so that the whole hardly moves, and one on the level.
    let lines = [
        "C3 missing",
        "added capacitor C90 1n 400V film from VR1.top to VR1.wiper",
        "R7 replaced 5k6 0.5W carbon-film",
    ];
    let all = circuits_of(&lines.join("\n"));
    let audit = audit(&all, &RuleSet::shipped());
    let heads = audit.heads(&RuleSet::shipped());
    let step = audit.since.as_ref().or(audit.against_stock.as_ref()).expect("a step");
    let level = |circuit: &Circuit, hertz: f64| {
        let range = Range { low: hertz, high: 2.0 * hertz, points: 2 };
        let question =
            Question { range, from: None, at: None, turns: Vec::new(), condition: Condition::Idle };
        let heard = hear(circuit, &question).expect("it plays");
        heard.responded.sweep.expect("a curve").decibels()[0]
    };
    for (out, subject) in ["C3", "C90", "R7"].iter().enumerate() {
        let others: Vec<&str> =
            lines.iter().enumerate().filter(|(at, _)| *at != out).map(|(_, l)| *l).collect();
        let without = circuits_of(&others.join("\n"));
        let bundle = heads.bundles.iter().find(|b| heads.changes(b).any(|c| c.subject == *subject));
        let got = tone_of(bundle.expect("a change"), &step.effects).expect("it is heard");
        for (got, hertz) in got.into_iter().zip([80.0, 400.0, 3e3]) {
            // A share is the mean of what it does alone and last, which lie within 5 % of the whole movement, or a
            // thousandth of the level.
            let (now, stock) = (level(&all[1], hertz), level(&all[0], hertz));
            let close = 0.5 * (0.05 * (now - stock).abs()).max(0.001 * now.abs().max(stock.abs()));
            let want = now - level(&without[1], hertz);
            assert!(
                (got - want).abs() <= close,
                "{subject} at {hertz} Hz: {got} dB, {want} dB by the curves"
            );
        }
    }
}
