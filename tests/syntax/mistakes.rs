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
            let (gap, carets) = (" ".repeat(column.saturating_sub(2)), "^".repeat(width));
            let near = near.map_or(String::new(), |near| format!("; {near}"));
            let note = ["#", &gap, &carets, " ", word, ": ", &problem.message, &near, "\n"];
            out.push_str(&note.concat());
        }
    }
    out
}

/// Compares a text with itself after its notes were taken out and made anew.
fn assert_told(text: &str) {
    let bare: Vec<&str> = text.lines().filter(|line| !is_note(line)).collect();
    let told = annotated(&bare.join("\n"));
    assert!(told == text, "told:\n{told}\nexpected:\n{text}");
}

#[test]
fn in_stock_specs() {
    assert_told(
        r#"stock "x"
  resistor R1 10zF from B1 to B2
#             ^^^^ error: not a resistance: `10zF`
  resistor R1 10nF from B1 to B2
#             ^^^^ error: not a resistance: `10nF`
  resistor R1 10n from B1 to B2
#             ^^^ error: not a resistance: `10n`
  resistor R1 4,7k from B1 to B2
#             ^^^^ error: not a resistance: `4,7k`
  resistor R1 1e400 from B1 to B2
#             ^^^^^ error: not a resistance: `1e400`
  resistor R1 0R from B1 to B2
#             ^^ error: `0R` can't be: a resistance here is above zero
  resistor R1 -4k7 from B1 to B2
#             ^^^^ error: `-4k7` can't be: a resistance here is above zero
  resistor R1 4k7 1W 2W from B1 to B2
#                    ^^ error: said twice: the power rating
  resistor R1 4k7 from A to B from C to D
#                                  ^ error: said twice: where leg `1` is joined
#                                       ^ error: said twice: where leg `2` is joined
  resistor R1 4k7 wirewond from A to B
#                 ^^^^^^^^ error: not said of a resistor: `wirewond`; did you mean `wirewound`?
  resistor R1 4k7 from A to
#                        ^^ error: not finished: a place comes next
  resistor R1 4k7 from to B
#                      ^^ error: not expected here: `to`; a place comes next
  resistor R1 4k7 from A too B
#                        ^^^ error: not said of a resistor: `too`; did you mean `to`?
  resistor 4k7 from A to B
#          ^^^ error: not expected here: `4k7`; a name comes next
  resistor R1 4k7 plus A minus B
#                 ^^^^ error: not a leg of a resistor: `plus`
#                        ^^^^^ error: not a leg of a resistor: `minus`
  resistor R1 4k7 * 2W
#                 ^ error: not expected here: `*`; a place, a quoted text, a value or a word comes next
  resistor R1 unknown 4k7 from A to B
#             ^^^^^^^ error: not unknown: its value is said too
  resistor R1 4k7 400V 120mA from A to B
#                      ^^^^^ error: not said of a resistor: a current rating
  resistor R1 4k7 60 from A to B
#                 ^^ error: said twice: the main value
  resistor R1 4k7 150% from A to B
#                 ^^^^ error: not a tolerance: `150%`
  capacitor C1 10k 400V from A to B
#              ^^^ error: not a capacitance: `10k`
  capacitor C1 47 400V from A to B
#              ^^ error: not a capacitance: `47`
  capacitor C1 22n 5W from A to B
#                  ^^ error: not said of a capacitor: a power rating
  capacitor C1 22n 400V electrolytic from A to B
#                                    ^^^^ error: not told which leg is plus: an electrolytic
  capacitor C1 22n 400V plus A plus B
#                                   ^ error: said twice: where leg `plus` is joined
  choke L1 10 from A to B
#          ^^ error: not an inductance: `10`
  fuse F1 10k slow from A to B
#         ^^^ error: not a current: `10k`
  zener D1 12 anode A cathode B
#          ^^ error: not a voltage: `12`
  diode D1 1N4007 from A to B
#                 ^^^^ error: not a leg of a diode: `from`
  pot VR1 1M logg top A
#            ^^^^ error: not said of a pot: `logg`; did you mean `log`?
  pot VR1 1M at 160%
#               ^^^^ error: `160%` can't be: a position goes from 0% to 100%
  pot VR1 1M to A
#            ^^ error: not a leg of a pot: `to`; did you mean `top`?
  switch S1 positions on off now stanby
#                                ^^^^^^ error: not one of its positions: `stanby`
  transformer T1
# ^^^^^^^^^^^ error: not told what kind of transformer
  output-transformer T2 primary 6k6 taps 4R 8R 5R LS1.1
#                                              ^^ error: not one of its taps: `5R`
  output-transformer T2 6k6 taps 4R 8R
#                       ^^^ error: not told: the primary's impedance
  source HT 462V behind 85V
#                       ^^^ error: not a resistance: `85V`
  tube V1 ECC83 plaet X grid Y
#               ^^^^^ error: not said of a tube: `plaet`; did you mean `plate`?
  jack J1 ring A tipp B
#                ^^^^ error: not said of a jack: `tipp`; did you mean `tip`?
  fitting SH1 from A to B
#             ^^^^ error: not a leg of a fitting: `from`
  winding T1.ht 330V-0-330V 62R
#                           ^^^ notice: not told: of one side or of the whole winding
  winding T1.ht 330V 62R a side
#                        ^^^^^^ error: not a side: the winding has no centre tap
  winding T1.ht 330V-0-320V 62R
#               ^^^^^^^^^^^ error: not a winding's voltage: `330V-0-320V`
  winding T1.ht 330V-0-330V unloaded 355V
#                                    ^^^^ error: not told: at what current the volts fall
  winding T1.ht 330V unloaded 310V current 100mA
#                             ^^^^ error: not unloaded: below the volts at full load
  winding T1.ht 330V 62R unloaded 355V current 100mA
#                    ^^^ error: `unloaded` tells the resistance already
  capacitances ECC83 input 1.6pF pF
#                                ^^ error: `pF` stands alone
  winding T1 330V
#         ^^ error: not a winding: its own name is missing
  winding T1.ht
#         ^^^^^ error: not told: the winding's voltage
  mains 230
#       ^^^ error: not a voltage: `230`
  mains 110V limits 207V to 253V
#            ^^^^^^^^^^^^^^^^^^^ error: not its limits: the mains lies outside them
  source HT 462V unloaded 400V
#                         ^^^^ error: not unloaded: below the volts under load
  jack J1 normals tip to A
#                 ^^^ error: not a switch contact: `tip`
  mains 230V limits 253V to 207V
#                   ^^^^^^^^^^^^ error: not a window: highest first
  rail B3 window 330V to 290V
#                ^^^^^^^^^^^^ error: not a window: highest first
  rail B3 window 290V 330V
#                     ^^^^ error: not expected here: `330V`; `to` comes next
  rail to "x"
#      ^^ error: not expected here: `to`; a name comes next
  insulation class-3
#            ^^^^^^^ error: not expected here: `class-3`; `class-I` or `class-II` comes next
  made 68
#      ^^ error: not a year of make: `68`
  resitor R1 10k from A to B
# ^^^^^^^ error: not a statement: `resitor`; did you mean `resistor`?
  Resistor R1 10k from A to B
# ^^^^^^^^ error: not a statement: `Resistor`
  output transformer T2
# ^^^^^^ error: not a statement: `output`; did you mean `output-transformer`?
  wibble R1 10k
# ^^^^^^ error: not a statement: `wibble`
  R1 10k from A to B
# ^^ error: not told what kind of part this is
  resistor R1 10k "open
#                 ^^^^^ error: not closed: a quoted text
  resistor R1 10k “x”
#                 ^ error: not a quote of this language: `“`
  stock "y"
# ^^^^^ error: not one document: a second header
  R3 checked
#    ^^^^^^^ error: not for a stock spec: `checked`
  added resistor R3 10k
# ^^^^^ error: not for a stock spec: `added`
  contact S2 play join A to B
#                 ^^^^ error: not expected here: `join`; `joins` comes next; did you mean `joins`?
  heater T1.heat feed V1
#                ^^^^ error: not expected here: `feed`; `feeds` comes next; did you mean `feeds`?
  drive J1 behind 10V
#                 ^^^ error: not a resistance: `10V`
  cheked R3
# ^^^^^^ error: not a statement: `cheked`
  2R checked
# ^^ error: not a statement: `2R`
"#,
    );
}

