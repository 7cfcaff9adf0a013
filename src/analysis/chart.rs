//! The voltage chart: every rail and every electrode, predicted, with its window and its reading.

use crate::analysis::reading::{Compared, Mark, compare, predicted, predicted_within};
use crate::circuit::{Circuit, LegId, NetId, PartId, Target, Window};
use crate::model::{Condition, Kind};
use crate::numeric::statistics::Within;
use crate::recognise::{Recognised, Section};
use crate::solve::tolerance::{SectionSpread, Spread};
use crate::solve::{Solved, SolvedSection};
use crate::units::Unit;

/// The chart of one circuit in one condition.
#[derive(Debug)]
pub struct Chart<'a> {
    /// In which condition.
    pub condition: Condition,
    /// Which case of it, where it has several.
    pub case: Option<&'a str>,
    /// How its spreads were worked out, if they were.
    pub spread: Option<&'a Spread>,
    /// Rails: recognised ones from the reservoir outwards, then declared ones.
    pub rails: Vec<ChartRow<'a>>,
    /// Valve sections in order of parts.
    pub sections: Vec<SectionRows<'a>>,
    /// Readings and windows of other places.
    pub others: Vec<ChartRow<'a>>,
}

impl<'a> Chart<'a> {
    /// Every row.
    pub fn rows(&self) -> impl Iterator<Item = &ChartRow<'a>> {
        let electrodes = self.sections.iter().flat_map(|section| &section.electrodes);
        self.rails.iter().chain(electrodes).chain(&self.others)
    }
}

/// One place of the chart.
#[derive(Debug)]
pub struct ChartRow<'a> {
    /// `B3`, `plate`, `V5.cathode`.
    pub place: String,
    /// A rail's purpose.
    pub title: Option<&'a str>,
    /// Unit of all figures.
    pub unit: Unit,
    /// Predicted; `None` where undefined.
    pub predicted: Option<f64>,
    /// Where 98 amplifiers of 100 are predicted; `None` where that was not worked out.
    pub spread: Option<Within>,
    /// Stated window.
    pub window: Option<&'a Window>,
    /// Readings there.
    pub readings: Vec<Compared<'a>>,
    /// The prediction against the window; [`Mark::Open`] without one.
    pub mark: Mark,
}

/// The electrodes of one valve section.
#[derive(Debug)]
pub struct SectionRows<'a> {
    /// `V1a`.
    pub name: String,
    /// `ECC83`.
    pub type_name: Option<&'a str>,
    /// Whether the valve is there.
    pub fitted: bool,
    /// Recognised stage.
    pub stage: Option<&'a str>,
    /// Electrodes, plate first.
    pub electrodes: Vec<ChartRow<'a>>,
    /// Its currents and powers; `None` where it was not solved.
    pub at_rest: Option<&'a SolvedSection>,
    /// Their windows; `None` where these were not worked out.
    pub spread: Option<&'a SectionSpread>,
}

/// Makes the chart. Readings are held against `as_read`: the same, at the mains of the day.
pub fn chart<'a>(
    circuit: &'a Circuit,
    recognised: &'a Recognised,
    solved: &'a Solved,
    as_read: &'a Solved,
) -> Chart<'a> {
    let mut maker = Maker { circuit, solved, readings: compare(circuit, as_read) };
    let rails: Vec<ChartRow> = rails(circuit, recognised).into_iter().map(|net| maker.rail(net)).collect();
    let mut sections = Vec::new();
    for tube in circuit.part_ids().filter(|id| circuit.part(*id).kind == Kind::Tube) {
        sections.extend(maker.sections(recognised, tube));
    }
    let others = maker.others();
    let (condition, case) = (solved.condition, solved.case.as_deref());
    Chart { condition, case, spread: solved.spread(circuit), rails, sections, others }
}

fn rails(circuit: &Circuit, recognised: &Recognised) -> Vec<NetId> {
    let mut rails: Vec<NetId> = recognised.rails.iter().map(|rail| rail.net).collect();
    let declared = |net: &NetId| circuit.net(*net).declared.as_ref().is_some_and(|d| d.rail);
    let further: Vec<NetId> = circuit.net_ids().filter(declared).filter(|net| !rails.contains(net)).collect();
    rails.extend(further);
    rails
}

