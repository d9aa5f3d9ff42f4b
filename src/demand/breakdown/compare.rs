//! The parts of two periods compared; only whole ones are compared.

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::by::BreakdownBy;
use super::calendar::start_of;
use super::compared::Compared;
use super::part::EnergyPart;
use crate::meter::meter_energy::MeterEnergy;
use metering::Period;
use site::Site;
use units::percent_of;

/// Two periods of local dates, each to the day after its last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub struct Comparison {
    /// First date of the period looked at.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The date after its last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// First date of the other period.
    #[serde(serialize_with = "units::serial::date")]
    pub other_from: NaiveDate,
    /// The date after its last.
    #[serde(serialize_with = "units::serial::date")]
    pub other_to: NaiveDate,
}

impl Comparison {
    /// Days of the period looked at, and of the other.
    #[must_use]
    pub fn days(&self) -> (i64, i64) {
        let days = |from: NaiveDate, to: NaiveDate| (to - from).num_days();
        (
            days(self.from, self.to),
            days(self.other_from, self.other_to),
        )
    }
}

/// One of the two periods.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// Its meters as analysed.
    pub meters: &'a [MeterEnergy],
    /// Its first date.
    pub from: NaiveDate,
    /// The date after its last.
    pub to: NaiveDate,
}

/// Compares each part with that of the other period; gives what could not be, one sentence each.
pub fn compare(
    site: &Site,
    parts: &mut [EnergyPart],
    own: Side<'_>,
    others: &[EnergyPart],
    other: Side<'_>,
) -> Vec<String> {
    let mut used = vec![false; others.len()];
    let mut alone = Vec::new();
    for part in parts.iter_mut() {
        let same = |(_, found): &(usize, &EnergyPart)| {
            found.by == part.by
                && found.meter == part.meter
                && place(found, other.from) == place(part, own.from)
        };
        let Some((at, found)) = others.iter().enumerate().find(same) else {
            alone.push(format!("{} of {}", part.key, part.meter));
            continue;
        };
        used[at] = true;
        let whole = is_whole(site, part, own) && is_whole(site, found, other);
        part.compared = Some(compared_with(part, found, whole));
    }
    let left = others.iter().zip(&used).filter(|(_, used)| !**used);
    let left: Vec<String> = left
        .map(|(part, _)| format!("{} of {}", part.key, part.meter))
        .collect();
    let mut notes: Vec<String> = holidays(site, own, other).into_iter().collect();
    let mut tell = |list: &[String], period: &str| {
        if !list.is_empty() {
            notes.push(format!(
                "only in the {period}, not comparable: {}",
                list.join(", ")
            ));
        }
    };
    tell(&alone, "selected period");
    tell(&left, "other period");
    notes
}

/// Holidays of the two periods, where they are not as many in both.
fn holidays(site: &Site, own: Side<'_>, other: Side<'_>) -> Option<String> {
    let of = |side: Side<'_>| -> Vec<String> {
        let dates = site.holidays.iter();
        let within = dates.filter(|date| side.from <= **date && **date < side.to);
        within.map(|date| units::format_date(*date)).collect()
    };
    let list = |dates: &[String]| match dates {
        [] => "none".to_owned(),
        dates => dates.join(", "),
    };
    let (own, other) = (of(own), of(other));
    (own.len() != other.len()).then(|| {
        format!(
            "holidays in the selected period: {}; in the other: {}",
            list(&own),
            list(&other)
        )
    })
}

/// Which part of its period it is: of the calendar counted from the first day, else by its name.
fn place(part: &EnergyPart, from: NaiveDate) -> (i64, &str) {
    let first = |date: NaiveDate| i64::from(start_of(date, &part.by).num_days_from_ce());
    match part.by {
        BreakdownBy::Day => (part.order - first(from), ""),
        BreakdownBy::Week => ((part.order - first(from)) / 7, ""),
        BreakdownBy::Month => {
            let months = |days: i64| {
                let date = i32::try_from(days).ok();
                let date = date.and_then(NaiveDate::from_num_days_from_ce_opt);
                date.map_or(0, |date| i64::from(date.year() * 12 + date.month0() as i32))
            };
            (months(part.order) - months(first(from)), "")
        }
        _ => (0, &part.key),
    }
}

/// Does the part have all its readings, and the meter some at both ends of the period?
fn is_whole(site: &Site, part: &EnergyPart, side: Side<'_>) -> bool {
    if part.by.is_calendar() {
        return part.complete;
    }
    let period = Period {
        from: Some(side.from),
        to: Some(side.to),
    };
    let (from_s, to_s) = period.seconds(site.timezone);
    let meter = side.meters.iter().find(|meter| meter.id == part.meter);
    part.complete
        && meter
            .is_some_and(|meter| meter.from.timestamp() <= from_s && meter.to.timestamp() >= to_s)
}

fn compared_with(part: &EnergyPart, other: &EnergyPart, whole: bool) -> Compared {
    let difference = part.energy_kwh - other.energy_kwh;
    let costs = part.cost.zip(other.cost).filter(|_| whole);
    Compared {
        key: other.key.clone(),
        energy_kwh: other.energy_kwh,
        cost: other.cost,
        difference_kwh: whole.then_some(difference),
        difference_pct: percent_of(difference, other.energy_kwh).filter(|_| whole),
        difference_cost: costs.map(|(own, other)| own - other),
    }
}