#[test]
fn in_records() {
    assert_told(
        r#"as-found "x" of "y.amp"
  as-left "z" after "w"
# ^^^^^^^ error: not one document: a second header
  R3 chekced
#    ^^^^^^^ error: not said of a part: `chekced`; did you mean `checked`?
  R3 R4 missing
#    ^^ error: not more than one name before `missing`
  R3
# ^^ error: not a statement: names alone
  checked R3
# ^^^^^^^ error: not a statement: `checked`
  C3 missing snippet
#            ^^^^^^^ error: not expected here: `snippet`; a quoted text or `snipped` comes next; did you mean `snipped`?
  R9 replaced
#    ^^^^^^^^ error: not finished: a quoted text, a value, a word or `by` comes next
  R9 replaced by sereis R9a 2k7
#                ^^^^^^ error: not expected here: `sereis`; `parallel` or `series` comes next; did you mean `series`?
  R9 replaced by series R9a 2k7, R9b 2k2, R9a 2k2
#                                         ^^^ error: said twice: this name
  R9 replaced 5k6 from A to B
#                 ^^^^ error: not expected here: `from`; a quoted text, a value, a construction, a word … comes next
  R9 reads many
#          ^^^^ error: not expected here: `many`; a value comes next
  R9 reads -5k
#          ^^^ error: `-5k` can't be: a part's value is zero or above
  R7 reads 131k in circiut
#                  ^^^^^^^ error: not expected here: `circiut`; `circuit` comes next; did you mean `circuit`?
  C33 leaks 12uA
#           ^^^^ error: not finished: `at` comes next
  C33 leaks 12V at 250V
#           ^^^ error: not a current: `12V`
  R40 lifted at
#            ^^ error: not finished: a place comes next
  VR1 top reversed
#     ^^^ error: not said so: `top`
  meter B3
#       ^^ error: not finished: a value or `to` comes next
  meter B3 271
#          ^^^ error: not a voltage: `271`
  meter A to B 20mA
#              ^^^^ error: not a voltage: a current has one place
  meter B3 271V in
#               ^^ error: not finished: a word comes next
  meter B3 271V ac ac
#                  ^^ error: said twice: `ac`
  cut B3 leaving on B3x
#                ^^ error: not expected here: `on`; a place comes next
  bridged B3 and B4
#            ^^^ error: not expected here: `and`; `to` comes next
  added R91 100k from A to B
#       ^^^ error: not expected here: `R91`; a kind of part comes next
  resistor R91 100k from A to B
# ^^^^^^^^ error: not for an as-found record: `resistor`
  restore C3
# ^^^^^^^ error: not for an as-found record: `restore`
  change R9 to 8k2
# ^^^^^^ error: not for an as-found record: `change`
  set VR1 150%
#         ^^^^ error: `150%` can't be: a position goes from 0% to 100%
  fit resistor R95 220k
# ^^^ error: not for an as-found record: `fit`
  C3 snipped
#    ^^^^^^^ error: not said so: `snipped`
  joint R4.1 reads 20R
# ^^^^^ error: not said so: `joint`
  V1 swapped with V1
#                 ^^ error: not two: `V1`
  meter B3 271V at 1kHz
#                  ^^^^ error: not of DC: a frequency
  R9 replaced by series R9a 5k6
#                       ^^^ error: not several: one part
  C3 missing ""
#            ^^ error: not a text: it is blank
"#,
    );
}

