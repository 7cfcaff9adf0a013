//! Expressions: pairs of the grammar to [`Expr`], no deeper than [`DEEPEST`].

use pest::Parser as _;
use pest::iterators::Pair;

use crate::source::{Problem, Span, Spanned};

use super::ast::{Comparator, Expr, Gather, Node, Past, Sign, Word};
use super::parse::{At, DEEPEST, Rule, RuleText, broken, explain, guard, quantity, too_deep};

type Built = Result<Expr, Problem>;

/// Reads one expression on its own, as in `{…}` of a message.
pub(crate) fn parse_one(at: At, text: &str) -> Built {
    guard(at, text)?;
    let pair = RuleText::parse(Rule::one_expr, text)
        .map_err(|error| explain(at, text, &error))?
        .next()
        .and_then(|one| one.into_inner().next())
        .ok_or_else(|| broken(at))?;
    build(at, pair)
}

/// Builds any pair that is an expression.
pub(crate) fn build(at: At, pair: Pair<'_, Rule>) -> Built {
    let span = at.span(&pair);
    match pair.as_rule() {
        Rule::expr => list(at, pair, Rule::conjunction, Node::Or),
        Rule::conjunction => list(at, pair, Rule::negation, Node::And),
        Rule::negation => prefixed(at, pair, Rule::kw_not, Node::Not),
        Rule::factor => prefixed(at, pair, Rule::minus, Node::Negate),
        Rule::comparison => comparison(at, pair),
        Rule::sum | Rule::product => arithmetic(at, pair),
        Rule::chain => chain(at, pair),
        Rule::atom | Rule::paren | Rule::chain_head => {
            let inside = pair
                .into_inner()
                .find(|p| !matches!(p.as_rule(), Rule::open | Rule::close))
                .ok_or_else(|| broken(at))?;
            build(at, inside)
        }
        Rule::quantity => Ok(leaf(span, Node::Number(quantity(at, &pair)?.value))),
        Rule::string => {
            let text = pair.into_inner().next().map_or("", |t| t.as_str()).to_owned();
            Ok(leaf(span, Node::Text(text)))
        }
        Rule::name => Ok(leaf(span, Node::Name(pair.as_str().to_owned()))),
        Rule::group => Ok(leaf(span, Node::Each(names(at, pair).pop().ok_or_else(|| broken(at))?))),
        Rule::call => call(at, pair),
        Rule::aggregate => gather(at, pair),
        Rule::past => {
            let stock = pair.clone().into_inner().any(|p| p.as_rule() == Rule::kw_stock);
            let body = exprs(at, pair)?.pop().ok_or_else(|| broken(at))?;
            let which = if stock { Past::Stock } else { Past::Before };
            node(span, body.depth, Node::Past { which, body: Box::new(body) })
        }
        _ => Err(broken(at)),
    }
}

fn leaf(span: Span, node: Node) -> Expr {
    Expr { span, depth: 1, node }
}

fn node(span: Span, below: u32, node: Node) -> Built {
    if below >= DEEPEST {
        return Err(too_deep(span));
    }
    Ok(Expr { span, depth: below + 1, node })
}

fn names(at: At, pair: Pair<'_, Rule>) -> Vec<Word> {
    pair.into_inner().filter(|p| p.as_rule() == Rule::name).map(|p| at.word(&p)).collect()
}

fn exprs(at: At, pair: Pair<'_, Rule>) -> Result<Vec<Expr>, Problem> {
    pair.into_inner().filter(|p| p.as_rule() == Rule::expr).map(|p| build(at, p)).collect()
}

fn list(at: At, pair: Pair<'_, Rule>, member: Rule, make: fn(Vec<Expr>) -> Node) -> Built {
    let span = at.span(&pair);
    let mut members: Vec<Expr> = pair
        .into_inner()
        .filter(|p| p.as_rule() == member)
        .map(|p| build(at, p))
        .collect::<Result<_, _>>()?;
    if members.len() == 1 {
        return members.pop().ok_or_else(|| broken(at));
    }
    let below = members.iter().map(|m| m.depth).max().unwrap_or(0);
    node(span, below, make(members))
}

fn prefixed(at: At, pair: Pair<'_, Rule>, sign: Rule, make: fn(Box<Expr>) -> Node) -> Built {
    let span = at.span(&pair);
    let count = pair.clone().into_inner().filter(|p| p.as_rule() == sign).count();
    let inside = pair.into_inner().find(|p| p.as_rule() != sign).ok_or_else(|| broken(at))?;
    let mut built = build(at, inside)?;
    for _ in 0..count {
        built = node(span, built.depth, make(Box::new(built)))?;
    }
    Ok(built)
}

