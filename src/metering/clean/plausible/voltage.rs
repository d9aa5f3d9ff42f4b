//! Voltages that are lost while their current flows, and frequencies that no grid has.

use super::PlausibilityCheck;
use super::bounds::{CERTAIN_CURRENT_SHARE, FREQUENCY_SHARE, LOST_VOLTAGE_SHARE};
use crate::clean::readings::Cells;
use electrical::{Phase, PhasePair};
use site::Quantity;

/// Leaves out a voltage that is not measured, and the powers that the meter made of it.
pub(super) fn lost(work: &mut PlausibilityCheck<'_>, doubted: &[Quantity]) {
    for phase in Phase::ALL {
        let voltage = Quantity::Voltage(phase);
        let least = LOST_VOLTAGE_SHARE * work.nominal.phase_voltage_v;
        let rows = lost_rows(work, voltage, &[phase], least);
        if rows.is_empty() || doubted.contains(&voltage) {
            continue;
        }
        let mut cells = Cells::default();
        cells.add(voltage, rows.clone());
        for place in [Some(phase), None] {
            for spoiled in [
                Quantity::ActivePower(place),
                Quantity::ActivePowerImport(place),
                Quantity::ActivePowerExport(place),
                Quantity::ReactivePower(place),
                Quantity::ApparentPower(place),
                Quantity::PowerFactor(place),
            ] {
                cells.add(spoiled, rows.clone());
            }
        }
        work.leave_out(
            "voltage-lost",
            &rows,
            &cells,
            &format!(
                "the voltage of {phase} is below 10 % of nominal while its current flows: have a competent person check the fuse and lead of the meter's voltage input"
            ),
            "that voltage and the powers computed from it are excluded",
        );
    }
    for pair in PhasePair::ALL {
        let voltage = Quantity::LineVoltage(pair);
        let (one, other) = pair.phases();
        let least = LOST_VOLTAGE_SHARE * work.nominal.line_voltage_v;
        let rows = lost_rows(work, voltage, &[one, other], least);
        if rows.is_empty() || doubted.contains(&voltage) {
            continue;
        }
        let mut cells = Cells::default();
        cells.add(voltage, rows.clone());
        work.leave_out(
            "voltage-lost",
            &rows,
            &cells,
            &format!(
                "the voltage {pair} is below 10 % of nominal while current flows on both phases"
            ),
            "excluded",
        );
    }
}

/// Intervals with a voltage below `least` while the current of each of the phases flows.
fn lost_rows(
    work: &PlausibilityCheck<'_>,
    voltage: Quantity,
    phases: &[Phase],
    least: f64,
) -> Vec<usize> {
    let readings = &*work.readings;
    let Some(volts) = readings.get(voltage) else {
        return Vec::new();
    };
    let certain = CERTAIN_CURRENT_SHARE * work.nominal.phase_limit_a;
    let currents: Option<Vec<_>> = phases
        .iter()
        .map(|&phase| readings.get(Quantity::Current(phase)))
        .collect();
    let Some(currents) = currents else {
        return Vec::new();
    };
    (0..volts.len())
        .filter(|&row| {
            volts[row].is_some_and(|volts| volts < least)
                && currents
                    .iter()
                    .all(|amps| amps[row].is_some_and(|amps| amps >= certain))
        })
        .collect()
}

/// Leaves out frequencies that no grid has.
pub(super) fn frequency(work: &mut PlausibilityCheck<'_>, doubted: &[Quantity]) {
    let nominal = work.nominal.frequency_hz;
    let Some(values) = work.readings.get(Quantity::Frequency) else {
        return;
    };
    if doubted.contains(&Quantity::Frequency) {
        return;
    }
    let off = |hertz: f64| (hertz - nominal).abs() > FREQUENCY_SHARE * nominal;
    let rows: Vec<usize> = (0..values.len())
        .filter(|&row| values[row].is_some_and(off))
        .collect();
    let mut cells = Cells::default();
    cells.add(Quantity::Frequency, rows.clone());
    let (low, high) = (0.9 * nominal, 1.1 * nominal);
    work.leave_out(
        "frequency-range",
        &rows,
        &cells,
        &format!("frequencies outside {low:.0}–{high:.0} Hz"),
        "excluded",
    );
}
