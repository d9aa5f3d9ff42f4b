//! The lines of a month, in the order of a bill: standing, energy, demand, capacity, reactive energy, power
//! factor, levies, export, what is missing to the minimum, taxes.

use super::bill_line::BillLine;
use super::bill_sheet::BillSheet;
use super::demand_billed::billed;
use super::energy_lines;
use super::price_period::{MonthPart, PricePeriod};
use super::sums::{EnergySums, MonthSums};
use super::terms::Terms;

/// All lines of a month; what cannot be billed is noted.
pub(super) fn lines(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
    notes: &mut Vec<String>,
) -> Vec<BillLine> {
    let mut lines = Vec::new();
    for (price_period, own) in parts[at].price_periods.iter().zip(&sums[at].price_periods) {
        let mut sheet = sheet(terms, price_period, parts, sums, at);
        sheet.standing();
        for (_, line) in energy_lines::energy_lines(&sheet, own, notes)
            .into_iter()
            .flatten()
        {
            sheet.put(line);
        }
        sheet.demand(notes);
        sheet.capacity(&sums[at], notes);
        sheet.reactive(own, notes);
        sheet.power_factor(own, notes);
        sheet.levies(own, notes);
        for line in energy_lines::export_lines(&sheet, own, notes) {
            sheet.put(line);
        }
        sheet.minimum();
        sheet.taxes();
        lines.append(&mut sheet.lines);
    }
    lines
}

/// The energy lines of a price period alone, for each price of energy, each with the band that it begins with.
pub(super) fn energy_lines(
    terms: &Terms<'_>,
    price_period: &PricePeriod,
    own: &EnergySums,
    (parts, sums, at): (&[MonthPart], &[MonthSums], usize),
) -> Vec<Vec<(usize, BillLine)>> {
    let sheet = sheet(terms, price_period, parts, sums, at);
    energy_lines::energy_lines(&sheet, own, &mut Vec::new())
}

fn sheet<'a>(
    terms: &'a Terms<'a>,
    price_period: &'a PricePeriod,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
) -> BillSheet<'a> {
    let mut sheet = BillSheet::new(terms, price_period);
    let charges = sheet.tariff.demand.iter();
    sheet.demands = charges
        .map(|charge| billed(charge, terms.tariffs, (parts, sums), at, sheet.tariff))
        .collect();
    sheet
}
