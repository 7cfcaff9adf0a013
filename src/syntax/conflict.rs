//! The marks that stand around what two records say differently when they were put together, as version control sets them.
//! A document that has them is no record of anything until someone has settled which holds.

use crate::source::{Problem, ProblemCode, Span};

/// Before what the one says.
pub const BEGINS: &str = "<<<<<<<";
/// Before what both grew out of, where that is given.
const WAS: &str = "|||||||";
/// Before what the other says.
pub const APART: &str = "=======";
/// After it.
pub const ENDS: &str = ">>>>>>>";

/// A line that is a mark, with the words on it.
#[derive(Debug, Clone)]
pub(super) struct Mark {
    sign: &'static str,
    words: String,
    span: Span,
}

impl Mark {
    /// The mark that a line is; a longer row of signs is none.
    pub(super) fn of(line: &str, span: Span) -> Option<Mark> {
        [BEGINS, WAS, APART, ENDS].into_iter().find_map(|sign| {
            let words = line.strip_prefix(sign).filter(|rest| rest.is_empty() || rest.starts_with(' '))?;
            Some(Mark { sign, words: words.trim().to_owned(), span })
        })
    }
}

/// One problem for each conflict, at its marks, in the order of the text.
pub(super) fn unsettled(marks: &[Mark]) -> Vec<Problem> {
    let mut problems: Vec<Problem> = Vec::new();
    for mark in marks {
        match problems.last_mut() {
            Some(open) if mark.sign != BEGINS => {
                let problem = open.clone().also(mark.span, mark.says());
                *open = problem;
            }
            _ => problems.push(mark.begins()),
        }
    }
    problems
}

impl Mark {
    fn begins(&self) -> Problem {
        let over =
            self.words.strip_prefix("ours: ").map_or("here".to_owned(), |about| format!("over {about}"));
        Problem::error(
            ProblemCode::NotSettled,
            self.span,
            format!("not settled: the two records differ {over}"),
        )
        .here(self.says())
        .help("keep what holds of the two, and take the lines with the marks out")
    }

    fn says(&self) -> &'static str {
        match self.sign {
            BEGINS => "the one says",
            WAS => "both grew out of",
            APART => "the other says",
            _ => "up to here",
        }
    }
}
