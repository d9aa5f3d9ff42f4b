//! Corrects what is certain and leaves out what is not to be trusted.

use num_complex::Complex64;

use super::channels::Channels;
use super::series::ChannelSeries;
use electrical::Phase;
use metering::{COMPUTED_NEUTRAL, FaultKind, IntervalTable, MeterFault, Treatment};
use site::Quantity;

/// Puts a fault right in the channels.
pub(crate) fn apply(channels: &mut Channels<'_>, fault: &MeterFault) {
    match fault.remedy {
        Treatment::Reported => {}
        Treatment::LeftOut => leave_out(channels, fault),
        Treatment::Corrected => correct(channels, fault),
    }
}

/// Takes the readings out that the fault spoils.
fn leave_out(channels: &mut Channels<'_>, fault: &MeterFault) {
    let Some(phase) = fault.phase else {
        for phase in 0..3 {
            empty(channels, phase, fault, &CURRENT_SIDE);
        }
        return;
    };
    let phase = phase.index();
    match fault.kind {
        FaultKind::VoltageLost => empty(channels, phase, fault, &VOLTAGE_AND_POWER),
        FaultKind::VoltageStuck => empty(channels, phase, fault, &[Part::Volts]),
        _ => empty(channels, phase, fault, &CURRENT_SIDE),
    }
}

#[derive(Clone, Copy)]
enum Part {
    Volts,
    Amps,
    Power,
}

const CURRENT_SIDE: [Part; 2] = [Part::Amps, Part::Power];
const VOLTAGE_AND_POWER: [Part; 2] = [Part::Volts, Part::Power];

fn empty(channels: &mut Channels<'_>, phase: usize, fault: &MeterFault, parts: &[Part]) {
    let channel = &mut channels.phases[phase];
    for part in parts {
        let columns: Vec<&mut Option<ChannelSeries<'_>>> = match part {
            Part::Volts => vec![&mut channel.volts],
            Part::Amps => vec![&mut channel.amps],
            Part::Power => vec![
                &mut channel.kw,
                &mut channel.kvar,
                &mut channel.kva,
                &mut channel.factor,
            ],
        };
        for series in columns.into_iter().flatten() {
            series.to_mut()[fault.rows.clone()].fill(None);
        }
    }
}

fn correct(channels: &mut Channels<'_>, fault: &MeterFault) {
    match (fault.kind, fault.phase) {
        (FaultKind::Reversed, Some(phase)) => {
            let channel = &mut channels.phases[phase.index()];
            for series in [&mut channel.kw, &mut channel.kvar] {
                scale(series, fault, -1.0);
            }
        }
        (FaultKind::Reversed, None) => {
            let phases = &mut channels.phases;
            for series in phases
                .iter_mut()
                .flat_map(|own| [&mut own.kw, &mut own.kvar])
            {
                scale(series, fault, -1.0);
            }
            scale(&mut channels.total_kw, fault, -1.0);
            scale(&mut channels.total_kvar, fault, -1.0);
        }
        (FaultKind::Ratio { factor }, Some(phase)) => {
            let channel = &mut channels.phases[phase.index()];
            for series in [
                &mut channel.amps,
                &mut channel.kw,
                &mut channel.kvar,
                &mut channel.kva,
            ] {
                scale(series, fault, factor);
            }
        }
        (FaultKind::Paired { from, reversed }, _) => pair(channels, fault, from, reversed),
        _ => {}
    }
}

fn scale(series: &mut Option<ChannelSeries<'_>>, fault: &MeterFault, factor: f64) {
    if let Some(series) = series {
        for value in series.to_mut()[fault.rows.clone()].iter_mut().flatten() {
            *value *= factor;
        }
    }
}

/// Gives each phase the current that is its own. In the common frame the current read on channel k is
/// I = conj(S_k/V_k)·u_k; it belongs to the phase `from[k]`, whose power is S = V·u·conj(I).
fn pair(channels: &mut Channels<'_>, fault: &MeterFault, from: [usize; 3], reversed: [bool; 3]) {
    for row in fault.rows.clone() {
        let mut powers = [None; 3];
        let mut amps = [None; 3];
        for channel in 0..3 {
            let phase = from[channel];
            let own = &channels.phases[channel];
            amps[phase] = own.amps.as_ref().and_then(|amps| amps.get(row));
            let volts = |phase: usize| {
                channels.phases[phase]
                    .volts
                    .as_ref()
                    .map_or(Some(1.0), |volts| volts.get(row))
            };
            let sign = if reversed[channel] { -1.0 } else { 1.0 };
            powers[phase] = (|| {
                let (kw, kvar) = (own.kw.as_ref()?.get(row)?, own.kvar.as_ref()?.get(row)?);
                let ratio = volts(phase)? / volts(channel).filter(|volts| *volts > 0.0)?;
                let turn = Phase::ALL[phase].direction() / Phase::ALL[channel].direction();
                Some(Complex64::new(kw, kvar) * turn * ratio * sign)
            })();
        }
        for phase in 0..3 {
            let channel = &mut channels.phases[phase];
            let set = |series: &mut Option<ChannelSeries<'_>>, value: Option<f64>| {
                if let Some(series) = series {
                    series.to_mut()[row] = value;
                }
            };
            set(&mut channel.amps, amps[phase]);
            set(&mut channel.kw, powers[phase].map(|power| power.re));
            set(&mut channel.kvar, powers[phase].map(|power| power.im));
            set(&mut channel.kva, powers[phase].map(Complex64::norm));
            set(&mut channel.factor, None);
        }
    }
}

