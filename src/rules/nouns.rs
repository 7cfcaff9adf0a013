//! What `for each …` may select: every kind of part, every role, and these groups.

use crate::circuit::{LegId, PartId};
use crate::model::{Kind, RoleKind};

use super::context::Context;
use super::dimension::Sort;
use super::finding::Finding;
use super::functions::section_of;
use super::value::{SectionId, Thing};

/// A group of things.
#[derive(Debug)]
pub struct Group {
    /// Word in rules.
    pub name: &'static str,
    /// What each of them is.
    pub sort: Sort,
    /// One sentence.
    pub docs: &'static str,
    members: fn(&Context<'_>) -> Vec<Thing>,
}

/// A word after `each`.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Noun {
    /// Fitted parts of a kind.
    Kind(Kind),
    /// Fitted parts of a role.
    Role(RoleKind),
    /// A group.
    Group(&'static Group),
}

/// The groups.
pub static GROUPS: [Group; 16] = [
    Group { name: "part", sort: Sort::Part, docs: "Every fitted part.", members: |c| parts(c, |_| true) },
    Group {
        name: "known-part",
        sort: Sort::Part,
        docs: "Every part that a text names, missing ones too.",
        members: |c| c.circuit().part_ids().map(Thing::Part).collect(),
    },
    Group {
        name: "two-leg-part",
        sort: Sort::Part,
        docs: "Every fitted part with two legs, links and sources aside.",
        members: |c| {
            parts(c, |p| c.part(p).legs.len() == 2 && !matches!(c.part(p).kind, Kind::Link | Kind::Source))
        },
    },
    Group {
        name: "net",
        sort: Sort::Net,
        docs: "Every net, chassis too.",
        members: |c| c.circuit().net_ids().map(Thing::Net).collect(),
    },
    Group {
        name: "rail",
        sort: Sort::Net,
        docs: "Every supply rail, recognised or declared.",
        members: rails,
    },
    Group {
        name: "leg",
        sort: Sort::Leg,
        docs: "Every leg of fitted small parts and speakers, the working electrodes of valves, the mains conductors of \
               inlets and primaries. Other windings, switches, jacks and sections said to be unused are left out.",
        members: legs,
    },
    Group {
        name: "section",
        sort: Sort::Section,
        docs: "Every valve section that is not said to be unused.",
        members: sections,
    },
    Group {
        name: "stage",
        sort: Sort::Stage,
        docs: "Every recognised stage.",
        members: |c| (0..c.recognised().stages.len()).map(Thing::Stage).collect(),
    },
    Group {
        name: "change",
        sort: Sort::Change,
        docs: "Every change since the document beneath.",
        members: |c| (0..c.facts.changes.len()).map(Thing::Change).collect(),
    },
    Group {
        name: "difference",
        sort: Sort::Change,
        docs: "Every difference from the stock spec.",
        members: |c| (0..c.facts.differences.len()).map(Thing::Difference).collect(),
    },
    Group {
        name: "reading",
        sort: Sort::Reading,
        docs: "Every reading of the record.",
        members: |c| (0..c.circuit().readings.len()).map(Thing::Reading).collect(),
    },
    Group {
        name: "window",
        sort: Sort::Window,
        docs: "Every window that a text states without `because`; one with a reason excuses a limit.",
        members: |c| {
            let windows = c.circuit().windows.iter().enumerate();
            windows.filter(|(_, w)| w.because.is_none()).map(|(i, _)| Thing::Window(i)).collect()
        },
    },
    Group {
        name: "hazard",
        sort: Sort::Hazard,
        docs: "Every finding of danger or warning on the document beneath that counts; in a plan only.",
        members: hazards,
    },
    Group {
        name: "new-hazard",
        sort: Sort::Hazard,
        docs: "Every finding of danger or warning that counts and that the document beneath does not have; in a plan only. \
               A rule about them runs after all others.",
        members: new_hazards,
    },
    Group {
        name: "acceptance",
        sort: Sort::Acceptance,
        docs: "Every acceptance with its written reason.",
        members: |c| (0..c.circuit().accepts.len()).map(Thing::Acceptance).collect(),
    },
    Group {
        name: "amplifier",
        sort: Sort::Amplifier,
        docs: "The amplifier as a whole: one thing.",
        members: |_| vec![Thing::Amplifier],
    },
];

impl Noun {
    /// The noun of a word.
    pub(crate) fn of(word: &str) -> Option<Noun> {
        if let Some(group) = GROUPS.iter().find(|g| g.name == word) {
            return Some(Noun::Group(group));
        }
        if let Some(kind) = Kind::ALL.into_iter().find(|k| k.word() == word) {
            return Some(Noun::Kind(kind));
        }
        RoleKind::of(word).map(Noun::Role)
    }

    /// Every word, for slips of the pen.
    pub(crate) fn words() -> impl Iterator<Item = &'static str> {
        GROUPS
            .iter()
            .map(|g| g.name)
            .chain(Kind::ALL.iter().map(|k| k.word()))
            .chain(RoleKind::ALL.iter().map(|r| r.word()))
    }

