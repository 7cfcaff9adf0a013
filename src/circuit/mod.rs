//! The circuit: parts, their legs, and the nets the legs sit in. Built once from a
//! stack of documents, then only read. Missing parts stay in the list, with no leg in any net.

mod board;
mod body;
pub mod build;
mod declare;
pub mod describe;
pub mod draft;
mod extend;
mod layer;
mod laying;
mod natural;
mod on_demand;
pub mod own_words;
pub mod part;
mod place;
mod plan;
mod sense;
mod snapshot;
mod spell;
mod target;
mod track;
mod type_data;
mod type_words;
pub mod types;
mod words;
mod wound;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::model::DocumentKind;
use crate::source::{Span, Spanned};
use crate::units::Unit;

pub use build::{Laid, build, has_types};
pub use natural::natural;
pub use part::{Body, Component, Contact, Leak, Leg, Origin, Part, State, Stray, Untold, Winding};
pub use spell::spelled_out;
pub use track::{Stretch, pot_share};
pub use type_words::LIMITS;
pub use types::{DiodeType, TubeModel, TubeType, Types};

/// A part of one circuit; an index into [`Circuit::parts`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub u32);

/// A net of one circuit; an index into [`Circuit::nets`]. Net 0 is chassis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NetId(pub u32);

/// One leg of one part: the part and the leg's index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LegId {
    /// The part.
    pub part: PartId,
    /// Index into [`Part::legs`].
    pub leg: u32,
}

/// Chassis: 0 V and the only reference.
pub const CHASSIS: NetId = NetId(0);

/// A set of joined legs.
#[derive(Debug, Clone)]
pub struct Net {
    /// The declared name, or its most telling leg (`V1a.plate`).
    pub name: String,
    /// Whether a `rail` or `net` statement declared it.
    pub declared: Option<Declared>,
    /// Legs that sit in it, in order of parts.
    pub legs: Vec<LegId>,
}

/// What a `rail` or `net` statement said.
#[derive(Debug, Clone)]
pub struct Declared {
    /// `rail`, not `net`.
    pub rail: bool,
    /// Quoted purpose.
    pub title: Option<String>,
    /// The statement.
    pub span: Span,
}

/// The mains supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mains {
    /// Nominal volts rms.
    pub volts: f64,
    /// Frequency; 50 Hz is assumed where it is not stated.
    pub hertz: Option<f64>,
    /// Lowest and highest volts; ±10 % is assumed where not stated.
    pub limits: Option<(f64, f64)>,
    /// The statement.
    pub span: Span,
}

/// What a window or a reading is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// DC volts of a net to chassis.
    Net(NetId),
    /// Volts of the first net above the second.
    Between(NetId, NetId),
    /// Current into a leg.
    Leg(LegId),
    /// Volts across a two-leg part, or its power, by the unit.
    Part(PartId),
}

/// Lowest and highest acceptable value of something.
#[derive(Debug, Clone)]
pub struct Window {
    /// Of what.
    pub target: Target,
    /// Lowest, in `unit`.
    pub low: f64,
    /// Highest, in `unit`.
    pub high: f64,
    /// Volts, amps or watts.
    pub unit: Unit,
    /// Condition's name; `idle` where none was said.
    pub condition: String,
    /// Written reason.
    pub because: Option<String>,
    /// The statement.
    pub span: Span,
}

/// A meter value taken on the bench, in the top document.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Of what.
    pub target: Target,
    /// As the text named it: `B3`, `V5.cathode`.
    pub place: String,
    /// The figure, in `unit`.
    pub value: f64,
    /// Volts or amps.
    pub unit: Unit,
    /// AC, not DC.
    pub ac: bool,
    /// Frequency of an AC reading.
    pub hertz: Option<f64>,
    /// Condition's name; `idle` where none was said.
    pub condition: String,
    /// Meter's accuracy as a fraction; 1 % is assumed where not stated.
    pub accuracy: Option<f64>,
    /// Meter's input resistance; 10 MΩ is assumed where not stated.
    pub meter_ohms: Option<f64>,
    /// The statement.
    pub span: Span,
}

