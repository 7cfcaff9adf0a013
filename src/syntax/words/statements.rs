//! The statements: their words, the documents they stand in, what they mean, and an example.

use super::super::tree::Said;
use crate::model::DocumentKind;
use DocumentKind::{AsFound, AsLeft, Plan, Stock, TypeData};

/// One statement of the language.
#[derive(Debug, Clone, Copy)]
pub struct StatementWord {
    /// its keyword: the first word, or the verb after names; [`A_PART`] for parts
    pub word: &'static str,
    /// kinds of documents that take it
    pub documents: &'static [DocumentKind],
    /// how it is written
    pub slots: &'static str,
    /// one sentence
    pub meaning: &'static str,
    /// a complete line
    pub example: &'static str,
    /// the word that says the like in other kinds of documents
    pub instead: &'static [&'static str],
}

/// Stands for the keyword of any kind of part in the table of statements.
pub const A_PART: &str = "a part";

const ANY: &[DocumentKind] = &DocumentKind::ALL;
const CIRCUIT: &[DocumentKind] = &[Stock, AsFound, Plan, AsLeft];
const RECORD: &[DocumentKind] = &[AsFound, AsLeft];
const PLANNED: &[DocumentKind] = &[Plan];

const fn row(
    word: &'static str,
    documents: &'static [DocumentKind],
    slots: &'static str,
    meaning: &'static str,
    example: &'static str,
    instead: &'static [&'static str],
) -> StatementWord {
    StatementWord { word, documents, slots, meaning, example, instead }
}

