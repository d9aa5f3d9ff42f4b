//! Energy and cost of new machines: the energy, and the bill with them and without.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use num_complex::Complex64;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;

use super::load::NewLoad;
use super::scene::Scene;
use balance::BasedOn;
use demand::{quarter_hours, supply_usage};
use metering::Logs;
use tariff::{Bill, Usage, bill, energy_price_at};
use units::{HOURS_OF_A_YEAR, format_date, format_kwh, grouped_digits};

/// A line of the bill, summed over its months, where new machines change it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct LineEffect {
    /// As on the bill.
    pub line: String,
    /// Amount now.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub before: Decimal,
    /// Amount with the machines.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub after: Decimal,
}

/// The bill over the time of the log, now and with new machines.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BillEffect {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// First local date.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The local date after the last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Total as it is.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub before: Decimal,
    /// Total with the machines.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub after: Decimal,
    /// The lines that change.
    pub lines: Vec<LineEffect>,
}

/// Energy and cost of new machines.
///
/// Neither depends on the circuit or the phase; losses are not priced.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RunningCost {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// Energy for a year like the log or the typical week, negative where it is generated. (kWh)
    /// `None` where the output of what generates over a year is not declared.
    pub energy_kwh_per_year: Option<f64>,
    /// Cost of that energy by the price bands, tax included. `None` without price bands.
    pub energy_cost_per_year: Option<f64>,
    /// The whole bill over the time of the log. `None` without a tariff or a log of the supply.
    pub bill: Option<BillEffect>,
}

/// Energy and bill that these machines add.
pub(super) fn running_cost(scene: &Scene<'_>, logs: &Logs, loads: &[&NewLoad]) -> RunningCost {
    let starts = scene.standing.starts();
    let interval_h = scene.standing.interval_s() as f64 / 3600.0;
    let power_kw = |interval: usize| -> Complex64 {
        loads.iter().map(|load| load.expected_power(interval)).sum()
    };
    let whole_h = starts.len() as f64 * interval_h;
    let of_a_year = |sum: f64| sum * interval_h * HOURS_OF_A_YEAR / whole_h.max(interval_h);
    let energy: f64 = (0..starts.len()).map(|at| power_kw(at).re).sum();
    let terms = scene.site.terms();
    if loads.iter().any(|load| load.generates()) {
        // What of it is used at once and what is exported, at another price, depends on when the sun shines.
        let is_declared = loads.iter().all(|load| load.output_is_declared());
        return RunningCost {
            currency: scene.site.currency.clone(),
            energy_kwh_per_year: is_declared.then(|| of_a_year(energy)),
            energy_cost_per_year: None,
            bill: None,
        };
    }
    let cost: Option<f64> = starts
        .iter()
        .enumerate()
        .map(|(at, &start_s)| Some(power_kw(at).re * energy_price_at(&terms, start_s)?))
        .sum();
    RunningCost {
        currency: scene.site.currency.clone(),
        energy_kwh_per_year: Some(of_a_year(energy)),
        energy_cost_per_year: cost.map(of_a_year),
        bill: bills(scene, logs, power_kw).map(|[before, after]| BillEffect::new(&before, &after)),
    }
}

/// The bill now and with more power in each interval. (kW, kvar)
fn bills(
    scene: &Scene<'_>,
    logs: &Logs,
    power_kw: impl Fn(usize) -> Complex64,
) -> Option<[Bill; 2]> {
    if scene.standing.based_on() != BasedOn::Logs {
        return None;
    }
    let terms = scene.site.terms();
    let now = supply_usage(scene.site, logs, scene.site.demand_window_min, "")?;
    let interval_s = scene.standing.interval_s();
    let more = by_quarter(scene.standing.starts(), interval_s, power_kw);
    let with = with_more(&now, &more);
    Some([bill(&terms, &now)?, bill(&terms, &with)?])
}

/// Mean power of each quarter-hour, intervals without a reading left out. (kW, kvar)
fn by_quarter(
    starts: &[i64],
    interval_s: i64,
    power_kw: impl Fn(usize) -> Complex64,
) -> BTreeMap<i64, Complex64> {
    let mut sums: BTreeMap<i64, (Complex64, f64)> = BTreeMap::new();
    for (interval, &start) in starts.iter().enumerate() {
        let power = power_kw(interval);
        for (quarter, seconds) in quarter_hours(start, start + interval_s) {
            let sum = sums.entry(quarter).or_default();
            *sum = (sum.0 + power * seconds, sum.1 + seconds);
        }
    }
    sums.into_iter()
        .map(|(quarter, (sum, seconds))| (quarter, sum / seconds))
        .collect()
}

