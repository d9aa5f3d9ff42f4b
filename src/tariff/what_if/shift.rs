//! What shifting load out of a band, or out of the hours in which demand is charged, would have saved.

use chrono::{NaiveDateTime, Timelike};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use schemars::JsonSchema;
use serde::Serialize;

use super::billed_year::BilledYear;
use crate::energy_price::{first_rate, rate_by_time};
use crate::sums::local;
use crate::tariff::{EnergyRates, tariff_on};
use crate::terms::Terms;
use crate::usage::{Usage, UsageBlock, UsageQuarter};

/// Share of the maximum demand that is shifted where nobody says how much.
const USUAL_SHARE: f64 = 0.1;
/// Length of a quarter-hour. (s)
const QUARTER_S: i64 = 900;

/// Load that runs in other hours of the same day.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ShiftChoice {
    /// The band or the demand charge, as its line on the bill is called.
    pub out_of: String,
    /// Hours of the day out of which load is shifted.
    pub out_of_hours: String,
    /// Hours of the day into which it is spread evenly: the cheapest of the same day.
    pub into_hours: String,
    /// Load that is shifted, never more than is imported. (kW)
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub kw: Decimal,
    /// Energy that is shifted. (kWh)
    pub moved_kwh: f64,
    /// The bill with it.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub total: Decimal,
    /// Less on the bill; negative: more.
    #[serde(serialize_with = "units::serial::decimal")]
    #[schemars(with = "f64")]
    pub saving: Decimal,
}

/// Hours out of which load is shifted.
#[derive(Clone, Debug, PartialEq, Eq)]
enum ShiftSource {
    /// The bands of this name, of this price of energy.
    Band { set: String, band: String },
    /// The hours in which the demand of this line is measured.
    Demand { line: String },
}

/// What is shifted out of each band and each window of demand, the largest saving first.
pub(super) fn shifts(
    terms: &Terms<'_>,
    usage: &Usage,
    year: &BilledYear,
    before: Decimal,
    shift_kw: Option<f64>,
    notes: &mut Vec<String>,
) -> Vec<ShiftChoice> {
    let sources = sources(terms);
    if sources.is_empty() {
        notes.push(
            "Shifting load to other hours saves nothing on this bill: no price of energy or demand goes by the time of day."
                .to_owned(),
        );
        return Vec::new();
    }
    let Some(kw) = shift_kw.or_else(|| usual_kw(&usage.blocks)) else {
        notes.push(
            "No load is shifted: there is no complete demand period to take a tenth of; write `--shift-kw`"
                .to_owned(),
        );
        return Vec::new();
    };
    let priced = PricedQuarter::of_all(terms, usage);
    let mut found: Vec<ShiftChoice> = sources
        .iter()
        .filter_map(|source| {
            let shift = ShiftedUse::of(terms, usage, &priced, source, kw)?;
            let total = year.total(terms, &shift.usage);
            Some(ShiftChoice {
                out_of: source.line(),
                out_of_hours: hours(&shift.out_of),
                into_hours: hours(&shift.into),
                kw: Decimal::from_f64(kw)?.round_dp(3).normalize(),
                moved_kwh: shift.moved_kwh,
                total,
                saving: before - total,
            })
        })
        .collect();
    found.sort_by_key(|choice| std::cmp::Reverse(choice.saving));
    found
}

/// A tenth of the maximum demand in whole kilowatts. (kW)
fn usual_kw(blocks: &[UsageBlock]) -> Option<f64> {
    let highest = blocks.iter().map(|block| block.kw).reduce(f64::max)?;
    Some((USUAL_SHARE * highest).round().max(1.0))
}

