//! The windows of a solved circuit's quantities, in the circuit's own terms.

use std::sync::{Arc, Mutex, OnceLock};

use super::vary::varied;
use crate::circuit::{Circuit, LegId, NetId, PartId};
use crate::numeric::dc::prepared::Prepared;
use crate::numeric::network::Network;
use crate::numeric::outcome::Unsolved;
use crate::numeric::point::{FloatingGrids, OperatingPoint};
use crate::numeric::statistics::Within;
use crate::numeric::statistics::first_order::{Linear, first_order};
use crate::numeric::statistics::monte_carlo::{Sampled, Sampling, sample};
use crate::numeric::statistics::quantity::{Figure, Quantity};
use crate::solve::at_rest::{AtRest, coupled, told};
use crate::solve::lower::{Lowered, lower};
use crate::solve::setup::Setup;
use crate::solve::solved::Solved;
use crate::solve::supply::couple_near;

/// How windows were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// From the slopes at the operating point.
    FirstOrder,
    /// By many exact solutions.
    MonteCarlo {
        /// Samples drawn.
        samples: usize,
        /// Seed of the draws.
        seed: u64,
        /// Samples that had no operating point.
        failed: usize,
    },
}

/// Windows of the quantities of a [`Solved`], in its order.
#[derive(Debug, Clone)]
pub struct Spread {
    /// How they were found.
    pub method: Method,
    /// How many figures vary.
    pub varied: usize,
    /// For how many of them it is assumed how far.
    pub assumed: usize,
    /// Of each net's volts.
    pub volts: Vec<Option<Within>>,
    /// Of the volts across each two-leg part, first leg above second.
    pub across: Vec<Option<Within>>,
    /// Of the current into each leg.
    pub amps: Vec<Vec<Option<Within>>>,
    /// Of the power of each part.
    pub watts: Vec<Option<Within>>,
    /// Of each valve section's figures.
    pub sections: Vec<SectionSpread>,
}

/// Windows of one valve section's figures.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SectionSpread {
    figures: [Option<Within>; Figure::ALL.len()],
    /// Of the plate dissipation as a share of the type's maximum.
    pub plate_share: Option<Within>,
    /// Of the screen dissipation as a share of the type's maximum.
    pub screen_share: Option<Within>,
}

impl SectionSpread {
    /// The window of a figure.
    pub fn of(&self, figure: Figure) -> Option<Within> {
        self.figures[figure as usize]
    }
}

/// Where a quantity's window belongs.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Place {
    Net(usize),
    Across(usize),
    Leg(usize, usize),
    Watts(usize),
    Section(usize, Figure),
}

/// The windows of a [`Solved`], worked out when they are first asked for; none by default.
#[derive(Debug, Clone, Default)]
pub struct Windows {
    later: Option<Arc<Later>>,
}

#[derive(Debug)]
struct Later {
    ready: AtRest,
    /// Sampled ones are there from the start.
    sampled: bool,
    spread: OnceLock<Option<Spread>>,
    /// For one window to first order at a time.
    single: OnceLock<Option<Single>>,
}

/// What single windows are worked out from.
#[derive(Debug)]
struct Single {
    asked: Vec<(Place, Quantity)>,
    linear: Mutex<Linear>,
}

impl Single {
    fn new(ready: &AtRest, circuit: &Circuit) -> Option<Single> {
        let varied = varied(circuit, &ready.lowered);
        let linear =
            Linear::new(ready.prepared.clone(), &ready.lowered.network, &ready.point, varied).ok()?;
        let asked = asked(circuit, &ready.lowered, &ready.point);
        Some(Single { asked, linear: Mutex::new(linear) })
    }
}

impl Windows {
    fn new(ready: AtRest, spread: OnceLock<Option<Spread>>) -> Windows {
        let sampled = spread.get().is_some();
        Windows { later: Some(Arc::new(Later { ready, sampled, spread, single: OnceLock::new() })) }
    }

    /// The network they are of, its equations, and where it rests.
    pub(in crate::solve) fn equations(&self) -> Option<(&Network, &Prepared, &OperatingPoint)> {
        let ready = &self.later.as_ref()?.ready;
        Some((&ready.lowered.network, &ready.prepared, &ready.point))
    }

