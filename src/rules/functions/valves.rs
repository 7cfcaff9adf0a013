//! Valve sections at work: volts, currents, watts, and the limits of their types.

use super::{
    AMPS, Function, Gives, PART, Param, SECTION, SHARE, TEXT, TRUTH, VOLTS, WATTS, part, section, text,
    truth, word_of,
};
use crate::circuit::{CHASSIS, LegId, NetId, PartId, Target};
use crate::model::{Condition, Kind};
use crate::numeric::statistics::Figure;
use crate::rules::ast::Sign;
use crate::rules::context::{Context, Known, measured};
use crate::rules::dimension::{Domain, Ty};
use crate::rules::finding::Basis;
use crate::rules::value::{Number, SectionId, Value};
use crate::units::Unit;

pub(super) const TABLE: &[Function] = &[
    Function {
        name: "limit",
        params: &[SECTION, Param::Is(Ty::Word(Domain::Limit))],
        gives: Gives::Limit,
        solved: false,
        docs: "A limit of the section's type, by its name in the type data.",
        example: "limit(s, plate-power)",
        code: |c, args| c.type_limit(section(args)?.tube, word_of(args, 1)?).map(Value::stated),
    },
    Function {
        name: "limit",
        params: &[PART, Param::Is(Ty::Word(Domain::Limit))],
        gives: Gives::Limit,
        solved: false,
        docs: "A limit of a valve's type, by its name in the type data: for rectifiers, which have no section.",
        example: "limit(v, first-capacitor)",
        code: |c, args| c.type_limit(part(args)?, word_of(args, 1)?).map(Value::stated),
    },
    Function {
        name: "rated-here",
        params: &[SECTION],
        gives: TRUTH,
        solved: true,
        docs: "Whether the limits of the section's type hold in the condition that is judged. The design-centre system \
               allows for the spread of the mains by itself, so that its hot limits hold at nominal mains; those of the \
               design-maximum and absolute systems, and of no stated one, hold at the worst mains too. Cold limits hold \
               at cold start.",
        example: "where rated-here(s)",
        code: |c, args| {
            let nominal = c.tube_type(section(args)?.tube)?.rating_system.as_deref() == Some("design-centre");
            truth(!nominal || !matches!(c.condition, Condition::HighMains | Condition::LowMains))
        },
    },
    Function {
        name: "plate-limit",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "The highest plate volts of the type: the cold limit at cold start, else the hot one.",
        example: "plate-volts(s) > plate-limit(s)",
        code: |c, args| {
            let limit = if c.condition == Condition::ColdStart { "plate-cold" } else { "plate" };
            c.type_limit(section(args)?.tube, limit).map(Value::stated)
        },
    },
    Function {
        name: "screen-limit",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "The highest screen volts of the type: the cold limit at cold start, else the hot one.",
        example: "screen-volts(s) > screen-limit(s)",
        code: |c, args| {
            let limit = if c.condition == Condition::ColdStart { "screen-cold" } else { "screen" };
            c.type_limit(section(args)?.tube, limit).map(Value::stated)
        },
    },
    Function {
        name: "plate-volts",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "Plate volts above the cathode, as solved.",
        example: "plate-volts(s)",
        code: |c, args| solved_volts(c, section(args)?, "plate").map(Value::Number),
    },
    Function {
        name: "screen-volts",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "Screen volts above the cathode, as solved.",
        example: "screen-volts(s)",
        code: |c, args| solved_volts(c, section(args)?, "screen").map(Value::Number),
    },
    Function {
        name: "cathode-amps",
        params: &[SECTION],
        gives: AMPS,
        solved: true,
        docs: "Cathode current: read where it was read, else solved with the spread of valves and parts as its window.",
        example: "cathode-amps(s)",
        code: |c, args| cathode_amps(c, section(args)?).map(Value::Number),
    },
    Function {
        name: "solved-amps",
        params: &[SECTION],
        gives: AMPS,
        solved: true,
        docs: "Cathode current as solved, with the type's own figures, whatever was read: for what the circuit does to it.",
        example: "solved-amps(s) > 150 % of stock(solved-amps(s))",
        code: |c, args| {
            let id = section(args)?;
            let amps = c.section(id)?.cathode_amps;
            solved_figure(c, id, amps, Figure::CathodeAmps).map(Value::Number)
        },
    },
    Function {
        name: "read-amps",
        params: &[SECTION],
        gives: AMPS,
        solved: true,
        docs: "Cathode or plate current as read, in amps or as volts across the one resistor between cathode and chassis; \
               unknown where it was not read.",
        example: "read-amps(s)",
        code: |c, args| {
            let id = section(args)?;
            let read = read_current(c, id);
            Ok(Value::known(read.map(Value::Number), || {
                format!("the current of {} was not read", c.section_name(id))
            }))
        },
    },
    Function {
        name: "idle-power",
        params: &[SECTION],
        gives: WATTS,
        solved: true,
        docs: "Watts in the plate: from a current reading where there is one (a cathode reading less the modelled screen \
               current), else solved with the spread of valves and parts as its window.",
        example: "idle-power(s)",
        code: |c, args| idle_power(c, section(args)?).map(Value::Number),
    },
    Function {
        name: "idle-share",
        params: &[SECTION],
        gives: SHARE,
        solved: true,
        docs: "Watts in the plate as a share of the type's maximum; see `idle-power`.",
        example: "low(idle-share(s)) > 100 %",
        code: |c, args| idle_share(c, section(args)?).map(Value::Number),
    },
    Function {
        name: "read-share",
        params: &[SECTION],
        gives: SHARE,
        solved: true,
        docs: "As `idle-share`, but unknown where no current was read: what passes by computation alone has not passed.",
        example: "read-share(s) > 70 %",
        code: |c, args| {
            let id = section(args)?;
            read_current(c, id)
                .ok_or_else(|| format!("the current of {} was not read", c.section_name(id)))?;
            idle_share(c, id).map(Value::Number)
        },
    },
    Function {
        name: "screen-power",
        params: &[SECTION],
        gives: WATTS,
        solved: true,
        docs: "Watts in the screen at rest. Its window is the recorded error of the modelled screen current; unknown where \
               the type data record none. Watts at clipping are not worked out.",
        example: "low(screen-power(s)) > limit(s, screen-power)",
        code: |c, args| {
            let id = section(args)?;
            let amps = screen_amps(c, id)?;
            let watts = solved_volts(c, id, "screen")?.arith(Sign::Times, amps);
            watts.map(Value::Number).ok_or_else(|| "the screen's watts are not finite".to_owned())
        },
    },
    Function {
        name: "heater-volts",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "Volts of the cathode above the heater, with their sign. Heaters that are not said to be referred to a net are \
               taken to be at chassis, assumed.",
        example: "heater-volts(s)",
        code: |c, args| {
            let id = section(args)?;
            let cathode = super::sections::electrode(c, id, "cathode")?;
            let (heater, basis) = heater(c, id);
            Ok(Value::number(Number { basis, ..c.between(cathode, heater)? }))
        },
    },
    Function {
        name: "heater-side",
        params: &[SECTION],
        gives: TEXT,
        solved: true,
        docs: "Which of the two is higher, in words: `the cathode higher`, `the heater higher`.",
        example: "heater-side(s)",
        code: |c, args| {
            let id = section(args)?;
            let cathode = c.net_volts(super::sections::electrode(c, id, "cathode")?)?;
            let (heater, _) = heater(c, id);
            let side =
                if c.net_volts(heater)? > cathode { "the heater higher" } else { "the cathode higher" };
            text(side)
        },
    },
    Function {
        name: "heater-limit",
        params: &[SECTION],
        gives: VOLTS,
        solved: true,
        docs: "The highest volts between heater and cathode of the type, for the polarity that they have here.",
        example: "abs(heater-volts(s)) > heater-limit(s)",
        code: |c, args| {
            let id = section(args)?;
            let cathode = c.net_volts(super::sections::electrode(c, id, "cathode")?)?;
            let (heater, _) = heater(c, id);
            let side = if c.net_volts(heater)? > cathode { "heater-positive" } else { "heater-negative" };
            let limit = c.type_limit(id.tube, side).or_else(|_| c.type_limit(id.tube, "heater-cathode"))?;
            Ok(Value::stated(limit))
        },
    },
];