/// The bands of several prices, and the demand charges that do not measure all of the time.
fn sources(terms: &Terms<'_>) -> Vec<ShiftSource> {
    let mut found: Vec<ShiftSource> = Vec::new();
    for tariff in terms.tariffs {
        for (set, rates) in tariff.sets() {
            let EnergyRates::Bands(table) = rates else {
                continue;
            };
            // Out of the cheapest of them nothing is shifted.
            let least = table.bands().iter().map(first_rate).min();
            let dearer = table.bands().iter();
            let dearer = dearer.filter(|band| Some(first_rate(band)) > least);
            found.extend(dearer.map(|band| ShiftSource::Band {
                set: set.to_owned(),
                band: band.name.clone(),
            }));
        }
        let windows = tariff.demand.iter().filter(|charge| {
            let window = &charge.measure.window;
            !window.days.is_daily() || (window.from_quarter, window.to_quarter) != (0, 96)
        });
        found.extend(windows.map(|charge| ShiftSource::Demand {
            line: charge.line(),
        }));
    }
    let mut seen: Vec<ShiftSource> = Vec::new();
    for source in found {
        if !seen.contains(&source) {
            seen.push(source);
        }
    }
    seen
}

impl ShiftSource {
    fn line(&self) -> String {
        match self {
            ShiftSource::Band { set, band } => format!("{set} {band}"),
            ShiftSource::Demand { line } => line.clone(),
        }
    }

    /// Is a local time in it?
    fn holds(&self, terms: &Terms<'_>, tariff: usize, local: NaiveDateTime) -> bool {
        let tariff = &terms.tariffs[tariff];
        match self {
            ShiftSource::Band { set, band } => tariff.sets().any(|(name, rates)| {
                let EnergyRates::Bands(table) = rates else {
                    return false;
                };
                name == set && table.bands()[table.at(local, terms.holidays)].name == *band
            }),
            ShiftSource::Demand { line } => tariff.demand.iter().any(|charge| {
                charge.line() == *line && charge.measure.window.contains(local, terms.holidays)
            }),
        }
    }
}

/// A quarter-hour with its local time, its tariff and what its energy costs by the time.
#[derive(Clone, Copy, Debug)]
struct PricedQuarter {
    local: NaiveDateTime,
    tariff: usize,
    rate: Decimal,
}

impl PricedQuarter {
    /// Of each quarter-hour; `None` where no price holds.
    fn of_all(terms: &Terms<'_>, usage: &Usage) -> Vec<Option<PricedQuarter>> {
        let of = |quarter: &UsageQuarter| {
            let local = local(terms.zone, quarter.start_s)?;
            let tariff = tariff_on(terms.tariffs, local.date())?;
            let rate = rate_by_time(terms, &terms.tariffs[tariff], local, quarter.start_s)?;
            Some(PricedQuarter {
                local,
                tariff,
                rate,
            })
        };
        usage.quarters.iter().map(of).collect()
    }

    fn quarter_of_day(&self) -> usize {
        (self.local.hour() * 4 + self.local.minute() / 15) as usize
    }
}

/// What the meter would have seen.
struct ShiftedUse {
    usage: Usage,
    moved_kwh: f64,
    /// Quarter-hours of the day that lose and gain.
    out_of: [bool; 96],
    into: [bool; 96],
}

impl ShiftedUse {
    /// `None` where nothing can be shifted.
    fn of(
        terms: &Terms<'_>,
        usage: &Usage,
        priced: &[Option<PricedQuarter>],
        source: &ShiftSource,
        kw: f64,
    ) -> Option<ShiftedUse> {
        let mut shift = ShiftedUse {
            usage: usage.clone(),
            moved_kwh: 0.0,
            out_of: [false; 96],
            into: [false; 96],
        };
        let mut net_kwh = vec![0.0; usage.quarters.len()];
        let indices: Vec<usize> = (0..usage.quarters.len()).collect();
        let date = |at: usize| priced[at].map(|quarter| quarter.local.date());
        for day in indices.chunk_by(|&a, &b| date(a) == date(b)) {
            shift.day(terms, priced, source, kw, day, &mut net_kwh);
        }
        shift.change_blocks(&net_kwh);
        (shift.moved_kwh > 0.0).then_some(shift)
    }

