//! Powers and power factor of one phase, or in total, from one another.

use super::Ground;
use super::column::{add_from, add_rows};
use super::formulas;
use super::reactive_sign::Senses;
use crate::table::interval_table::IntervalTable;
use electrical::Phase;
use site::Quantity;

/// Active, apparent and reactive power and power factor of a phase or in total.
pub(super) fn powers_of(table: &mut IntervalTable, place: Option<Phase>, ground: &Ground) {
    let active = Quantity::ActivePower(place);
    let reactive = Quantity::ReactivePower(place);
    let apparent = Quantity::ApparentPower(place);
    let factor = Quantity::PowerFactor(place);
    let may_return = ground.may_return;
    let mut from_current = false;
    if let Some(phase) = place {
        let sources = [Quantity::Voltage(phase), Quantity::Current(phase)];
        let measured = table.has(apparent);
        add_from(table, apparent, &sources, None, |values| {
            Some(formulas::apparent_from_current(values[0]?, values[1]?))
        });
        from_current = !measured && table.has(apparent);
    }
    add_from(table, active, &[apparent, factor], None, |values| {
        Some(formulas::active_from_factor(
            values[0]?, values[1]?, may_return,
        ))
    });
    add_from(table, active, &[apparent, reactive], None, |values| {
        Some(formulas::active_from_reactive(values[0]?, values[1]?))
    });
    let sense = Senses::of(table, place, ground);
    let assumed = sense.assumption(false);
    add_rows(
        table,
        reactive,
        &[active, factor],
        assumed.as_deref(),
        |row, values| formulas::reactive_from_factor(values[0]?, values[1]?, sense.at(row)),
    );
    let assumed = sense.assumption(from_current);
    add_rows(
        table,
        reactive,
        &[active, apparent],
        assumed.as_deref(),
        |row, values| {
            Some(formulas::reactive_from_apparent(
                values[0]?,
                values[1]?,
                sense.at(row),
            ))
        },
    );
    add_from(table, apparent, &[active, reactive], None, |values| {
        Some(values[0]?.hypot(values[1]?))
    });
    add_from(table, factor, &[active, apparent], None, |values| {
        formulas::factor_of(values[0]?, values[1]?)
    });
}