/// A finding accepted with a written reason.
#[derive(Debug, Clone)]
pub struct Accept {
    /// The rule's name.
    pub rule: String,
    /// The part, leg or net; every place where `None`.
    pub on: Option<String>,
    /// Why.
    pub because: String,
    /// The statement.
    pub span: Span,
}

/// A heater winding and what it feeds.
#[derive(Debug, Clone)]
pub struct Heater {
    /// The transformer.
    pub transformer: PartId,
    /// The winding's name: `heat`.
    pub winding: String,
    /// Valves fed.
    pub valves: Vec<PartId>,
    /// The net the heaters are referred to, if any (volts of the heaters).
    pub reference: Option<NetId>,
    /// The statement.
    pub span: Span,
}

/// A whole amplifier as one document and those beneath it describe it.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// The kind of the top document.
    pub kind: DocumentKind,
    /// Its title: model, job or plan.
    pub title: String,
    /// Its second quoted text.
    pub subtitle: Option<String>,
    /// Year of make, of the whole.
    pub made: Option<u32>,
    /// `class-I` or `class-II`, if stated.
    pub insulation: Option<Spanned<String>>,
    /// All parts in natural order of their names, missing ones too. A circuit that another is made from shares with it
    /// those that are the same.
    pub parts: Arc<Vec<Arc<Part>>>,
    /// All nets; 0 is chassis.
    pub nets: Arc<Vec<Net>>,
    /// The mains, if stated.
    pub mains: Option<Mains>,
    /// Mains volts during the record's readings, if stated.
    pub mains_measured: Option<Spanned<f64>>,
    /// Heater feeds.
    pub heaters: Vec<Heater>,
    /// The jack that is driven, and its source resistance.
    pub drive: Option<(PartId, Option<f64>)>,
    /// Windows of this and all documents beneath.
    pub windows: Vec<Window>,
    /// Readings of the top document.
    pub readings: Vec<Reading>,
    /// Notes and quoted remarks of the top document.
    pub notes: Vec<own_words::Note>,
    /// Accepted findings of this and all documents beneath.
    pub accepts: Vec<Accept>,
    /// Nets split by a cut: the new net, and the net it came from.
    pub cuts: Vec<(NetId, NetId)>,
    /// Valve and diode types.
    pub types: Arc<Types>,
    by_name: Arc<BTreeMap<String, PartId>>,
    net_by_name: Arc<BTreeMap<String, NetId>>,
}

