//! What the bill has come to at the end of each day.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::bill_line::{BillLine, LineKind};
use super::price_period::month_parts;
use super::pricing;
use super::sums::{self, MonthSums};
use super::terms::Terms;
use super::usage::{MeterBlock, Usage, UsageBlock, UsageQuarter};

/// The bill from the start of the log, had the log ended with this day.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CostDay {
    /// Local date.
    #[serde(serialize_with = "units::serial::date")]
    pub date: NaiveDate,
    /// Standing and capacity charges.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub standing: Decimal,
    /// Energy, less what export earns.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub energy: Decimal,
    /// The highest demand of each month so far.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub demand: Decimal,
    /// Reactive energy and power factor.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub reactive: Decimal,
    /// Levies and taxes on them.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub tax: Decimal,
    /// All of it.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
}

impl CostDay {
    pub(super) fn nothing(date: NaiveDate) -> CostDay {
        CostDay {
            date,
            standing: Decimal::ZERO,
            energy: Decimal::ZERO,
            demand: Decimal::ZERO,
            reactive: Decimal::ZERO,
            tax: Decimal::ZERO,
            total: Decimal::ZERO,
        }
    }

    pub(super) fn add_day(&mut self, other: &CostDay) {
        self.standing += other.standing;
        self.energy += other.energy;
        self.demand += other.demand;
        self.reactive += other.reactive;
        self.tax += other.tax;
        self.total += other.total;
    }

    fn add(&mut self, line: &BillLine) {
        let own = match line.kind {
            LineKind::Standing | LineKind::Capacity => &mut self.standing,
            LineKind::Demand => &mut self.demand,
            LineKind::Reactive => &mut self.reactive,
            LineKind::Levy | LineKind::Tax => &mut self.tax,
            LineKind::Energy | LineKind::Export => &mut self.energy,
        };
        *own += line.amount;
        self.total += line.amount;
    }
}

/// The bill as it would stand, had the log ended with each of its days: the last is the [`bill`](super::bill).
///
/// A price by the month is due in full with the first day of the month; a demand charge rises on the day of a new
/// highest block. Since each day's bill is rounded line by line, a day may differ by a hundredth from the sum of
/// what its quarter-hours cost.
#[must_use]
pub fn cost_by_day(terms: &Terms<'_>, usage: &Usage) -> Vec<CostDay> {
    let begin = sums::date(terms.zone, usage.from_s);
    let end = sums::date(terms.zone, usage.to_s - 1).and_then(|last| last.succ_opt());
    let (Some(begin), Some(end)) = (begin, end) else {
        return Vec::new();
    };
    if usage.quarters.is_empty() || terms.tariffs.is_empty() {
        return Vec::new();
    }
    let whole = month_parts(terms, begin, end);
    let mut parts = Vec::new();
    let mut known: Vec<MonthSums> = Vec::new();
    let mut before = CostDay::nothing(begin);
    let (mut quarters, mut blocks) = (usage.quarters.as_slice(), usage.blocks.as_slice());
    let mut meter_blocks = usage.meter_blocks.as_slice();
    let mut days = Vec::new();
    for month in &whole {
        // A sum of the whole month has room for each of its price periods; a day's bill looks at those it has reached.
        known.push(sums::empty(terms.tariffs, month));
        let reached = parts.len();
        let mut now = before.clone();
        for date in month.from.iter_days().take_while(|date| *date < month.to) {
            let next = date.succ_opt().unwrap_or(date);
            let of_day = (
                until(&mut quarters, terms, next),
                until(&mut blocks, terms, next),
                until(&mut meter_blocks, terms, next),
            );
            sums::add(terms, &whole, of_day, &mut known);
            parts.truncate(reached);
            parts.push(month.until(next));
            now = CostDay {
                date,
                ..before.clone()
            };
            for line in pricing::lines(terms, &parts, &known, reached, &mut Vec::new()) {
                now.add(&line);
            }
            days.push(now.clone());
        }
        before = now;
    }
    days
}

/// Takes from the front what begins before a date.
fn until<'u, T: Timed>(rest: &mut &'u [T], terms: &Terms<'_>, date: NaiveDate) -> &'u [T] {
    let is_before = |one: &T| sums::date(terms.zone, one.start_s()).is_some_and(|own| own < date);
    let (own, later) = rest.split_at(rest.partition_point(is_before));
    *rest = later;
    own
}

/// Something with a start.
trait Timed {
    /// Unix seconds.
    fn start_s(&self) -> i64;
}

impl Timed for UsageQuarter {
    fn start_s(&self) -> i64 {
        self.start_s
    }
}

impl Timed for UsageBlock {
    fn start_s(&self) -> i64 {
        self.start_s
    }
}

impl Timed for MeterBlock {
    fn start_s(&self) -> i64 {
        self.block.start_s
    }
}
