//! Lines for a credit in money, and for what is paid out of a credit.

use rust_decimal::Decimal;

use super::bill_line::LineKind;
use super::bill_sheet::BillSheet;
use super::credit::{CarriedCredit, CreditBalance, MONEY};
use super::net_metering::NetCredit;

impl BillSheet<'_> {
    /// What is paid for export reduces the chosen lines to zero at most, and no bill below its minimum; the rest is carried
    /// forward.
    pub(super) fn money_credit(&mut self, carried: &mut CarriedCredit) -> Option<CreditBalance> {
        let net = self.tariff.net_metering.as_ref()?;
        let NetCredit::Money { on, .. } = &net.credit else {
            return None;
        };
        let brought_forward = carried.money(net);
        let sum = |holds: &dyn Fn(&super::BillLine) -> bool| -> Decimal {
            let lines = self.lines.iter().filter(|line| holds(line));
            lines.map(|line| line.amount).sum()
        };
        let earned = -sum(&|line| line.kind == LineKind::Export);
        let base = sum(&|line| line.kind != LineKind::Export && on.holds(line));
        let credit = brought_forward + earned;
        // A credit is not spent on what the minimum would add again.
        let all = sum(&|line| line.kind != LineKind::Export);
        let room = (all - self.least().unwrap_or_default()).max(Decimal::ZERO);
        // Where prices of export are negative, what they cost is due at once.
        let used = credit.min(base.max(Decimal::ZERO)).min(room);
        let carried_forward = credit - used;
        carried.set(MONEY, carried_forward);
        let more = earned - used;
        if !more.is_zero() {
            let (name, rate) = if more > Decimal::ZERO {
                ("credit carried forward", Decimal::ONE)
            } else {
                ("credit brought forward", Decimal::NEGATIVE_ONE)
            };
            let unit = self.currency();
            self.add(LineKind::Export, name, (more.abs(), unit), rate);
        }
        Some(CreditBalance {
            line: MONEY.to_owned(),
            unit: self.currency().to_owned(),
            brought_forward,
            earned,
            used,
            settled: Decimal::ZERO,
            carried_forward,
        })
    }

    /// The credits in kWh of these days.
    pub(super) fn energy_credits(&self) -> impl Iterator<Item = CreditBalance> {
        self.credits.iter().map(|own| CreditBalance {
            line: own.line.clone(),
            unit: "kWh".to_owned(),
            brought_forward: own.brought,
            earned: own.earned,
            used: own.used,
            settled: Decimal::ZERO,
            carried_forward: own.brought + own.earned - own.used,
        })
    }

    /// Ends all credits, and pays for what is left what the contract says, after taxes.
    pub(super) fn settle(&mut self, carried: &mut CarriedCredit, balances: &mut [CreditBalance]) {
        let Some(net) = &self.tariff.net_metering else {
            return;
        };
        let ended = carried.settle();
        for balance in balances.iter_mut() {
            balance.settled = std::mem::take(&mut balance.carried_forward);
        }
        let paid = match &net.credit {
            NetCredit::Energy { pays_per_kwh, .. } => {
                // The same export is a credit to each price of energy; it is paid for once.
                let first = self.credits.first().map(|credit| credit.set.clone());
                let own = ended.iter().filter(|(line, _)| {
                    let mut credits = self.credits.iter();
                    credits
                        .any(|credit| Some(&credit.set) == first.as_ref() && credit.line == *line)
                });
                let kwh: Decimal = own.map(|(_, left)| *left).sum();
                pays_per_kwh.map(|price| (kwh, "kWh", -price))
            }
            NetCredit::Money { pays_share, .. } => {
                let left: Decimal = ended.iter().map(|(_, left)| *left).sum();
                let unit = self.currency();
                (!pays_share.is_zero()).then_some((left, unit, -*pays_share))
            }
        };
        if let Some((quantity, unit, rate)) = paid.filter(|(quantity, ..)| !quantity.is_zero()) {
            self.add(LineKind::Export, "credit paid out", (quantity, unit), rate);
        }
    }
}