#[test]
fn in_plans() {
    assert_told(
        r#"plan "x" for "y.amp"
  R9 replaced 5k6
#    ^^^^^^^^ error: not for a plan: `replaced`
  added resistor R95 220k
# ^^^^^ error: not for a plan: `added`
  accept part-drifted on R7
#                        ^^ error: not finished: `because` comes next
  restore
# ^^^^^^^ error: not finished: a name or `all` comes next
  restore C3 except R9
#            ^^^^^^ error: not expected here: `except`; a name comes next
  remove
# ^^^^^^ error: not finished: a name or a quoted text comes next
  C3 missing
#    ^^^^^^^ error: not for a plan: `missing`
  done R9
# ^^^^ error: not for a plan: `done`
  meter B3 271V
# ^^^^^ error: not for a plan: `meter`
  plan "y" "z"
# ^^^^ error: not one document: a second header
"#,
    );
}

#[test]
fn in_type_data() {
    assert_told(
        r#"type-data "x"
  pins ECC83 a.plate 6k
#                    ^^ error: not a pin's number: `6k`
  heater-data ECC83 6.3V 300mA 5
#                              ^ error: not named: `5`
  limits ECC83 plate 300V plate 330V
#                         ^^^^^ error: said twice: `plate`
  model ECC83 mu 1zz
#                ^^^ error: not a value: `1zz`
  resistor R1 10k
# ^^^^^^^^ error: not for a type-data file: `resistor`
  pins ECC83
#      ^^^^^ error: not finished: a named value comes next
"#,
    );
}
