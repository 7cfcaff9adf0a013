//! What a rule file says, clause by clause, with the place of every word. Names are not looked up here.
//!
//! The build reads the shipped rules to this and the tool carries it along, which is why it can be written down.

use serde::{Deserialize, Serialize};

use crate::source::{Problem, Span, Spanned};
use crate::units::Quantity;

use super::level::{Level, Severity};

/// A word with its place.
pub(crate) type Word = Spanned<String>;

/// One rule as written.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct RuleSaid {
    pub(crate) name: Word,
    pub(crate) clauses: Vec<Clause>,
}

/// A change to a rule of another pack, with its written reason.
#[derive(Debug, Clone)]
pub(crate) struct Override {
    pub(crate) rule: Word,
    pub(crate) because: Option<Word>,
    pub(crate) change: Overriding,
}

/// What a pack changes.
#[derive(Debug, Clone)]
pub(crate) enum Overriding {
    /// `off RULE because "…"`
    Off,
    /// `set RULE level to LEVEL because "…"`
    Level(Spanned<Level>),
    /// `set RULE LIMIT to 50 %`
    Limit { limit: Word, value: Spanned<Quantity> },
}

/// A whole file.
#[derive(Debug, Clone, Default)]
pub(crate) struct FileSaid {
    pub(crate) rules: Vec<RuleSaid>,
    pub(crate) overrides: Vec<Override>,
}

/// One clause of a rule.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) enum Clause {
    Select {
        noun: Word,
        variable: Word,
        filter: Option<Expr>,
    },
    Where(Expr),
    In(Vec<Word>),
    Limit {
        name: Word,
        value: Spanned<Quantity>,
    },
    Level(LevelSaid),
    Say(Message),
    Advise(AdviceSaid),
    /// Its text is read when somebody asks for the page.
    Heading {
        word: Word,
        text: Span,
    },
    /// As a heading.
    Example {
        flags: bool,
        severity: Option<Severity>,
        text: Span,
    },
}

/// A message or an advice: text with `{…}` read as expressions.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Message {
    pub(crate) span: Span,
    pub(crate) pieces: Vec<PieceSaid>,
}

/// A piece of a message as written.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) enum PieceSaid {
    Text(String),
    Value(Expr),
    /// What can't be read in it, told where the rule is loaded; no shipped rule has one.
    #[serde(skip)]
    Wrong(Problem),
}

/// `danger to people when EXPR`, `require EXPR else warning`.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct LevelSaid {
    pub(crate) level: Level,
    /// Where `to people` stands.
    pub(crate) to_people: Option<Span>,
    /// Flags where the expression does not hold.
    pub(crate) required: bool,
    pub(crate) expr: Expr,
    pub(crate) say: Option<Message>,
    pub(crate) advise: Option<AdviceSaid>,
}

/// `"restore it" or accept`.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct AdviceSaid {
    pub(crate) text: Message,
    pub(crate) or_accept: bool,
}

impl LevelSaid {
    pub(crate) fn severity(&self) -> Severity {
        Severity { level: self.level, to_people: self.to_people.is_some() }
    }
}

/// An expression with its place.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Expr {
    pub(crate) span: Span,
    pub(crate) depth: u32,
    pub(crate) node: Node,
}

/// Which of `before(…)` and `stock(…)`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Past {
    Before,
    Stock,
}

/// How the values of a group become one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Gather {
    Any,
    Every,
    None,
    Count,
    Sum,
    Highest,
    Lowest,
}

/// Signs of comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Comparator {
    /// `over`
    Over,
    /// `under`
    Under,
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `is`
    Equal,
}

/// Signs of arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sign {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
}

/// What an expression is made of.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) enum Node {
    Number(Quantity),
    Text(String),
    Name(String),
    Call { name: Word, args: Vec<Expr> },
    Gather { how: Gather, body: Box<Expr>, variable: Word, group: Box<Expr>, filter: Option<Box<Expr>> },
    Past { which: Past, body: Box<Expr> },
    Each(Word),
    Not(Box<Expr>),
    Negate(Box<Expr>),
    And(Vec<Expr>),
    Or(Vec<Expr>),
    Compare { sign: Comparator, a: Box<Expr>, b: Box<Expr> },
    Range { outside: bool, value: Box<Expr>, low: Box<Expr>, high: Box<Expr> },
    Is { value: Box<Expr>, negated: bool, words: Vec<Word> },
    Arith { sign: Sign, a: Box<Expr>, b: Box<Expr> },
}

impl Expr {
    /// Whether two expressions say the same, wherever they stand.
    pub(crate) fn same(&self, other: &Expr) -> bool {
        match (&self.node, &other.node) {
            (Node::Number(a), Node::Number(b)) => a == b,
            (Node::Text(a), Node::Text(b)) | (Node::Name(a), Node::Name(b)) => a == b,
            (Node::Call { name: n, args: a }, Node::Call { name: m, args: b }) => {
                n.value == m.value && a.len() == b.len() && a.iter().zip(b).all(|(x, y)| x.same(y))
            }
            (Node::Each(a), Node::Each(b)) => a.value == b.value,
            (Node::Past { which: w, body: a }, Node::Past { which: v, body: b }) => w == v && a.same(b),
            (Node::Negate(a), Node::Negate(b)) => a.same(b),
            (Node::Arith { sign: s, a, b }, Node::Arith { sign: t, a: c, b: d }) => {
                s == t && a.same(c) && b.same(d)
            }
            (
                Node::Gather { how: h, body: a, variable: v, group: g, filter: None },
                Node::Gather { how: i, body: b, variable: w, group: j, filter: None },
            ) => h == i && v.value == w.value && a.same(b) && g.same(j),
            _ => false,
        }
    }
}
