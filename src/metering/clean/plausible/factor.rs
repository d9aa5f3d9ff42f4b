//! Power factors: percent, more than one, negative.

use super::PlausibilityCheck;
use super::bounds::FACTOR_TOLERANCE;
use crate::clean::readings::Cells;
use electrical::Phase;
use site::Quantity;

const PLACES: [Option<Phase>; 4] = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];

/// Power factors logged in percent: none is between 0 and 1, at least one above 2, none beyond 100.
pub(super) fn percent(work: &mut PlausibilityCheck<'_>) {
    let logged: Vec<Quantity> = PLACES
        .into_iter()
        .map(Quantity::PowerFactor)
        .filter(|&factor| work.readings.get(factor).is_some())
        .collect();
    for factor in logged {
        let Some(values) = work.readings.get_mut(factor) else {
            continue;
        };
        let known = || values.iter().flatten().map(|value| value.abs());
        // An unloaded meter may log 0.
        let within = known().all(|value| value == 0.0 || (1.0..=100.0).contains(&value));
        let high = known().any(|value| value > 2.0);
        if !(within && high) {
            continue;
        }
        for value in values.iter_mut().flatten() {
            *value /= 100.0;
        }
        let known: Vec<usize> = (0..values.len())
            .filter(|&row| values[row].is_some())
            .collect();
        let times = work.readings.times(&known);
        let note = format!("`{factor}` is logged in per cent; divided by 100");
        let entry = super::QualityEntry::at_times("power-factor-percent", &times, note);
        work.entries.push(entry.with(super::Action::Corrected));
    }
}

/// Leaves out power factors above one.
pub(super) fn above_one(work: &mut PlausibilityCheck<'_>) {
    let mut cells = Cells::default();
    for factor in PLACES.map(Quantity::PowerFactor) {
        let values = work.readings.get(factor).unwrap_or_default();
        let above = |value: f64| value.abs() > 1.0 + FACTOR_TOLERANCE;
        let rows = (0..values.len())
            .filter(|&row| values[row].is_some_and(above))
            .collect();
        cells.add(factor, rows);
    }
    work.leave_out(
        "power-factor-range",
        &cells.rows(),
        &cells,
        "power factors above 1",
        "excluded",
    );
}

/// Says how a negative power factor is read: as that of export where the power of the same
/// interval is negative or nothing but the factor is logged of a meter that logs export,
/// else as leading.
pub(super) fn negative(work: &mut PlausibilityCheck<'_>) {
    let mut rows = Vec::new();
    for place in PLACES {
        let Some(factors) = work.readings.get(Quantity::PowerFactor(place)) else {
            continue;
        };
        let power = work.readings.get(Quantity::ActivePower(place));
        rows.extend((0..factors.len()).filter(|&row| {
            let returned = match power {
                Some(power) => power[row].is_some_and(|kw| kw < 0.0),
                None => work.nominal.may_return,
            };
            factors[row].is_some_and(|factor| factor < 0.0) && !returned
        }));
    }
    rows.sort_unstable();
    rows.dedup();
    if rows.is_empty() {
        return;
    }
    let times = work.readings.times(&rows);
    let note = "negative power factors without export; read as leading";
    let entry = super::QualityEntry::at_times("power-factor-sign", &times, note.to_owned());
    work.entries.push(entry.with(super::Action::Corrected));
}