    /// The same whole.
    pub(crate) fn at_rest(&self) -> Option<&AtRest> {
        Some(&self.later.as_ref()?.ready)
    }

    fn spread(&self, circuit: &Circuit, solved: &Solved) -> Option<&Spread> {
        let later = self.later.as_ref()?;
        later.spread.get_or_init(|| later.ready.first_order(circuit, solved).ok()).as_ref()
    }

    /// One window: as sampled, else alone, which is cheaper than all to first order.
    fn at(&self, circuit: &Circuit, solved: &Solved, place: Place) -> Option<Within> {
        let later = self.later.as_ref()?;
        // Figures of one chart come from one method: a sampled one is not mixed with slopes.
        if later.sampled {
            return later.spread.get()?.as_ref()?.at(place);
        }
        let single = later.single.get_or_init(|| Single::new(&later.ready, circuit)).as_ref()?;
        // What comes out of the other leg is the same.
        let (asked, turned) = match place {
            Place::Leg(part, 1) if circuit.parts[part].legs.len() == 2 => (Place::Leg(part, 0), true),
            place => (place, false),
        };
        let (_, quantity) = single.asked.iter().find(|(of, _)| *of == asked)?;
        let window = single.linear.lock().ok()?.window(&later.ready.lowered.network, quantity);
        match window {
            Some(window) => Some(if turned { window.turned() } else { asked.settled(window) }),
            // The current of an ideal link follows from those of all its neighbours.
            None => self.spread(circuit, solved)?.at(place),
        }
    }

    fn between(&self, circuit: &Circuit, a: NetId, b: NetId) -> Option<Within> {
        let later = self.later.as_ref()?;
        let node = |net: NetId| later.ready.lowered.node_of[net.0 as usize];
        let (a, b) = (node(a)?, node(b)?);
        let single = later.single.get_or_init(|| Single::new(&later.ready, circuit)).as_ref()?;
        single.linear.lock().ok()?.window(&later.ready.lowered.network, &Quantity::Between(a, b))
    }
}

impl Place {
    /// The window of what can't be negative.
    fn settled(self, window: Within) -> Within {
        let signed = [Figure::PlateVolts, Figure::ScreenVolts, Figure::GridVolts];
        match self {
            // A window to first order is symmetric and may reach below 0 where the quantity itself can't.
            Place::Watts(_) => window.not_negative(),
            Place::Section(_, figure) if !signed.contains(&figure) => window.not_negative(),
            _ => window,
        }
    }
}

/// A circuit solved in a condition, with first-order windows.
pub fn windows(circuit: &Circuit, setup: &Setup) -> Result<Solved, Unsolved> {
    windows_near(circuit, setup, None)
}

/// The same, solved from where a circuit much like it rests.
pub(in crate::solve) fn windows_near(
    circuit: &Circuit,
    setup: &Setup,
    near: Option<&AtRest>,
) -> Result<Solved, Unsolved> {
    let (ready, solved) = solved_at(circuit, setup, near)?;
    Ok(Solved { windows: Windows::new(ready, OnceLock::new()), ..solved })
}

/// A circuit solved in a condition, with windows by Monte Carlo. `progress` is told how many samples are done.
pub fn monte_carlo(
    circuit: &Circuit,
    setup: &Setup,
    sampling: Sampling,
    progress: &mut dyn FnMut(usize),
) -> Result<(Solved, Sampled), Unsolved> {
    let (ready, solved) = solved_at(circuit, setup, None)?;
    let mut spread = ready.first_order(circuit, &solved)?;
    let (network, varied) = (&ready.lowered.network, varied(circuit, &ready.lowered));
    let (places, quantities) = ready.asked(circuit);
    let sampled = sample(network, &ready.point, &varied, &quantities, sampling, progress)?;
    let Sampling { samples, seed } = sampling;
    spread.method = Method::MonteCarlo { samples, seed, failed: sampled.failed };
    let windows: Vec<Option<Within>> = sampled.statistics.iter().map(|of| of.map(|of| of.within)).collect();
    spread.fill(&places, &windows);
    spread.finish(&solved);
    let windows = Windows::new(ready, OnceLock::from(Some(spread)));
    Ok((Solved { windows, ..solved }, sampled))
}