/// The table with the channels' values, and with totals that follow from them.
pub(crate) fn table(
    logged: &IntervalTable,
    channels: &Channels<'_>,
    faults: &[MeterFault],
) -> IntervalTable {
    let mut columns: Vec<(String, Vec<Option<f64>>)> = Vec::new();
    let mut put = |quantity: Quantity, values: Option<&Vec<Option<f64>>>| {
        if let Some(values) = values {
            columns.push((quantity.name(), values.clone()));
        }
    };
    for phase in Phase::ALL {
        let channel = &channels.phases[phase.index()];
        for (quantity, series) in [
            (Quantity::Voltage(phase), &channel.volts),
            (Quantity::Current(phase), &channel.amps),
            (Quantity::ActivePower(Some(phase)), &channel.kw),
            (Quantity::ReactivePower(Some(phase)), &channel.kvar),
            (Quantity::ApparentPower(Some(phase)), &channel.kva),
            (Quantity::PowerFactor(Some(phase)), &channel.factor),
        ] {
            put(quantity, series.as_ref().and_then(ChannelSeries::put_right));
        }
    }
    let active = channels
        .total_kw
        .as_ref()
        .map(|total| total.iter().collect())
        .or_else(|| {
            moved_total(logged, channels, Quantity::ActivePower, |channels, k| {
                channels.phases[k].kw.as_ref()
            })
        });
    let reactive = channels
        .total_kvar
        .as_ref()
        .map(|total| total.iter().collect())
        .or_else(|| {
            moved_total(logged, channels, Quantity::ReactivePower, |channels, k| {
                channels.phases[k].kvar.as_ref()
            })
        });
    put(Quantity::ActivePower(None), active.as_ref());
    put(Quantity::ReactivePower(None), reactive.as_ref());
    let apparent = apparent_total(logged, active.as_ref(), reactive.as_ref(), faults);
    put(Quantity::ApparentPower(None), apparent.as_ref());
    let table = logged.with_values(columns);
    // What fast samples added up to rests on the wiring as it was logged.
    let turned = faults
        .iter()
        .any(|fault| fault.remedy != Treatment::Reported);
    if !turned {
        return table;
    }
    let mut stale = vec![
        Quantity::PowerFactor(None).name(),
        COMPUTED_NEUTRAL.to_owned(),
        format!("{COMPUTED_NEUTRAL}_mean_square"),
        format!("{COMPUTED_NEUTRAL}_max"),
    ];
    for place in [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)] {
        let touched =
            |fault: &MeterFault| place.is_none() || fault.phase.is_none() || fault.phase == place;
        if let Some(phase) = place
            && faults.iter().any(touched)
        {
            let current = Quantity::Current(phase).name();
            stale.extend(["mean_square", "min", "max"].map(|end| format!("{current}_{end}")));
        }
    }
    stale.iter().fold(table, |table, name| table.without(name))
}

/// A total as logged, moved by what the phases changed by; unknown where a phase is left out. `None` where no phase has its own.
fn moved_total(
    logged: &IntervalTable,
    channels: &Channels<'_>,
    place: fn(Option<Phase>) -> Quantity,
    of: for<'c> fn(&'c Channels<'_>, usize) -> Option<&'c ChannelSeries<'c>>,
) -> Option<Vec<Option<f64>>> {
    let total = logged.values(place(None))?;
    let before = Phase::ALL.map(|phase| logged.values(place(Some(phase))));
    if before.iter().all(Option::is_none) {
        return None;
    }
    let moved = |row: usize| {
        let mut sum = total.get(row)?;
        for (k, before) in before.iter().enumerate() {
            if let Some(before) = before.and_then(|before| before.get(row)) {
                sum += of(channels, k)?.get(row)? - before;
            }
        }
        Some(sum)
    };
    Some((0..total.len()).map(moved).collect())
}

/// Apparent power of all phases: as logged where nothing but a sign changed, else by the totals of active and reactive power.
fn apparent_total(
    logged: &IntervalTable,
    active: Option<&Vec<Option<f64>>>,
    reactive: Option<&Vec<Option<f64>>>,
    faults: &[MeterFault],
) -> Option<Vec<Option<f64>>> {
    let mut total = logged.values(Quantity::ApparentPower(None))?.to_vec();
    let only_a_sign = |fault: &&MeterFault| {
        fault.kind == FaultKind::Reversed && fault.remedy == Treatment::Corrected
    };
    let touched = faults
        .iter()
        .filter(|fault| fault.remedy != Treatment::Reported && !only_a_sign(fault));
    for row in touched.flat_map(|fault| fault.rows.clone()) {
        total[row] = (|| Some(active?[row]?.hypot(reactive?[row]?)))();
    }
    Some(total)
}