impl Circuit {
    /// The part of an id that this circuit gave out.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0 as usize]
    }

    /// The same to be changed in place, its joints left as they are. Copies of a circuit share their parts until then.
    pub fn part_mut(&mut self, id: PartId) -> &mut Part {
        Arc::make_mut(&mut Arc::make_mut(&mut self.parts)[id.0 as usize])
    }

    /// Every part likewise.
    pub fn parts_mut(&mut self) -> impl Iterator<Item = &mut Part> {
        Arc::make_mut(&mut self.parts).iter_mut().map(Arc::make_mut)
    }

    /// The net of an id that this circuit gave out.
    pub fn net(&self, id: NetId) -> &Net {
        &self.nets[id.0 as usize]
    }

    /// The part with this name, missing or not.
    pub fn find(&self, name: &str) -> Option<PartId> {
        self.by_name.get(name).copied()
    }

    /// The net with this name, declared or by its telling leg.
    pub fn find_net(&self, name: &str) -> Option<NetId> {
        self.net_by_name.get(name).copied()
    }

    /// Every part id in natural order of names.
    pub fn part_ids(&self) -> impl Iterator<Item = PartId> + use<> {
        (0..self.parts.len() as u32).map(PartId)
    }

    /// Every net id; chassis first.
    pub fn net_ids(&self) -> impl Iterator<Item = NetId> + use<> {
        (0..self.nets.len() as u32).map(NetId)
    }

    /// The net of a part's leg by the leg's name; `None` for a free leg, a missing part or no such leg.
    pub fn leg_net(&self, part: PartId, leg: &str) -> Option<NetId> {
        self.part(part).legs.iter().find(|l| l.name == leg).and_then(|l| l.net)
    }

    /// The net of a leg id.
    pub fn net_of(&self, leg: LegId) -> Option<NetId> {
        self.part(leg.part).legs[leg.leg as usize].net
    }

    /// `R5.1`, `V1a.plate`: a leg as the text would write it.
    pub fn leg_name(&self, leg: LegId) -> String {
        let part = self.part(leg.part);
        part.leg_name(leg.leg as usize)
    }

    /// The two nets of a two-leg part; `None` where it has other than two legs or one of them is free.
    pub fn ends(&self, part: PartId) -> Option<(NetId, NetId)> {
        match self.part(part).legs.as_slice() {
            [a, b] => Some((a.net?, b.net?)),
            _ => None,
        }
    }

    /// The net at the other end of a two-leg part from `net`.
    pub fn across(&self, part: PartId, net: NetId) -> Option<NetId> {
        let (a, b) = self.ends(part)?;
        if a == net {
            Some(b)
        } else if b == net {
            Some(a)
        } else {
            None
        }
    }

    /// Parts with at least one leg in a net, each once, in natural order.
    pub fn parts_on(&self, net: NetId) -> Vec<PartId> {
        let mut parts: Vec<PartId> = self.net(net).legs.iter().map(|l| l.part).collect();
        parts.dedup();
        parts
    }

    /// This amplifier with all its parts where they are, and more nets that nothing sits in, without what names them:
    /// windows, readings and heaters.
    #[must_use]
    pub fn with_nets(&self, more: impl Iterator<Item = String>) -> Circuit {
        let bare = |name: String| Net { name, declared: None, legs: Vec::new() };
        let names = self.nets.iter().map(|net| net.name.clone());
        let nets = snapshot::with_legs(names.chain(more).map(bare).collect(), &self.parts);
        let made = self.holding(Vec::clone(&self.parts), nets);
        Circuit { drive: self.drive, types: self.types.clone(), ..made }
    }

    /// This amplifier with other parts, in natural order, in the same nets; what is not another is shared.
    #[must_use]
    pub fn with_parts(&self, parts: Vec<Arc<Part>>) -> Circuit {
        let pairs = || parts.iter().zip(self.parts.iter()).filter(|(new, old)| !Arc::ptr_eq(new, old));
        let named_alike = parts.len() == self.parts.len() && pairs().all(|(new, old)| new.name == old.name);
        let joined_alike = |(new, old): (&Arc<Part>, &Arc<Part>)| {
            let nets = |part: &Arc<Part>| part.legs.iter().map(|leg| leg.net).collect::<Vec<_>>();
            nets(new) == nets(old)
        };
        let mut made = self.clone();
        if !named_alike {
            made.by_name = Arc::new(names(&parts));
            made.drive =
                self.drive.and_then(|(jack, behind)| Some((made.find(&self.part(jack).name)?, behind)));
        }
        if !named_alike || !pairs().all(joined_alike) {
            let bare = |net: &Net| Net { legs: Vec::new(), ..net.clone() };
            made.nets = Arc::new(snapshot::with_legs(self.nets.iter().map(bare).collect(), &parts));
        }
        made.parts = Arc::new(parts);
        made
    }

    /// This amplifier's head over other parts in other nets, without what names them: windows, readings, heaters.
    fn holding(&self, parts: Vec<Arc<Part>>, nets: Vec<Net>) -> Circuit {
        Circuit {
            kind: self.kind,
            title: self.title.clone(),
            subtitle: self.subtitle.clone(),
            made: self.made,
            insulation: self.insulation.clone(),
            mains: self.mains,
            mains_measured: None,
            heaters: Vec::new(),
            drive: None,
            windows: Vec::new(),
            readings: Vec::new(),
            notes: Vec::new(),
            accepts: Vec::new(),
            cuts: Vec::new(),
            types: Arc::default(),
            by_name: Arc::new(names(&parts)),
            net_by_name: Arc::new(snapshot::net_names(&nets)),
            parts: Arc::new(parts),
            nets: Arc::new(nets),
        }
    }
}

/// Parts by name.
fn names(parts: &[Arc<Part>]) -> BTreeMap<String, PartId> {
    parts.iter().enumerate().map(|(i, part)| (part.name.clone(), PartId(i as u32))).collect()
}
