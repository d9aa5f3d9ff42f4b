//! The lines of a month, in the order of a bill: standing, energy, demand, capacity, reactive energy, power
//! factor, levies, export and its credit, what is missing to the minimum, taxes, what is paid out of a credit.

use super::bill_line::BillLine;
use super::bill_sheet::BillSheet;
use super::credit::{CarriedCredit, CreditBalance};
use super::demand_billed::billed;
use super::energy_lines;
use super::price_period::{MonthPart, PricePeriod};
use super::sums::{EnergySums, MonthSums};
use super::terms::Terms;

/// The lines of a month, and its credits.
#[derive(Clone, Debug, Default)]
pub(super) struct MonthLines {
    pub(super) lines: Vec<BillLine>,
    pub(super) credits: Vec<CreditBalance>,
}

/// All lines of a month that follows on what is carried from the one before; what cannot be billed is noted.
pub(super) fn month_lines(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
    carried: &mut CarriedCredit,
    notes: &mut Vec<String>,
) -> MonthLines {
    let mut month = MonthLines::default();
    let part = &parts[at];
    for (price_period, own) in part.price_periods.iter().zip(&sums[at].price_periods) {
        let mut sheet = sheet(terms, price_period, parts, sums, at);
        sheet.credits = carried.deduct(sheet.tariff, own);
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
        let balances = sheet.energy_credits().collect::<Vec<_>>().into_iter();
        for balance in balances.chain(sheet.money_credit(carried)) {
            month.add(balance);
        }
        sheet.minimum();
        sheet.taxes();
        let net = sheet.tariff.net_metering.as_ref();
        let ends = price_period.to == part.next;
        if ends && net.is_some_and(|net| net.is_settled(part.first, part.next)) {
            sheet.settle(carried, &mut month.credits);
        }
        month.lines.append(&mut sheet.lines);
    }
    month
}

impl MonthLines {
    /// Price periods follow one another: what one leaves is what the next has.
    fn add(&mut self, balance: CreditBalance) {
        let known = self.credits.iter_mut().find(|own| own.line == balance.line);
        match known {
            Some(known) => {
                known.earned += balance.earned;
                known.used += balance.used;
                known.carried_forward = balance.carried_forward;
            }
            None => self.credits.push(balance),
        }
    }
}

/// The lines of a month alone.
pub(super) fn lines(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
    notes: &mut Vec<String>,
) -> Vec<BillLine> {
    let mut carried = carried_before(terms, parts, sums, at);
    month_lines(terms, parts, sums, at, &mut carried, notes).lines
}

/// The lines of all months from one on.
pub(super) fn lines_from(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    from: usize,
) -> impl Iterator<Item = BillLine> {
    let mut carried = carried_before(terms, parts, sums, from);
    (from..parts.len()).flat_map(move |at| {
        month_lines(terms, parts, sums, at, &mut carried, &mut Vec::new()).lines
    })
}

/// What the months before one leave to it.
fn carried_before(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
) -> CarriedCredit {
    let mut carried = CarriedCredit::default();
    let mut tariffs = terms.tariffs.iter();
    if tariffs.any(|tariff| tariff.net_metering.is_some()) {
        for earlier in 0..at {
            month_lines(terms, parts, sums, earlier, &mut carried, &mut Vec::new());
        }
    }
    carried
}

/// The energy lines of a price period alone, without credits, for each price of energy, each with the band that it begins with.
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
