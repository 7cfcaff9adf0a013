//! The kinds of parts: their words, what may be said of each, and an example.

use crate::model::Kind;

/// One thing that may be said of a part's body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// the main value
    Value,
    /// `5%`, `-20%/+50%`
    Tolerance,
    /// a power rating
    Power,
    /// a voltage rating
    Volts,
    /// a current rating
    Amps,
    /// a resistance beside the main value
    Ohms,
    /// an inductance beside the main value
    Henries,
    /// `behind 85R`
    Behind,
    /// `unloaded 505V`
    Unloaded,
    /// `steady`
    Steady,
    /// `film`, `electrolytic` …
    Construction,
    /// `ECC83`
    TypeName,
    /// `lin`, `log`, `reverse-log`
    Taper,
    /// `at 60%`
    At,
    /// `ganged with VR2`
    Ganged,
    /// `tap 50% to Z`
    Tap,
    /// `slow`, `fast`
    Speed,
    /// `two-core`
    TwoCore,
    /// `positions on off now on`
    Positions,
    /// `primary 6k6 90R a side 30H taps 4R 8R in phase`
    Windings,
    /// `normals tip-contact to J3.tip`
    Normals,
    /// `on V1`
    On,
}

impl Slot {
    /// In words, for messages.
    pub fn words(self) -> &'static str {
        match self {
            Slot::Value => "main value",
            Slot::Tolerance => "tolerance",
            Slot::Power => "power rating",
            Slot::Volts => "voltage rating",
            Slot::Amps => "current rating",
            Slot::Ohms => "winding resistance",
            Slot::Henries => "inductance",
            Slot::Behind => "`behind` resistance",
            Slot::Unloaded => "`unloaded` voltage",
            Slot::Steady => "`steady`",
            Slot::Construction => "construction",
            Slot::TypeName => "type name",
            Slot::Taper => "taper",
            Slot::At => "shaft position",
            Slot::Ganged => "`ganged with`",
            Slot::Tap => "tap",
            Slot::Speed => "`slow` or `fast`",
            Slot::TwoCore => "`two-core`",
            Slot::Positions => "positions",
            Slot::Windings => "transformer primary, side, phase or taps",
            Slot::Normals => "`normals`",
            Slot::On => "`on` another part",
        }
    }
}

/// One kind of part in the language.
#[derive(Debug, Clone, Copy)]
pub struct KindWord {
    /// the kind
    pub kind: Kind,
    /// words that mean the same
    pub also: &'static [&'static str],
    /// what may be said of its body; every part takes a quoted note, `unknown` and `made 1968` besides
    pub takes: &'static [Slot],
    /// how it is written
    pub slots: &'static str,
    /// a complete line
    pub example: &'static str,
}

impl KindWord {
    /// The row of a kind.
    pub fn of(kind: Kind) -> &'static KindWord {
        &KINDS[Kind::ALL.iter().position(|k| *k == kind).expect("every kind has a row")]
    }
}

const fn row(
    kind: Kind,
    also: &'static [&'static str],
    takes: &'static [Slot],
    slots: &'static str,
    example: &'static str,
) -> KindWord {
    KindWord { kind, also, takes, slots, example }
}

use Slot::{
    Amps, At, Behind, Construction, Ganged, Henries, Normals, Ohms, On, Positions, Power, Speed, Steady, Tap,
    Taper, Tolerance, TwoCore, TypeName, Unloaded, Value, Volts, Windings,
};

