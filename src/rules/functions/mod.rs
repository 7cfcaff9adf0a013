//! The one table of what a rule may ask: name, types, docs, example, code. The checker, the evaluator and the
//! reference all come from it.

mod amplifier;
mod bias;
mod changes;
mod contradict;
mod faults;
mod leaks;
mod mains;
mod make;
mod nets;
pub mod numbers;
mod parts;
mod rails;
mod safer;
mod sections;
mod signals;
mod slips;
mod speaker;
mod supply;
mod surge;
mod touch;
mod valves;

use std::sync::LazyLock;

pub(crate) use changes::looks_at_findings;
pub(crate) use sections::section_of;

use super::context::{Context, Known};
use super::dimension::{Dim, Domain, Sort, Ty};
use super::value::{Number, SectionId, Thing, Value};
use crate::circuit::{LegId, NetId, PartId};

/// What a function asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Param {
    /// Exactly this type.
    Is(Ty),
    /// A number of any unit.
    AnyNumber,
    /// A number in the unit of the first.
    LikeFirst,
    /// Any thing.
    AnyThing,
    /// Anything at all.
    Any,
}

/// What a function gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// This type.
    Ty(Ty),
    /// A number in the unit of its first argument.
    LikeFirst,
    /// The square root of its first argument's unit.
    Root,
    /// The unit of the limit that its second argument names.
    Limit,
}

/// One function of the rule language.
#[derive(Debug)]
pub struct Function {
    /// Name in rules.
    pub name: &'static str,
    /// What it asks for.
    pub params: &'static [Param],
    /// What it gives.
    pub gives: Gives,
    /// Whether its answer depends on the condition that is judged.
    pub solved: bool,
    /// One or two sentences.
    pub docs: &'static str,
    /// How it is written.
    pub example: &'static str,
    pub(crate) code: fn(&Context<'_>, &[Value]) -> Known<Value>,
}

pub(crate) const PART: Param = Param::Is(Ty::Thing(Sort::Part));
pub(crate) const NET: Param = Param::Is(Ty::Thing(Sort::Net));
pub(crate) const LEG: Param = Param::Is(Ty::Thing(Sort::Leg));
pub(crate) const SECTION: Param = Param::Is(Ty::Thing(Sort::Section));
pub(crate) const STAGE: Param = Param::Is(Ty::Thing(Sort::Stage));
pub(crate) const CHANGE: Param = Param::Is(Ty::Thing(Sort::Change));
pub(crate) const READING: Param = Param::Is(Ty::Thing(Sort::Reading));
pub(crate) const WINDOW: Param = Param::Is(Ty::Thing(Sort::Window));
pub(crate) const HAZARD: Param = Param::Is(Ty::Thing(Sort::Hazard));
pub(crate) const ACCEPTANCE: Param = Param::Is(Ty::Thing(Sort::Acceptance));
pub(crate) const VOLTS: Gives = Gives::Ty(Ty::Number(Dim::VOLT));
pub(crate) const AMPS: Gives = Gives::Ty(Ty::Number(Dim::AMP));
pub(crate) const OHMS: Gives = Gives::Ty(Ty::Number(Dim::OHM));
pub(crate) const WATTS: Gives = Gives::Ty(Ty::Number(Dim::WATT));
pub(crate) const SHARE: Gives = Gives::Ty(Ty::Number(Dim::RATIO));
pub(crate) const DECIBELS: Gives = Gives::Ty(Ty::Number(Dim::DECIBEL));
pub(crate) const COUNT: Gives = Gives::Ty(Ty::Number(Dim::COUNT));
pub(crate) const TRUTH: Gives = Gives::Ty(Ty::Truth);
pub(crate) const TEXT: Gives = Gives::Ty(Ty::Text);

/// A word of a domain.
pub(crate) const fn word(domain: Domain) -> Gives {
    Gives::Ty(Ty::Word(domain))
}

/// Every function, by subject.
pub fn all() -> impl Iterator<Item = &'static Function> {
    [
        numbers::TABLE,
        parts::TABLE,
        nets::TABLE,
        sections::TABLE,
        valves::TABLE,
        supply::TABLE,
        surge::TABLE,
        touch::TABLE,
        changes::TABLE,
        amplifier::TABLE,
        bias::TABLE,
        contradict::TABLE,
        faults::TABLE,
        mains::TABLE,
        slips::TABLE,
        leaks::TABLE,
        make::TABLE,
        rails::TABLE,
        signals::TABLE,
        speaker::TABLE,
    ]
    .into_iter()
    .flatten()
}