/// Volts of an electrode above the cathode, as solved.
fn solved_volts(c: &Context<'_>, id: SectionId, name: &str) -> Known<Number> {
    let upper = super::sections::electrode(c, id, name)?;
    c.between(upper, super::sections::electrode(c, id, "cathode")?)
}

/// Volts of an electrode above the cathode, either end read where it was read: the share of an idle current that was
/// read goes by what else was read.
fn electrode_volts(c: &Context<'_>, id: SectionId, name: &str) -> Known<Number> {
    let (upper, lower) =
        (super::sections::electrode(c, id, name)?, super::sections::electrode(c, id, "cathode")?);
    if let Some(reading) = c.reading(Target::Between(upper, lower), Unit::Volt) {
        return Ok(measured(reading));
    }
    let read = |net| c.reading(Target::Net(net), Unit::Volt);
    if read(upper).is_none() && read(lower).is_none() {
        return c.between(upper, lower);
    }
    let end = |net| match read(net) {
        Some(reading) => Ok(measured(reading)),
        None if net == CHASSIS => Ok(Number::plain(0.0, Basis::Stated)),
        None => c.net_number(net),
    };
    end(upper)?.arith(Sign::Minus, end(lower)?).ok_or_else(|| "its volts are not finite".to_owned())
}

/// A current as read at an electrode: in amps, or as the volts across the one resistor between a cathode and chassis.
fn read_current(c: &Context<'_>, id: SectionId) -> Option<Number> {
    leg_reading(c, id, "cathode").or_else(|| sensed(c, id)).or_else(|| leg_reading(c, id, "plate"))
}

