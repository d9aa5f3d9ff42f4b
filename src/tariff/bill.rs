//! The bill: each month of the log priced line by line.

use chrono::{NaiveDate, TimeZone};
use chrono_tz::Tz;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::billing_periods::BillingPeriods;
use super::credit::{CarriedCredit, CreditBalance};
use super::marginal_kilowatt::{self, MarginalKilowatt};
use super::month::BillMonth;
use super::price_period::{MonthPart, month_parts};
use super::pricing::{self, MonthLines};
use super::rounding::Rounding;
use super::sums::{self, MonthSums};
use super::terms::Terms;
use super::usage::Usage;

/// Cost of the logged period.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Bill {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// The meter that is billed.
    pub meter: String,
    /// Sum of the months.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// How all of it is rounded.
    pub rounding: String,
    /// Months, ascending.
    pub months: Vec<BillMonth>,
    /// Notes, one sentence each.
    pub notes: Vec<String>,
}

impl Bill {
    /// Share of the days of the bill for which there are no readings. (%)
    #[must_use]
    pub fn days_without_readings_pct(&self) -> f64 {
        let all: f64 = self.months.iter().map(|month| month.days_s).sum();
        let covered: f64 = self.months.iter().map(|month| month.covered_s).sum();
        if all > 0.0 {
            (100.0 * (1.0 - covered / all)).max(0.0)
        } else {
            0.0
        }
    }
}

/// Prices the energy of a meter, month by month of the local calendar; `None` without readings.
///
/// Amount of a line: quantity × rate (× days of the tariff / days of the month, for monthly charges);
/// rounding as in [`Rounding`]. Monthly charges are due in full in a part month.
///
/// # Example
///
/// A flat 10 kW through the 30 days of September, at night (seven hours) for 0.16 and by day for 0.30 per kWh:
/// 2100 kWh × 0.16 + 5100 kWh × 0.30 = 336 + 1530.
///
/// ```
/// use chrono::NaiveDate;
/// use tariff::{Band, BandDays, BandTable, BillingPeriods, EnergyRates, Months, Tariff, Terms};
/// use tariff::{Usage, UsageQuarter, bill};
///
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let band = |name: &str, from_quarter, to_quarter, rate: &str| -> Option<Band> {
///     Some(Band {
///         name: name.to_owned(),
///         days: BandDays::daily(),
///         months: Months::ALL,
///         from_quarter,
///         to_quarter,
///         otherwise: false,
///         rate_per_kwh: rate.parse().ok()?,
///         blocks: Vec::new(),
///     })
/// };
/// let bands = [band("night", 0, 28, "0.16"), band("day", 28, 96, "0.30")];
/// let bands: Vec<Band> = bands.into_iter().flatten().collect();
/// assert_eq!(bands.len(), 2);
/// let tariff = Tariff {
///     from: "2026-01-01".parse()?,
///     energy: Some(EnergyRates::Bands(BandTable::new(bands).map_err(|_| "a gap")?)),
///     ..Tariff::free_of_charge()
/// };
/// let from_s = "2026-09-01".parse::<NaiveDate>()?.and_hms_opt(0, 0, 0).ok_or("midnight")?.and_utc().timestamp();
/// let to_s = from_s + 30 * 86_400;
/// let usage = Usage {
///     quarters: (from_s..to_s)
///         .step_by(900)
///         .map(|start_s| UsageQuarter { start_s, covered_s: 900.0, kwh: 2.5, ..UsageQuarter::default() })
///         .collect(),
///     ..Usage::of("main", from_s, to_s)
/// };
/// let billing = BillingPeriods::default();
/// let terms = Terms { tariffs: &[tariff], zone: chrono_tz::UTC, holidays: &[], billing: &billing, currency: None };
/// let bill = bill(&terms, &usage).ok_or("no readings")?;
/// assert_eq!(bill.total.to_string(), "1866.00");
/// assert!(bill.months[0].complete);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn bill(terms: &Terms<'_>, usage: &Usage) -> Option<Bill> {
    let from = sums::date(terms.zone, usage.from_s)?;
    let to = sums::date(terms.zone, usage.to_s - 1)?.succ_opt()?;
    bill_of(terms, usage, from, to)
}

