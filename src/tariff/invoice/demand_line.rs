//! The demand of an invoice whose months are not those of the calendar.

use chrono::{Months, NaiveDate};
use rust_decimal::Decimal;

use super::computed::Computed;
use super::evidence::DifferenceEvidence;
use super::line::InvoiceLine;
use crate::bill_line::LineKind;
use crate::charges::DemandCharge;
use crate::demand_measure::DemandMeasure;
use crate::money;
use crate::sums::local;
use crate::tariff::tariff_on;

/// A rest of a period that is shorter belongs to the month before it. (days)
const SHORTEST_MONTH: i64 = 15;

/// The maximum inside each month of the invoice, counted from its first day, and what the months of the calendar give;
/// `None` where both are the same.
pub(super) fn demand_of_period(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    by_calendar: &Computed,
) -> Option<(Computed, String)> {
    let billing = evidence.terms.billing;
    let is_first = |date: NaiveDate| billing.around(date).0 == date;
    if is_first(line.from) && is_first(line.to) {
        return None;
    }
    let tariffs = evidence.terms.tariffs;
    let mut charges = tariffs[tariff_on(tariffs, line.from)?].demand.iter();
    let charge = charges.find(|charge| line.is_named(&charge.line()))?;
    // Others look back on months of the calendar, or on a contract.
    let plain = DemandCharge {
        name: charge.name.clone(),
        measure: DemandMeasure {
            per: charge.measure.per,
            window: charge.measure.window,
            ..DemandMeasure::maximum(charge.measure.per)
        },
        ..DemandCharge::maximum(charge.measure.per, charge.rate)
    };
    if *charge != plain {
        return None;
    }
    let decimals = money::decimals_of(evidence.terms.currency);
    let mut quantity = Decimal::ZERO;
    let mut amount = Decimal::ZERO;
    for (from, to) in months(line.from, line.to) {
        let own = peak(evidence, charge, from, to).and_then(money::quantity)?;
        quantity += own;
        amount += money::rounded(own * charge.rate, decimals);
    }
    if quantity == by_calendar.quantity {
        return None;
    }
    let unit = charge.measure.per.symbol();
    let said = format!(
        "the maximum within {} is {quantity} {unit}; the maxima of the months of the calendar add up to {} {unit}",
        units::format_days(line.from, line.to),
        by_calendar.quantity
    );
    let computed = Computed {
        quantity,
        unit: unit.to_owned(),
        rate: Some(charge.rate),
        amount,
        kind: Some(LineKind::Demand),
        percent: false,
        by_month: true,
    };
    Some((computed, said))
}

/// Months from the first day of the invoice.
fn months(from: NaiveDate, to: NaiveDate) -> Vec<(NaiveDate, NaiveDate)> {
    let mut months: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    let mut begin = from;
    while begin < to {
        let end = begin
            .checked_add_months(Months::new(1))
            .unwrap_or(to)
            .min(to);
        let is_rest = (end - begin).num_days() < SHORTEST_MONTH;
        match months.last_mut().filter(|_| is_rest) {
            Some(last) => last.1 = end,
            None => months.push((begin, end)),
        }
        begin = end;
    }
    months
}

fn peak(
    evidence: &DifferenceEvidence<'_>,
    charge: &DemandCharge,
    from: NaiveDate,
    to: NaiveDate,
) -> Option<f64> {
    let terms = evidence.terms;
    let within = evidence.usage.blocks.iter().filter(|block| {
        local(terms.zone, block.start_s).is_some_and(|at| {
            (from..to).contains(&at.date()) && charge.measure.window.contains(at, terms.holidays)
        })
    });
    within
        .filter_map(|block| charge.measure.of(block))
        .reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_are_counted_from_the_first_day() {
        let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
        let of = |from, to| months(date(from), date(to)).len();
        assert_eq!(of("2026-03-16", "2026-04-02"), 1);
        assert_eq!(of("2026-03-16", "2026-04-20"), 1);
        assert_eq!(of("2026-03-16", "2026-06-16"), 3);
    }
}
