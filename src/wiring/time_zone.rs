//! Is a log in UTC that is declared local, or the reverse?
//!
//! In the hours between the start of work by either reading and its end by either, work says which reading is right: by
//! the wrong one it begins and ends earlier or later than declared, by the zone's offset from UTC.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, NaiveDate, NaiveDateTime, Offset, TimeZone};

use super::channels::Channels;
use metering::{FaultKind, MeterFault, Treatment};
use site::{Schedule, Site};

/// Means over so long are judged. (s)
const BLOCK_S: i64 = 900;
/// Days on which work shows, at least.
const FEWEST_DAYS: usize = 3;
/// A day's power at work is above the rest by so much of itself.
const SHOWS: f64 = 0.25;
/// By the wrong reading a day's figure is 1, by the right one −1. The middle between must be passed by this …
const BEYOND: f64 = 0.3;
/// … and by so many standard errors …
const ERRORS: f64 = 4.0;
/// … of days that scatter by at least so much.
const LEAST_SCATTER: f64 = 0.2;

/// A log whose times are off by the zone's offset from UTC.
pub(crate) fn faults(channels: &Channels<'_>, site: &Site) -> Vec<MeterFault> {
    let schedules = schedules(site);
    if schedules.is_empty() {
        return Vec::new();
    }
    let blocks = blocks(channels, site);
    // Read as UTC, work would begin as declared; or the reverse.
    for sign in [1, -1] {
        let runs = |local: NaiveDateTime| {
            schedules
                .iter()
                .any(|schedule| schedule.runs_at(local, &site.holidays))
        };
        let mut days: BTreeMap<NaiveDate, Day> = BTreeMap::new();
        let mut hours = 0.0_f64;
        for block in &blocks {
            let shift = Duration::seconds(sign * block.offset_s);
            let (as_read, otherwise) = (runs(block.local), runs(block.local + shift));
            if block.offset_s != 0 {
                hours = -(sign * block.offset_s) as f64 / 3600.0;
            }
            let day = days.entry(block.local.date()).or_default();
            day.add(as_read, otherwise, block.kw);
        }
        let figures: Vec<f64> = days.values().filter_map(Day::figure).collect();
        let count = figures.len() as f64;
        if figures.len() < FEWEST_DAYS {
            continue;
        }
        let mean = figures.iter().sum::<f64>() / count;
        let squares: f64 = figures.iter().map(|figure| (figure - mean).powi(2)).sum();
        let scatter = (squares / (count - 1.0)).sqrt().max(LEAST_SCATTER);
        let errors = mean / (scatter / count.sqrt());
        if mean < BEYOND || errors < ERRORS {
            continue;
        }
        let evidence = vec![
            ("hours_off", hours),
            ("days_judged", count),
            ("work_outside_declared_hours", mean),
            ("standard_errors", errors),
        ];
        let kind = FaultKind::TimeZone { hours };
        let rows = 0..channels.len();
        return vec![channels.fault(kind, None, rows, Treatment::Reported, evidence)];
    }
    Vec::new()
}

/// The schedules of the machines or, where none has one, of people.
fn schedules(site: &Site) -> Vec<&Schedule> {
    let of_machines: Vec<usize> = site
        .machines
        .iter()
        .filter_map(|machine| machine.schedule)
        .collect();
    let all = site.schedules.iter().enumerate();
    all.filter(|(index, schedule)| {
        schedule.working_hours && (of_machines.is_empty() || of_machines.contains(index))
    })
    .map(|(_, schedule)| schedule)
    .collect()
}

/// Means of power over some time.
#[derive(Clone, Copy, Debug, Default)]
struct PowerMean {
    kw: f64,
    count: f64,
}

impl PowerMean {
    fn get(self) -> Option<f64> {
        (self.count > 0.0).then(|| self.kw / self.count)
    }
}

/// The power of a day, by whether work is declared by both readings, neither, or one of them.
#[derive(Clone, Copy, Debug, Default)]
struct Day {
    both: PowerMean,
    neither: PowerMean,
    as_read: PowerMean,
    otherwise: PowerMean,
}

impl Day {
    fn add(&mut self, as_read: bool, otherwise: bool, kw: f64) {
        let part = match (as_read, otherwise) {
            (true, true) => &mut self.both,
            (false, false) => &mut self.neither,
            (true, false) => &mut self.as_read,
            (false, true) => &mut self.otherwise,
        };
        part.kw += kw;
        part.count += 1.0;
    }

    /// Near 1 where work goes by the other reading, near −1 where it goes by the one in use.
    fn figure(&self) -> Option<f64> {
        let (work, rest) = (self.both.get()?, self.neither.get()?);
        let shows = work > 0.0 && work - rest > SHOWS * work;
        let figure = (self.otherwise.get()? - self.as_read.get()?) / (work - rest);
        shows.then_some(figure.clamp(-1.5, 1.5))
    }
}

struct PowerBlock {
    local: NaiveDateTime,
    /// Local time less UTC. (s)
    offset_s: i64,
    kw: f64,
}

fn blocks(channels: &Channels<'_>, site: &Site) -> Vec<PowerBlock> {
    let power = |row: usize| -> Option<f64> {
        if let Some(total) = &channels.total_kw {
            return total.get(row);
        }
        let phases = channels.phases.iter();
        phases.map(|own| own.kw.as_ref()?.get(row)).sum()
    };
    let mut means: Vec<(i64, PowerMean)> = Vec::new();
    for (row, start) in channels.starts.iter().enumerate() {
        let Some(kw) = power(row) else { continue };
        let block = start.div_euclid(BLOCK_S);
        match means.last_mut() {
            Some((own, mean)) if *own == block => {
                mean.kw += kw;
                mean.count += 1.0;
            }
            _ => means.push((block, PowerMean { kw, count: 1.0 })),
        }
    }
    means
        .into_iter()
        .filter_map(|(block, mean)| {
            let utc = DateTime::from_timestamp(block * BLOCK_S, 0)?.naive_utc();
            let offset = site.timezone.offset_from_utc_datetime(&utc).fix();
            let offset_s = i64::from(offset.local_minus_utc());
            Some(PowerBlock {
                local: utc + Duration::seconds(offset_s),
                offset_s,
                kw: mean.get()?,
            })
        })
        .collect()
}