/// Every kind, in the order of [`Kind::ALL`].
#[rustfmt::skip]
pub const KINDS: [KindWord; 27] = [
    row(Kind::Resistor, &[], &[Value, Tolerance, Power, Volts, Construction],
        "resistor NAME OHMS [5%] [0.5W] [400V] [construction] [from PLACE to PLACE]",
        "resistor R4 100k 5% 1W carbon-film from B4 to V1a.plate"),
    row(Kind::Capacitor, &[], &[Value, Tolerance, Volts, Construction],
        "capacitor NAME FARADS [10%] [400V] [construction] [from PLACE to PLACE | plus PLACE minus PLACE]",
        "capacitor C40 47u -20%/+50% 500V electrolytic plus B1 minus chassis"),
    row(Kind::Inductor, &[], &[Value, Tolerance, Amps, Ohms],
        "inductor NAME HENRIES [OHMS] [100mA] [from PLACE to PLACE]",
        "inductor L2 500mH 45R from VR2.wiper to chassis"),
    row(Kind::Choke, &[], &[Value, Tolerance, Volts, Amps, Ohms],
        "choke NAME HENRIES [OHMS] [current 120mA] [from PLACE to PLACE]",
        "choke L1 10H 105R current 120mA from SW to B1"),
    row(Kind::Pot, &[], &[Value, Tolerance, Power, Volts, Construction, Taper, At, Ganged, Tap],
        "pot NAME OHMS [lin | log | reverse-log] [top PLACE] [wiper PLACE] [bottom PLACE] [at 60%] \
         [tap 50% to PLACE] [ganged with NAME]",
        "pot VR1 1M log \"Gain\" top C2.2 wiper R5.1 bottom chassis at 60% tap 50% to Z ganged with VR2"),
    row(Kind::Trimmer, &[], &[Value, Tolerance, Power, Volts, Construction, Taper, At],
        "trimmer NAME OHMS [top PLACE] [wiper PLACE] [bottom PLACE] [at 40%]",
        "trimmer VR9 22k lin top R60.2 wiper BIAS bottom R61.1 at 40%"),
    row(Kind::Tube, &["valve"], &[TypeName],
        "tube NAME TYPE [plate PLACE] [grid PLACE] [cathode PLACE] [screen PLACE] [suppressor PLACE] [plates PLACE PLACE]",
        "tube V6 GZ34 plates T1.ht.a T1.ht.b cathode RAW"),
    row(Kind::Diode, &[], &[TypeName, Volts, Amps],
        "diode NAME [TYPE] [1000V] [1A] [anode PLACE] [cathode PLACE]",
        "diode D1 1N4007 1000V 1A anode T1.ht.a cathode RAW"),
    row(Kind::Zener, &[], &[Value, Tolerance, Power, TypeName],
        "zener NAME VOLTS [1W] [TYPE] [anode PLACE] [cathode PLACE]",
        "zener D5 12V 5% 1W anode chassis cathode R70.1"),
    row(Kind::Bridge, &[], &[TypeName, Volts, Amps],
        "bridge NAME [TYPE] [800V] [2A] [ac PLACE PLACE] [plus PLACE] [minus PLACE]",
        "bridge BR1 800V 2A ac T1.ht.a T1.ht.b plus RAW minus chassis"),
    row(Kind::Led, &[], &[TypeName, Amps],
        "led NAME [TYPE] [20mA] [anode PLACE] [cathode PLACE]",
        "led D7 LR3 20mA anode R71.2 cathode chassis"),
    row(Kind::MainsTransformer, &[], &[Power],
        "transformer NAME mains, then a `winding` line for each winding",
        "transformer T1 mains 150W \"mains transformer\""),
    row(Kind::OutputTransformer, &[], &[Value, Power, Ohms, Henries, Windings],
        "output-transformer NAME primary OHMS [90R a side] [30H] taps 4R 8R 16R [plate PLACE | plates PLACE PLACE] \
         supply PLACE [common PLACE] [8R PLACE] [in phase]",
        "output-transformer T2 primary 6k6 90R a side 30H taps 4R 8R 16R plates V4.plate V5.plate supply B1 \
         common chassis 8R LS1.1 in phase"),
    row(Kind::ReverbTransformer, &[], &[Value, Power, Ohms, Henries, Windings],
        "transformer NAME reverb primary OHMS [OHMS] [HENRIES] taps 8R [plate PLACE] [supply PLACE] [common PLACE]",
        "transformer T3 reverb primary 22k 1k1 taps 8R plate V3.plate supply B2 common chassis"),
    row(Kind::Switch, &[], &[Volts, Amps, Positions],
        "switch NAME positions WORD WORD… now WORD, then a `contact` line for each closed pair",
        "switch S2 \"Standby\" positions standby play now play"),
    row(Kind::Relay, &[], &[Volts, Amps, Positions],
        "relay NAME positions WORD WORD… now WORD, then a `contact` line for each closed pair",
        "relay K1 12V positions clean drive now clean"),
    row(Kind::Jack, &[], &[Normals],
        "jack NAME [tip PLACE] [sleeve PLACE] [normals tip-contact to PLACE]",
        "jack J4 \"Return\" tip R50.1 sleeve chassis normals tip-contact to J3.tip"),
    row(Kind::Fuse, &[], &[Value, Volts, Speed],
        "fuse NAME AMPS [250V] [slow | fast] [from PLACE to PLACE]",
        "fuse F1 1A 250V slow from P1.live to S1.a1"),
    row(Kind::Lamp, &[], &[Value, Amps, Power],
        "lamp NAME VOLTS [150mA] [1W] [from PLACE to PLACE]",
        "lamp LP1 6.3V 150mA from T1.heat.a to T1.heat.b"),
    row(Kind::Link, &[], &[Amps],
        "link NAME [from PLACE to PLACE]",
        "link W1 \"star ground to chassis\" from STAR to chassis"),
    row(Kind::Inlet, &[], &[Volts, Amps, TwoCore],
        "inlet NAME [live PLACE] [neutral PLACE] [earth PLACE] [two-core]",
        "inlet P1 live F1.1 neutral S1.b1 earth chassis"),
    row(Kind::Speaker, &[], &[Value, Power],
        "speaker NAME OHMS [30W] [from PLACE to PLACE]",
        "speaker LS1 8R 30W from T2.8R to T2.common"),
    row(Kind::Thermistor, &[], &[Value, Tolerance, Power, Amps, Volts],
        "thermistor NAME COLD-OHMS [5A] [from PLACE to PLACE]",
        "thermistor TH1 10R 5A from S1.a2 to T1.primary.a"),
    row(Kind::Varistor, &["mov"], &[Value, Tolerance, Power, Amps],
        "varistor NAME VOLTS [from PLACE to PLACE]",
        "varistor RV1 275V from P1.live to P1.neutral"),
    row(Kind::Source, &[], &[Value, Tolerance, Amps, Behind, Unloaded, Steady],
        "source NAME VOLTS [behind OHMS] [unloaded VOLTS] [steady] [plus PLACE] [minus PLACE]",
        "source HT 462V behind 85R unloaded 505V plus B1 minus chassis"),
    row(Kind::Fitting, &[], &[On],
        "fitting NAME [on NAME] \"what it is\"",
        "fitting SH1 \"valve shield\" on V1"),
    row(Kind::Can, &[], &[Volts],
        "can NAME [common PLACE]; its sections are capacitors C1a, C1b …",
        "can C1 450V common chassis"),
];
