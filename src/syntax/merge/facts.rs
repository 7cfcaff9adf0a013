//! A document's lines as what they say: each fact with what it is about, and the comment.

use crate::syntax::print::{line, statement as printed};
use crate::syntax::tree::{Document, Line, Place, Said, Statement, TypeLine, Word};

/// One thing that a statement says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fact {
    /// The part, place or matter; two facts about one may contradict each other.
    pub about: String,
    /// The statement, if it said only this.
    pub words: String,
}

/// A comment with what its line is about; nothing for one on a line of its own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Remark {
    beside: String,
    pub text: String,
}

/// One line.
#[derive(Debug)]
pub(super) struct Item<'a> {
    /// In its canonical form.
    pub whole: String,
    pub facts: Vec<Fact>,
    pub remark: Option<Remark>,
    statement: Option<&'a Statement>,
}

/// The lines of a document.
pub(super) fn items(document: &Document) -> Vec<Item<'_>> {
    document.lines.iter().map(Item::new).collect()
}

impl<'a> Item<'a> {
    fn new(line: &'a Line) -> Item<'a> {
        let statement = line.statement.as_ref();
        let facts = statement.map_or_else(Vec::new, facts);
        let beside = facts.first().map_or(String::new(), |fact| fact.about.clone());
        let remark = line.comment.as_ref().map(|text| Remark { beside, text: text.clone() });
        Item { whole: self::line(line), facts, remark, statement }
    }

    pub(super) fn is_blank(&self) -> bool {
        self.whole.is_empty()
    }

    /// The statement with those of its facts that are kept; `None` where it has none.
    pub(super) fn saying(&self, kept: &[bool]) -> Option<String> {
        let statement = self.statement.filter(|_| kept.contains(&true))?;
        let of = |names: &[Word]| -> Vec<Word> {
            names.iter().zip(kept).filter(|(_, kept)| **kept).map(|(name, _)| name.clone()).collect()
        };
        Some(match list(&statement.said) {
            Some((names, with)) => printed(&Statement { said: with(of(names)), ..statement.clone() }),
            None => printed(statement),
        })
    }
}

/// The names that a statement says one thing of, and the same statement of other names.
type List<'a> = (&'a [Word], fn(Vec<Word>) -> Said);

/// A statement that says one thing of each of several names.
fn list(said: &Said) -> Option<List<'_>> {
    match said {
        Said::Checked(names) => Some((names, Said::Checked)),
        Said::Open(places) => Some((places, Said::Open)),
        Said::Done { names, all: false } => Some((names, |names| Said::Done { names, all: false })),
        Said::Restore { names, all: false, .. } => {
            Some((names, |names| Said::Restore { names, all: false, except: Vec::new() }))
        }
        _ => None,
    }
}

fn facts(statement: &Statement) -> Vec<Fact> {
    let fact = |statement: &Statement| Fact {
        about: about(&statement.said).unwrap_or_else(|| printed(statement)),
        words: printed(statement),
    };
    match list(&statement.said) {
        // A list is as many facts as it has names: two who each checked other parts are in no conflict.
        Some((names, with)) => {
            let one = |name: &Word| Statement { said: with(vec![name.clone()]), ..statement.clone() };
            names.iter().map(|name| fact(&one(name))).collect()
        }
        None => vec![fact(statement)],
    }
}

/// What a statement is about; `None` where it can stand beside any other.
fn about(said: &Said) -> Option<String> {
    let name = |word: &Word| Some(word.value.clone());
    // `R40.2` and `R40` are one part.
    let part = |place: &Place| place.value.split('.').next().map(str::to_owned);
    match said {
        Said::TypesFrom(_) | Said::Note(_) | Said::Contact { .. } | Said::Open(_) | Said::Done { .. } => None,
        Said::Header(_) => Some("the header".to_owned()),
        Said::Mains { .. } => Some("the mains".to_owned()),
        Said::Insulation(_) => Some("the insulation".to_owned()),
        Said::Made(_) => Some("the year".to_owned()),
        Said::Drive { .. } => Some("the drive".to_owned()),
        Said::Net { name: net, .. } => name(net),
        Said::Part(spec) | Said::Added { part: spec, .. } => name(&spec.name),
        Said::Winding(winding) => name(&winding.name),
        Said::Heater { winding, .. } => Some(format!("the heater {}", winding.value)),
        Said::Unused { section, .. } | Said::Used { section, .. } => {
            Some(format!("the use of {}", section.value))
        }
        Said::Role { part, .. } => Some(format!("the role of {}", part.value)),
        Said::Set { control, .. } => Some(format!("the setting of {}", control.value)),
        Said::Window { place, window } => {
            let state = window.condition.as_ref().map_or(String::new(), |c| format!(" in {}", c.value));
            Some(format!("the window of {}{state}", place.value))
        }
        Said::Meter(reading) => {
            let to = reading.to.as_ref().map_or(String::new(), |to| format!(" to {}", to.value));
            let ac = if reading.ac { " (AC)" } else { "" };
            let state = reading.condition.as_ref().map_or(String::new(), |c| format!(" in {}", c.value));
            Some(format!("the reading of {}{to}{ac}{state}", reading.place.value))
        }
        Said::Type(line) => {
            let of = line.values.first().filter(|_| line.line.value == TypeLine::Provenance);
            let of = of.map_or(String::new(), |(key, _)| format!(" of the {}", key.value));
            Some(format!("the {}{of} of {}", line.line.value.word(), line.name.value))
        }
        Said::Checked(names) => names.first().map(|name| name.value.clone()),
        Said::Restore { names, all: false, .. } => names.first().map(|name| name.value.clone()),
        Said::Restore { .. } => Some("restore all".to_owned()),
        Said::Reads { part: name, .. }
        | Said::Leaks { part: name, .. }
        | Said::Missing { part: name, .. }
        | Said::Replaced { part: name, .. }
        | Said::Swapped { part: name, .. }
        | Said::Reversed { part: name, .. }
        | Said::Shorted { part: name, .. }
        | Said::Lifted { what: name, .. }
        | Said::Moved { leg: name, .. } => part(name),
        Said::Joined { leg, .. } => Some(format!("the joint of {}", leg.value)),
        Said::Cut { new, .. } | Said::Rejoin { new, .. } => name(new),
        Said::Bridged { wire: Some(wire), .. } => name(wire),
        Said::Bridged { a, b, .. } => {
            // A bridge has no direction; both ways round are one matter.
            let (a, b) = if a.value <= b.value { (a, b) } else { (b, a) };
            Some(format!("the bridge from {} to {}", a.value, b.value))
        }
        Said::Remove { name: removed, .. } => name(removed),
        Said::Accept { rule, on, .. } => {
            let on = on.as_ref().map_or(String::new(), |on| format!(" on {}", on.value));
            Some(format!("accepting {}{on}", rule.value))
        }
    }
}