    fn day(
        &mut self,
        terms: &Terms<'_>,
        priced: &[Option<PricedQuarter>],
        source: &ShiftSource,
        kw: f64,
        day: &[usize],
        net_kwh: &mut [f64],
    ) {
        let known = || day.iter().filter_map(|&at| Some((at, priced[at]?)));
        let (within, outside): (Vec<_>, Vec<_>) =
            known().partition(|(_, quarter)| source.holds(terms, quarter.tariff, quarter.local));
        let is_whole = |at: usize| self.usage.quarters[at].covered_s > 899.5;
        let outside = || outside.iter().filter(|(at, _)| is_whole(*at));
        let Some(least) = outside().map(|(_, quarter)| quarter.rate).min() else {
            return;
        };
        let into: Vec<_> = outside()
            .filter(|(_, quarter)| quarter.rate == least)
            .copied()
            .collect();
        let is_dearer = |rate: Decimal| match source {
            ShiftSource::Band { .. } => rate > least,
            ShiftSource::Demand { .. } => rate >= least,
        };
        let mut moved = 0.0;
        for (at, quarter) in within.iter().filter(|(_, quarter)| is_dearer(quarter.rate)) {
            let own = &mut self.usage.quarters[*at];
            let part = own.kwh.min(kw * own.covered_s / 3600.0);
            own.kwh -= part;
            net_kwh[*at] -= part;
            self.out_of[quarter.quarter_of_day()] |= part > 0.0;
            moved += part;
        }
        if moved <= 0.0 {
            return;
        }
        self.moved_kwh += moved;
        let share = moved / into.len() as f64;
        for (at, quarter) in into {
            let own = &mut self.usage.quarters[at];
            // What is exported is used first.
            let of_export = own.export_kwh.min(share);
            own.export_kwh -= of_export;
            own.kwh += share - of_export;
            net_kwh[at] += share;
            self.into[quarter.quarter_of_day()] = true;
        }
    }

    /// Reactive power stays where it is.
    fn change_blocks(&mut self, net_kwh: &[f64]) {
        let length_s = i64::from(self.usage.window_min) * 60;
        let mut at = 0;
        for block in &mut self.usage.blocks {
            let quarters = &self.usage.quarters;
            while quarters
                .get(at)
                .is_some_and(|quarter| quarter.start_s < block.start_s)
            {
                at += 1;
            }
            let mut kwh = 0.0;
            while quarters
                .get(at)
                .is_some_and(|quarter| quarter.start_s + QUARTER_S <= block.start_s + length_s)
            {
                kwh += net_kwh[at];
                at += 1;
            }
            block.kw += kwh * 3600.0 / length_s as f64;
            block.kva = block.kvar.map(|kvar| kvar.hypot(block.kw));
        }
    }
}

/// `00:00–07:00, 19:00–24:00`.
fn hours(quarters: &[bool; 96]) -> String {
    let clock = |quarter: usize| format!("{:02}:{:02}", quarter / 4, quarter % 4 * 15);
    let mut runs: Vec<String> = Vec::new();
    let mut at = 0;
    while at < quarters.len() {
        let end = (at..quarters.len())
            .find(|&end| !quarters[end])
            .unwrap_or(quarters.len());
        if end > at {
            runs.push(format!("{}–{}", clock(at), clock(end)));
        }
        at = end.max(at + 1);
    }
    runs.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_quarter_hours_in_words() {
        let mut quarters = [false; 96];
        quarters[..28].fill(true);
        quarters[76..].fill(true);
        assert_eq!(hours(&quarters), "00:00–07:00, 19:00–24:00");
        assert_eq!(hours(&[false; 96]), "");
    }

    #[test]
    fn a_tenth_of_the_maximum_in_whole_kilowatts() {
        let block = |kw: f64| UsageBlock {
            kw,
            ..UsageBlock::default()
        };
        assert_eq!(usual_kw(&[block(44.0), block(10.0)]), Some(4.0));
        assert_eq!(usual_kw(&[block(3.0)]), Some(1.0));
        assert_eq!(usual_kw(&[]), None);
    }
}
