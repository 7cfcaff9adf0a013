//! The same amplifier told by another hand: other designators and net names, another order of statements, joins said
//! from the other end, symmetric parts the other way round; and with known edits.

#![allow(dead_code, reason = "tests and the benchmark each use a part of it")]

pub(crate) mod edits;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use asfound::circuit::{Circuit, PartId};
use asfound::model::Kind;
use asfound::source::{Sources, Spanned};
use asfound::syntax::document::parse;
use asfound::syntax::print::statement;
use asfound::syntax::tree::{LegSaid, PartSaid, Said, Statement, WindingSaid, Word};

/// Always the same numbers from the same seed.
pub(crate) struct Numbers(pub u64);

impl Numbers {
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % bound.max(1)
    }

    pub(crate) fn coin(&mut self) -> bool {
        self.below(2) == 0
    }

    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            list.swap(last, self.below(last + 1));
        }
    }
}

/// One part of a telling.
#[derive(Clone)]
pub(crate) struct Told {
    pub said: PartSaid,
    /// Leg and net.
    pub legs: Vec<(String, Option<usize>)>,
    /// Whether its halves are exchanged.
    turned: bool,
}

/// An amplifier as it can be told in many ways.
#[derive(Clone)]
pub(crate) struct Telling {
    statements: Vec<Statement>,
    pub parts: BTreeMap<String, Told>,
    /// Declared nets: whether a rail, and the name.
    pub nets: Vec<Option<(bool, String)>>,
}

impl Telling {
    /// Of a stock spec and its circuit.
    pub(crate) fn of(text: &str, circuit: &Circuit) -> Telling {
        let mut sources = Sources::default();
        let file = sources.add(asfound::source::Source::new("told.amp", text));
        let (document, _) = parse(file, text);
        let statements: Vec<Statement> = document.statements().cloned().collect();
        let mut parts = BTreeMap::new();
        for statement in &statements {
            if let Said::Part(said) = &statement.said {
                let id = circuit.find(&said.name.value).expect("a declared part");
                parts.insert(said.name.value.clone(), told(said, circuit, id));
            }
        }
        let declared = |net: &asfound::circuit::Net| {
            net.declared.as_ref().map(|declared| (declared.rail, net.name.clone()))
        };
        Telling { statements, parts, nets: circuit.nets.iter().map(declared).collect() }
    }

    /// Legs in a net.
    pub(crate) fn crowd(&self, net: usize) -> usize {
        self.parts.values().flat_map(|told| &told.legs).filter(|(_, at)| *at == Some(net)).count()
    }

    /// Tells it anew. Gives the text and the new name of each part.
    pub(crate) fn tell(&self, numbers: &mut Numbers) -> (String, BTreeMap<String, String>) {
        let mut turned = self.clone();
        for told in turned.parts.values_mut() {
            told.turn(numbers);
        }
        Teller::new(&turned, numbers).tell()
    }
}

fn told(said: &PartSaid, circuit: &Circuit, id: PartId) -> Told {
    let legs = circuit.part(id).legs.iter();
    let legs = legs.map(|leg| (leg.name.clone(), leg.net.map(|net| net.0 as usize))).collect();
    Told { said: said.clone(), legs, turned: false }
}

impl Told {
    /// The other way round where that makes no difference: ends of a symmetric part, halves of a double triode.
    fn turn(&mut self, numbers: &mut Numbers) {
        let kind = self.said.kind.value;
        let polar = self.said.spec.construction.as_ref().is_some_and(|c| c.value.word() == "electrolytic");
        if self.legs.len() == 2 && kind.symmetric() && !polar && numbers.coin() {
            let other = self.legs[0].1;
            self.legs[0].1 = self.legs[1].1;
            self.legs[1].1 = other;
        }
        let halves = kind == Kind::Tube && self.legs.iter().any(|(leg, _)| leg == "b.grid");
        if halves && numbers.coin() {
            for (leg, _) in &mut self.legs {
                let (half, electrode) = leg.split_once('.').expect("a section");
                *leg = format!("{}.{electrode}", if half == "a" { "b" } else { "a" });
            }
            self.turned = true;
        }
    }
}

/// Puts one telling into words.
struct Teller<'a> {
    telling: &'a Telling,
    numbers: &'a mut Numbers,
    /// New names of parts.
    names: BTreeMap<String, String>,
    /// How each net is referred to; `None` for a leg alone.
    places: Vec<Option<String>>,
    /// Legs that sit in each net: part, and the leg's index.
    seats: Vec<Vec<(&'a String, usize)>>,
    lines: Vec<String>,
}