struct Maker<'a> {
    circuit: &'a Circuit,
    solved: &'a Solved,
    /// Readings that no row has taken yet.
    readings: Vec<Compared<'a>>,
}

impl<'a> Maker<'a> {
    fn rail(&mut self, net: NetId) -> ChartRow<'a> {
        let net_here = self.circuit.net(net);
        let title = net_here.declared.as_ref().and_then(|d| d.title.as_deref());
        ChartRow { title, ..self.row(net_here.name.clone(), Target::Net(net), Unit::Volt) }
    }

    fn row(&mut self, place: String, target: Target, unit: Unit) -> ChartRow<'a> {
        let here = |c: &Compared| c.reading.target == target && c.reading.unit == unit;
        let readings = self.readings.extract_if(.., |c| here(c)).collect();
        let predicted = predicted(self.circuit, self.solved, target, unit);
        let window = self.window(target, unit);
        let mark = match (predicted, window) {
            (Some(value), Some(window)) => Mark::of_window(value, window),
            _ => Mark::Open,
        };
        let spread = predicted_within(self.circuit, self.solved, target, unit);
        ChartRow { place, title: None, unit, predicted, spread, window, readings, mark }
    }

    fn window(&self, target: Target, unit: Unit) -> Option<&'a Window> {
        let condition = self.solved.condition.word();
        self.circuit
            .windows
            .iter()
            .rev()
            .find(|w| w.target == target && w.unit == unit && w.condition == condition)
    }

    fn sections(&mut self, recognised: &'a Recognised, tube: PartId) -> Vec<SectionRows<'a>> {
        let legs = &self.circuit.part(tube).legs;
        // A rectifier's plates share one cathode: one section.
        let one = legs.iter().any(|leg| !leg.name.contains('.'));
        let mut letters: Vec<&str> = Vec::new();
        for leg in legs {
            let letter = if one { "" } else { leg.name.split_once('.').map_or("", |(letter, _)| letter) };
            if !letters.contains(&letter) {
                letters.push(letter);
            }
        }
        letters.into_iter().map(|letter| self.section(recognised, tube, letter)).collect()
    }

    fn section(&mut self, recognised: &'a Recognised, tube: PartId, letter: &str) -> SectionRows<'a> {
        let part = self.circuit.part(tube);
        let mut electrodes: Vec<ChartRow> = Vec::new();
        for (index, leg) in part.legs.iter().enumerate() {
            let Some(electrode) = electrode_of(&leg.name, letter) else { continue };
            let leg_id = LegId { part: tube, leg: index as u32 };
            if let Some(net) = leg.net {
                electrodes.push(self.row(electrode.clone(), Target::Net(net), Unit::Volt));
            }
            if self.readings.iter().any(|c| c.reading.target == Target::Leg(leg_id)) {
                electrodes.push(self.row(format!("{electrode} current"), Target::Leg(leg_id), Unit::Amp));
            }
        }
        let here = |s: &Section| s.tube == tube && s.letter == letter;
        let stage = recognised.stages.iter().find(|stage| stage.sections.iter().any(here));
        SectionRows {
            name: format!("{}{letter}", part.name),
            type_name: part.component.body.type_name.as_deref(),
            fitted: part.fitted(),
            stage: stage.map(|stage| stage.name.as_str()),
            electrodes,
            at_rest: self.solved.section(tube, letter),
            spread: self.solved.section_within(self.circuit, tube, letter),
        }
    }

    /// Windows of other places, and readings that stand in no other row.
    fn others(&mut self) -> Vec<ChartRow<'a>> {
        let mut rows = Vec::new();
        while let Some(first) = self.readings.first() {
            let (place, target, unit) =
                (first.reading.place.clone(), first.reading.target, first.reading.unit);
            rows.push(self.row(place, target, unit));
        }
        rows
    }
}

/// The electrode's name in a section; `None` for another section's and for heaters. A rectifier's `a.plate` is
/// "plate a".
fn electrode_of(leg: &str, letter: &str) -> Option<String> {
    let electrode = match leg.split_once('.') {
        Some((section, electrode)) if section == letter => electrode.to_owned(),
        Some((section, electrode)) if letter.is_empty() => format!("{electrode} {section}"),
        Some(_) => return None,
        None => leg.to_owned(),
    };
    (!electrode.starts_with("heater")).then_some(electrode)
}