/// The usage with the machines. Where only apparent power is known for a demand period, its reactive power is taken
/// as lagging.
fn with_more(now: &Usage, more: &BTreeMap<i64, Complex64>) -> Usage {
    let mut with = now.clone();
    for quarter in &mut with.quarters {
        let Some(power) = more.get(&quarter.start_s) else {
            continue;
        };
        let hours = quarter.covered_s / 3600.0;
        quarter.kwh += power.re * hours;
        quarter.lagging_kvarh = quarter
            .lagging_kvarh
            .map(|kvarh| kvarh + power.im.max(0.0) * hours);
    }
    let block_s = 60 * i64::from(now.window_min);
    for block in &mut with.blocks {
        let powers: Vec<Complex64> = more
            .range(block.start_s..block.start_s + block_s)
            .map(|(_, power)| *power)
            .collect();
        let Some(mean) = mean(&powers) else { continue };
        block.kva = block.kva.map(|kva| {
            let kvar = (kva * kva - block.kw * block.kw).max(0.0).sqrt();
            (block.kw + mean.re).hypot(kvar + mean.im)
        });
        block.kw += mean.re;
    }
    with
}

fn mean(powers: &[Complex64]) -> Option<Complex64> {
    (!powers.is_empty()).then(|| powers.iter().sum::<Complex64>() / powers.len() as f64)
}

impl BillEffect {
    fn new(before: &Bill, after: &Bill) -> BillEffect {
        let [now, with] = [before, after].map(amounts);
        let zero = Decimal::ZERO;
        let changed = with
            .into_iter()
            .map(|(line, amount)| {
                let earlier = now.iter().find(|other| other.0 == line);
                LineEffect {
                    before: earlier.map_or(zero, |earlier| earlier.1),
                    after: amount,
                    line,
                }
            })
            .filter(|line| line.before != line.after);
        let first = before.months.first().map(|month| month.from);
        let last = before.months.last().map(|month| month.to);
        BillEffect {
            currency: before.currency.clone(),
            from: first.unwrap_or_default(),
            to: last.unwrap_or_default(),
            before: before.total,
            after: after.total,
            lines: changed.collect(),
        }
    }

    fn sentence(&self) -> String {
        let changes: Vec<String> = self
            .lines
            .iter()
            .map(|line| format!("{} {:+}", line.line, line.after - line.before))
            .collect();
        let changes = if changes.is_empty() {
            "no line of the bill changes".to_owned()
        } else {
            changes.join(", ")
        };
        format!(
            "The bill for {} to {} changes from {} to {}{} ({:+}): {changes}.",
            format_date(self.from),
            format_date(self.to.pred_opt().unwrap_or(self.to)),
            grouped_digits(&self.before.to_string()),
            grouped_digits(&self.after.to_string()),
            unit(self.currency.as_deref()),
            self.after - self.before
        )
    }
}

impl RunningCost {
    /// Energy and bill in sentences.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let Some(energy_kwh) = self.energy_kwh_per_year else {
            return vec![
                "The energy of a year is not known: `--utilisation-factor` is the expected yield of a year over rating × 8760 h."
                    .to_owned(),
            ];
        };
        if energy_kwh < 0.0 {
            return vec![format!(
                "Generates {} per year, by its schedule and utilisation factor. What that saves depends on how much of it is \
                 used at once and on the price of what is exported: it is not calculated.",
                format_kwh(-energy_kwh)
            )];
        }
        let like = match self.bill {
            Some(_) => "the logged period",
            None => "the expected running hours",
        };
        let cost = self.energy_cost_per_year.map_or_else(String::new, |cost| {
            let currency = unit(self.currency.as_deref());
            let cost = grouped_digits(&format!("{cost:.0}"));
            format!(", {cost}{currency} by the tariff, tax included")
        });
        let energy = format!(
            "{} per year{cost}, if the whole year is like {like}.",
            format_kwh(energy_kwh)
        );
        let bill = self.bill.as_ref().map(BillEffect::sentence);
        [energy].into_iter().chain(bill).collect()
    }
}

/// The currency after an amount.
fn unit(currency: Option<&str>) -> String {
    currency.map_or_else(String::new, |code| format!(" {code}"))
}

/// Lines in their order, each summed over the months.
fn amounts(bill: &Bill) -> Vec<(String, Decimal)> {
    let mut sums: Vec<(String, Decimal)> = Vec::new();
    for line in bill.months.iter().flat_map(|month| &month.lines) {
        match sums.iter_mut().find(|sum| sum.0 == line.line) {
            Some(sum) => sum.1 += line.amount,
            None => sums.push((line.line.clone(), line.amount)),
        }
    }
    sums
}
