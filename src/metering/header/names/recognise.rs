//! Headers recognised without a table of columns.

use std::collections::{BTreeMap, BTreeSet};

use super::guess::guess;
use super::header::Header;
use super::{Meaning, Reason};
use formats::EnergyReading;
use site::Quantity;

/// Number of unclear columns after which no more are listed.
const MOST_OPEN: usize = 100;

/// A column that was recognised.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Found {
    pub(crate) cell: usize,
    pub(crate) quantity: Quantity,
    /// Factor to the unit of the quantity.
    pub(crate) factor: f64,
    pub(crate) reason: Reason,
    pub(crate) unit_assumed: bool,
}

/// Why the header does not determine what a column holds.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Open {
    /// Two columns may hold one quantity.
    Twice {
        quantity: Quantity,
        cells: [usize; 2],
    },
    /// The readings do not show whether this is a register or the energy of each interval.
    Energy {
        cell: usize,
        register: Quantity,
        amount: Quantity,
        /// Factor to kWh or kvarh.
        factor: f64,
    },
}

/// What the import of active energy is, else another column of energy, as far as one shows it.
fn leading(header: &Header, reading: &dyn Fn(usize) -> EnergyReading) -> Option<EnergyReading> {
    let clear = |imports: bool| {
        let mut columns = header.names.iter().enumerate();
        columns.find_map(|(cell, name)| {
            let Meaning::Energy { register, .. } = guess(name, header.unit(cell))?.meaning else {
                return None;
            };
            let wanted = !imports || register == Quantity::EnergyImport(None);
            let own = wanted.then(|| reading(cell))?;
            (own != EnergyReading::Unclear).then_some(own)
        })
    };
    clear(true).or_else(|| clear(false))
}

/// The columns that a header names. `reading` says what name and first readings of a column of energy show.
///
/// # Errors
///
/// What the header does not determine.
pub(crate) fn recognise(
    header: &Header,
    reading: &dyn Fn(usize) -> EnergyReading,
) -> Result<Vec<Found>, Vec<Open>> {
    let leading = leading(header, reading);
    let mut open = Vec::new();
    let mut guesses: Vec<(Found, bool)> = Vec::new();
    for (cell, name) in header.names.iter().enumerate() {
        let Some(guess) = guess(name, header.unit(cell)) else {
            continue;
        };
        let quantity = match guess.meaning {
            Meaning::Quantity(quantity) => quantity,
            Meaning::Energy { register, amount } => {
                let own = reading(cell);
                // Export may be nothing for days, or only rise in a short log: it is of the same kind as the import.
                let known = match (own, leading) {
                    (EnergyReading::Interval, _) | (_, None) => own,
                    (_, Some(leading)) => leading,
                };
                match known {
                    EnergyReading::Register => register,
                    EnergyReading::Interval => amount,
                    EnergyReading::Unclear => {
                        let same = open.iter().find_map(|other| match other {
                            Open::Energy {
                                cell,
                                register: known,
                                factor,
                                ..
                            } if *known == register
                                && factor.is_sign_negative() == guess.factor.is_sign_negative() =>
                            {
                                Some(*cell)
                            }
                            _ => None,
                        });
                        if let Some(first) = same.filter(|_| !guess.of_tariff) {
                            open.push(Open::Twice {
                                quantity: amount,
                                cells: [first, cell],
                            });
                            continue;
                        }
                        open.push(Open::Energy {
                            cell,
                            register,
                            amount,
                            factor: guess.factor,
                        });
                        continue;
                    }
                }
            }
        };
        let found = Found {
            cell,
            quantity,
            factor: guess.factor,
            reason: guess.reason,
            unit_assumed: guess.unit_assumed,
        };
        guesses.push((found, guess.of_tariff));
    }
    // The total register is the sum of those of the tariffs.
    let totals: BTreeSet<Quantity> = guesses
        .iter()
        .filter(|(_, of_tariff)| !of_tariff)
        .map(|(found, _)| found.quantity)
        .collect();
    guesses.retain(|(found, of_tariff)| !(*of_tariff && totals.contains(&found.quantity)));
    let mut firsts = BTreeMap::new();
    for (found, of_tariff) in &guesses {
        // Import and export may be in two columns with signs of their own.
        let sign = found.factor.is_sign_negative();
        let first = *firsts.entry((found.quantity, sign)).or_insert(found.cell);
        if first != found.cell && !of_tariff {
            open.push(Open::Twice {
                quantity: found.quantity,
                cells: [first, found.cell],
            });
        }
    }
    open.truncate(MOST_OPEN);
    if !open.is_empty() {
        return Err(open);
    }
    let mut found: Vec<Found> = guesses.into_iter().map(|(found, _)| found).collect();
    // Files of one meter may have their columns in different orders.
    found.sort_by_key(|found| (found.quantity, found.cell));
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(names: &[&str], reading: EnergyReading) -> Result<Vec<(usize, Quantity)>, Vec<Open>> {
        let header = Header::of_names(names);
        recognise(&header, &|_| reading).map(|found| {
            let pairs = found.iter();
            pairs.map(|found| (found.cell, found.quantity)).collect()
        })
    }

    #[test]
    fn two_candidates_are_an_error() {
        let twice = read(
            &["time", "active_power_kw", "P [W]"],
            EnergyReading::Unclear,
        );
        let quantity = Quantity::ActivePower(None);
        assert_eq!(
            twice,
            Err(vec![Open::Twice {
                quantity,
                cells: [1, 2]
            }])
        );
    }

    #[test]
    fn tariffs_add_up_unless_their_total_is_there() {
        let import = Quantity::EnergyImport(None);
        assert_eq!(
            read(&["1.8.1", "1.8.2"], EnergyReading::Unclear),
            Ok(vec![(0, import), (1, import)])
        );
        assert_eq!(
            read(&["1.8.1", "1.8.0", "1.8.2"], EnergyReading::Unclear),
            Ok(vec![(1, import)])
        );
        let reactive = Quantity::ReactivePower(None);
        assert_eq!(
            read(&["3.7.0", "4.7.0"], EnergyReading::Unclear),
            Ok(vec![(0, reactive), (1, reactive)])
        );
    }

    #[test]
    fn energy_is_what_its_readings_say() {
        assert_eq!(
            read(&["kWh"], EnergyReading::Register),
            Ok(vec![(0, Quantity::EnergyImport(None))])
        );
        assert_eq!(
            read(&["kWh"], EnergyReading::Interval),
            Ok(vec![(0, Quantity::EnergyInterval)])
        );
        assert!(read(&["kWh"], EnergyReading::Unclear).is_err());
    }
}
