//! The demand of all sites at one time.
//!
//! Where all sites have one demand period, their demands of it are added; else those of each hour, which an hour's
//! complete periods make up. The sum of a period in which sites have no complete reading is a lower bound; with the own
//! maxima of those sites it is an upper one.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;

use chrono::{TimeZone, Utc};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::RowAccessor;
use serde::Serialize;

use crate::part::{SitePart, part_file};
use crate::site_row::SiteRow;
use tables::{Cell, StoredAs, Table, columns, exact, number, words};
use units::FigureKind as Q;

const HOUR_S: i64 = 3600;

/// All sites in one period.
#[derive(Clone, Debug, PartialEq)]
pub struct CoincidentPeriod {
    /// Start, Unix seconds.
    pub start_s: i64,
    /// Sum of the sites that have a complete reading. (kW)
    pub kw: f64,
    /// The same with the own maximum of each other site. (kW)
    pub high_kw: f64,
    /// Number of sites in the sum.
    pub sites: usize,
}

/// The highest demand of all sites at one time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CoincidentMaximum {
    /// Length of a period. (min)
    pub period_min: u32,
    /// The highest sum that was measured: the maximum is at least this. (kW)
    pub kw: f64,
    /// Its period, UTC.
    pub at: String,
    /// Number of sites in that sum.
    pub sites: usize,
    /// Number of sites with a maximum demand.
    pub of_sites: usize,
    /// The maximum is at most this, where no site drew more than its own maximum while it has no readings. (kW)
    pub high_kw: f64,
    /// Sum of the sites' own maxima. (kW)
    pub sum_of_maxima_kw: f64,
}

/// Length of the common period. (s)
#[must_use]
pub fn common_period_s(rows: &[SiteRow]) -> i64 {
    let mut windows = rows.iter().filter_map(|row| row.demand_window_min);
    let first = windows.next().unwrap_or(60.0);
    if windows.all(|window| (window - first).abs() < 0.5) {
        first as i64 * 60
    } else {
        HOUR_S
    }
}

/// The demand of all sites by period, ascending, from their parts.
///
/// # Errors
///
/// Where a part cannot be read.
pub fn coincident(parts: &Path, rows: &[SiteRow]) -> io::Result<Vec<CoincidentPeriod>> {
    let period_s = common_period_s(rows);
    let mut sums: BTreeMap<i64, (f64, f64, usize)> = BTreeMap::new();
    let mut all_maxima = 0.0;
    for row in rows {
        let (Some(maximum), Some(window_min), Some(meters)) =
            (row.max_demand_kw, row.demand_window_min, row.supply_meters)
        else {
            continue;
        };
        all_maxima += maximum;
        let window_s = window_min as i64 * 60;
        let needed = (period_s / window_s) as usize * meters as usize;
        for (start_s, (kw, count)) in of_site(&part_file(parts, &row.site), period_s, window_s)? {
            if count == needed {
                let sum = sums.entry(start_s).or_default();
                sum.0 += kw * window_s as f64 / period_s as f64;
                sum.1 += maximum;
                sum.2 += 1;
            }
        }
    }
    let period = |(start_s, (kw, maxima, sites)): (i64, (f64, f64, usize))| CoincidentPeriod {
        start_s,
        kw,
        high_kw: kw + (all_maxima - maxima),
        sites,
    };
    Ok(sums.into_iter().map(period).collect())
}

/// Sum and number of the demand periods of a site in each common period.
fn of_site(part: &Path, period_s: i64, window_s: i64) -> io::Result<BTreeMap<i64, (f64, usize)>> {
    let mut sums: BTreeMap<i64, (f64, usize)> = BTreeMap::new();
    let mut part = SitePart::open(part)?;
    for entry in part.entries()? {
        if entry.table != "demand" {
            continue;
        }
        let Some(bytes) = part.parquet("demand", &entry.month)? else {
            continue;
        };
        let reader = SerializedFileReader::new(bytes)?;
        for row in reader.get_row_iter(None)? {
            let row = row?;
            let (start_s, kw) = (row.get_timestamp_millis(2)? / 1000, row.get_double(3)?);
            // Periods of another grid than the hours of UTC make up no hour.
            let is_on_grid = period_s == window_s || start_s % window_s == 0;
            if row.get_bool(6)? && is_on_grid {
                let common_s = if period_s == window_s {
                    start_s
                } else {
                    start_s.div_euclid(period_s) * period_s
                };
                let sum = sums.entry(common_s).or_default();
                *sum = (sum.0 + kw, sum.1 + 1);
            }
        }
    }
    Ok(sums)
}

/// The highest of the periods; `None` without any.
#[must_use]
pub fn maximum(periods: &[CoincidentPeriod], rows: &[SiteRow]) -> Option<CoincidentMaximum> {
    let mut best: Option<&CoincidentPeriod> = None;
    for period in periods {
        if best.is_none_or(|best| units::rank(period.kw) > units::rank(best.kw)) {
            best = Some(period);
        }
    }
    let best = best?;
    let maxima: Vec<f64> = rows.iter().filter_map(|row| row.max_demand_kw).collect();
    let at = Utc.timestamp_opt(best.start_s, 0).single()?;
    Some(CoincidentMaximum {
        period_min: (common_period_s(rows) / 60) as u32,
        kw: best.kw,
        at: at.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
        sites: best.sites,
        of_sites: maxima.len(),
        high_kw: periods
            .iter()
            .map(|period| period.high_kw)
            .fold(best.kw, f64::max),
        sum_of_maxima_kw: maxima.iter().sum(),
    })
}

/// The table `coincident`.
#[must_use]
pub fn coincident_table(periods: &[CoincidentPeriod]) -> Table {
    let start = |start_s| {
        let at = Utc.timestamp_opt(start_s, 0).single();
        at.map_or(Cell::Unknown, |at| Cell::instant(at, &Utc))
    };
    columns! { period in &CoincidentPeriod;
        start: words("Start, UTC").stored_as(StoredAs::Moment) => start(period.start_s);
        kw: number("Demand of the sites with readings", Q::ActivePower) => period.kw;
        high_kw: number("With the own maximum of the others", Q::ActivePower) => period.high_kw;
        sites: exact("Sites with readings", "") => period.sites;
    }
    .table("coincident", "Demand of all sites at one time", periods)
}
