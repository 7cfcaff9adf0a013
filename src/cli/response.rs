//! `asfound response FILE [OTHER]`

use clap::{Args, ValueEnum};

use super::Status;
use super::console::Console;
use super::input::Opened;
use super::options::{Format, In};
use super::stop::{Stop, notices};
use crate::analysis::unsolved_of;
use crate::analysis::{Heard, Question, Unheard, hear};
use crate::numeric::ac::Range;
use crate::render::{csv, json, text};
use crate::units::{Unit, parse_quantity};

/// The response to a signal: the whole way from the driven jack to the speaker over frequency, the gain of every
/// stage, the feedback and its margins, where each stage clips. Of a layer, and of two documents, also the difference.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  asfound response sedge-45.amp                              drive to speaker
  asfound response job-0412.amp                              against the document it rests on
  asfound response --from V3a.cathode --at V4a.grid sedge-45.amp   the tone network alone
  asfound response --turn VR3=100% --turn VR5=0% sedge-45.amp      controls stood elsewhere
  asfound response --format csv --range 10Hz 100kHz --points 401 sedge-45.amp")]
pub(super) struct Response {
    /// The document; the first of two, if OTHER is given
    #[arg(value_name = "FILE")]
    file: String,
    /// Another document, compared as the later one
    #[arg(value_name = "OTHER")]
    other: Option<String>,
    /// Where the response is taken: a net or a leg; the speaker where not given
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
    /// What it is taken against: a net or a leg; the drive's 1 V where not given
    #[arg(long, value_name = "PLACE")]
    from: Option<String>,
    /// Lowest and highest frequency
    #[arg(long, num_args = 2, value_names = ["LOW", "HIGH"], value_parser = hertz)]
    range: Option<Vec<f64>>,
    /// Number of frequencies
    #[arg(long, value_name = "COUNT", default_value_t = 121, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    points: u32,
    /// A control stood elsewhere than the document says; may be given several times
    #[arg(long = "turn", value_name = "POT=PERCENT", value_parser = turn)]
    turns: Vec<(String, f64)>,
    /// Only this document, not against the one it rests on
    #[arg(long, conflicts_with = "other")]
    alone: bool,
    #[command(flatten)]
    state: In,
    /// For people, for programs, or for a spreadsheet
    #[arg(long, value_enum, value_name = "FORM", default_value_t)]
    format: Form,
}

/// For whom the output is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Form {
    /// For people
    #[default]
    Text,
    /// For programs: stable, with the name and version of its schema
    Json,
    /// The curve alone, one frequency a line
    Csv,
}

impl Response {
    pub(super) fn format(&self) -> Format {
        if self.format == Form::Json { Format::Json } else { Format::Text }
    }

    pub(super) fn run(&self, console: &mut Console) -> Result<Status, Stop> {
        let first = Opened::open(&self.file, console.reach)?;
        notices(&first, console)?;
        let top = first.top()?.1;
        if let Some(other) = &self.other {
            let second = Opened::beside(first.loaded.sources.clone(), other, console.reach)?;
            notices(&second, console)?;
            let depth = second.top()?.1;
            let before = self.hear(&first, top)?;
            return self.tell(console, Some((&first, top, &before)), (&second, depth));
        }
        if self.alone || top == 0 {
            return self.tell(console, None, (&first, top));
        }
        let before = self.hear(&first, top - 1)?;
        self.tell(console, Some((&first, top - 1, &before)), (&first, top))
    }

    fn hear(&self, opened: &Opened, depth: usize) -> Result<Heard, Stop> {
        let range = Range { points: self.points as usize, ..Range::default() };
        let range = self.range.as_ref().map_or(range, |ends| Range { low: ends[0], high: ends[1], ..range });
        if range.low >= range.high {
            return Err(Stop::Failure("the range needs its lower frequency first".into()));
        }
        let question = Question {
            range,
            from: self.from.clone(),
            at: self.at.clone(),
            turns: self.turns.clone(),
            condition: self.state.condition,
        };
        hear(&opened.circuits[depth], &question).map_err(|why| match why {
            Unheard::Asked(words) => Stop::Failure(words),
            Unheard::Unsolved(circuit, unsolved) => {
                let stack = [&opened.circuits[..depth], &[*circuit]].concat();
                Stop::of(unsolved_of(&stack, self.state.condition, unsolved), &opened.loaded)
            }
        })
    }

    fn tell(
        &self,
        console: &mut Console,
        before: Option<(&Opened, usize, &Heard)>,
        (opened, depth): (&Opened, usize),
    ) -> Result<Status, Stop> {
        let now = self.hear(opened, depth)?;
        let path = |opened: &Opened, depth: usize| opened.stack()[depth].0.to_owned();
        let earlier = before.map(|b| b.2);
        match self.format {
            Form::Text => {}
            Form::Csv => {
                console.say(&csv::response(earlier, &now))?;
                return Ok(Status::Nothing);
            }
            Form::Json => {
                let condition = self.state.condition.word();
                let report = json::response(opened.head(&[]), condition, earlier, &now);
                console.say(&json::cautioned(&report))?;
                return Ok(Status::Nothing);
            }
        }
        let mut page = text::Page::new(console.width);
        match before {
            Some((earlier, at, heard)) => {
                let (from, to) = (path(earlier, at), path(opened, depth));
                text::between(&mut page, (&from, &heard.circuit), (&to, &now.circuit));
            }
            None => text::head(&mut page, &opened.stack()),
        }
        text::response(&mut page, earlier, &now);
        text::assumed(&mut page, &now.responded.assumed);
        console.say(&text::cautioned(page))?;
        Ok(Status::Nothing)
    }
}

/// Frequencies that a response can be asked at, in hertz.
const LOWEST: f64 = 1e-3;
const HIGHEST: f64 = 1e9;

fn hertz(text: &str) -> Result<f64, String> {
    let quantity = parse_quantity(text)?;
    match quantity.unit {
        None | Some(Unit::Hertz) if (LOWEST..=HIGHEST).contains(&quantity.value) => Ok(quantity.value),
        _ => Err("a frequency from 1mHz to 1GHz, such as 20Hz or 10kHz".into()),
    }
}

fn turn(text: &str) -> Result<(String, f64), String> {
    let wrong = || "a control and where it stands, such as VR3=60%".to_owned();
    let (name, position) = text.split_once('=').ok_or_else(wrong)?;
    let quantity = parse_quantity(position)?;
    let within = quantity.unit == Some(Unit::Ratio) && (0.0..=1.0).contains(&quantity.value);
    if within { Ok((name.to_owned(), quantity.value)) } else { Err(wrong()) }
}