/// As [`bill`], for the local dates from `from` to `to` (exclusive), whatever part of them the log covers.
#[must_use]
pub fn bill_of(terms: &Terms<'_>, usage: &Usage, from: NaiveDate, to: NaiveDate) -> Option<Bill> {
    if usage.quarters.is_empty() || terms.tariffs.is_empty() {
        return None;
    }
    // A ratchet uses the months of the log before these days.
    let begin = sums::date(terms.zone, usage.from_s)?;
    let (first, _) = terms.billing.around(from);
    let mut parts = month_parts(terms, begin, first.min(to));
    let earlier = parts.len();
    parts.extend(month_parts(terms, from, to));
    let sums = sums::sums(terms, &parts, usage);
    let mut carried = CarriedCredit::default();
    let mut months: Vec<BillMonth> = (0..parts.len())
        .map(|at| month(terms, &parts, &sums, at, &mut carried))
        .collect();
    months.drain(..earlier);
    let mut bill = Bill {
        currency: terms.currency.map(ToOwned::to_owned),
        meter: usage.meter.clone(),
        total: months.iter().map(|month| month.total).sum(),
        rounding: rounding_sentence(terms),
        months,
        notes: notes(terms, usage, &sums),
    };
    for (at, worth) in marginal_kilowatt::worth(terms, &parts, &sums, usage, earlier) {
        bill.months[at - earlier].marginal_kilowatt = Some(worth);
    }
    Some(bill)
}

fn month(
    terms: &Terms<'_>,
    parts: &[MonthPart],
    sums: &[MonthSums],
    at: usize,
    carried: &mut CarriedCredit,
) -> BillMonth {
    let part = &parts[at];
    let mut notes = Vec::new();
    let MonthLines { lines, credits } =
        pricing::month_lines(terms, parts, sums, at, carried, &mut notes);
    notes.extend(credits.iter().map(CreditBalance::sentence));
    let whole_s = seconds(terms.zone, part.first, part.next);
    let covered = sums[at].covered_s;
    let complete = covered > whole_s - 0.5;
    if !complete {
        notes.insert(
            0,
            "part month: monthly charges in full, others for the time logged; not comparable with full months"
                .to_owned(),
        );
    }
    BillMonth {
        month: if BillingPeriods::is_month(part.first, part.next) {
            part.first.format("%Y-%m").to_string()
        } else {
            part.first.format("%Y-%m-%d").to_string()
        },
        from: part.from,
        to: part.to,
        complete,
        days_s: seconds(terms.zone, part.from, part.to),
        covered_s: covered,
        covered_pct: 100.0 * (covered / whole_s).min(1.0),
        total: lines.iter().map(|line| line.amount).sum(),
        lines,
        credits,
        marginal_kilowatt: None::<MarginalKilowatt>,
        notes,
    }
}

/// How amounts are rounded, as the latest tariff says.
fn rounding_sentence(terms: &Terms<'_>) -> String {
    let latest = terms.tariffs.last();
    let rounding = latest.map_or_else(Rounding::default, |tariff| tariff.rounding);
    rounding.sentence(terms.currency)
}

/// Length of local days. (s)
fn seconds(zone: Tz, from: NaiveDate, to: NaiveDate) -> f64 {
    let midnight = |date: NaiveDate| {
        let local = date.and_hms_opt(0, 0, 0).unwrap_or_default();
        zone.from_local_datetime(&local)
            .earliest()
            .map_or_else(|| local.and_utc().timestamp(), |time| time.timestamp())
    };
    (midnight(to) - midnight(from)) as f64
}

fn notes(terms: &Terms<'_>, usage: &Usage, sums: &[MonthSums]) -> Vec<String> {
    let mut notes = Vec::new();
    let unpriced: f64 = sums.iter().map(|month| month.unpriced_kwh).sum();
    if unpriced > 0.0
        && let Some(first) = terms.tariffs.first()
    {
        notes.push(format!(
            "{unpriced:.1} kWh before {} have no tariff and are not billed",
            units::format_date(first.from)
        ));
    }
    let mut tariffs = terms.tariffs.iter();
    let pays = tariffs.any(|tariff| tariff.export.is_some() || tariff.net_metering.is_some());
    if usage.returned_kwh > 0.0 && !pays {
        notes.push(format!(
            "{:.1} kWh were exported in quarter-hours with net export: the tariff has no price for export, it counts as zero",
            usage.returned_kwh
        ));
    }
    if usage.undated_kwh.abs() > 0.05 {
        notes.push(format!(
            "the register counted {:+.1} kWh beyond the readings, at times not known: they have no band and are not billed",
            usage.undated_kwh
        ));
    }
    notes
}