/// Cathode current from volts read across its resistor to chassis, with meter and tolerance as its window; only where
/// the cathode has that one way and no other valve shares it.
fn sensed(c: &Context<'_>, id: SectionId) -> Option<Number> {
    let net = c.electrode_net(id, "cathode")?;
    let circuit = c.circuit();
    let cathode = |leg: &LegId| {
        circuit.part(leg.part).kind == Kind::Tube
            && circuit.part(leg.part).legs[leg.leg as usize].name.ends_with("cathode")
    };
    let conducts = |part: &PartId| !matches!(circuit.part(*part).kind, Kind::Tube | Kind::Capacitor);
    let ways: Vec<PartId> = circuit.parts_on(net).into_iter().filter(conducts).collect();
    let [resistor] = ways.as_slice() else { return None };
    let part = circuit.part(*resistor);
    let to_chassis = part.kind == Kind::Resistor && circuit.across(*resistor, net) == Some(CHASSIS);
    if !to_chassis
        || part.component.shorted
        || circuit.net(net).legs.iter().filter(|l| cathode(l)).count() != 1
    {
        return None;
    }
    let volts =
        c.reading(Target::Net(net), Unit::Volt).or_else(|| c.reading(Target::Part(*resistor), Unit::Volt))?;
    let tolerance = if part.component.measured.is_some() { 0.01 } else { part.tolerance().0 };
    let ohms = Number::plain(part.value().filter(|v| *v > 0.0)?, Basis::Stated).spread(tolerance);
    measured(volts).mapped(f64::abs).arith(Sign::Over, ohms)
}

/// A current reading at an electrode, its size.
fn leg_reading(c: &Context<'_>, id: SectionId, electrode: &str) -> Option<Number> {
    let leg = c.electrode(id, electrode)?;
    c.reading(Target::Leg(leg), Unit::Amp).map(|r| {
        let n = measured(r);
        let (a, b) = (n.low.abs(), n.high.abs());
        Number { value: n.value.abs(), low: a.min(b), high: a.max(b), basis: n.basis }
    })
}

/// Spread of a type's currents where its data state none: "new tubes scatter about ±30 (34) %" (Knoll, read).
const SPREAD: f64 = 0.3;

