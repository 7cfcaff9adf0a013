//! Long amplifiers that nobody builds: how the time to recognise one and to judge one goes with its parts. Run with
//! `cargo bench --bench bench_long`; `ASFOUND_LARGEST=10000` for less.

#![allow(clippy::print_stdout, reason = "printing is what it is for")]

use std::fmt::Write;
use std::hint::black_box;
use std::time::Instant;

use asfound::analysis::{circuits, judge};
use asfound::circuit::Circuit;
use asfound::load::load;
use asfound::recognise::recognise;
use asfound::rules::RuleSet;
use asfound::source::Source;
use asfound::syntax::document::parse;

const SUPPLY: &str = "stock \"Long\"\nrail B1\nsource HT 300V behind 100R plus B1 minus chassis\n\
    resistor R0 10k 20W from B1 to chassis\n";

/// Most parts that are judged; a document has no more lines than twice that many parts take.
const MOST_JUDGED: usize = 10_000;

/// A name, and the document of so many parts.
type Kind = (&'static str, fn(usize) -> String);

fn main() {
    let largest = std::env::var("ASFOUND_LARGEST").ok().and_then(|n| n.parse().ok()).unwrap_or(100_000);
    let rules = RuleSet::shipped();
    println!("{:24} {:>9} {:>12} {:>12} {:>12}", "", "parts", "build", "recognise", "judge");
    let kinds: [Kind; 4] = [
        ("resistors in series", series),
        ("a line with capacitors", line),
        ("droppers with stages", rails),
        ("stages in a row", stages),
    ];
    for (what, text) in kinds {
        for parts in [1_000, 10_000, 100_000].into_iter().filter(|parts| *parts <= largest) {
            let text = format!("{SUPPLY}{}", text(parts));
            let began = Instant::now();
            let circuit = circuit(&text);
            let built = began.elapsed();
            let began = Instant::now();
            black_box(recognise(&circuit));
            let recognised = began.elapsed();
            let began = Instant::now();
            let judged = (parts <= MOST_JUDGED).then(|| black_box(judge(&[circuit], &rules)));
            let seconds =
                judged.map(|_| format!("{:9.3} s", began.elapsed().as_secs_f64())).unwrap_or_default();
            println!(
                "{what:24} {parts:9} {:9.3} s  {:9.3} s  {seconds:>12}",
                built.as_secs_f64(),
                recognised.as_secs_f64()
            );
        }
    }
}

fn circuit(text: &str) -> Circuit {
    // Larger than a document may be: what is loaded first only brings the types.
    let mut loaded = load("long.amp", &mut |_| Ok("stock \"Long\"\n".to_owned())).expect("the text is there");
    let file = loaded.sources.add(Source::new("long.amp", text));
    loaded.stack = vec![parse(file, text).0];
    let (mut circuits, _) = circuits(&loaded).expect("it is sound");
    circuits.remove(0)
}

/// Writes each of `count` members after another; each knows its number, from 1.
fn each(count: usize, write: impl Fn(&mut String, usize) -> std::fmt::Result) -> String {
    let mut text = String::new();
    (1..=count).try_for_each(|at| write(&mut text, at)).expect("a text can be written to");
    text
}

fn series(parts: usize) -> String {
    each(parts, |text, at| {
        let from = if at == 1 { "B1".to_owned() } else { format!("R{}.2", at - 1) };
        let to = if at == parts { " to chassis" } else { "" };
        writeln!(text, "resistor R{at} 1k 1W from {from}{to}")
    })
}

fn line(parts: usize) -> String {
    each(parts / 2, |text, at| {
        let from = if at == 1 { "B1".to_owned() } else { format!("R{}.2", at - 1) };
        writeln!(
            text,
            "resistor R{at} 10R 1W from {from}\ncapacitor C{at} 10n 400V film from R{at}.2 to chassis"
        )
    })
}

fn rails(parts: usize) -> String {
    each(parts / 6, |text, at| {
        let from = if at == 1 { "B1".to_owned() } else { format!("RD{}.2", at - 1) };
        writeln!(
            text,
            "resistor RD{at} 10R 2W from {from}\ncapacitor CD{at} 22u 500V electrolytic plus RD{at}.2 minus chassis\n\
             tube V{at} ECC83\nV{at}b unused grid V{at}b.cathode cathode chassis\n\
             resistor RG{at} 1M 0.5W from V{at}a.grid to chassis\n\
             resistor RK{at} 1k5 0.5W from V{at}a.cathode to chassis\n\
             resistor RA{at} 100k 1W from RD{at}.2 to V{at}a.plate"
        )
    })
}

fn stages(parts: usize) -> String {
    let count = parts / 7;
    let first = "jack J1 \"Input\" sleeve chassis\ndrive J1 behind 10k\n";
    let row = each(count, |text, at| {
        let from = if at == 1 { "J1.tip".to_owned() } else { format!("CC{}.2", at - 1) };
        writeln!(
            text,
            "tube V{at} ECC83\nV{at}b unused grid V{at}b.cathode cathode chassis\n\
             resistor RG{at} 1M 0.5W from {from} to chassis\nresistor RS{at} 68k 0.5W from {from} to V{at}a.grid\n\
             resistor RK{at} 1k5 0.5W from V{at}a.cathode to chassis\n\
             capacitor CK{at} 25u 25V electrolytic plus V{at}a.cathode minus chassis\n\
             resistor RA{at} 100k 1W from B1 to V{at}a.plate\ncapacitor CC{at} 22n 500V film from V{at}a.plate"
        )
    });
    format!("{first}{row}resistor RL 1M 1W from CC{count}.2 to chassis\n")
}