/// Every statement, in the order of the reference.
#[rustfmt::skip]
pub const STATEMENTS: &[StatementWord] = &[
    row("stock", &[Stock], "stock \"MODEL\" [\"subtitle\"] [of \"FILE\"] [pinned HEX]",
        "opens a stock spec: a complete circuit, or a variant of one",
        "stock \"Sedge 45\" \"two-channel head, 1974 board\"", &[]),
    row("as-found", &[AsFound], "as-found \"JOB\" of \"FILE\" [pinned HEX]",
        "opens an as-found record: what the bench found in an amplifier of that spec",
        "as-found \"job 0412\" of \"sedge-45.amp\"", &[]),
    row("plan", &[Plan], "plan \"TITLE\" for \"FILE\" [pinned HEX]",
        "opens a plan: what is to be done to what was found",
        "plan \"restore the voice\" for \"job-0412.amp\" pinned 9f3a51c2d4e6b708", &[]),
    row("as-left", &[AsLeft], "as-left \"JOB\" after \"FILE\" [pinned HEX]",
        "opens an as-left record: what was done of the plan",
        "as-left \"job 0412 done\" after \"plan-0412.amp\"", &[]),
    row("type-data", &[TypeData], "type-data \"TITLE\"",
        "opens a file of valve and diode types",
        "type-data \"Small-signal triodes\"", &[]),
    row("types", ANY, "types from \"FILE\"",
        "takes in further type data, by relative path",
        "types from \"my-valves.amp\"", &[]),
    row("note", ANY, "note \"TEXT\"",
        "a remark that reports show",
        "note \"hum at switch-on, goes after a minute\"", &[]),
    row("made", &[Stock], "made YEAR",
        "the year of make, from which ages are judged",
        "made 1968", &[]),
    row("mains", &[Stock, AsFound, AsLeft], "mains VOLTS [50Hz] [limits VOLTS to VOLTS]",
        "the mains; in a layer, the mains at the time of its readings",
        "mains 230V 50Hz limits 207V to 253V", &[]),
    row("insulation", &[Stock], "insulation class-I | class-II",
        "the protection class: with or without protective earth",
        "insulation class-I", &[]),
    row("rail", CIRCUIT, "rail NAME [\"purpose\"] [window VALUE to VALUE [in CONDITION] [because \"TEXT\"]]",
        "declares a net that feeds stages from the supply",
        "rail B3 \"phase inverter\" window 290V to 330V", &[]),
    row("net", CIRCUIT, "net NAME [\"purpose\"] [window VALUE to VALUE [in CONDITION] [because \"TEXT\"]]",
        "declares a net",
        "net STK \"stack middle\"", &[]),
    row(A_PART, &[Stock], "KIND NAME [value | unknown] [ratings] [construction] [made YEAR] [\"note\"] [legs]",
        "declares a part, its body and where its legs sit",
        "resistor R4 100k 1W from B4 to V1a.plate made 1974", &["added", "fit"]),
    row("winding", CIRCUIT,
        "winding PART.NAME VOLTS | VOLTS-0-VOLTS [OHMS [a side] | unloaded VOLTS] [current AMPS] [taps NAME VOLTS from END…] \
         [from PLACE to PLACE] [centre PLACE] [a PLACE] [b PLACE]",
        "declares a winding of a mains transformer",
        "winding T1.ht 330V-0-330V 62R a side current 150mA taps bias 52V from a centre chassis", &[]),
    row("heater", CIRCUIT, "heater PART.WINDING feeds NAME… [reference END to PLACE]",
        "says which valves a winding heats, and what holds it near chassis",
        "heater T1.heat feeds V1 V2 V5 reference centre to chassis", &[]),
    row("contact", CIRCUIT, "contact NAME POSITION joins PLACE to PLACE",
        "a contact of a switch or relay that is closed in a position; all others are open",
        "contact S2 play joins RAW to SW", &[]),
    row("unused", &[Stock], "SECTION unused [grid PLACE] [cathode PLACE] …",
        "an idle half of a valve is meant to be idle",
        "V2b unused grid V2b.cathode cathode chassis", &[]),
    row("role", CIRCUIT, "role NAME ROLE [\"why\"]",
        "says what a part is for, where the circuit does not show it",
        "role R5 grid-stopper \"stops blocking\"", &[]),
    row("open", CIRCUIT, "open LEG…",
        "these legs are meant to be alone",
        "open V2b.plate T2.4R", &[]),
    row("window", &[Stock, Plan], "window PLACE VALUE to VALUE [in CONDITION] [because \"TEXT\"]",
        "lowest and highest acceptable voltage of a net, current of a leg or power of a part",
        "window B3 290V to 330V in high-mains because \"period practice\"", &["meter"]),
    row("drive", CIRCUIT, "drive JACK [behind OHMS]",
        "the signal source of the AC analysis; other inputs are empty",
        "drive J1 behind 10k", &[]),

    row("checked", RECORD, "NAME… checked",
        "looked at and as stock",
        "R3 R4 R8 checked", &["accept"]),
    row("reads", RECORD, "NAME reads VALUE [in circuit] [\"note\"]",
        "the part's own value by the meter; `in circuit`: between its joints, legs not freed",
        "R7 reads 131k in circuit", &[]),
    row("leaks", RECORD, "NAME leaks AMPS at VOLTS | LEG leaks AMPS at VOLTS to PLACE [\"note\"]",
        "a leakage: of a part with two legs, between two legs of one part, or from a leg to chassis",
        "C33 leaks 12uA at 250V", &[]),
    row("missing", RECORD, "NAME missing [snipped] [\"note\"]",
        "the part's legs have left their joints",
        "C3 missing snipped \"legs still in the board\"", &["remove"]),
    row("replaced", RECORD, "NAME replaced BODY | by series NAME BODY, NAME BODY | by parallel NAME BODY, NAME BODY",
        "another part sits in the same joints; what is not said of it is unknown",
        "R9 replaced by series R9a 2k7 0.5W, R9b 2k2 0.5W \"was 5k6\"", &["change"]),
    row("lifted", RECORD, "NAME lifted at PLACE | LEG lifted",
        "one leg is out of its joint",
        "R40 lifted at B2", &["move"]),
    row("moved", RECORD, "LEG moved to PLACE [\"note\"]",
        "a leg sits in the net of another place",
        "C12.2 moved to R15.1 \"wrong hole\"", &["move"]),
    row("swapped", RECORD, "NAME swapped with NAME | NAME LEG swapped with LEG",
        "two sections, parts or legs have changed places",
        "VR1 top swapped with bottom", &["move"]),
    row("reversed", RECORD, "NAME reversed [\"note\"]",
        "a two-leg part's legs have changed joints",
        "C40 reversed", &["move"]),
    row("shorted", RECORD, "NAME shorted | SECTION shorted | WINDING shorted | LEG shorted to PLACE [\"note\"]",
        "the part itself conducts: a part with two legs, a rectifier's section, a winding, or two legs of one part",
        "V2a.grid shorted to V2a.cathode", &["change"]),
    row("added", RECORD, "added PART [in \"GROUP\"]",
        "a part that stock does not have",
        "added resistor R91 100k 0.5W from B4 to V2b.plate in \"extra stage\"", &["fit", A_PART]),
    row("joined", RECORD, "joined LEG to PLACE [\"note\"]",
        "a leg is joined to a further place",
        "joined R91.2 to B4", &["move"]),
    row("cut", RECORD, "cut NET leaving LEG… on NAME [\"note\"]",
        "a trace is cut: the legs leave the net for a new one",
        "cut B3 leaving R42.2 C41.plus on B3x \"trace burnt at V5\"", &["move"]),
    row("bridged", RECORD, "bridged PLACE to PLACE [with wire NAME] [through OHMS] [\"note\"]",
        "two places are joined by a wire, by solder, or by a carbonised path",
        "bridged B3 to B3x with wire W1", &["rejoin", "fit"]),
    row("used", RECORD, "SECTION used [in \"GROUP\"]",
        "a section idle in stock has been put to use",
        "V2b used in \"extra stage\"", &[]),
    row("meter", RECORD,
        "meter PLACE [to PLACE] VOLTS | AMPS [ac] [at HERTZ] [in CONDITION] [with 1% 10M] [\"note\"]",
        "a reading: volts to chassis, between places or across a part, or current into a leg",
        "meter V1a.plate to V1b.plate 3V ac at 1kHz in standby with 1% 10M", &["window"]),
    row("set", &[AsFound, Plan, AsLeft], "set NAME SHARE | POSITION",
        "how a control or switch is set",
        "set VR1 50%", &[]),

    row("restore", PLANNED, "restore NAME… | restore all [except NAME…]",
        "undoes every difference that names the part",
        "restore all except R9 R7", &["checked", "replaced"]),
    row("change", PLANNED, "change NAME to BODY",
        "another value or type in the same joints",
        "change R9 to 8k2 0.5W", &["replaced"]),
    row("fit", PLANNED, "fit PART [in \"GROUP\"]",
        "a part is to be added",
        "fit resistor R95 220k 0.5W from VR1.top to chassis", &["added", A_PART]),
    row("remove", PLANNED, "remove NAME | remove \"GROUP\"",
        "an added part or group is to go",
        "remove \"extra stage\"", &["missing"]),
    row("move", PLANNED, "move LEG to PLACE [\"note\"]",
        "a leg is to sit in the net of another place",
        "move C12.2 to R15.1", &["moved"]),
    row("rejoin", PLANNED, "rejoin NAME to NET [\"note\"]",
        "undoes a cut, and takes out wires that only bridged it",
        "rejoin B3x to B3 \"trace rebuilt, W1 out\"", &["bridged"]),
    row("accept", PLANNED, "accept RULE [on PLACE] because \"REASON\"",
        "a finding is known and stays, for a written reason",
        "accept part-drifted on R7 because \"owner keeps the worn-in voice\"", &["note"]),
    row("done", &[AsLeft], "done NAME… | done all",
        "steps of the plan that were carried out",
        "done R9 C3", &[]),

    row("tube-type", ANY, "tube-type NAME CONSTRUCTION [also NAME…] [base BASE] [\"description\"]",
        "opens a valve type",
        "tube-type ECC83 double-triode also 12AX7 7025 base B9A \"high-mu double triode\"", &[]),
    row("diode-type", ANY, "diode-type NAME [also NAME…] KEY VALUE… [\"description\"]",
        "a diode type",
        "diode-type 1N4007 saturation 7n emission 1.8 inverse 1000V current 1A \"silicon rectifier\"", &[]),
    row("pins", ANY, "pins TYPE ELECTRODE PIN…",
        "the base connections of a valve type",
        "pins ECC83 a.plate 6 a.grid 7 a.cathode 8 heater1 4 heater2 5 heater-centre 9", &[]),
    row("heater-data", ANY, "heater-data TYPE VOLTS AMPS [directly-heated|indirectly-heated]",
        "the heater of a valve type, and whether its cathode warms slowly over it or at once by itself",
        "heater-data ECC83 6.3V 300mA", &[]),
    row("model", ANY, "model TYPE KEY VALUE…",
        "the parameters of a valve type's equations",
        "model ECC83 mu 100 ex 1.4 kg1 1060 kp 600 kvb 300 spread 20%", &[]),
    row("limits", ANY, "limits TYPE SYSTEM KEY VALUE…",
        "the maximum ratings of a valve type, and in which rating system",
        "limits ECC83 design-centre plate 300V plate-cold 550V plate-power 1W cathode-current 8mA", &[]),
    row("capacitances", ANY, "capacitances TYPE KEY FARADS…",
        "the capacitances between electrodes of a valve type",
        "capacitances ECC83 grid-plate 1.7pF input 1.6pF output 0.46pF", &[]),
    row("provenance", ANY, "provenance TYPE LINE… \"SOURCE\" [BASIS]",
        "where the figures of a line come from, and whether they were read or are from memory",
        "provenance ECC83 limits \"data sheet of 1969\" memory", &[]),
];

