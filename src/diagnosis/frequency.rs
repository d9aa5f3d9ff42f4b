//! Frequency outside its range.

use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::thresholds as limits;
use super::view::{View, longest_spell};
use finding::{Evidence, Kind, Severity};
use metering::{FREQUENCY_SHARE, Logged};
use site::{Quantity, Thresholds};

const KIND: Kind = Kind::FrequencyOutOfRange;
const SOURCE: &str = "EN 50160:2010, 4.2.1: with a synchronous connection to an interconnected system, means over 10 s within ±1 % of nominal during 99.5 % of a year and within −6/+4 % during all of it (value not checked against the standard's text)";
const CAUTION: &str = "A standby set may start by itself and feed a circuit that seems dead: lock it out and prove dead before touching. Its governor and its interface protection are for competent persons; the settings of the interface protection are agreed with the network operator.";

pub(super) const PAGE: Page = Page {
    meaning: "The frequency was outside the range of a public supply. Motors and pumps run too fast or too slow, clocks in machines drift, inverters and standby sets disconnect from the network. The whole installation has one frequency: on a public supply the cause is outside, on a generator of your own it is the generator.",
    formula: "Interval means are compared with 0.99 to 1.01 of nominal (`frequency_hz` under `[supply]`: 50 or 60 Hz; others are not checked). It is a warning if more than 0.5 % of the readings of a year are outside, or any reading is below 0.94 or above 1.04 of nominal. A year is 365 days from the start of the log, the last one counted back from its end; a shorter log is judged by its own share, and the finding gives the days read. The standard's means are over 10 s; the log's intervals are a minute or longer and hide shorter excursions. A reading at the limit is within it; a millionth of nominal is rounding. The meter at the supply is used, else the first on a board or circuit; a meter on a machine is not, because an inverter may feed it.",
    source: SOURCE,
    imitators: "Zeros during an outage, and misreadings: a value more than 10 % off is not taken as a frequency. A wrong `frequency_hz` or scale (all readings off by the same share). A supply from a generator of your own: the same standard allows ±2 % during 95 % of a week and ±15 % at all times (value not checked against the standard's text). Then set `frequency_range_pct`, `frequency_lowest_pct` and `frequency_highest_pct` under `[thresholds]`, to 10 % at most.",
    action: "Find out whether a standby set or an inverter in island mode fed the installation at these times. If not, compare with another meter, then ask the network operator.",
    caution: CAUTION,
};

/// Nominal frequencies of the public supplies that the standard's percentages are applied to. (Hz)
const PUBLIC_HZ: [f64; 2] = [50.0, 60.0];
const YEAR_S: i64 = 365 * 86_400;
const DAY_S: f64 = 86_400.0;

/// What counts as outside, and what as too far.
#[derive(Clone, Copy)]
struct Range {
    nominal: f64,
    low: f64,
    high: f64,
    lowest: f64,
    highest: f64,
}

impl Range {
    /// Fast logs are kept in single precision: at 50 Hz the last digit is 4 µHz.
    const ROUNDING: f64 = 1e-6;

    fn new(nominal: f64, set: &Thresholds) -> Range {
        let below = |pct: f64| nominal * (1.0 - pct / 100.0 - Range::ROUNDING);
        let above = |pct: f64| nominal * (1.0 + pct / 100.0 + Range::ROUNDING);
        Range {
            nominal,
            low: below(set.frequency_range_pct),
            high: above(set.frequency_range_pct),
            lowest: below(set.frequency_lowest_pct),
            highest: above(set.frequency_highest_pct),
        }
    }

    fn is_outside(&self, hertz: f64) -> bool {
        hertz < self.low || hertz > self.high
    }

    fn is_too_far(&self, hertz: f64) -> bool {
        hertz < self.lowest || hertz > self.highest
    }

    /// What is further off is no frequency of a supply, also where the site keeps such readings.
    fn is_plausible(&self, hertz: f64) -> bool {
        (hertz - self.nominal).abs() <= FREQUENCY_SHARE * self.nominal
    }
}

