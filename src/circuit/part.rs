//! One part of a circuit: its body, its legs, and what happened to it.

use std::collections::BTreeSet;

use super::NetId;
use crate::model::{Construction, Kind, Taper};
use crate::source::Span;
use crate::syntax::tree::Word;

/// One part: a place on the board and the component that sits in it, fitted or missing.
#[derive(Debug, Clone)]
pub struct Part {
    /// Designator.
    pub name: String,
    /// Kind.
    pub kind: Kind,
    /// What sits in its place now.
    pub component: Component,
    /// Its legs, in the kind's order.
    pub legs: Vec<Leg>,
    /// Whether it is there.
    pub state: State,
    /// Where it came from.
    pub origin: Origin,
    /// Quoted purpose or remark of its declaration.
    pub note: Option<String>,
    /// A statement has put another body in its place.
    pub replaced: bool,
    /// A role stated by `role`, and its reason.
    pub role: Option<(String, Option<String>)>,
    /// Looked at in the top document: checked, read, or said to differ; in an as-left record also by the record beneath it.
    pub looked_at: bool,
    /// Said to be as stock in the top document.
    pub checked: bool,
    /// Sections said to be idle on purpose: `b`.
    pub unused: Vec<String>,
    /// The statement that declared it.
    pub declared: Span,
    /// Every later statement about it, lowest document first.
    pub said: Vec<Span>,
}

/// What sits in a part's place. Another component brings all of its own: what was found of the old one goes with it,
/// which is why it is only ever replaced whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Component {
    /// What is known of it by its label (see [`Part::value`] for what it measures).
    pub body: Body,
    /// The value it measures with a leg free, or solved from an in-circuit reading.
    pub measured: Option<f64>,
    /// A resistance read across its joints in circuit, not yet solved for the part's own value.
    pub read_in_circuit: Option<f64>,
    /// Why that reading gives no value.
    pub untold: Option<Untold>,
    /// Leakage measured, of a part with two legs.
    pub leak: Option<Leak>,
    /// It conducts from leg to leg (`shorted`), a part with two legs.
    pub shorted: bool,
    /// Paths inside that should not be there, between legs or from a leg to chassis.
    pub strays: Vec<Stray>,
    /// Remarks of the statements about it, lowest document first.
    pub remarks: Vec<Word>,
}

/// A path inside a part that should not be there: a short or a leakage between two of its legs, or from one to chassis.
#[derive(Debug, Clone, PartialEq)]
pub struct Stray {
    /// Name of the leg it starts from.
    pub from: String,
    /// Name of the leg it leads to; `None` is chassis (a core, a can, a bushing).
    pub to: Option<String>,
    /// What it passes; `None` is a short.
    pub leak: Option<Leak>,
}

impl Stray {
    /// Its resistance.
    pub fn ohms(&self) -> f64 {
        self.leak.map_or(0.0, |leak| leak.volts / leak.amps)
    }
}

/// Why a resistance read in circuit gives no value of the part's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Untold {
    /// What is around the part makes these ohms, and no value of the part makes the reading of it.
    Impossible {
        /// Ohms of all else.
        rest: f64,
    },
    /// So much lies across it that the value is known to this share only.
    Vague {
        /// 0.5 is half as much or half as much again.
        accuracy: f64,
    },
    /// The reading does not go through the part.
    Hidden,
}

/// Whether a part is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// In its place (perhaps with a leg lifted).
    Fitted,
    /// Not there; `snipped` as said, and the remark.
    Missing {
        /// Cut out, legs left behind.
        snipped: bool,
        /// Quoted remark.
        note: Option<String>,
    },
    /// Other parts stand in for it.
    ReplacedBy {
        /// In series (else in parallel).
        series: bool,
        /// Their names.
        parts: Vec<String>,
    },
    /// Taken out by a plan (an added part).
    Removed,
}

/// Where a part came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// The stock spec has it.
    Stock,
    /// A layer added it, perhaps in a named group.
    Added {
        /// Group's name.
        group: Option<String>,
    },
    /// It stands in for a stock part (`replaced by series …`).
    StandsFor {
        /// The stock part.
        part: String,
    },
}

/// One leg.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leg {
    /// Name within the part: `1`, `plus`, `a.plate`, `ht.centre`.
    pub name: String,
    /// The net it sits in; `None` when free (lifted, or of a missing part).
    pub net: Option<NetId>,
    /// Net of the joint that belongs to it on the board, which stays when the leg leaves.
    pub home: NetId,
    /// Said to be lifted.
    pub lifted: bool,
    /// Said to sit in another net than its own joint's.
    pub moved: bool,
    /// Said to be alone on purpose.
    pub open: bool,
}

