//! What the name of a column alone says.

use super::{Guess, Meaning, Reason, obis, trade_words};
use formats::column_unit;
use site::Quantity;

/// Could a column of this name be recognised?
pub(super) fn known(name: &str) -> bool {
    guess(name, None).is_some()
}

/// What a name says, with the unit that a row of units gives.
pub(super) fn guess(name: &str, unit_text: Option<&str>) -> Option<Guess> {
    if let Some(quantity) = Quantity::from_name(name) {
        // The name has the unit; a row of units may have another.
        let factor = unit_text
            .and_then(column_unit::parse)
            .and_then(|unit| column_unit::factor(unit, quantity));
        return Some(Guess {
            meaning: Meaning::Quantity(quantity),
            factor: factor.unwrap_or(1.0),
            reason: Reason::Name,
            unit_assumed: false,
            of_tariff: false,
        });
    }
    obis::recognise(name, unit_text).or_else(|| trade_words::recognise(name, unit_text))
}
