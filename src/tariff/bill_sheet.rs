//! The lines of a run of days under one tariff while they are written.

use rust_decimal::Decimal;

use super::bill_line::{BillLine, DayShare, LineKind};
use super::credit::LineCredit;
use super::demand_billed::DemandBilled;
use super::price_period::{PricePeriod, days};
use super::tariff::{Proration, Tariff};
use super::terms::Terms;

/// The lines of a run of days under one tariff.
pub(super) struct BillSheet<'a> {
    pub(super) terms: &'a Terms<'a>,
    pub(super) tariff: &'a Tariff,
    pub(super) price_period: &'a PricePeriod,
    /// What is billed of each demand charge; `None` where it is not known.
    pub(super) demands: Vec<Option<DemandBilled>>,
    /// What exported energy deducts from energy lines.
    pub(super) credits: Vec<LineCredit>,
    pub(super) lines: Vec<BillLine>,
}

impl<'a> BillSheet<'a> {
    pub(super) fn new(terms: &'a Terms<'a>, price_period: &'a PricePeriod) -> BillSheet<'a> {
        BillSheet {
            terms,
            tariff: &terms.tariffs[price_period.tariff],
            price_period,
            demands: Vec::new(),
            credits: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// Adds a line; its amount follows.
    pub(super) fn add(
        &mut self,
        kind: LineKind,
        line: &str,
        (quantity, unit): (Decimal, &str),
        rate: Decimal,
    ) -> &mut BillLine {
        let line = self.line(kind, line, (quantity, unit), rate);
        self.put(line)
    }

    pub(super) fn put(&mut self, line: BillLine) -> &mut BillLine {
        self.lines.push(line);
        let last = self.lines.len() - 1;
        &mut self.lines[last]
    }

    /// A line whose amount is quantity × rate.
    pub(super) fn line(
        &self,
        kind: LineKind,
        line: &str,
        (quantity, unit): (Decimal, &str),
        rate: Decimal,
    ) -> BillLine {
        BillLine {
            kind,
            percent: false,
            line: line.to_owned(),
            meter: None,
            from: self.price_period.from,
            to: self.price_period.to,
            quantity,
            unit: unit.to_owned(),
            rate,
            share: None,
            amount: self.amount(quantity * rate),
            note: None,
        }
    }

    /// A line at a price by the month: the share of it that is due.
    pub(super) fn by_month(
        &mut self,
        kind: LineKind,
        line: &str,
        quantity: (Decimal, &str),
        rate: Decimal,
    ) -> &mut BillLine {
        let mut line = self.line(kind, line, quantity, rate);
        if let Some(share) = self.share() {
            line.amount = self.amount(share.of_value(line.quantity * rate));
            line.share = Some(share);
        }
        self.put(line)
    }

    pub(super) fn amount(&self, value: Decimal) -> Decimal {
        self.tariff.rounding.amount(value, self.terms.currency)
    }

    pub(super) fn days(&self) -> u32 {
        days(self.price_period.from, self.price_period.to)
    }

    /// Share of a price by the month that is due; `None`: all of it.
    pub(super) fn share(&self) -> Option<DayShare> {
        let own = match self.tariff.proration {
            Proration::ByPeriod => return self.price_period.share,
            Proration::By30Days => DayShare {
                days: self.days(),
                of: 30,
            },
            Proration::By365Days => DayShare {
                days: 12 * self.days(),
                of: 365,
            },
        };
        (own.days != own.of).then_some(own)
    }

    /// Unit of what is taxed.
    pub(super) fn currency(&self) -> &'a str {
        self.terms.currency.unwrap_or("currency")
    }
}
