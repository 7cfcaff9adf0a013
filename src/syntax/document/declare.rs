//! Headers, places and the other statements that declare.

use pest::iterators::{Pair, Pairs};

use super::Walk;
use super::grammar::Rule;
use super::value::Sign;
use crate::model::DocumentKind;
use crate::source::{Problem, ProblemCode, Spanned, has_words};
use crate::syntax::tree::{Header, Said, Value, WindowSaid, Word};
use crate::units::{Unit, parse_quantity};

impl Walk {
    /// A statement that declares something, parts and windings aside.
    pub(super) fn declared(&mut self, rule: Rule, inner: Pairs<Rule>) -> Option<Said> {
        Some(match rule {
            Rule::header => Said::Header(self.header(inner)?),
            Rule::types_from => Said::TypesFrom(self.first(inner, Rule::string)?),
            Rule::net => self.net(inner)?,
            Rule::mains => self.mains(inner)?,
            Rule::insulation => Said::Insulation(self.first(inner, Rule::protection_class)?),
            Rule::made_in => {
                let quantity = inner.clone().find(|p| p.as_rule() == Rule::quantity)?;
                Said::Made(self.year(&quantity)?)
            }
            Rule::note_line => Said::Note(self.first(inner, Rule::string)?),
            Rule::heater => self.heater(inner)?,
            Rule::contact => {
                let mut places = self.words(inner.clone(), Rule::place).into_iter();
                Said::Contact {
                    switch: self.first(inner.clone(), Rule::name)?,
                    position: self.first(inner, Rule::any_word)?,
                    a: places.next()?,
                    b: places.next()?,
                }
            }
            Rule::role => Said::Role {
                part: self.first(inner.clone(), Rule::name)?,
                role: self.first(inner.clone(), Rule::any_word)?,
                note: self.note(&inner),
            },
            Rule::open => Said::Open(self.words(inner, Rule::place)),
            Rule::window_line => {
                Said::Window { place: self.first(inner.clone(), Rule::place)?, window: self.window(inner)? }
            }
            _ => {
                let jack = self.first(inner.clone(), Rule::name)?;
                let behind = inner.clone().find(|p| p.as_rule() == Rule::behind);
                let behind = behind.and_then(|p| self.only_value(&p, Unit::Ohm, Sign::NotBelow));
                Said::Drive { jack, behind }
            }
        })
    }

    /// The first word of a rule among pairs.
    pub(super) fn first(&self, mut pairs: Pairs<Rule>, rule: Rule) -> Option<Word> {
        pairs.find(|pair| pair.as_rule() == rule).map(|pair| self.word(&pair))
    }

    /// The first value inside a clause.
    pub(super) fn only_value(&mut self, clause: &Pair<Rule>, unit: Unit, sign: Sign) -> Option<Value> {
        let quantity = clause.clone().into_inner().find(|p| p.as_rule() == Rule::quantity)?;
        self.value(&quantity, unit, sign)
    }

    fn header(&mut self, inner: Pairs<Rule>) -> Option<Header> {
        let mut header = None;
        let mut under = false;
        for pair in inner {
            match (pair.as_rule(), &mut header) {
                (Rule::document_kind, _) => {
                    let value = DocumentKind::ALL.into_iter().find(|k| k.word() == pair.as_str())?;
                    header = Some((Spanned { value, span: self.span(&pair) }, Vec::new(), None, None));
                }
                (Rule::string, Some((_, texts, base, _))) => {
                    let text = self.word(&pair);
                    if under { *base = Some(text) } else { texts.push(text) }
                }
                (Rule::preposition, _) => under = true,
                (Rule::fingerprint, Some((.., pin))) => *pin = Some(self.word(&pair)),
                _ => {}
            }
        }
        let (kind, texts, base, pin) = header?;
        let mut texts = texts.into_iter();
        Some(Header { kind, title: texts.next()?, subtitle: texts.next(), base, pin })
    }

    fn net(&mut self, inner: Pairs<Rule>) -> Option<Said> {
        let rail = inner.clone().any(|p| p.as_rule() == Rule::k_rail);
        let name = self.first(inner.clone(), Rule::name)?;
        let mut title = None;
        let mut window: Option<Spanned<WindowSaid>> = None;
        for pair in inner {
            match pair.as_rule() {
                Rule::string => {
                    let text = self.word(&pair);
                    self.once(&mut title, text, "the quoted purpose");
                }
                Rule::window => {
                    let span = self.span(&pair);
                    if let Some(value) = self.window(pair.into_inner()) {
                        self.once(&mut window, Spanned { value, span }, "the window");
                    }
                }
                _ => {}
            }
        }
        Some(Said::Net { rail, name, title, window: window.map(|w| w.value) })
    }

