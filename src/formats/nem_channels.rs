//! Channels of the market's files while they are read: one for each meter and suffix, in the order in which they first appear.

use std::collections::HashMap;

use super::channel::IntervalChannel;
use super::column_unit::{self, ColumnUnit, Dimension};
use site::Quantity;

/// Channels by meter and suffix.
#[derive(Debug, Default)]
pub(crate) struct NemChannels {
    pub(crate) all: Vec<IntervalChannel>,
    known: HashMap<(String, String), usize>,
}

impl NemChannels {
    /// The channel of a suffix such as `E1`, with the factor from a unit to that of the channel.
    ///
    /// # Errors
    ///
    /// Where the unit does not fit what the suffix measures.
    pub(crate) fn of(
        &mut self,
        point: &str,
        suffix: &str,
        unit: &str,
        quantity: Option<Quantity>,
    ) -> Result<(usize, f64), ()> {
        let factor = match quantity {
            Some(quantity) => column_unit::parse(unit)
                .and_then(|unit| column_unit::factor(unit, quantity))
                .ok_or(())?,
            None => 1.0,
        };
        let key = (point.to_owned(), suffix.to_owned());
        let all = &mut self.all;
        let at = *self.known.entry(key).or_insert_with(|| {
            all.push(IntervalChannel {
                point: Some(point.to_owned()),
                register: suffix.to_owned(),
                quantity,
                unit: Some(unit.to_owned()).filter(|unit| !unit.is_empty()),
                factor,
                has_quality: true,
                stretches: Vec::new(),
            });
            all.len() - 1
        });
        let known = self.all[at].factor;
        Ok((at, factor / known))
    }
}

/// What a suffix measures: E to the customer, B from the customer, Q and K the same of reactive energy.
pub(crate) fn quantity_of(suffix: &str) -> Option<Quantity> {
    match suffix.bytes().next()?.to_ascii_uppercase() {
        b'E' => Some(Quantity::EnergyInterval),
        b'B' => Some(Quantity::EnergyExportInterval),
        b'Q' => Some(Quantity::ReactiveEnergyInterval),
        b'K' => Some(Quantity::ReactiveEnergyExportInterval),
        _ => None,
    }
}

/// Energy in either direction by its unit; `None` where the unit is none of energy.
pub(crate) fn quantity_of_unit(unit: &str, exports: bool) -> Option<Quantity> {
    let ColumnUnit { dimension, .. } = column_unit::parse(unit)?;
    Some(match (dimension, exports) {
        (Dimension::ActiveEnergy, false) => Quantity::EnergyInterval,
        (Dimension::ActiveEnergy, true) => Quantity::EnergyExportInterval,
        (Dimension::ReactiveEnergy, false) => Quantity::ReactiveEnergyInterval,
        (Dimension::ReactiveEnergy, true) => Quantity::ReactiveEnergyExportInterval,
        _ => return None,
    })
}
