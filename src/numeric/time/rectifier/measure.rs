//! What is read off one period of a supply.

use crate::numeric::time::rectifier::course::{Course, Sum, TimeAbove};
use crate::numeric::time::rectifier::law::RectifierLaw;
use crate::numeric::time::rectifier::march::{March, Moment};
use crate::numeric::time::rectifier::mesh::{Mesh, Piece};
use crate::numeric::time::rectifier::operators::{GAMMA, Operators};

/// Everything over one period, in SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Volts of each node to chassis.
    pub volts: Vec<Course>,
    /// Volts across each piece, first terminal above second.
    pub across: Vec<Course>,
    /// Current through each piece from its first terminal to its second; a winding's out of its first.
    pub amps: Vec<Course>,
    /// Mean power into each piece; of a winding its heat alone.
    pub watts: Vec<f64>,
    /// How long each rectifier conducts within a period, in seconds; 0 for other pieces.
    pub conducting: Vec<f64>,
    /// Current into each transformer's primary, without what magnetises it.
    pub primary_amps: Vec<Course>,
    /// Mean power out of the mains.
    pub delivered_watts: f64,
    /// Mean power in each primary's resistance.
    pub primary_watts: Vec<f64>,
}

/// Follows one period from the given values of the stores, which move to its end.
pub(crate) fn measure(mesh: &Mesh, march: &mut March, values: &mut [f64]) -> Option<Measured> {
    // The march lends itself out to `period`: the rows are read while it runs.
    let operators = march.operators.clone();
    let mut sums = Sums::new(mesh, &operators);
    let share = 1.0 / march.steps as f64;
    let step = share / mesh.hertz;
    march
        .period(values, |moment| {
            sums.find_unknowns(&operators, moment);
            sums.add(mesh, &operators, moment, (share, step));
        })
        .then(|| sums.finish(step))
}

/// Sums over a period.
struct Sums {
    nodes: Vec<Sum>,
    pieces: Vec<PieceSum>,
    primaries: Vec<(f64, Sum)>,
    delivered: f64,
    primary_watts: Vec<f64>,
    unknowns: Vec<f64>,
}

#[derive(Clone, Copy)]
struct PieceSum {
    volts: Sum,
    amps: Sum,
    watts: f64,
    conducting: TimeAbove,
}

impl Sums {
    fn new(mesh: &Mesh, operators: &Operators) -> Self {
        let none =
            PieceSum { volts: Sum::new(), amps: Sum::new(), watts: 0.0, conducting: TimeAbove::default() };
        Self {
            nodes: vec![Sum::new(); mesh.nodes],
            pieces: vec![none; mesh.pieces.len()],
            primaries: vec![(0.0, Sum::new()); mesh.transformers.len()],
            delivered: 0.0,
            primary_watts: vec![0.0; mesh.transformers.len()],
            unknowns: vec![0.0; operators.unknown_rows.len() / operators.inputs],
        }
    }

    fn find_unknowns(&mut self, operators: &Operators, moment: &Moment) {
        let first = moment.hat.len() + 2;
        let rows = operators.unknown_rows.chunks_exact(operators.inputs);
        for (unknown, row) in self.unknowns.iter_mut().zip(rows) {
            let stored: f64 = row.iter().zip(moment.hat).map(|(share, value)| share * value).sum();
            let active = moment.rectifiers.active().iter();
            let driven: f64 = active.map(|at| row[first + at] * moment.rectifiers.amps[*at]).sum();
            *unknown = stored + row[first - 2] * moment.sine + row[first - 1] + driven;
        }
    }

    fn add(&mut self, mesh: &Mesh, operators: &Operators, moment: &Moment, (period, step): (f64, f64)) {
        // The second stage has the smaller weight and ends the step: only there are values accurate to second order.
        let (share, ends) = (moment.weight * period, moment.weight < 0.5);
        let unknowns = &self.unknowns;
        let at = |node: usize| node.checked_sub(1).map_or(0.0, |row| unknowns[row]);
        for (node, sum) in self.nodes.iter_mut().enumerate() {
            sum.add(at(node), share, ends);
        }
        let (mut rectifier, mut store) = (0, 0);
        for (index, piece) in mesh.pieces.iter().enumerate() {
            let (a, b) = piece.ends();
            let sums = &mut self.pieces[index];
            let mut volts = at(a) - at(b);
            let branch = operators.branch_row[index].map_or(0.0, |row| unknowns[row]);
            let amps = match *piece {
                Piece::Resistor { ohms, .. } => volts / ohms,
                Piece::Inductor { .. } | Piece::Winding { .. } => branch,
                Piece::Rectifier { law, .. } => {
                    volts = moment.rectifiers.volts[rectifier];
                    rectifier += 1;
                    if ends {
                        sums.conducting.add(volts - threshold(law));
                    }
                    // The leak is part of the linear network and part of what the rectifier carries.
                    moment.rectifiers.amps[rectifier - 1] + law.leak() * volts
                }
                Piece::Draw { amps, .. } => amps,
                Piece::Capacitor { farads, .. } => {
                    // The stage's own difference, not that of the steps: it balances the other currents at its node
                    // to the last digit.
                    farads * (moment.values[store] - moment.hat[store]) / (GAMMA * step)
                }
            };
            store += usize::from(piece.stores());
            sums.watts += share
                * match *piece {
                    Piece::Inductor { ohms, .. } | Piece::Winding { ohms, .. } => ohms * amps * amps,
                    // Over a period in steady state it gives back what it took; summed, only the method's damping
                    // would show as heat.
                    Piece::Capacitor { .. } => 0.0,
                    _ => volts * amps,
                };
            sums.volts.add(volts, share, ends);
            sums.amps.add(amps, share, ends);
            if let Piece::Winding { ratio, transformer, .. } = *piece {
                self.primaries[transformer].0 += ratio * amps;
            }
        }
        let primaries = self.primaries.iter_mut().zip(&mut self.primary_watts);
        for (((amps, sum), watts), feed) in primaries.zip(&mesh.transformers) {
            // No transformer passes direct current: the mean magnetises the core and never reaches the primary.
            let amps = std::mem::take(amps) - feed.direct_amps;
            sum.add(amps, share, ends);
            self.delivered += share * feed.peak_volts * moment.sine * amps;
            *watts += share * feed.ohms * amps * amps;
        }
    }

    fn finish(self, step: f64) -> Measured {
        let all = self.pieces.iter();
        Measured {
            volts: self.nodes.iter().map(Sum::course).collect(),
            across: all.clone().map(|piece| piece.volts.course()).collect(),
            amps: all.clone().map(|piece| piece.amps.course()).collect(),
            watts: all.clone().map(|piece| piece.watts).collect(),
            conducting: all.map(|piece| step * piece.conducting.steps).collect(),
            primary_amps: self.primaries.iter().map(|primary| primary.1.course()).collect(),
            delivered_watts: self.delivered,
            primary_watts: self.primary_watts,
        }
    }
}

/// Volts from which a rectifier counts as conducting: silicon from 0.1 mA.
fn threshold(law: RectifierLaw) -> f64 {
    match law {
        RectifierLaw::Drop { volts, .. } => volts,
        RectifierLaw::Vacuum { .. } => 0.0,
        RectifierLaw::Junction { saturation_amps, thermal_volts }
        | RectifierLaw::Zener { saturation_amps, thermal_volts, .. } => {
            thermal_volts * libm::log1p(1e-4 / saturation_amps)
        }
    }
}