    /// `… 290V to 330V in high-mains because "…"`.
    fn window(&mut self, inner: Pairs<Rule>) -> Option<WindowSaid> {
        let mut bounds = None;
        let mut condition = None;
        let mut because = None;
        for pair in inner {
            match pair.as_rule() {
                Rule::range => bounds = self.range(&pair),
                Rule::in_condition => condition = self.first(pair.into_inner(), Rule::any_word),
                Rule::because => because = self.reason(pair),
                _ => {}
            }
        }
        let (low, high) = bounds?;
        Some(WindowSaid { low, high, condition, because })
    }

    /// A written reason, which says something.
    pub(super) fn reason(&mut self, because: Pair<Rule>) -> Option<Word> {
        let reason = self.first(because.into_inner(), Rule::string)?;
        if !has_words(&reason.value) {
            let problem = Problem::error(ProblemCode::NoReason, reason.span, "the reason says nothing");
            self.push(problem.help("write why, for whoever reads it after you"));
        }
        Some(reason)
    }

    /// A lowest and a highest value of one unit: volts, amps, watts or ohms.
    fn range(&mut self, pair: &Pair<Rule>) -> Option<(Value, Value)> {
        let mut quantities = pair.clone().into_inner().filter(|p| p.as_rule() == Rule::quantity);
        let (low, high) = (quantities.next()?, quantities.next()?);
        let unit = parse_quantity(low.as_str()).ok().and_then(|q| q.unit);
        let unit = unit.filter(|u| matches!(u, Unit::Amp | Unit::Watt | Unit::Ohm)).unwrap_or(Unit::Volt);
        let low = self.value(&low, unit, Sign::Any);
        let high = self.value(&high, unit, Sign::Any);
        let (low, high) = (low?, high?);
        if low.value.value == high.value.value {
            let problem = Problem::error(
                ProblemCode::WindowEmpty,
                low.span.to(high.span),
                "not a window: nothing fits in it",
            )
            .here("twice the same value")
            .help("a meter and its parts need room: write `window B1 290V to 330V`");
            self.push(problem);
        }
        if low.value.value > high.value.value {
            let problem = Problem::error(
                ProblemCode::WindowReversed,
                low.span.to(high.span),
                "not a window: highest first",
            )
            .here("the lowest value comes first")
            .help("write the lowest first: `window B1 290V to 330V`");
            self.push(problem);
            return None;
        }
        Some((low, high))
    }

    fn mains(&mut self, inner: Pairs<Rule>) -> Option<Said> {
        let mut hertz = None;
        let mut limits: Option<Spanned<(Value, Value)>> = None;
        let mut volts = None;
        for (at, pair) in inner.filter(|p| p.as_rule() != Rule::k_mains).enumerate() {
            match pair.as_rule() {
                Rule::quantity if at == 0 => volts = self.value(&pair, Unit::Volt, Sign::Above),
                Rule::quantity => {
                    if let Some(value) = self.value(&pair, Unit::Hertz, Sign::Above) {
                        self.once(&mut hertz, value, "the mains frequency");
                    }
                }
                _ => {
                    let span = self.span(&pair);
                    let range = pair.into_inner().find(|p| p.as_rule() == Rule::range);
                    if let Some(value) = range.and_then(|range| self.range(&range)) {
                        self.once(&mut limits, Spanned { value, span }, "the limits");
                    }
                }
            }
        }
        let volts = volts?;
        if let Some(Spanned { value: (low, high), span }) = &limits
            && !(low.value.value..=high.value.value).contains(&volts.value.value)
        {
            let problem = Problem::error(
                ProblemCode::WrongValue,
                *span,
                "not its limits: the mains lies outside them",
            )
            .here("without the volts above")
            .also(volts.span, "the mains")
            .help(
                "write the nominal volts, then the lowest and the highest: `mains 230V limits 207V to 253V`",
            );
            self.push(problem);
        }
        Some(Said::Mains { volts, hertz, limits: limits.map(|l| l.value) })
    }

    fn heater(&mut self, inner: Pairs<Rule>) -> Option<Said> {
        let reference = inner.clone().find(|p| p.as_rule() == Rule::reference).and_then(|p| {
            let inner = p.into_inner();
            Some((self.first(inner.clone(), Rule::reference_end)?, self.first(inner, Rule::place)?))
        });
        Some(Said::Heater {
            winding: self.first(inner.clone(), Rule::place)?,
            feeds: self.words(inner, Rule::name),
            reference,
        })
    }
}
