//! Which way reactive power goes, where it follows from others.

use super::Ground;
use super::formulas::Sense;
use crate::clean::register::counted;
use crate::table::interval_table::IntervalTable;
use electrical::Phase;
use site::Quantity;

const LAGGING_ASSUMED: &str = "reactive power assumed lagging: nothing in the log shows its sign";
const HARMONICS_COUNT: &str = "; harmonics in the current count as reactive power";

/// Which way the reactive power of a place goes, interval by interval.
pub(super) struct Senses {
    by_row: Option<Vec<Sense>>,
    overall: Option<Sense>,
}

impl Senses {
    pub(super) fn of(table: &IntervalTable, place: Option<Phase>, ground: &Ground) -> Senses {
        let by_row = table
            .values(Quantity::PowerFactor(place))
            .filter(|factors| factors.iter().flatten().any(|factor| factor < 0.0))
            .and_then(|factors| {
                let power = table.values(Quantity::ActivePower(place));
                let returned = |row: usize| {
                    let kw = power.and_then(|power| power.get(row));
                    kw.map_or(ground.may_return, |kw| kw < 0.0)
                };
                let leads = |row: usize| {
                    factors.get(row).is_some_and(|factor| factor < 0.0) && !returned(row)
                };
                let senses: Vec<Sense> = (0..factors.len())
                    .map(|row| {
                        if leads(row) {
                            Sense::Leading
                        } else {
                            Sense::Lagging
                        }
                    })
                    .collect();
                // A sign that only follows that of the power does not show lagging or leading.
                senses.contains(&Sense::Leading).then_some(senses)
            });
        Senses {
            by_row,
            overall: sense_of_registers(table),
        }
    }

    pub(super) fn at(&self, row: usize) -> Sense {
        match (&self.by_row, self.overall) {
            (Some(senses), _) => senses[row],
            (None, overall) => overall.unwrap_or(Sense::Lagging),
        }
    }

    /// What has to be assumed to know the reactive power.
    pub(super) fn assumption(&self, from_current: bool) -> Option<String> {
        let harmonics = if from_current { HARMONICS_COUNT } else { "" };
        if self.by_row.is_none() && self.overall.is_none() {
            return Some(format!("{LAGGING_ASSUMED}{harmonics}"));
        }
        from_current.then(|| harmonics.trim_start_matches("; ").to_owned())
    }
}

/// The sign given by the reactive registers, if one of them counts nearly all.
fn sense_of_registers(table: &IntervalTable) -> Option<Sense> {
    let energy = |quantity| counted(table.values(quantity)?.iter());
    let lagging = energy(Quantity::ReactiveEnergyImport)?;
    let leading = energy(Quantity::ReactiveEnergyExport)?;
    let nearly_all = 0.95 * (lagging + leading);
    if lagging > 0.0 && lagging >= nearly_all {
        Some(Sense::Lagging)
    } else if leading > 0.0 && leading >= nearly_all {
        Some(Sense::Leading)
    } else {
        None
    }
}
