//! Why a line of an invoice differs, as far as tariff and log show it.

use rust_decimal::Decimal;

use super::computed::{Computed, bill_lines, computed};
use super::estimated::estimated;
use super::evidence::DifferenceEvidence;
use super::line::{InvoiceLine, agrees};
use super::other_terms::other_terms;
use super::verdict::Verdict;
use crate::bill_line::LineKind;
use crate::{Bill, BillLine, money};
use message::closest;

pub(super) fn explain(
    evidence: &DifferenceEvidence<'_>,
    invoice: &[InvoiceLine],
    line: &InvoiceLine,
    bill: &Bill,
    own: Option<&Computed>,
    verdict: Verdict,
) -> Vec<String> {
    let Some(own) = own else {
        return vec![unknown_name(line, bill)];
    };
    let mut because = own_arithmetic(evidence, line, own);
    if matches!(verdict, Verdict::Quantity | Verdict::QuantityAndRate) {
        because.extend(quantity(evidence, invoice, line, bill, own));
    }
    if matches!(verdict, Verdict::Rate | Verdict::QuantityAndRate) {
        because.extend(rate(evidence, line));
    }
    because
}

fn unknown_name(line: &InvoiceLine, bill: &Bill) -> String {
    let names: Vec<&str> = bill_lines(bill).map(|own| own.line.as_str()).collect();
    let near = closest(&line.line, names.iter().copied());
    let hint = near.map_or_else(
        || "the tariff has no such line for these days".to_owned(),
        |name| format!("the tariff has no such line; did you mean `{name}`?"),
    );
    format!("{hint} (it has: {})", unique(names).join(", "))
}

fn unique(names: Vec<&str>) -> Vec<&str> {
    let mut seen = Vec::new();
    for name in names {
        if !seen.contains(&name) {
            seen.push(name);
        }
    }
    seen
}

/// The invoice's own quantity × rate against its own amount.
fn own_arithmetic(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    own: &Computed,
) -> Vec<String> {
    let is_percentage = own.percent;
    let (Some(quantity), Some(rate)) = (line.quantity, line.rate) else {
        return Vec::new();
    };
    let decimals = money::decimals_of(evidence.terms.currency);
    let per = if is_percentage {
        Decimal::ONE_HUNDRED
    } else {
        Decimal::ONE
    };
    let product = quantity * rate / per;
    // A monthly charge may be due for part of the month.
    let off = (product - line.amount).abs();
    if off > Decimal::new(1, decimals) && !own.by_month {
        return vec![format!(
            "on the invoice, quantity × rate is {}, not {}",
            money::rounded(product, decimals),
            line.amount
        )];
    }
    Vec::new()
}

fn quantity(
    evidence: &DifferenceEvidence<'_>,
    invoice: &[InvoiceLine],
    line: &InvoiceLine,
    bill: &Bill,
    own: &Computed,
) -> Vec<String> {
    let Some(invoiced) = line.quantity else {
        return Vec::new();
    };
    if own.percent {
        return base_of_percentage(evidence, line, bill, invoiced);
    }
    let mut because = Vec::new();
    let is_excess = line.is_named("excess capacity");
    if matches!(own.kind, Some(LineKind::Standing | LineKind::Capacity)) && !is_excess {
        let days = (line.to - line.from).num_days();
        because.push(format!(
            "the line covers {}: {days} days",
            units::format_days(line.from, line.to)
        ));
        if own.kind == Some(LineKind::Capacity) && own.unit == "kVA·days" {
            let kva = |quantity: Decimal| (quantity / Decimal::from(days)).round_dp(3).normalize();
            because.push(format!(
                "the invoice bills {} kVA, the tariff {} kVA",
                kva(invoiced),
                kva(own.quantity)
            ));
        }
        return because;
    }
    for (words, other) in other_terms(evidence, line, own.kind == Some(LineKind::Demand)) {
        if agrees(invoiced, other.quantity) {
            because.push(format!("it agrees {words}"));
        }
    }
    if line.line.to_lowercase().starts_with("energy") && bands_together_agree(invoice, line, bill) {
        because.push(
            "the total energy of these days agrees: only its split into bands or blocks differs"
                .to_owned(),
        );
    }
    if own.kind == Some(LineKind::Energy) {
        because.extend(loss_factor(invoice, bill));
    }
    because.extend(estimated(evidence, line, own, invoiced));
    if because.is_empty()
        && let Some(class) = evidence.class_pct
        && let Some(limit) = money::read(class / 100.0)
        && (invoiced - own.quantity).abs() <= own.quantity.abs() * limit
    {
        because.push(format!(
            "the difference is within the accuracy class of the meter, {class} %"
        ));
    }
    if let Some(share) = missing(bill) {
        because.push(format!(
            "the log has no readings for {share:.1} % of the time of this line"
        ));
    }
    if because.is_empty() {
        because.push(
            "neither gaps in the log nor another interpretation of the tariff explains it"
                .to_owned(),
        );
    }
    because
}

