//! Signs: magnitudes that are negative, and a phase that gives what the others draw.

use super::bounds::{CERTAIN_POWER_SHARE, DOUBT_SHARE, REVERSED_SHARE};
use super::{Action, PlausibilityCheck, QualityEntry};
use crate::clean::readings::Cells;
use electrical::Phase;
use site::{Plausibility, Quantity};

/// An rms value is never negative. A current that is negative often carries the sign of its power:
/// its magnitude is used. Otherwise, and for voltages, the reading is left out.
pub(super) fn magnitudes(work: &mut PlausibilityCheck<'_>) {
    let mut cells = Cells::default();
    for quantity in work.readings.quantities() {
        let current = matches!(quantity, Quantity::Current(_) | Quantity::NeutralCurrent);
        let voltage = matches!(quantity, Quantity::Voltage(_) | Quantity::LineVoltage(_));
        if !(current || voltage) {
            continue;
        }
        let values = work.readings.get(quantity).unwrap_or_default();
        let known = values.iter().flatten().count();
        let rows: Vec<usize> = (0..values.len())
            .filter(|&row| values[row].is_some_and(|value| value < 0.0))
            .collect();
        let often = rows.len() > 2 && rows.len() as f64 > DOUBT_SHARE * known as f64;
        if current && often {
            if work.setting == Plausibility::Drop {
                for value in work.readings.get_mut(quantity).into_iter().flatten() {
                    *value = value.map(f64::abs);
                }
            }
            signed_current(work, quantity, &rows);
        } else {
            cells.add(quantity, rows);
        }
    }
    work.leave_out(
        "negative-magnitude",
        &cells.rows(),
        &cells,
        "negative voltages or currents; rms values cannot be negative",
        "excluded",
    );
}

fn signed_current(work: &mut PlausibilityCheck<'_>, quantity: Quantity, rows: &[usize]) {
    let times = work.readings.times(rows);
    let (action, done) = match work.setting {
        Plausibility::Drop => (Action::Corrected, "its magnitude is used"),
        Plausibility::Keep => (Action::Kept, "kept, as the meter's `plausibility` says"),
    };
    let note = format!("`{quantity}` has a sign, like the direction of its power; {done}");
    work.entries
        .push(QualityEntry::at_times("signed-current", &times, note).with(action));
}

/// Power of one phase that is negative while the others together draw: reported, never changed,
/// because a magnitude may be right and generation on one phase is.
pub(super) fn phases(work: &mut PlausibilityCheck<'_>) {
    if work.nominal.may_return {
        return;
    }
    let certain = CERTAIN_POWER_SHARE * work.nominal.phase_limit_kva();
    for phase in Phase::ALL {
        let Some(power) = work.readings.get(Quantity::ActivePower(Some(phase))) else {
            continue;
        };
        let others: Vec<_> = Phase::ALL
            .into_iter()
            .filter(|&other| other != phase)
            .filter_map(|other| work.readings.get(Quantity::ActivePower(Some(other))))
            .collect();
        let others_draw = |row: usize| {
            let sum: Option<f64> = others.iter().map(|power| power[row]).sum();
            !others.is_empty() && sum.is_some_and(|sum| sum > certain)
        };
        let loaded = |row: &usize| power[*row].is_some_and(|kw| kw.abs() > certain);
        let negative = |row: &usize| power[*row].is_some_and(|kw| kw < 0.0);
        let loaded_rows: Vec<usize> = (0..power.len()).filter(loaded).collect();
        let below = loaded_rows.iter().filter(|row| negative(row)).count();
        let rows: Vec<usize> = loaded_rows
            .iter()
            .copied()
            .filter(|row| negative(row) && others_draw(*row))
            .collect();
        let energy: f64 =
            rows.iter().filter_map(|&row| power[row]).sum::<f64>() * work.readings.hours();
        let always = below as f64 >= REVERSED_SHARE * loaded_rows.len() as f64;
        let (kind, note) = if always && below > 1 {
            (
                "reversed-phase",
                format!(
                    "the power of {phase} is negative whenever it is loaded, the other phases import ({energy:.1} kWh): its current transformer may be reversed, or S1 and S2 swapped; not corrected"
                ),
            )
        } else {
            (
                "negative-phase",
                format!(
                    "the power of {phase} is negative at times while the other phases import ({energy:.1} kWh); it may be generation or regenerative braking; kept"
                ),
            )
        };
        work.report(kind, &rows, note);
    }
}
