//! Mistakes, each with what is said of it beneath: carets under the place, then the message.

use asfound::source::{FileId, Severity, Source};
use asfound::syntax::document::parse;

fn is_note(line: &str) -> bool {
    line.strip_prefix('#').is_some_and(|rest| rest.trim_start().starts_with('^'))
}

/// A text with its problems beneath its lines.
fn annotated(text: &str) -> String {
    let (_, problems) = parse(FileId(0), text);
    let source = Source::new("x.amp", text);
    let mut out = String::new();
    for (at, line) in text.lines().enumerate() {
        out.push_str(line);
        out.push('\n');
        for problem in &problems {
            let (row, column) = source.line_column(problem.span().start);
            if row != at + 1 {
                continue;
            }
            let start = source.line_start(at);
            let end = (problem.span().end as usize).min(start + line.len());
            let width = text[problem.span().start as usize..end].chars().count().max(1);
            let word = if problem.severity == Severity::Error { "error" } else { "notice" };
            let near = problem.help.as_deref().filter(|help| help.starts_with("did you mean"));
            out.push_str(&format!(
                "#{}{} {word}: {}{}\n",
                " ".repeat(column.saturating_sub(2)),
                "^".repeat(width),
                problem.message,
                near.map_or(String::new(), |near| format!("; {near}")),
            ));
        }
    }
    out
}

/// Compares a text with itself after its notes were taken out and made anew.
fn assert_told(text: &str) {
    let bare: String = text.lines().filter(|line| !is_note(line)).map(|line| format!("{line}\n")).collect();
    let told = annotated(&bare);
    assert!(told == text, "told:\n{told}\nexpected:\n{text}");
}


#[test]
fn in_stock_specs() {
    assert_told(
        r##"stock "x"
  resistor R1 10zF from B1 to B2
  resistor R1 10nF from B1 to B2
  resistor R1 10n from B1 to B2
  resistor R1 4,7k from B1 to B2
  resistor R1 1e400 from B1 to B2
  resistor R1 0R from B1 to B2
  resistor R1 -4k7 from B1 to B2
  resistor R1 4k7 1W 2W from B1 to B2
  resistor R1 4k7 from A to B from C to D
  resistor R1 4k7 wirewond from A to B
  resistor R1 4k7 from A to
  resistor R1 4k7 from to B
  resistor R1 4k7 from A too B
  resistor 4k7 from A to B
  resistor R1 4k7 plus A minus B
  resistor R1 4k7 * 2W
  resistor R1 unknown 4k7 from A to B
  resistor R1 4k7 400V 120mA from A to B
  resistor R1 4k7 60 from A to B
  resistor R1 4k7 150% from A to B
  capacitor C1 10k 400V from A to B
  capacitor C1 47 400V from A to B
  capacitor C1 22n 5W from A to B
  capacitor C1 22n 400V electrolytic from A to B
  capacitor C1 22n 400V plus A plus B
  choke L1 10 from A to B
  fuse F1 1V slow from A to B
  zener D1 12 anode A cathode B
  diode D1 1N4007 from A to B
  pot VR1 1M logg top A
  pot VR1 1M at 160%
  pot VR1 1M to A
  switch S1 positions on off now stanby
  transformer T1
  output-transformer T2 primary 6k6 taps 4R 8R 5R LS1.1
  output-transformer T2 6k6 taps 4R 8R
  source HT 462V behind 85V
  tube V1 ECC83 plaet X grid Y
  jack J1 ring A tipp B
  fitting SH1 from A to B
  winding T1.ht 62R 330V
  winding T1.ht 330V-0-320V 62R
  winding T1 330V
  winding T1.ht
  mains 230
  mains 230V limits 253V to 207V
  rail B3 window 330V to 290V
  rail B3 window 290V 330V
  rail to "x"
  insulation class-3
  made 68
  resitor R1 10k from A to B
  Resistor R1 10k from A to B
  output transformer T2
  wibble R1 10k
  R1 10k from A to B
  resistor R1 10k "open
  resistor R1 10k “x”
  R3 checked
  added resistor R3 10k
  contact S2 play join A to B
  heater T1.heat feed V1
  drive J1 behind 10V
  cheked R3
  2R checked
"##,
    );
}

#[test]
fn in_records() {
    assert_told(
        r##"as-found "x" of "y.amp"
  R3 chekced
  R3 R4 missing
  R3
  checked R3
  C3 missing snippet
  R9 replaced
  R9 replaced by sereis R9a 2k7
  R9 replaced by series R9a 2k7, R9a 2k2
  R9 replaced 5k6 from A to B
  R9 reads many
  R9 reads -5k
  R7 reads 131k in circiut
  C33 leaks 12uA
  C33 leaks 12V at 250V
  R40 lifted at
  VR1 top reversed
  meter B3
  meter B3 271
  meter A to B 20mA
  meter B3 271V in
  meter B3 271V ac ac
  cut B3 leaving on B3x
  bridged B3 and B4
  added R91 100k from A to B
  resistor R91 100k from A to B
  restore C3
  change R9 to 8k2
  set VR1 150%
  fit resistor R95 220k
"##,
    );
}

#[test]
fn in_plans() {
    assert_told(
        r##"plan "x" for "y.amp"
  R9 replaced 5k6
  added resistor R95 220k
  accept part-drifted on R7
  restore
  restore C3 except R9
  remove
  C3 missing
  done R9
  meter B3 271V
"##,
    );
}

#[test]
fn in_type_data() {
    assert_told(
        r##"type-data "x"
  pins ECC83 a.plate 6k
  heater-data ECC83 6.3V 300mA 5
  limits ECC83 plate 300V plate 330V
  model ECC83 mu 1zz
  resistor R1 10k
  pins ECC83
"##,
    );
}