/// Leakage at a voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leak {
    /// Amps.
    pub amps: f64,
    /// Volts.
    pub volts: f64,
}

/// A winding of a mains or reverb transformer.
#[derive(Debug, Clone, PartialEq)]
pub struct Winding {
    /// `primary`, `ht`, `heat`; leg names begin with it.
    pub name: String,
    /// Volts rms, of each side where centre-tapped.
    pub volts: f64,
    /// Legs a, centre, b rather than a, b.
    pub centre_tapped: bool,
    /// Resistance, of each side where centre-tapped.
    pub ohms: Option<f64>,
    /// Volts rms with nothing drawn, where the document gives them; then `volts` are these, and `ohms` what the
    /// full-load volts make them.
    pub unloaded: Option<f64>,
    /// Full-load current.
    pub amps: Option<f64>,
    /// Taps: name, volts, counted from end `a` or `b`.
    pub taps: Vec<(String, f64, String)>,
}

/// A contact of a switch or relay: in `position` it joins two lugs (legs of the part).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contact {
    /// Position's name.
    pub position: String,
    /// Index of one lug.
    pub a: u32,
    /// Index of the other.
    pub b: u32,
}

/// What is known of a part's body, in SI units. `None` is unknown; nothing is assumed here.
#[derive(Debug, Clone, Default, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own that a clause says")]
pub struct Body {
    /// Main value in the kind's unit ([`Kind::unit`]).
    pub value: Option<f64>,
    /// Tolerance below and above, as fractions.
    pub tolerance: Option<(f64, f64)>,
    /// Power rating, W.
    pub power: Option<f64>,
    /// Voltage rating, V.
    pub volts: Option<f64>,
    /// Current rating, A.
    pub amps: Option<f64>,
    /// Second resistance: choke winding, `behind` of a source, primary.
    pub ohms: Option<f64>,
    /// Second inductance: primary.
    pub henries: Option<f64>,
    /// Unloaded volts of a source.
    pub unloaded: Option<f64>,
    /// A source that does not follow the mains.
    pub steady: bool,
    /// Construction.
    pub construction: Option<Construction>,
    /// Valve, diode, bridge or LED type.
    pub type_name: Option<String>,
    /// Pot's taper.
    pub taper: Option<Taper>,
    /// Shaft position, 0 … 1.
    pub at: Option<f64>,
    /// Pot it turns with.
    pub ganged: Option<String>,
    /// Taps of a pot, fractions of resistance from the bottom; legs `tap1`, `tap2` …
    pub taps: Vec<f64>,
    /// Year of make.
    pub made: Option<u32>,
    /// Fuse is slow.
    pub slow: Option<bool>,
    /// Inlet without earth.
    pub two_core: bool,
    /// Positions of a switch.
    pub positions: Vec<String>,
    /// Position it stands in.
    pub now: Option<String>,
    /// Output taps, ohms, as written (`8R`): legs of those names.
    pub output_taps: Vec<(String, f64)>,
    /// The second resistance is of half the primary.
    pub a_side: bool,
    /// Rising plate-a is rising taps; `None`: not stated.
    pub in_phase: bool,
    /// Windings of a mains or reverb transformer.
    pub windings: Vec<Winding>,
    /// Contacts of a switch or relay.
    pub contacts: Vec<Contact>,
    /// Jack contacts closed while nothing is plugged: contact leg, and the leg of this jack it touches.
    pub normals: Vec<(String, String)>,
    /// Part that a fitting sits on.
    pub on: Option<String>,
}

impl Component {
    /// One of which nothing is known but its body.
    pub fn new(body: Body) -> Component {
        Component { body, ..Component::default() }
    }

    /// Whether a meter or an eye found anything of it.
    pub fn examined(&self) -> bool {
        let Component { body: _, measured, read_in_circuit, untold: _, leak, shorted, strays, remarks: _ } =
            self;
        measured.is_some() || read_in_circuit.is_some() || leak.is_some() || *shorted || !strays.is_empty()
    }