impl<'a> Teller<'a> {
    fn new(telling: &'a Telling, numbers: &'a mut Numbers) -> Teller<'a> {
        let mut order: Vec<&String> = telling.parts.keys().collect();
        numbers.shuffle(&mut order);
        let names = order.into_iter().enumerate();
        let names = names.map(|(i, name)| (name.clone(), format!("X{}", i * 3 + 101))).collect();
        let mut seats = vec![Vec::new(); telling.nets.len()];
        for (name, told) in &telling.parts {
            for (leg, (_, net)) in told.legs.iter().enumerate() {
                if let Some(net) = net {
                    seats[*net].push((name, leg));
                }
            }
        }
        Teller { telling, numbers, names, places: Vec::new(), seats, lines: Vec::new() }
    }

    fn tell(mut self) -> (String, BTreeMap<String, String>) {
        let telling = self.telling;
        for (net, declared) in telling.nets.iter().enumerate() {
            let place = self.place(net, declared.as_ref());
            self.places.push(place);
        }
        let mut order: Vec<&Statement> = telling.statements.iter().collect();
        self.numbers.shuffle(&mut order);
        for statement in order {
            self.statement(statement);
        }
        let declared: BTreeSet<&String> = telling
            .statements
            .iter()
            .filter_map(|s| if let Said::Part(part) = &s.said { Some(&part.name.value) } else { None })
            .collect();
        for (_, told) in telling.parts.iter().filter(|(name, _)| !declared.contains(name)) {
            self.part(told);
        }
        let mut text = String::from("stock \"told anew\"\n");
        self.lines.sort();
        self.numbers.shuffle(&mut self.lines);
        for line in &self.lines {
            let _ = writeln!(text, "{line}");
        }
        (text, self.names)
    }

    /// Chassis, a name of its own, or a leg that sits in it.
    fn place(&mut self, net: usize, declared: Option<&(bool, String)>) -> Option<String> {
        if net == 0 {
            return Some("chassis".into());
        }
        let telling = self.telling;
        let own = |(name, leg): &(&'a String, usize)| {
            let told = &telling.parts[*name];
            (*name, told, &told.legs[*leg].0)
        };
        let legs: Vec<(&String, &Told, &String)> = self.seats[net].iter().map(own).collect();
        if let Some((rail, _)) = declared {
            self.lines.push(format!("{} N{net}", if *rail { "rail" } else { "net" }));
            return Some(format!("N{net}"));
        }
        // Legs that another statement has to bring forth first are no places to start from, nor is one of a rectifier's
        // plates, which are said together.
        let plain = |told: &Told, leg: &str| {
            let kind = told.said.kind.value;
            let rectifier = leg.split_once('.').is_some_and(|(_, electrode)| electrode == "plate")
                && !told.legs.iter().any(|(leg, _)| leg == "b.grid");
            (kind == Kind::Tube && !rectifier)
                || kind == Kind::Pot
                || (kind.legs().len() == 2 && kind != Kind::Jack)
        };
        let anchors: Vec<_> = legs.iter().filter(|(_, told, leg)| plain(told, leg)).collect();
        // A rectifier's plate is named only beside the other.
        let valve = legs.iter().any(|(_, told, _)| told.said.kind.value == Kind::Tube);
        if legs.len() < 2 && !valve {
            return None;
        }
        if anchors.is_empty() || self.numbers.coin() {
            self.lines.push(format!("net N{net}"));
            return Some(format!("N{net}"));
        }
        let (name, told, leg) = anchors[self.numbers.below(anchors.len())];
        Some(spelled(&self.names[*name], told.said.kind.value, leg))
    }

    fn part(&mut self, told: &Told) {
        let mut said = told.said.clone();
        let kind = said.kind.value;
        let name = self.names[&said.name.value].clone();
        let word = |text: &str, like: &Word| Word { value: text.to_owned(), span: like.span };
        let at = |leg: &str| told.legs.iter().find(|(name, _)| name == leg).and_then(|(_, net)| *net);
        for (contact, place) in &mut said.spec.normals {
            if let Some(text) = at(&contact.value).and_then(|net| self.places[net].clone()) {
                place.value = text;
            }
        }
        let contacts: Vec<String> = said.spec.normals.iter().map(|(leg, _)| leg.value.clone()).collect();
        let own = |leg: &str| spelled(&name, kind, leg);
        let extended = matches!(kind, Kind::Switch | Kind::Relay | Kind::MainsTransformer);
        let mut legs: Vec<LegSaid> = Vec::new();
        for (leg, net) in told.legs.iter().filter(|(leg, _)| !extended && !contacts.contains(leg)) {
            let Some(place) = net.and_then(|net| self.places[net].clone()) else { continue };
            if place != own(leg) {
                let like = &said.name;
                legs.push(LegSaid { leg: word(leg, like), place: word(&place, like) });
            }
        }
        self.numbers.shuffle(&mut legs);
        said.legs = legs;
        said.name.value.clone_from(&name);
        for other in [&mut said.spec.ganged, &mut said.spec.on].into_iter().flatten() {
            other.value.clone_from(&self.names[&other.value]);
        }
        let line =
            statement(&Statement { span: said.name.span, word: said.name.span, said: Said::Part(said) });
        self.lines.push(line);
    }

    fn statement(&mut self, said: &Statement) {
        let mut told = said.clone();
        match &mut told.said {
            Said::Part(part) => {
                if let Some(told) = self.telling.parts.get(&part.name.value).cloned() {
                    self.part(&told);
                }
                return;
            }
            Said::Header(_) | Said::Net { .. } | Said::Window { .. } => return,
            Said::Winding(winding) => self.winding(winding),
            Said::Heater { winding, feeds, reference } => self.heater(winding, feeds, reference),
            Said::Contact { switch, a, b, .. } => {
                for side in [a, b] {
                    side.value = self.lug(&switch.value, &side.value);
                }
                switch.value.clone_from(&self.names[&switch.value]);
            }
            Said::Unused { section, legs } => {
                let (valve, half) = section.value.split_at(section.value.len() - 1);
                let turned = self.telling.parts[valve].turned;
                let half = match (turned, half) {
                    (true, "a") => "b",
                    (true, _) => "a",
                    (false, half) => half,
                };
                section.value = format!("{}{half}", self.names[valve]);
                legs.clear();
            }
            Said::Role { part, .. } => part.value.clone_from(&self.names[&part.value]),
            Said::Open(places) => {
                // What an edit has joined is open no more.
                places.retain(|place| self.is_alone(&place.value));
                if places.is_empty() {
                    return;
                }
                for place in places {
                    let (part, leg) = place.value.split_once('.').expect("a leg");
                    place.value = format!("{}.{leg}", self.names[part]);
                }
            }
            Said::Drive { jack, .. } => jack.value.clone_from(&self.names[&jack.value]),
            _ => {}
        }
        self.lines.push(statement(&told));
    }

    fn is_alone(&self, place: &str) -> bool {
        let (part, leg) = place.split_once('.').expect("a leg");
        let legs = self.telling.parts.get(part).map(|told| told.legs.as_slice()).unwrap_or_default();
        let net = legs.iter().find(|(name, _)| name == leg).and_then(|(_, net)| *net);
        net.is_none_or(|net| self.telling.crowd(net) <= 1)
    }

    fn winding(&mut self, winding: &mut WindingSaid) {
        let (part, name) = winding.name.value.split_once('.').expect("a winding");
        let (part, name) = (part.to_owned(), name.to_owned());
        let span = winding.name.span;
        let word = |text: String| Spanned { value: text, span };
        let end = |(leg, net): &(String, Option<usize>)| {
            let end = leg.strip_prefix(&name)?.strip_prefix('.')?;
            let place = self.places[(*net)?].clone()?;
            Some(LegSaid { leg: word(end.to_owned()), place: word(place) })
        };
        winding.legs = self.telling.parts[&part].legs.iter().filter_map(end).collect();
        winding.name.value = format!("{}.{}", self.names[&part], winding_name(&name));
    }

    fn heater(&mut self, winding: &mut Word, feeds: &mut Vec<Word>, reference: &mut Option<(Word, Word)>) {
        let (part, name) = winding.value.split_once('.').expect("a winding");
        let (part, name) = (part.to_owned(), name.to_owned());
        winding.value = format!("{}.{}", self.names[&part], winding_name(&name));
        feeds.retain(|valve| self.names.contains_key(&valve.value));
        for valve in feeds.iter_mut() {
            valve.value.clone_from(&self.names[&valve.value]);
        }
        if let Some((end, place)) = reference {
            let leg = format!("{name}.{}", end.value);
            let legs = &self.telling.parts[&part].legs;
            let net = legs.iter().find(|(other, _)| *other == leg).and_then(|(_, net)| *net);
            place.value = net.and_then(|net| self.places[net].clone()).expect("a reference joins two");
        }
    }

    /// A side of a contact by its place, or as a lug of the switch's own.
    fn lug(&self, switch: &str, side: &str) -> String {
        let lug = side.strip_prefix(&format!("{switch}.")).unwrap_or(side);
        let legs = &self.telling.parts[switch].legs;
        let net = legs.iter().find(|(leg, _)| leg == lug).and_then(|(_, net)| *net);
        net.and_then(|net| self.places[net].clone()).unwrap_or_else(|| format!("{}.out", self.names[switch]))
    }
}

/// Another hand's word for a winding; the primary is called so by all.
fn winding_name(name: &str) -> String {
    if name == "primary" { name.to_owned() } else { format!("sec-{name}") }
}

/// A leg as the text writes it.
fn spelled(part: &str, kind: Kind, leg: &str) -> String {
    match leg.split_once('.') {
        Some((section, electrode)) if kind == Kind::Tube => format!("{part}{section}.{electrode}"),
        _ => format!("{part}.{leg}"),
    }
}