fn comparison(at: At, pair: Pair<'_, Rule>) -> Built {
    let span = at.span(&pair);
    let mut parts = pair.into_inner();
    let a = build(at, parts.next().ok_or_else(|| broken(at))?)?;
    let Some(next) = parts.next() else { return Ok(a) };
    match next.as_rule() {
        Rule::comparator => {
            let sign = match next.as_str() {
                ">" => Comparator::Over,
                "<" => Comparator::Under,
                ">=" => Comparator::AtLeast,
                "<=" => Comparator::AtMost,
                _ => Comparator::Equal,
            };
            let b = build(at, parts.next().ok_or_else(|| broken(at))?)?;
            let below = a.depth.max(b.depth);
            node(span, below, Node::Compare { sign, a: Box::new(a), b: Box::new(b) })
        }
        Rule::range => range(at, span, a, next),
        _ => {
            let negated = next.clone().into_inner().any(|p| p.as_rule() == Rule::kw_not);
            let words = names(at, next);
            node(span, a.depth, Node::Is { value: Box::new(a), negated, words })
        }
    }
}

fn range(at: At, span: Span, value: Expr, pair: Pair<'_, Rule>) -> Built {
    let outside = pair.clone().into_inner().any(|p| p.as_rule() == Rule::kw_outside);
    let mut sums = pair.into_inner().filter(|p| p.as_rule() == Rule::sum);
    let mut next = || build(at, sums.next().ok_or_else(|| broken(at))?);
    let (low, high) = (next()?, next()?);
    let below = value.depth.max(low.depth).max(high.depth);
    node(
        span,
        below,
        Node::Range { outside, value: Box::new(value), low: Box::new(low), high: Box::new(high) },
    )
}

fn arithmetic(at: At, pair: Pair<'_, Rule>) -> Built {
    let mut parts = pair.into_inner();
    let mut left = build(at, parts.next().ok_or_else(|| broken(at))?)?;
    while let (Some(sign), Some(right)) = (parts.next(), parts.next()) {
        let sign = match sign.as_rule() {
            Rule::plus => Sign::Plus,
            Rule::minus => Sign::Minus,
            Rule::times => Sign::Times,
            _ => Sign::Over,
        };
        let right = build(at, right)?;
        let (span, below) = (left.span.to(right.span), left.depth.max(right.depth));
        left = node(span, below, Node::Arith { sign, a: Box::new(left), b: Box::new(right) })?;
    }
    Ok(left)
}

/// `60 % of power of d`: read from the right, each head a factor or a function of what follows.
fn chain(at: At, pair: Pair<'_, Rule>) -> Built {
    let mut parts: Vec<Pair<'_, Rule>> = pair.into_inner().filter(|p| p.as_rule() != Rule::kw_of).collect();
    let mut built = build(at, parts.pop().ok_or_else(|| broken(at))?)?;
    while let Some(head) = parts.pop() {
        let head = build(at, head)?;
        let (span, below) = (head.span.to(built.span), built.depth);
        let made = match head.node {
            Node::Name(value) => Node::Call { name: Spanned { value, span: head.span }, args: vec![built] },
            _ => Node::Arith { sign: Sign::Times, a: Box::new(head), b: Box::new(built) },
        };
        built = node(span, below, made)?;
    }
    Ok(built)
}

fn call(at: At, pair: Pair<'_, Rule>) -> Built {
    let span = at.span(&pair);
    let name = names(at, pair.clone()).into_iter().next().ok_or_else(|| broken(at))?;
    let args = exprs(at, pair)?;
    let below = args.iter().map(|a| a.depth).max().unwrap_or(0);
    node(span, below, Node::Call { name, args })
}

fn gather(at: At, pair: Pair<'_, Rule>) -> Built {
    let span = at.span(&pair);
    let how = match pair.clone().into_inner().next().map_or("", |p| p.as_str()) {
        "any" => Gather::Any,
        "every" => Gather::Every,
        "none" => Gather::None,
        "count" => Gather::Count,
        "sum" => Gather::Sum,
        "highest" => Gather::Highest,
        _ => Gather::Lowest,
    };
    let variable = names(at, pair.clone()).into_iter().next().ok_or_else(|| broken(at))?;
    let mut parts = exprs(at, pair)?.into_iter();
    let (Some(body), Some(group)) = (parts.next(), parts.next()) else { return Err(broken(at)) };
    let filter = parts.next();
    let below = body.depth.max(group.depth).max(filter.as_ref().map_or(0, |f| f.depth));
    let made = Node::Gather {
        how,
        body: Box::new(body),
        variable,
        group: Box::new(group),
        filter: filter.map(Box::new),
    };
    node(span, below, made)
}
