//! Each line of an invoice compared with what the tariff and the log give for it.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::computed::{Computed, bill_lines, computed};
use super::demand_line::demand_of_period;
use super::evidence::DifferenceEvidence;
use super::explain::explain;
use super::line::{InvoiceLine, agrees};
use super::verdict::Verdict;
use crate::bill::bill_of;
use crate::{Bill, BillLine, money};

/// A line with both sides.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CheckedLine {
    /// Its name.
    pub line: String,
    /// First local date.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The local date after the last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Unit of the quantity.
    pub unit: Option<String>,
    /// As the invoice prints it.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub invoiced_quantity: Option<Decimal>,
    /// By the log.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub computed_quantity: Option<Decimal>,
    /// As the invoice prints it.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub invoiced_rate: Option<Decimal>,
    /// By the tariff; `None` where several hold within the line's time.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub computed_rate: Option<Decimal>,
    /// As the invoice prints it; `None` of a line that it lacks.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub invoiced: Option<Decimal>,
    /// Quantity × rate; `None` of a line that the tariff does not give.
    #[serde(serialize_with = "units::serial::decimal_option")]
    #[schemars(with = "Option<f64>")]
    pub computed: Option<Decimal>,
    /// Invoiced − computed, what is missing counting as nothing.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub difference: Decimal,
    /// Result of the comparison.
    pub verdict: Verdict,
    /// What may explain a difference, one sentence each.
    pub because: Vec<String>,
}

/// An invoice compared with the bill.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct InvoiceCheck {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// Lines of the invoice in its order, then those that it lacks.
    pub lines: Vec<CheckedLine>,
    /// Sum of the invoice.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub invoiced: Decimal,
    /// Sum of what was computed for its time.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub computed: Decimal,
    /// The first less the second.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub difference: Decimal,
}

/// Compares each line with the bill of its own days; lines of the bill that no line of the invoice represents
/// follow. `None` without readings or tariff.
#[must_use]
pub fn check_invoice(
    evidence: &DifferenceEvidence<'_>,
    invoice: &[InvoiceLine],
) -> Option<InvoiceCheck> {
    let from = invoice.iter().map(|line| line.from).min()?;
    let to = invoice.iter().map(|line| line.to).max()?;
    let whole = bill_of(evidence.terms, evidence.usage, from, to)?;
    let mut lines: Vec<CheckedLine> = Vec::new();
    for line in invoice {
        let bill = bill_of(evidence.terms, evidence.usage, line.from, line.to)?;
        lines.push(checked(evidence, invoice, line, &bill));
    }
    let lacking = bill_lines(&whole)
        .filter(|own| !own.amount.is_zero() && !invoice.iter().any(|line| line.stands_for(own)))
        .map(lacked);
    lines.extend(lacking);
    let sum = |side: fn(&CheckedLine) -> Option<Decimal>| lines.iter().filter_map(side).sum();
    let (invoiced, computed): (Decimal, Decimal) =
        (sum(|line| line.invoiced), sum(|line| line.computed));
    Some(InvoiceCheck {
        currency: whole.currency.clone(),
        invoiced,
        computed,
        difference: invoiced - computed,
        lines,
    })
}

fn checked(
    evidence: &DifferenceEvidence<'_>,
    invoice: &[InvoiceLine],
    line: &InvoiceLine,
    bill: &Bill,
) -> CheckedLine {
    let by_calendar = computed(bill, line);
    let of_period = by_calendar
        .as_ref()
        .and_then(|own| demand_of_period(evidence, line, own));
    let (own, said) = match of_period {
        Some((own, said)) => (Some(own), Some(said)),
        None => (by_calendar, None),
    };
    let verdict = own
        .as_ref()
        .map_or(Verdict::NotInTariff, |own| verdict(evidence, line, own));
    CheckedLine {
        line: line.line.clone(),
        from: line.from,
        to: line.to,
        unit: line
            .unit
            .clone()
            .or_else(|| own.as_ref().map(|own| own.unit.clone())),
        invoiced_quantity: line.quantity,
        computed_quantity: own.as_ref().map(|own| own.quantity),
        invoiced_rate: line.rate,
        computed_rate: own.as_ref().and_then(|own| own.rate),
        invoiced: Some(line.amount),
        computed: own.as_ref().map(|own| own.amount),
        difference: line.amount - own.as_ref().map_or(Decimal::ZERO, |own| own.amount),
        because: explain(evidence, invoice, line, bill, own.as_ref(), verdict)
            .into_iter()
            .chain(said)
            .collect(),
        verdict,
    }
}

fn verdict(evidence: &DifferenceEvidence<'_>, line: &InvoiceLine, own: &Computed) -> Verdict {
    let same_quantity = line
        .quantity
        .is_none_or(|quantity| agrees(quantity, own.quantity));
    let same_rate = match (line.rate, own.rate) {
        (Some(rate), Some(own)) => agrees(rate, own),
        _ => true,
    };
    match (same_quantity, same_rate) {
        (false, false) => Verdict::QuantityAndRate,
        (false, true) => Verdict::Quantity,
        (true, false) => Verdict::Rate,
        (true, true) if line.amount == own.amount => Verdict::Agrees,
        (true, true) if (line.amount - own.amount).abs() <= slack(evidence, line, own) => {
            Verdict::Rounding
        }
        (true, true) => Verdict::Amount,
    }
}

/// What the printed digits of quantity and rate leave open, and one smallest coin.
fn slack(evidence: &DifferenceEvidence<'_>, line: &InvoiceLine, own: &Computed) -> Decimal {
    let coin = Decimal::new(1, money::decimals_of(evidence.terms.currency));
    let rounded = line.quantity.filter(|quantity| *quantity != own.quantity);
    let quantity = rounded.map_or(Decimal::ZERO, super::line::half_digit);
    coin + quantity * own.rate.unwrap_or_default().abs()
}

/// A line of the bill that the invoice lacks.
fn lacked(own: &BillLine) -> CheckedLine {
    CheckedLine {
        line: own.line.clone(),
        from: own.from,
        to: own.to,
        unit: Some(own.unit.clone()),
        invoiced_quantity: None,
        computed_quantity: Some(own.quantity),
        invoiced_rate: None,
        computed_rate: Some(own.rate),
        invoiced: None,
        computed: Some(own.amount),
        difference: -own.amount,
        verdict: Verdict::NotOnInvoice,
        because: own.remark().into_iter().collect(),
    }
}