/// The functions of a name: one for each type of argument.
pub fn named(name: &str) -> &'static [&'static Function] {
    let first = BY_NAME.partition_point(|f| f.name < name);
    let count = BY_NAME[first..].partition_point(|f| f.name == name);
    &BY_NAME[first..first + count]
}

/// Every function in order of names, those of one name in the order of the tables.
static BY_NAME: LazyLock<Vec<&Function>> = LazyLock::new(|| {
    let mut functions: Vec<_> = all().collect();
    functions.sort_by_key(|f| f.name);
    functions
});

impl Function {
    /// `limit(a valve section, a limit of type data) gives …`, for the reference.
    pub fn signature(&self) -> String {
        let params: Vec<String> = self
            .params
            .iter()
            .map(|p| match p {
                Param::Is(ty) => ty.words(),
                Param::AnyNumber => "a number of any unit".to_owned(),
                Param::LikeFirst => "another in the same unit".to_owned(),
                Param::AnyThing => "any thing".to_owned(),
                Param::Any => "any value".to_owned(),
            })
            .collect();
        let gives = match self.gives {
            Gives::Ty(ty) => ty.words(),
            Gives::LikeFirst => "the same unit".to_owned(),
            Gives::Root => "the root of its unit".to_owned(),
            Gives::Limit => "the limit's unit".to_owned(),
        };
        let asked = if params.is_empty() { String::new() } else { format!("({})", params.join(", ")) };
        format!("{}{asked} gives {gives}", self.name)
    }
}

// The checker has made sure of every argument's type; an argument of another type could only come from a fault in
// this crate, and then the verdict is "could not tell".
fn wrong() -> String {
    "an argument of another type".to_owned()
}

pub(crate) fn thing(args: &[Value], index: usize) -> Known<Thing> {
    match args.get(index) {
        Some(Value::Thing(thing)) => Ok(*thing),
        _ => Err(wrong()),
    }
}

pub(crate) fn part(args: &[Value]) -> Known<PartId> {
    match thing(args, 0)? {
        Thing::Part(id) => Ok(id),
        _ => Err(wrong()),
    }
}

pub(crate) fn net(args: &[Value]) -> Known<NetId> {
    match thing(args, 0)? {
        Thing::Net(id) => Ok(id),
        _ => Err(wrong()),
    }
}

pub(crate) fn leg(args: &[Value]) -> Known<LegId> {
    match thing(args, 0)? {
        Thing::Leg(id) => Ok(id),
        _ => Err(wrong()),
    }
}

pub(crate) fn section(args: &[Value]) -> Known<SectionId> {
    match thing(args, 0)? {
        Thing::Section(id) => Ok(id),
        _ => Err(wrong()),
    }
}

pub(crate) fn number(args: &[Value], index: usize) -> Known<Number> {
    match args.get(index) {
        Some(Value::Number(number)) => Ok(*number),
        _ => Err(wrong()),
    }
}

pub(crate) fn word_of(args: &[Value], index: usize) -> Known<&str> {
    match args.get(index) {
        Some(Value::Word(word)) => Ok(word),
        _ => Err(wrong()),
    }
}

#[expect(clippy::unnecessary_wraps, reason = "most functions end in it")]
pub(crate) fn text(text: impl Into<String>) -> Known<Value> {
    Ok(Value::Text(text.into()))
}

#[expect(clippy::unnecessary_wraps, reason = "most functions end in it")]
pub(crate) fn truth(holds: bool) -> Known<Value> {
    Ok(Value::Truth(holds))
}