/// A solved figure of a section with its window; without one, the spread of the type.
fn solved_figure(c: &Context<'_>, id: SectionId, value: f64, figure: Figure) -> Known<Number> {
    if !c.windows {
        return Ok(Number::plain(value, Basis::Solved));
    }
    let letter = crate::rules::context::letter(id);
    let within = c.solved()?.figure_within(c.circuit(), id.tube, &letter, figure);
    if within.is_some() {
        return Ok(Number::within(value, within));
    }
    let spread = c.tube_type(id.tube)?.spread.unwrap_or(SPREAD);
    Ok(Number::plain(value, Basis::Solved).spread(spread))
}

fn cathode_amps(c: &Context<'_>, id: SectionId) -> Known<Number> {
    if let Some(read) = leg_reading(c, id, "cathode").or_else(|| sensed(c, id)) {
        return Ok(read);
    }
    let amps = c.section(id)?.cathode_amps;
    solved_figure(c, id, amps, Figure::CathodeAmps)
}

fn screen_amps(c: &Context<'_>, id: SectionId) -> Known<Number> {
    let of = c.tube_type(id.tube)?;
    let amps = c
        .section(id)?
        .screen_amps
        .ok_or_else(|| format!("{} has no modelled screen current", c.section_name(id)))?;
    let residual = of
        .screen_residual
        .ok_or_else(|| format!("the type data of {} record no error of the screen current", of.name))?;
    Ok(Number::plain(amps, Basis::Solved).spread(residual))
}

fn plate_amps(c: &Context<'_>, id: SectionId) -> Known<Number> {
    if let Some(read) = leg_reading(c, id, "plate") {
        return Ok(read);
    }
    let Some(read) = leg_reading(c, id, "cathode").or_else(|| sensed(c, id)) else {
        let amps = c.section(id)?.plate_amps;
        return solved_figure(c, id, amps, Figure::PlateAmps);
    };
    if c.electrode(id, "screen").is_none() {
        return Ok(read);
    }
    // Cathode readings are plate and screen: the modelled screen current is taken off. It is a small share of a reading,
    // which stays measured.
    let screen = screen_amps(c, id)?;
    let plate = read.arith(Sign::Minus, screen).ok_or_else(|| "its current is not finite".to_owned())?;
    Ok(Number { basis: read.basis, ..plate })
}

fn idle_power(c: &Context<'_>, id: SectionId) -> Known<Number> {
    let volts = electrode_volts(c, id, "plate")?;
    if volts.basis == Basis::Solved && read_current(c, id).is_none() {
        // Volts fall where current rises: their windows don't multiply.
        return solved_figure(c, id, c.section(id)?.plate_watts, Figure::PlateWatts);
    }
    let watts = volts.arith(Sign::Times, plate_amps(c, id)?);
    watts.ok_or_else(|| "its watts are not finite".to_owned())
}

fn idle_share(c: &Context<'_>, id: SectionId) -> Known<Number> {
    let most = Number::plain(c.type_limit(id.tube, "plate-power")?, Basis::Stated);
    let share = idle_power(c, id)?.arith(Sign::Over, most);
    share.ok_or_else(|| "the type's plate-power limit is nothing".to_owned())
}

/// The net that a section's heater is referred to, and how that is known: as the winding's legs sit now, whatever the
/// spec refers it to; one that nothing refers to anything is taken to be at chassis.
fn heater(c: &Context<'_>, id: SectionId) -> (NetId, Basis) {
    let Some(feed) = c.circuit().heaters.iter().find(|h| h.valves.contains(&id.tube)) else {
        return (CHASSIS, Basis::Assumed);
    };
    let prefix = format!("{}.", feed.winding);
    let legs = c.part(feed.transformer).legs.iter().filter(|leg| leg.name.starts_with(&prefix));
    let nets: Vec<NetId> = legs.filter_map(|leg| leg.net).collect();
    let referred = feed.reference.filter(|net| nets.is_empty() || nets.contains(net));
    let held = || nets.iter().copied().find(|net| c.paths().grounded(c.circuit(), *net));
    referred.or_else(held).or(feed.reference).map_or((CHASSIS, Basis::Assumed), |net| (net, Basis::Solved))
}
