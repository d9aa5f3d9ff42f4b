//! Apparent power below active power.

use super::PlausibilityCheck;
use super::bounds::{
    APPARENT_SHORT, APPARENT_TOLERANCE, FEWEST_SHORT, LOADED_SHARE, PRODUCT_TOLERANCE,
};
use crate::clean::readings::{Cells, rounding_of};
use electrical::Phase;
use site::Quantity;

/// Leaves out apparent powers that are smaller than the active power with them, and reports active
/// powers that voltage times current cannot explain.
pub(super) fn below_active(work: &mut PlausibilityCheck<'_>, doubted: &[Quantity]) {
    let mut cells = Cells::default();
    for place in [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)] {
        let readings = &*work.readings;
        let apparent = Quantity::ApparentPower(place);
        let active = Quantity::ActivePower(place);
        let (Some(kva), Some(kw)) = (readings.get(apparent), readings.get(active)) else {
            continue;
        };
        let rounding = rounding_of(kva) + rounding_of(kw);
        let rows = (0..kw.len())
            .filter(|&row| {
                kva[row]
                    .zip(kw[row])
                    .is_some_and(|(kva, kw)| kva < kw.abs() * (1.0 - APPARENT_TOLERANCE) - rounding)
            })
            .collect();
        cells.add(apparent, rows);
    }
    work.leave_out(
        "apparent-below-active",
        &cells.rows(),
        &cells,
        "apparent power smaller than active power in the same interval",
        "apparent power excluded",
    );
    for phase in Phase::ALL {
        explained_by_current(work, phase, doubted);
        explains_current(work, phase, doubted);
    }
}

/// Reports apparent powers that are far below voltage times current, whatever the power factor and the harmonics.
fn explains_current(work: &mut PlausibilityCheck<'_>, phase: Phase, doubted: &[Quantity]) {
    let quantities = [
        Quantity::Voltage(phase),
        Quantity::Current(phase),
        Quantity::ApparentPower(Some(phase)),
    ];
    if quantities.iter().any(|one| doubted.contains(one)) {
        return;
    }
    let readings = &*work.readings;
    let [Some(volts), Some(amps), Some(kva)] = quantities.map(|one| readings.get(one)) else {
        return;
    };
    let most = amps
        .iter()
        .flatten()
        .fold(0.0, |most: f64, amps| most.max(*amps));
    let rounding = rounding_of(kva);
    let is_short = |row: usize| -> Option<bool> {
        let amps = amps[row].filter(|amps| *amps >= LOADED_SHARE * most && *amps > 0.0)?;
        let product = volts[row]? * amps / 1000.0;
        Some(kva[row]?.abs() + rounding < APPARENT_SHORT * product)
    };
    let judged: Vec<(usize, bool)> = (0..kva.len())
        .filter_map(|row| Some((row, is_short(row)?)))
        .collect();
    let short: Vec<usize> = judged
        .iter()
        .filter(|(_, short)| *short)
        .map(|(row, _)| *row)
        .collect();
    if short.len() < FEWEST_SHORT || 2 * short.len() <= judged.len() {
        return;
    }
    work.report(
        "apparent-below-volt-amperes",
        &short,
        format!(
            "apparent power of {phase} is below 0.8 × voltage × current in most readings with load, which neither harmonics nor the accuracy class explain: a wrong ratio or `scale` of one of the three, or a current read with the voltage of another phase; kept"
        ),
    );
}

fn explained_by_current(work: &mut PlausibilityCheck<'_>, phase: Phase, doubted: &[Quantity]) {
    let (voltage, current, power) = (
        Quantity::Voltage(phase),
        Quantity::Current(phase),
        Quantity::ActivePower(Some(phase)),
    );
    if [voltage, current, power]
        .iter()
        .any(|one| doubted.contains(one))
    {
        return;
    }
    let readings = &*work.readings;
    let (Some(volts), Some(amps), Some(kw)) = (
        readings.get(voltage),
        readings.get(current),
        readings.get(power),
    ) else {
        return;
    };
    let rounding_a = rounding_of(amps);
    let rounding_kw = rounding_of(kw);
    let unexplained = |row: usize| -> Option<bool> {
        let most = volts[row]? * (amps[row]? + rounding_a) / 1000.0;
        Some(kw[row]?.abs() > most * (1.0 + PRODUCT_TOLERANCE) + rounding_kw)
    };
    let rows: Vec<usize> = (0..kw.len())
        .filter(|&row| unexplained(row) == Some(true))
        .collect();
    work.report(
        "power-above-volt-amperes",
        &rows,
        format!(
            "active power of {phase} is larger than voltage × current: current transformers with different ratios or on different phases, or a wrong `scale`; kept"
        ),
    );
}