    /// What each of them is.
    pub(crate) fn sort(self) -> Sort {
        match self {
            Noun::Kind(_) | Noun::Role(_) => Sort::Part,
            Noun::Group(group) => group.sort,
        }
    }

    /// Whether it stands for findings of other rules, which have to be asked first.
    pub(crate) fn looks_at_findings(self) -> bool {
        matches!(self, Noun::Group(group) if group.name == "new-hazard")
    }

    /// Whether it stands for readings.
    pub(crate) fn is_readings(self) -> bool {
        matches!(self, Noun::Group(group) if group.name == "reading")
    }

    /// Whether it stands for findings at all, of this document or of the one beneath.
    pub(crate) fn is_findings(self) -> bool {
        matches!(self, Noun::Group(group) if ["new-hazard", "hazard"].contains(&group.name))
    }

    /// The things themselves, in the circuit that is looked at.
    pub(crate) fn members(self, context: &Context<'_>) -> Vec<Thing> {
        match self {
            Noun::Kind(kind) => parts(context, |p| context.part(p).kind == kind),
            Noun::Role(role) => {
                parts(context, |p| context.recognised().roles.get(&p).is_some_and(|r| r.kind == role))
            }
            Noun::Group(group) => (group.members)(context),
        }
    }
}

fn parts(c: &Context<'_>, pick: impl Fn(PartId) -> bool) -> Vec<Thing> {
    c.circuit().part_ids().filter(|id| c.part(*id).fitted() && pick(*id)).map(Thing::Part).collect()
}

fn rails(c: &Context<'_>) -> Vec<Thing> {
    let recognised = c.recognised().rails.iter().map(|r| r.net);
    let declared =
        c.circuit().net_ids().filter(|n| c.circuit().net(*n).declared.as_ref().is_some_and(|d| d.rail));
    let mut nets: Vec<_> = recognised.chain(declared).collect();
    nets.sort_unstable();
    nets.dedup();
    nets.into_iter().map(Thing::Net).collect()
}

fn sections(c: &Context<'_>) -> Vec<Thing> {
    let in_stages = c.recognised().stages.iter().flat_map(|s| &s.sections);
    let mut all: Vec<Thing> = in_stages.chain(&c.recognised().strange_sections).map(section_of).collect();
    all.retain(|t| match t {
        Thing::Section(SectionId { tube, letter }) => {
            let part = c.part(*tube);
            part.fitted() && !part.unused.contains(&letter.map(String::from).unwrap_or_default())
        }
        _ => false,
    });
    let key = |t: &Thing| match t {
        Thing::Section(s) => (s.tube, s.letter),
        _ => (PartId(0), None),
    };
    all.sort_by_key(key);
    all.dedup();
    all
}

fn legs(c: &Context<'_>) -> Vec<Thing> {
    let mut found = Vec::new();
    for id in c.circuit().part_ids().filter(|id| c.part(*id).fitted()) {
        let part = c.part(id);
        let counts = |name: &str| match part.kind {
            Kind::Resistor
            | Kind::Capacitor
            | Kind::Inductor
            | Kind::Choke
            | Kind::Pot
            | Kind::Trimmer
            | Kind::Diode
            | Kind::Zener
            | Kind::Led
            | Kind::Fuse
            | Kind::Speaker => true,
            Kind::MainsTransformer => name.starts_with("primary"),
            Kind::Inlet => matches!(name, "live" | "neutral"),
            Kind::Tube => {
                let (letter, electrode) = name.split_once('.').unwrap_or(("", name));
                matches!(electrode, "plate" | "grid" | "cathode" | "screen")
                    && !part.unused.iter().any(|u| u == letter)
            }
            _ => false,
        };
        for (index, _) in part.legs.iter().enumerate().filter(|(_, l)| counts(&l.name)) {
            found.push(Thing::Leg(LegId { part: id, leg: index as u32 }));
        }
    }
    found
}

fn hazards(c: &Context<'_>) -> Vec<Thing> {
    let found = c.facts.before_findings.as_deref().unwrap_or(&[]).iter().enumerate();
    found.filter(|(_, f)| is_plan(c) && matters(f)).map(|(i, _)| Thing::Hazard(i)).collect()
}

fn new_hazards(c: &Context<'_>) -> Vec<Thing> {
    let beneath = c.facts.before_findings.as_deref().unwrap_or(&[]);
    let there = |f: &Finding| beneath.iter().any(|b| b.rule == f.rule && b.subject() == f.subject());
    let found = c.findings.iter().enumerate();
    found.filter(|(_, f)| is_plan(c) && matters(f) && !there(f)).map(|(i, _)| Thing::Introduced(i)).collect()
}

fn is_plan(c: &Context<'_>) -> bool {
    c.circuit().kind == crate::model::DocumentKind::Plan
}

fn matters(finding: &Finding) -> bool {
    finding.counts() && finding.level >= super::Level::Warning
}