/// What is taxed, with other lines in it or without.
fn base_of_percentage(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    bill: &Bill,
    invoiced: Decimal,
) -> Vec<String> {
    let lines: Vec<&BillLine> = bill_lines(bill).collect();
    let Some(at) = lines.iter().position(|own| line.is_named(&own.line)) else {
        return Vec::new();
    };
    let sum = |holds: &dyn Fn(&BillLine) -> bool| -> Decimal {
        let before = lines[..at].iter().filter(|own| holds(own));
        before.map(|own| own.amount).sum()
    };
    let coin = Decimal::new(1, money::decimals_of(evidence.terms.currency));
    let tried: [(&str, Decimal); 4] = [
        (
            "if the taxes before it are not taxed",
            sum(&|own| own.kind != LineKind::Tax),
        ),
        ("if the taxes before it are taxed as well", sum(&|_| true)),
        (
            "if levies are not taxed",
            sum(&|own| !matches!(own.kind, LineKind::Tax | LineKind::Levy)),
        ),
        (
            "if energy alone is taxed",
            sum(&|own| own.kind == LineKind::Energy),
        ),
    ];
    let agreeing = tried
        .iter()
        .filter(|(_, base)| (*base - invoiced).abs() <= coin);
    let mut because: Vec<String> = agreeing
        .map(|(words, _)| format!("it agrees {words}"))
        .collect();
    if because.is_empty() {
        because.push("the taxed amount differs because other lines differ".to_owned());
    }
    because
}

/// All energy of the invoice is the same multiple of that of the log.
fn loss_factor(invoice: &[InvoiceLine], bill: &Bill) -> Option<String> {
    const LARGEST: Decimal = Decimal::from_parts(125, 0, 0, false, 2);
    let mut factors = Vec::new();
    for line in invoice {
        let Some(own) = computed(bill, line).filter(|own| own.kind == Some(LineKind::Energy))
        else {
            continue;
        };
        factors.push(line.quantity?.checked_div(own.quantity)?);
    }
    let (least, most) = (factors.iter().min()?, factors.iter().max()?);
    let alike = factors.len() > 1 && *most - *least < Decimal::new(1, 3);
    (alike && *least > Decimal::new(1002, 3) && *most < LARGEST).then(|| {
        format!(
            "all energy on the invoice is {} times that of the log: a loss factor",
            most.round_dp(4).normalize()
        )
    })
}

/// Share of the days of a bill without readings. (%)
fn missing(bill: &Bill) -> Option<f64> {
    let share = bill.days_without_readings_pct();
    (share > 0.01).then_some(share)
}

/// Do all energy lines of the same days agree when added up?
fn bands_together_agree(invoice: &[InvoiceLine], line: &InvoiceLine, bill: &Bill) -> bool {
    let is_energy = |name: &str| name.to_lowercase().starts_with("energy");
    let printed: Option<Vec<Decimal>> = invoice
        .iter()
        .filter(|other| is_energy(&other.line) && (other.from, other.to) == (line.from, line.to))
        .map(|other| other.quantity)
        .collect();
    let own: Decimal = bill_lines(bill)
        .filter(|own| is_energy(&own.line))
        .map(|own| own.quantity)
        .sum();
    printed.is_some_and(|printed| {
        let slack: Decimal = printed
            .iter()
            .map(|one| super::line::half_digit(*one))
            .sum();
        printed.len() > 1 && (printed.iter().sum::<Decimal>() - own).abs() <= slack
    })
}

/// Is the invoice's rate that of another line, or of another date?
fn rate(evidence: &DifferenceEvidence<'_>, line: &InvoiceLine) -> Vec<String> {
    let Some(invoiced) = line.rate else {
        return Vec::new();
    };
    let log = crate::bill(evidence.terms, evidence.usage);
    let Some(log) = log else { return Vec::new() };
    let mut because: Vec<String> = Vec::new();
    for own in bill_lines(&log).filter(|own| own.rate == invoiced) {
        let sentence = if line.is_named(&own.line) {
            format!(
                "it is the rate for {}",
                units::format_days(own.from, own.to)
            )
        } else {
            format!("it is the rate of `{}`", own.line)
        };
        if !because.contains(&sentence) {
            because.push(sentence);
        }
    }
    if because.is_empty() {
        because.push(
            "no line of the tariff has this rate: a price change may be missing in site.toml"
                .to_owned(),
        );
    }
    because
}