    /// This component after `new` has come in its place, with the control as it was set: what was found of the old one
    /// is gone, what is found of both is no change of its own, and what is found of the new one alone is a change by itself.
    #[must_use]
    pub fn succeeded(&self, new: &Component) -> Component {
        let Component { body, measured, read_in_circuit, untold, leak, shorted, strays, remarks } = new;
        let mut body = body.clone();
        (body.at, body.now) = (self.body.at, self.body.now.clone());
        Component {
            body,
            measured: self.measured.filter(|_| self.measured == *measured),
            read_in_circuit: self.read_in_circuit.filter(|_| self.read_in_circuit == *read_in_circuit),
            untold: self.untold.filter(|_| self.untold == *untold),
            leak: self.leak.filter(|_| self.leak == *leak),
            shorted: self.shorted && *shorted,
            strays: self.strays.iter().filter(|stray| strays.contains(stray)).cloned().collect(),
            remarks: remarks.clone(),
        }
    }
}

impl Part {
    /// Whether it is in the amplifier.
    pub fn fitted(&self) -> bool {
        self.state == State::Fitted
    }

    /// Its value as it is: measured where measured, else by its label.
    pub fn value(&self) -> Option<f64> {
        self.component.measured.or(self.component.body.value)
    }

    /// The two nets that a path inside it joins; `None` where a leg of it is free.
    pub fn stray_nets(&self, stray: &Stray) -> Option<(NetId, NetId)> {
        let net = |leg: &str| self.leg_index(leg).and_then(|index| self.legs[index].net);
        let to = stray.to.as_ref().map_or(Some(super::CHASSIS), |leg| net(leg));
        Some((net(&stray.from)?, to?))
    }

    /// `V2a.grid to V2a.cathode`, `T1.ht.a to chassis`: the ends of a path inside it.
    pub fn stray_ends(&self, stray: &Stray) -> String {
        let to = stray.to.as_ref().map_or_else(|| "chassis".to_owned(), |leg| self.spelled(leg));
        format!("{} to {to}", self.spelled(&stray.from))
    }

    /// `V1a.plate`, `R5.1`: the leg of an index as the text would write it.
    pub fn leg_name(&self, index: usize) -> String {
        self.spelled(&self.legs[index].name)
    }

    /// A leg's name within the part as the text would write it.
    pub fn spelled(&self, leg: &str) -> String {
        if let (Kind::Tube, Some((section, electrode))) = (self.kind, leg.split_once('.')) {
            return format!("{}{section}.{electrode}", self.name);
        }
        let plain = self.kind == Kind::Capacitor
            && self.component.body.construction != Some(Construction::Electrolytic);
        let shown = match leg {
            "plus" if plain => "1",
            "minus" if plain => "2",
            other => other,
        };
        format!("{}.{shown}", self.name)
    }

    /// Contacts of a switch by the names of their lugs, in order of names: position, one lug, the other.
    pub fn named_contacts(&self) -> BTreeSet<(&str, &str, &str)> {
        let lug = |index: u32| self.legs.get(index as usize).map_or("", |leg| leg.name.as_str());
        let named = |contact: &'_ Contact| (lug(contact.a), lug(contact.b));
        let sorted = |(a, b): (_, _)| if a <= b { (a, b) } else { (b, a) };
        let ends = self.component.body.contacts.iter().map(|c| (c.position.as_str(), sorted(named(c))));
        ends.map(|(position, (a, b))| (position, a, b)).collect()
    }

    /// Tolerance below and above as fractions, and whether it is assumed (where not stated: carbon 10 %, film 5 %,
    /// metal film 1 %; capacitors film, paper and mica 10 %, ceramic 20 %, electrolytic −20/+50 %; pots 20 %).
    pub fn tolerance(&self) -> (f64, f64, bool) {
        if let Some((below, above)) = self.component.body.tolerance {
            return (below, above, false);
        }
        let (below, above) = match (self.kind, self.component.body.construction) {
            (Kind::Capacitor, Some(Construction::Electrolytic)) => (0.2, 0.5),
            (Kind::Pot | Kind::Trimmer, _)
            | (Kind::Capacitor, Some(Construction::Ceramic1 | Construction::Ceramic2)) => (0.2, 0.2),
            (Kind::Resistor, Some(Construction::MetalFilm)) => (0.01, 0.01),
            (
                Kind::Resistor,
                Some(Construction::CarbonFilm | Construction::MetalOxide | Construction::Wirewound),
            ) => (0.05, 0.05),
            _ => (0.1, 0.1),
        };
        (below, above, true)
    }

    /// Index of a leg by name; `1`/`2` name the legs of any two-leg part.
    pub fn leg_index(&self, name: &str) -> Option<usize> {
        self.legs.iter().position(|l| l.name == name).or(match (name, self.legs.len()) {
            ("1", 2) => Some(0),
            ("2", 2) => Some(1),
            _ => None,
        })
    }
}
