//! Types and units of expressions, and their algebra: volts divided by ohms are amps.

use crate::units::Unit;

/// A dimension: powers of volt, amp and second, and whether it is in decibels.
#[derive(Debug, Clone, Copy)]
pub struct Dim {
    volt: i8,
    amp: i8,
    second: i8,
    decibel: bool,
    /// A count of things, printed as `3`; a ratio prints as `300 %`.
    count: bool,
}

impl PartialEq for Dim {
    /// A count and a ratio are both pure numbers.
    fn eq(&self, other: &Dim) -> bool {
        (self.volt, self.amp, self.second, self.decibel)
            == (other.volt, other.amp, other.second, other.decibel)
    }
}

impl Eq for Dim {}

const fn dim(volt: i8, amp: i8, second: i8) -> Dim {
    Dim { volt, amp, second, decibel: false, count: false }
}

impl Dim {
    /// V
    pub const VOLT: Dim = dim(1, 0, 0);
    /// A
    pub const AMP: Dim = dim(0, 1, 0);
    /// Ω
    pub const OHM: Dim = dim(1, -1, 0);
    /// W
    pub const WATT: Dim = dim(1, 1, 0);
    /// F
    pub const FARAD: Dim = dim(-1, 1, 1);
    /// H
    pub const HENRY: Dim = dim(1, -1, 1);
    /// s
    pub const SECOND: Dim = dim(0, 0, 1);
    /// J
    pub const JOULE: Dim = dim(1, 1, 1);
    /// dB
    pub const DECIBEL: Dim = Dim { decibel: true, ..dim(0, 0, 0) };
    /// A pure number, printed in per cent.
    pub const RATIO: Dim = dim(0, 0, 0);
    /// A pure number, printed as it is.
    pub const COUNT: Dim = Dim { count: true, ..dim(0, 0, 0) };

    const NAMED: [(Dim, Unit, &'static str); 12] = [
        (Dim::VOLT, Unit::Volt, "volts"),
        (Dim::AMP, Unit::Amp, "amps"),
        (Dim::OHM, Unit::Ohm, "ohms"),
        (Dim::WATT, Unit::Watt, "watts"),
        (Dim::FARAD, Unit::Farad, "farads"),
        (Dim::HENRY, Unit::Henry, "henries"),
        (Dim::SECOND, Unit::Second, "seconds"),
        (dim(0, 0, -1), Unit::Hertz, "hertz"),
        (Dim::JOULE, Unit::Joule, "joules"),
        (dim(-1, 1, 0), Unit::Siemens, "siemens"),
        (Dim::DECIBEL, Unit::Decibel, "decibels"),
        (Dim::RATIO, Unit::Ratio, "a number"),
    ];

    /// The dimension of a unit.
    pub fn of(unit: Unit) -> Dim {
        Dim::NAMED.iter().find(|(_, u, _)| *u == unit).map_or(Dim::RATIO, |(d, ..)| *d)
    }

    /// The unit it prints in, where it has one.
    pub fn unit(self) -> Option<Unit> {
        Dim::NAMED.iter().find(|(d, ..)| *d == self).map(|(_, u, _)| *u)
    }

    /// Whether it counts things.
    pub fn is_count(self) -> bool {
        self.count && self == Dim::RATIO
    }

    /// In words: `volts`, `volts²`, `a number`.
    pub fn words(self) -> String {
        if let Some((.., words)) = Dim::NAMED.iter().find(|(d, ..)| *d == self) {
            return (*words).to_owned();
        }
        [("volt", self.volt), ("amp", self.amp), ("second", self.second)]
            .into_iter()
            .filter(|(_, power)| *power != 0)
            .map(|(word, power)| if power == 1 { word.to_owned() } else { format!("{word}^{power}") })
            .collect::<Vec<_>>()
            .join("·")
    }

    /// Of a product; `None` in decibels, which don't multiply, or past all sense.
    pub fn times(self, other: Dim) -> Option<Dim> {
        self.combined(other, 1)
    }

    /// Of a quotient.
    pub fn over(self, other: Dim) -> Option<Dim> {
        self.combined(other, -1)
    }

    fn combined(self, other: Dim, sign: i8) -> Option<Dim> {
        if (self.decibel && other != Dim::RATIO) || other.decibel {
            return None;
        }
        let add = |a: i8, b: i8| a.checked_add(b.checked_mul(sign)?).filter(|p| p.abs() <= 12);
        Some(Dim {
            volt: add(self.volt, other.volt)?,
            amp: add(self.amp, other.amp)?,
            second: add(self.second, other.second)?,
            decibel: self.decibel,
            count: self.count && other.count && sign == 1,
        })
    }

    /// Of a square root; `None` where a power is odd.
    pub fn root(self) -> Option<Dim> {
        let even = [self.volt, self.amp, self.second].iter().all(|p| p % 2 == 0) && !self.decibel;
        even.then(|| dim(self.volt / 2, self.amp / 2, self.second / 2))
    }
}

/// What a rule can look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A part.
    Part,
    /// A net.
    Net,
    /// A leg of a part.
    Leg,
    /// A section of a valve.
    Section,
    /// A stage.
    Stage,
    /// A difference between two circuits.
    Change,
    /// A meter reading.
    Reading,
    /// A window that a document states.
    Window,
    /// The whole amplifier.
    Amplifier,
    /// A finding on the document beneath.
    Hazard,
    /// A finding accepted with a written reason.
    Acceptance,
}

impl Sort {
    /// In words, with its article.
    pub fn words(self) -> &'static str {
        match self {
            Sort::Part => "a part",
            Sort::Net => "a net",
            Sort::Leg => "a leg",
            Sort::Section => "a valve section",
            Sort::Stage => "a stage",
            Sort::Change => "a change",
            Sort::Reading => "a reading",
            Sort::Window => "a window",
            Sort::Amplifier => "the amplifier",
            Sort::Hazard => "a finding beneath",
            Sort::Acceptance => "an acceptance",
        }
    }
}

/// The closed lists that words come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Domain {
    /// What a part is for: `dropper`.
    Role,
    /// What a part is: `resistor`.
    Kind,
    /// How it is built: `wirewound`.
    Construction,
    /// Kind of a change: `missing`.
    Change,
    /// Kind of a stage: `cathode-follower`.
    Stage,
    /// A limit of type data: `plate-power`.
    Limit,
    /// A condition: `idle`.
    Condition,
    /// Kind of document: `plan`.
    Document,
    /// A level: `danger`.
    Level,
}

/// The type of an expression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ty {
    /// A number with a unit.
    Number(Dim),
    /// It holds or it doesn't.
    Truth,
    /// Text.
    Text,
    /// A word of a closed list.
    Word(Domain),
    /// A thing.
    Thing(Sort),
    /// Several things of one sort.
    Group(Sort),
}

impl Ty {
    /// In words, for problems.
    pub fn words(self) -> String {
        match self {
            Ty::Number(d) => d.words(),
            Ty::Truth => "a condition".to_owned(),
            Ty::Text => "text".to_owned(),
            Ty::Word(domain) => domain.words().to_owned(),
            Ty::Thing(sort) => sort.words().to_owned(),
            Ty::Group(sort) => format!("several of {}", sort.words()),
        }
    }
}