pub(super) fn check(views: &[View<'_>], diagnosis: &mut Diagnosis) {
    let logs_it = |view: &&View<'_>| view.node().is_some() && view.table().has(Quantity::Frequency);
    let mut all = views.iter().filter(logs_it);
    let at_supply = all.clone().find(|view| view.is_supply());
    if let Some(view) = at_supply.or_else(|| all.next()) {
        judge(view, diagnosis);
    }
}

fn judge(view: &View<'_>, diagnosis: &mut Diagnosis) {
    let nominal = view.site.supply.frequency_hz;
    if !PUBLIC_HZ.contains(&nominal) {
        return diagnosis.needs(view, KIND, None, "a nominal frequency of 50 or 60 Hz");
    }
    let range = Range::new(nominal, &view.site.thresholds);
    let means = plausible(view, &range);
    let outside = |row: &(i64, f64)| range.is_outside(row.1);
    if means.is_empty() {
        let needs = "frequencies within 10 % of the `frequency_hz` under `[supply]`";
        return diagnosis.needs(view, KIND, None, needs);
    }
    if !means.iter().any(outside) {
        return diagnosis.nothing(view, KIND, None);
    }
    let mut rows = means.iter().filter(|row| outside(row)).map(|row| row.0);
    let first = rows.next().unwrap_or_default();
    let span = (first, rows.next_back().unwrap_or(first) + view.interval_s());
    let report = report(view, &range, &means);
    diagnosis.found_over(view, (KIND, None), span, report);
}

/// The means of the intervals that can be frequencies, with their starts.
fn plausible(view: &View<'_>, range: &Range) -> Vec<(i64, f64)> {
    let values = view.table().values(Quantity::Frequency);
    let values = values.into_iter().flat_map(Logged::iter);
    let rows = view.table().starts().iter().zip(values);
    rows.filter_map(|(&start, value)| Some((start, value?)))
        .filter(|row| range.is_plausible(row.1))
        .collect()
}

fn report(view: &View<'_>, range: &Range, means: &[(i64, f64)]) -> Report {
    let interval_s = view.interval_s();
    let minutes = |count: usize| count as f64 * interval_s as f64 / 60.0;
    let outside: Vec<(i64, f64)> = means
        .iter()
        .copied()
        .filter(|row| range.is_outside(row.1))
        .collect();
    let share = worst_year(means, range);
    let is_too_far = outside.iter().any(|row| range.is_too_far(row.1));
    let of_limit = 1.0 - limits::SHARE_OF_YEAR;
    let starts: Vec<i64> = outside.iter().map(|row| row.0).collect();
    let spell = longest_spell(&starts, interval_s, |_| true);
    let extreme = |better: fn(f64, f64) -> f64| means.iter().map(|row| row.1).reduce(better);
    Report {
        severity: if is_too_far || share > of_limit {
            Severity::Warning
        } else {
            Severity::Notice
        },
        summary: format!(
            "the frequency was outside {:.2} to {:.2} Hz for {:.0} min ({}-minute means)",
            range.low,
            range.high,
            minutes(outside.len()),
            interval_s as f64 / 60.0,
        ),
        evidence: Evidence::default()
            .with("nominal_hz", range.nominal)
            .with("time_outside_min", minutes(outside.len()))
            .maybe("first_outside_at", starts.first().map(|&at| view.local(at)))
            .maybe("longest_spell_min", spell.map(|spell| spell.1 as f64 / 60.0))
            .maybe("longest_spell_from", spell.map(|spell| view.local(spell.0)))
            .with("worst_year_outside_pct", 100.0 * share)
            .with(
                "days_read",
                means.len() as f64 * interval_s as f64 / DAY_S,
            )
            .maybe("lowest_hz", extreme(f64::min))
            .maybe("highest_hz", extreme(f64::max)),
        action: "find out whether a standby set or an inverter in island mode fed the installation at these times; if not, compare with another meter, then ask the network operator".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    }
}

/// Largest share outside of the readings of a year: years from the first reading, and the last one back from the
/// last reading, so that a few days beyond a year are not judged alone.
fn worst_year(means: &[(i64, f64)], range: &Range) -> f64 {
    let (Some(&(first, _)), Some(&(last, _))) = (means.first(), means.last()) else {
        return 0.0;
    };
    let whole = (last - first) / YEAR_S;
    let begins = (0..whole).map(|year| first + year * YEAR_S);
    begins
        .chain([(last - YEAR_S + 1).max(first)])
        .map(|begin| {
            let from = means.partition_point(|row| row.0 < begin);
            let to = means.partition_point(|row| row.0 < begin + YEAR_S);
            let year = &means[from..to];
            let count = year.iter().filter(|row| range.is_outside(row.1)).count();
            count as f64 / year.len().max(1) as f64
        })
        .fold(0.0, f64::max)
}
