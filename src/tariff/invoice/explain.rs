//! Why a line of an invoice differs, as far as tariff and log show it.

use chrono_tz::Tz;
use rust_decimal::Decimal;

use super::computed::{Computed, bill_lines, computed};
use super::line::{InvoiceLine, agrees};
use super::verdict::Verdict;
use crate::bill::bill_of;
use crate::bill_line::LineKind;
use crate::{Bill, BillLine, Terms, Usage, money};
use message::closest;

/// What an invoice is checked against.
#[derive(Clone, Copy, Debug)]
pub struct DifferenceEvidence<'a> {
    /// Prices and calendar.
    pub terms: &'a Terms<'a>,
    /// Energy of the billed meter.
    pub usage: &'a Usage,
    /// The same with other demand periods, which the supplier may have used.
    pub other_windows: &'a [Usage],
    /// Accuracy class of the meter. (%)
    pub class_pct: Option<f64>,
}

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
    if matches!(own.kind, Some(LineKind::Standing | LineKind::Capacity)) {
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
    for (words, other) in other_readings(evidence, line, own.kind == Some(LineKind::Demand)) {
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

/// The quantity of a line if the supplier reads tariff or calendar in another way.
fn other_readings(
    evidence: &DifferenceEvidence<'_>,
    line: &InvoiceLine,
    is_demand: bool,
) -> Vec<(String, Computed)> {
    let terms = evidence.terms;
    let mut found = Vec::new();
    let mut add = |words: String, terms: &Terms<'_>, usage: &Usage| {
        let own = bill_of(terms, usage, line.from, line.to).and_then(|bill| computed(&bill, line));
        found.extend(own.map(|own| (words, own)));
    };
    for usage in evidence.other_windows {
        add(
            format!("with demand periods of {} min", usage.window_min),
            terms,
            usage,
        );
    }
    if let Some(winter) = winter_time(terms.zone) {
        let terms = Terms {
            zone: winter,
            ..*terms
        };
        add(
            "if bands follow winter time all year".to_owned(),
            &terms,
            evidence.usage,
        );
    }
    let without = Terms {
        holidays: &[],
        ..*terms
    };
    add(
        "if holidays count as ordinary days".to_owned(),
        &without,
        evidence.usage,
    );
    let next = line.to.succ_opt().unwrap_or(line.to);
    let own =
        bill_of(terms, evidence.usage, line.from, next).and_then(|bill| computed(&bill, line));
    found.extend(own.map(|own| ("if the day `to` is included".to_owned(), own)));
    if is_demand {
        found.extend(other_unit(evidence, line));
    }
    found
}

/// The maximum demand in kW where kVA is charged, and the other way round.
fn other_unit(evidence: &DifferenceEvidence<'_>, line: &InvoiceLine) -> Option<(String, Computed)> {
    use crate::DemandUnit::{KilovoltAmpere, Kilowatt};
    let mut tariffs = evidence.terms.tariffs.to_vec();
    let mut unit = "";
    let charges = tariffs.iter_mut().flat_map(|tariff| &mut tariff.demand);
    for charge in charges.filter(|charge| line.is_named(&charge.line())) {
        let per = &mut charge.measure.per;
        *per = match *per {
            Kilowatt => KilovoltAmpere,
            KilovoltAmpere => Kilowatt,
        };
        unit = per.symbol();
    }
    let terms = Terms {
        tariffs: &tariffs,
        ..*evidence.terms
    };
    let bill = bill_of(&terms, evidence.usage, line.from, line.to)?;
    Some((format!("in {unit}"), computed(&bill, line)?))
}

/// The zone's time of January as a zone without changes, where that is a whole number of hours.
fn winter_time(zone: Tz) -> Option<Tz> {
    use chrono::{NaiveDate, Offset, TimeZone};
    let january = NaiveDate::from_ymd_opt(2026, 1, 1)?.and_hms_opt(0, 0, 0)?;
    let seconds = zone
        .offset_from_utc_datetime(&january)
        .fix()
        .local_minus_utc();
    if seconds % 3600 != 0 {
        return None;
    }
    // The names of these zones count westwards.
    match -seconds / 3600 {
        0 => Some(Tz::UTC),
        hours => format!("Etc/GMT{hours:+}").parse().ok(),
    }
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