impl StatementWord {
    /// The row of a keyword.
    pub fn named(word: &str) -> Option<&'static StatementWord> {
        STATEMENTS.iter().find(|row| row.word == word)
    }

    /// The row of a statement.
    pub fn of(said: &Said) -> &'static StatementWord {
        StatementWord::named(word_of(said)).expect("every statement has a row")
    }

    /// Whether it is the first word of its line, and not a verb after names.
    pub fn opens_line(&self) -> bool {
        self.slots.starts_with(self.word)
    }

    /// Whether documents of a kind take it.
    pub fn stands_in(&self, kind: DocumentKind) -> bool {
        self.documents.contains(&kind)
    }
}

/// The keyword of a statement; [`A_PART`] for a part.
fn word_of(said: &Said) -> &'static str {
    match said {
        Said::Header(header) => header.kind.value.word(),
        Said::TypesFrom(_) => "types",
        Said::Net { rail: true, .. } => "rail",
        Said::Net { rail: false, .. } => "net",
        Said::Mains { .. } => "mains",
        Said::Insulation(_) => "insulation",
        Said::Made(_) => "made",
        Said::Note(_) => "note",
        Said::Part(_) => A_PART,
        Said::Winding(_) => "winding",
        Said::Heater { .. } => "heater",
        Said::Contact { .. } => "contact",
        Said::Unused { .. } => "unused",
        Said::Role { .. } => "role",
        Said::Open(_) => "open",
        Said::Window { .. } => "window",
        Said::Drive { .. } => "drive",
        Said::Type(line) => line.line.value.word(),
        Said::Checked(_) => "checked",
        Said::Reads { .. } => "reads",
        Said::Leaks { .. } => "leaks",
        Said::Missing { .. } => "missing",
        Said::Replaced { change: false, .. } => "replaced",
        Said::Replaced { change: true, .. } => "change",
        Said::Lifted { .. } => "lifted",
        Said::Moved { plan: false, .. } => "moved",
        Said::Moved { plan: true, .. } => "move",
        Said::Swapped { .. } => "swapped",
        Said::Reversed { .. } => "reversed",
        Said::Shorted { .. } => "shorted",
        Said::Added { fit: false, .. } => "added",
        Said::Added { fit: true, .. } => "fit",
        Said::Joined { .. } => "joined",
        Said::Cut { .. } => "cut",
        Said::Bridged { .. } => "bridged",
        Said::Used { .. } => "used",
        Said::Meter(_) => "meter",
        Said::Set { .. } => "set",
        Said::Restore { .. } => "restore",
        Said::Remove { .. } => "remove",
        Said::Rejoin { .. } => "rejoin",
        Said::Accept { .. } => "accept",
        Said::Done { .. } => "done",
    }
}