fn solved_at(circuit: &Circuit, setup: &Setup, near: Option<&AtRest>) -> Result<(AtRest, Solved), Unsolved> {
    let coupled = match near {
        Some(near) => couple_near(circuit, setup, lower(circuit, setup), near)?,
        None => coupled(circuit, setup, FloatingGrids::AtCathode)?,
    };
    let solved = told(circuit, setup, &coupled)?;
    Ok((coupled.into(), solved))
}

impl AtRest {
    fn asked(&self, circuit: &Circuit) -> (Vec<Place>, Vec<Quantity>) {
        asked(circuit, &self.lowered, &self.point).into_iter().unzip()
    }

    fn first_order(&self, circuit: &Circuit, solved: &Solved) -> Result<Spread, Unsolved> {
        let varied = varied(circuit, &self.lowered);
        let (places, quantities) = self.asked(circuit);
        let (mut prepared, network) = (self.prepared.clone(), &self.lowered.network);
        let found = first_order(&mut prepared, network, &self.point, &varied, &quantities)?;
        let mut spread = Spread {
            method: Method::FirstOrder,
            varied: varied.len(),
            assumed: varied.iter().filter(|one| one.assumed).count(),
            volts: vec![None; solved.volts.len()],
            across: vec![None; solved.watts.len()],
            amps: solved.amps.iter().map(|legs| vec![None; legs.len()]).collect(),
            watts: vec![None; solved.watts.len()],
            sections: vec![SectionSpread::default(); solved.sections.len()],
        };
        let windows: Vec<Option<Within>> = found.iter().map(|of| of.map(|of| of.within)).collect();
        spread.fill(&places, &windows);
        spread.finish(solved);
        Ok(spread)
    }
}

/// Every quantity of a [`Solved`], with its place.
fn asked(circuit: &Circuit, lowered: &Lowered, point: &OperatingPoint) -> Vec<(Place, Quantity)> {
    let mut all = Vec::new();
    for (net, node) in lowered.node_of.iter().enumerate() {
        all.extend(node.map(|node| (Place::Net(net), Quantity::Volts(node))));
    }
    let node = |net: NetId| lowered.node_of[net.0 as usize];
    for id in circuit.part_ids() {
        if let Some((a, b)) = circuit.ends(id)
            && let (Some(a), Some(b)) = (node(a), node(b))
        {
            all.push((Place::Across(id.0 as usize), Quantity::Between(a, b)));
        }
    }
    let mut amps: Vec<Vec<Vec<(usize, usize)>>> =
        circuit.parts.iter().map(|part| vec![Vec::new(); part.legs.len()]).collect();
    let mut watts: Vec<Vec<usize>> = vec![Vec::new(); circuit.parts.len()];
    let mut section = 0;
    for (element, origin) in lowered.elements.iter().enumerate() {
        let Some(part) = origin.part.map(|part| part.0 as usize) else { continue };
        for (terminal, leg) in origin.legs.iter().enumerate() {
            if let Some(leg) = leg {
                amps[part][*leg].push((element, terminal));
            }
        }
        if origin.heats {
            watts[part].push(element);
        }
        if origin.section.is_some() && point.valve(element).is_some() {
            let figures = Figure::ALL.into_iter();
            all.extend(figures.map(|of| (Place::Section(section, of), Quantity::Valve(element, of))));
            section += 1;
        }
    }
    for (part, mut legs) in amps.into_iter().enumerate() {
        if legs.len() == 2 {
            // What comes out of the other leg is the same.
            legs.truncate(1);
        }
        let known = legs.into_iter().enumerate().filter(|(_, terminals)| !terminals.is_empty());
        all.extend(known.map(|(leg, terminals)| (Place::Leg(part, leg), Quantity::Amps(terminals))));
    }
    let heated = watts.into_iter().enumerate().filter(|(_, elements)| !elements.is_empty());
    all.extend(heated.map(|(part, elements)| (Place::Watts(part), Quantity::Watts(elements))));
    all
}

