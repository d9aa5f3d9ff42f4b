//! Lines for levies, discounts, the minimum and taxes.

use rust_decimal::Decimal;

use super::bill_line::{BillLine, LineKind};
use super::bill_sheet::BillSheet;
use super::levy::{LevyBase, LineChoice};
use super::sums::EnergySums;

impl BillSheet<'_> {
    pub(super) fn levies(&mut self, sums: &EnergySums, notes: &mut Vec<String>) {
        for levy in &self.tariff.levies {
            let kind = LineKind::Levy;
            let free = self.of_month(levy.free);
            let beyond = |quantity: Decimal| (quantity - free).max(Decimal::ZERO);
            let own = match levy.per {
                LevyBase::Kwh => {
                    let kwh = self
                        .tariff
                        .rounding
                        .measured(sums.billed)
                        .unwrap_or_default();
                    let unit = if self.tariff.by_kvah { "kVAh" } else { "kWh" };
                    let own = (beyond(kwh), unit);
                    self.line(kind, &levy.name, own, levy.rate)
                }
                LevyBase::Demand => {
                    let unit = self.tariff.demand.first().map(|charge| charge.measure.per);
                    let billed = self.demands.first().and_then(Option::as_ref);
                    let (Some(unit), Some(billed)) = (unit, billed) else {
                        notes.push(format!(
                            "`{}` is not billed: the demand that it depends on is not known",
                            levy.name
                        ));
                        continue;
                    };
                    let own = (
                        (billed.quantity - levy.free).max(Decimal::ZERO),
                        unit.symbol(),
                    );
                    self.by_month(kind, &levy.name, own, levy.rate);
                    continue;
                }
                LevyBase::Day => {
                    let own = (Decimal::from(self.days()), "days");
                    self.line(kind, &levy.name, own, levy.rate)
                }
                LevyBase::Month => {
                    self.by_month(kind, &levy.name, (Decimal::ONE, "months"), levy.rate);
                    continue;
                }
                LevyBase::Percent => {
                    let of = beyond(self.sum(&levy.on));
                    self.percentage(kind, &levy.name, of, levy.rate)
                }
            };
            self.put(own);
        }
    }

    /// The least that these days cost before taxes.
    pub(super) fn least(&self) -> Option<Decimal> {
        let minimum = self.tariff.minimum_per_month?;
        Some(self.amount(self.of_month(minimum)))
    }

    /// What is missing to the least that a month costs.
    pub(super) fn minimum(&mut self) {
        let Some(least) = self.least() else {
            return;
        };
        let so_far = self.sum(&LineChoice::default());
        if so_far < least {
            let missing = (least - so_far, self.currency());
            let line = self.add(LineKind::Levy, "minimum", missing, Decimal::ONE);
            line.note = Some(format!("a month costs {least} at least, before taxes"));
        }
    }

    pub(super) fn taxes(&mut self) {
        for tax in &self.tariff.taxes {
            let free = self.of_month(tax.free);
            let mut taxed = self.sum(&tax.on);
            // A credit is taxed as well.
            if !free.is_zero() {
                taxed = (taxed - free).max(Decimal::ZERO);
            }
            let line = self.percentage(LineKind::Tax, &tax.name, taxed, tax.pct);
            self.put(line);
        }
    }

    fn percentage(&self, kind: LineKind, name: &str, of: Decimal, pct: Decimal) -> BillLine {
        let mut line = self.line(kind, name, (of, self.currency()), pct);
        line.amount = self.amount(of * pct / Decimal::ONE_HUNDRED);
        line.percent = true;
        line
    }

    fn sum(&self, on: &LineChoice) -> Decimal {
        let chosen = self.lines.iter().filter(|line| on.holds(line));
        chosen.map(|line| line.amount).sum()
    }

    /// The share of an amount by the month that these days have.
    fn of_month(&self, value: Decimal) -> Decimal {
        self.share().map_or(value, |share| share.of_value(value))
    }
}
