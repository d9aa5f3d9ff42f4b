//! How well a recurring step agrees with a machine, compared with a machine that is not listed.

use chrono::DateTime;
use num_complex::Complex64;

use super::ownership::MatchedMachine;
use super::recurring_steps::RecurringStep;
use metering::IntervalTable;
use site::{Connection, Site};

/// Scale of the logarithm of a machine's step against its rating (Student's t, long tails). Common practice: ratings
/// within a fifth, machines mostly at their rating while on.
const SIZE_SCALE: f64 = 0.15;
/// The same of reactive over active power. Common practice: a power factor on a plate is good to some 0.03.
const LAG_SCALE: f64 = 0.12;
/// A machine that shows its steps at all shows them so often. A guess.
const SHOWS: f64 = 0.6;
/// Recurring steps of machines that are not listed are of any size from 0.2 to 20 kW alike, by its logarithm, and of any ratio from −0.2 to 1.2; between two phases
/// now and then. Common practice.
const SIZE_RANGE: f64 = 4.6;
const LAG_RANGE: f64 = 1.4;
const BETWEEN: f64 = 0.1;
/// Part of a machine's steps outside its schedule. (1)
const OUTSIDE: f64 = 0.05;
/// Steps that count, however many there are: they are not independent.
const MOST_TIMES: f64 = 10.0;
/// A schedule begins and ends about so much earlier and later. (s)
const MARGIN_S: i64 = 1200;
/// Widths within which two machines' steps are one.
const MERGED_SIZE: f64 = 0.06;
const MERGED_LAG: f64 = 0.1;

/// The steps with what times of use say of each.
pub(super) struct Likeness<'s> {
    site: &'s Site,
    steps: &'s [RecurringStep],
    with_lag: bool,
    /// For each schedule and step the logarithm of the likelihood of its times, against any time alike.
    times: Vec<Vec<f64>>,
}

impl<'s> Likeness<'s> {
    pub(super) fn new(
        site: &'s Site,
        table: &IntervalTable,
        steps: &'s [RecurringStep],
        with_lag: bool,
    ) -> Likeness<'s> {
        let times = (0..site.schedules.len())
            .map(|schedule| {
                let runs = |at_s: i64| {
                    [-MARGIN_S, 0, MARGIN_S]
                        .iter()
                        .any(|margin| runs_at(site, schedule, at_s + margin))
                };
                let starts = table.starts();
                let share = |count: usize| count as f64 / starts.len().max(1) as f64;
                let inside = share(starts.iter().filter(|&&at| runs(at)).count());
                steps
                    .iter()
                    .map(|step| {
                        let all = step.at_s.len() as f64;
                        let within = step.at_s.iter().filter(|&&at| runs(at)).count() as f64;
                        let counted = MOST_TIMES.min(all) / all;
                        if inside <= 0.0 || inside >= 1.0 {
                            return 0.0;
                        }
                        let of_within = ((1.0 - OUTSIDE) / inside).max(1.0).ln();
                        let of_outside = (OUTSIDE / (1.0 - inside)).min(1.0).ln();
                        counted * (within * of_within + (all - within) * of_outside)
                    })
                    .collect()
            })
            .collect();
        Likeness {
            site,
            steps,
            with_lag,
            times,
        }
    }

    /// Logarithm of the density of each step as one of a machine that is not listed.
    pub(super) fn unlisted(&self) -> Vec<f64> {
        (0..self.steps.len())
            .map(|step| {
                // At any time, or at those of a schedule of the site.
                let count = self.times.len() as f64;
                let scheduled = self
                    .times
                    .iter()
                    .map(|times| times[step].exp())
                    .sum::<f64>();
                let times = if count > 0.0 {
                    0.5 + 0.5 * scheduled / count
                } else {
                    1.0
                };
                let connection = match self.steps[step].connection {
                    Connection::Between(_) => BETWEEN / 3.0,
                    _ => (1.0 - BETWEEN) / 3.0,
                };
                let lag = if self.with_lag { LAG_RANGE } else { 1.0 };
                (times * connection / (SIZE_RANGE * lag)).ln()
            })
            .collect()
    }

    /// A machine with what it would be as each of the steps.
    pub(super) fn candidate(
        &self,
        machine: usize,
        connections: Vec<Connection>,
        priors: Vec<f64>,
        circuit: Option<usize>,
    ) -> MatchedMachine {
        let own = &self.site.machines[machine];
        let rated = own.rated_power(self.site.supply.phase_voltage_v()) * own.load_share;
        let sizes = |step: &RecurringStep| {
            let seen = Complex64::new(step.size_kw, step.size_kvar);
            if self.with_lag {
                let lag = seen.im / seen.re - rated.im / rated.re.max(1e-9);
                ((seen.re / rated.re.max(1e-9)).ln(), lag)
            } else {
                // Between two phases the current counts twice.
                ((seen.re / rated.norm().max(1e-9)).ln(), 0.0)
            }
        };
        let mut candidate = MatchedMachine {
            option: Vec::new(),
            alone: Vec::new(),
            merged: Vec::new(),
            hidden: (1.0 - SHOWS).ln(),
            connections,
            priors,
            circuit,
        };
        for (at, step) in self.steps.iter().enumerate() {
            let option = candidate
                .connections
                .iter()
                .position(|&own| own == step.connection);
            let (size, lag) = sizes(step);
            let size = density(size, SIZE_SCALE);
            let lag = if self.with_lag {
                density(lag, LAG_SCALE)
            } else {
                1.0
            };
            let times = own
                .schedule
                .map_or(0.0, |schedule| self.times[schedule][at]);
            let given = (SHOWS * size * lag).ln();
            let width = MERGED_SIZE * if self.with_lag { MERGED_LAG } else { 1.0 };
            candidate.option.push(option);
            candidate.alone.push(given + times);
            candidate.merged.push(given + width.ln());
        }
        candidate
    }
}

fn runs_at(site: &Site, schedule: usize, at_s: i64) -> bool {
    DateTime::from_timestamp(at_s, 0).is_some_and(|at| {
        let local = at.with_timezone(&site.timezone).naive_local();
        site.schedules[schedule].runs_at(local, &site.holidays)
    })
}

/// Student's t with three degrees of freedom.
fn density(at: f64, scale: f64) -> f64 {
    let distance = at / scale;
    2.0 / (std::f64::consts::PI
        * 3.0_f64.sqrt()
        * scale
        * (1.0 + distance * distance / 3.0).powi(2))
}