impl Spread {
    fn fill(&mut self, places: &[Place], windows: &[Option<Within>]) {
        for (place, &window) in places.iter().zip(windows) {
            let window = window.map(|window| place.settled(window));
            match *place {
                Place::Net(net) => self.volts[net] = window,
                Place::Across(part) => self.across[part] = window,
                Place::Leg(part, leg) => self.amps[part][leg] = window,
                Place::Watts(part) => self.watts[part] = window,
                Place::Section(section, figure) => self.sections[section].figures[figure as usize] = window,
            }
        }
    }

    fn at(&self, place: Place) -> Option<Within> {
        match place {
            Place::Net(net) => self.volts[net],
            Place::Across(part) => self.across[part],
            Place::Leg(part, leg) => self.amps[part].get(leg).copied().flatten(),
            Place::Watts(part) => self.watts[part],
            Place::Section(section, figure) => self.sections[section].of(figure),
        }
    }

    /// What follows from other windows: second legs' currents, shares of the types' maxima.
    fn finish(&mut self, solved: &Solved) {
        for legs in self.amps.iter_mut().filter(|legs| legs.len() == 2) {
            legs[1] = legs[0].map(Within::turned);
        }
        let scaled = |of: Option<Within>, watts: f64, share: Option<f64>| {
            share.filter(|share| *share > 0.0).and_then(|share| Some(of?.over(watts / share)))
        };
        for (window, section) in self.sections.iter_mut().zip(&solved.sections) {
            let screen_watts = section.screen_watts.unwrap_or(0.0);
            window.plate_share =
                // The maximum is taken back out of the share, so that it need not be looked up by type again.
                scaled(window.of(Figure::PlateWatts), section.plate_watts, section.plate_share);
            window.screen_share = scaled(window.of(Figure::ScreenWatts), screen_watts, section.screen_share);
        }
    }
}

impl Solved {
    /// The windows of all quantities of `circuit`, which must be the one solved; `None` where none were asked for.
    pub fn spread(&self, circuit: &Circuit) -> Option<&Spread> {
        self.windows.spread(circuit, self)
    }

    /// The window of a net's volts.
    pub fn net_volts_within(&self, circuit: &Circuit, net: NetId) -> Option<Within> {
        self.windows.at(circuit, self, Place::Net(net.0 as usize))
    }

    /// The window of the volts from `b` to `a`: from the slopes, whatever the method.
    pub fn between_within(&self, circuit: &Circuit, a: NetId, b: NetId) -> Option<Within> {
        self.windows.between(circuit, a, b)
    }

    /// The window of the volts across a two-leg part, first leg above second.
    pub fn across_within(&self, circuit: &Circuit, part: PartId) -> Option<Within> {
        self.windows.at(circuit, self, Place::Across(part.0 as usize))
    }

    /// The window of the current into a leg.
    pub fn leg_amps_within(&self, circuit: &Circuit, leg: LegId) -> Option<Within> {
        self.windows.at(circuit, self, Place::Leg(leg.part.0 as usize, leg.leg as usize))
    }

    /// The window of a part's power.
    pub fn watts_within(&self, circuit: &Circuit, part: PartId) -> Option<Within> {
        self.windows.at(circuit, self, Place::Watts(part.0 as usize))
    }

    /// The window of [`Solved::meter_amps`].
    pub fn meter_amps_within(&self, circuit: &Circuit, leg: LegId) -> Option<Within> {
        let within = self.leg_amps_within(circuit, leg)?;
        let turned = self.meter_amps(circuit, leg)? != self.leg_amps(leg)?;
        Some(if turned { within.turned() } else { within })
    }

    /// The window of a valve section's figure.
    pub fn figure_within(
        &self,
        circuit: &Circuit,
        tube: PartId,
        letter: &str,
        figure: Figure,
    ) -> Option<Within> {
        let at = self.sections.iter().position(|s| s.tube == tube && s.letter == letter)?;
        self.windows.at(circuit, self, Place::Section(at, figure))
    }

    /// The windows of a valve section.
    pub fn section_within(&self, circuit: &Circuit, tube: PartId, letter: &str) -> Option<&SectionSpread> {
        let at = self.sections.iter().position(|s| s.tube == tube && s.letter == letter)?;
        self.spread(circuit)?.sections.get(at)
    }
}
