//! Phase of each machine, from the changes of the phase currents at the supply.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::machine_power::{declared_kw, machine_power};
use crate::thresholds as limits;
use crate::view::{View, blocks};
use balance::{connection_of, standing_connection, turn};
use metering::Logs;
use site::{Connection, Site};
use statistics::LeastSquares;

/// A change of this share of the machine's largest counts as a step. (1)
const STEP_SHARE: f64 = 0.1;
/// Two machines whose changes correlate so far cannot be separated. (1)
const ALIKE: f64 = 0.9;

/// What the log shows about a machine's phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PhaseVerdict {
    /// On the phase that the list gives.
    AsListed,
    /// On another phase.
    Elsewhere,
    /// The log does not show it.
    NotJudged,
}

/// The phase of a machine, as far as the log shows it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PhaseIdentification {
    /// Its name.
    pub machine: String,
    /// Connection in the list.
    #[serde(rename = "listed")]
    pub listed: Connection,
    /// Probable connection.
    pub probable: Option<Connection>,
    /// The comparison's outcome.
    pub verdict: PhaseVerdict,
    /// Its profile: `meter` or `schedule`.
    pub profile: &'static str,
    /// Change of each phase's active current for 1 A of the machine's; `None` if it cannot be separated from others. (1)
    pub share_of_phase: Option<[f64; 3]>,
    /// Difference between the deciding phase and the next. (1)
    pub lead: Option<f64>,
    /// Standard error of the lead. (1)
    pub lead_error: Option<f64>,
    /// How often the machine changed.
    pub steps: usize,
    /// Why the log does not show it.
    pub reason: Option<String>,
}

/// Active current by start of block. (A)
type Amps = BTreeMap<i64, f64>;

/// A column of the regression.
struct Regressor {
    /// Machines that share it.
    machines: Vec<usize>,
    amps: Amps,
    metered: bool,
    /// Length of its intervals. (s)
    interval_s: i64,
}

/// Judges the machines on one or two phases from `from` on; an error says what is needed.
pub(super) fn judge(
    site: &Site,
    logs: &Logs,
    main: &View<'_>,
    from: i64,
) -> Result<Vec<PhaseIdentification>, String> {
    let judged = |index: usize| {
        matches!(
            standing_connection(site, index),
            Connection::ToNeutral(_) | Connection::Between(_)
        )
    };
    if !(0..site.machines.len()).any(judged) {
        return Err("a machine list with machines on one or two phases".to_owned());
    }
    // Only the present phase matters; a longer log would only cost memory.
    let from = from.max(main.to().timestamp() - limits::WORK_LONGEST_S);
    let phasors = main
        .analysis()
        .phasors()
        .ok_or("the current of each phase at the supply")?;
    let starts: Vec<i64> = main.table().starts().to_vec();
    let kept = |start: i64| start >= from;
    let regressors = regressors(site, logs, main, from);
    let mut identified: BTreeMap<usize, PhaseIdentification> = BTreeMap::new();
    let mut lengths: Vec<i64> = regressors.iter().map(|one| one.interval_s).collect();
    lengths.sort_unstable();
    lengths.dedup();
    for block_s in lengths {
        let own: Vec<Amps> = phasors
            .series
            .iter()
            .map(|series| {
                let active = series.iter().zip(&starts).map(|(current, &start)| {
                    current.filter(|_| kept(start)).map(|current| current.re)
                });
                blocks(&starts, active, main.interval_s(), block_s)
                    .into_iter()
                    .collect()
            })
            .collect();
        let within: Vec<&Regressor> = regressors
            .iter()
            .filter(|one| block_s % one.interval_s == 0)
            .collect();
        let fit = Fit::new(&own, &within, block_s);
        for (column, one) in within.iter().enumerate() {
            if one.interval_s != block_s {
                continue;
            }
            for &machine in one.machines.iter().filter(|&&machine| judged(machine)) {
                identified.insert(
                    machine,
                    identify(site, machine, &within, column, fit.as_ref()),
                );
            }
        }
    }
    if identified.is_empty() {
        return Err("a meter or a schedule of a machine on one or two phases".to_owned());
    }
    Ok(identified.into_values().collect())
}

/// Machines with a meter each, and those of one schedule together.
fn regressors(site: &Site, logs: &Logs, main: &View<'_>, from: i64) -> Vec<Regressor> {
    let volts = site.supply.phase_voltage_v();
    let per_phase = |index: usize| match standing_connection(site, index) {
        Connection::ToNeutral(_) => Some(volts),
        Connection::Between(_) => Some(2.0 * volts),
        Connection::ThreePhase { .. } => Some(3.0 * volts),
        Connection::Any | Connection::AnyPair | Connection::Unknown => None,
    };
    let mut all: Vec<Regressor> = Vec::new();
    let mut by_schedule: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for index in 0..site.machines.len() {
        let Some(volts) = per_phase(index) else {
            continue;
        };
        let log = site.machine_meter(index).and_then(|meter| logs.of(meter));
        match log.and_then(|log| Some((machine_power(&log.table)?, &log.table))) {
            Some((power, table)) => {
                let interval_s = i64::from(table.interval_s()).max(main.interval_s());
                // A reversed transformer shows a load's power as negative.
                let sign = if power.iter().flatten().sum::<f64>() < 0.0 {
                    -1.0
                } else {
                    1.0
                };
                let amps = blocks(
                    table.starts(),
                    power.iter(),
                    i64::from(table.interval_s()),
                    interval_s,
                );
                all.push(Regressor {
                    machines: vec![index],
                    amps: amps
                        .into_iter()
                        .filter(|(start, _)| *start >= from)
                        .map(|(start, kw)| (start, sign * kw * 1000.0 / volts))
                        .collect(),
                    metered: true,
                    interval_s,
                });
            }
            None => {
                if let Some(schedule) = site.machines[index].schedule {
                    by_schedule.entry(schedule).or_default().push(index);
                }
            }
        }
    }
    for machines in by_schedule.into_values() {
        let step = main.interval_s();
        let amps = main
            .table()
            .starts()
            .iter()
            .filter(|&&start| start >= from)
            .map(|&start| {
                let kw = declared_kw(site, &site.machines[machines[0]], (start, start + step));
                (start, kw * 1000.0 / per_phase(machines[0]).unwrap_or(volts))
            });
        all.push(Regressor {
            amps: amps.collect(),
            machines,
            metered: false,
            interval_s: step,
        });
    }
    all
}

/// The three phases' changes fitted by those of the machines.
struct Fit {
    columns: Vec<Vec<f64>>,
    phases: Vec<LeastSquares>,
    residuals: Vec<Vec<f64>>,
}

impl Fit {
    /// `None` where there are too few changes.
    fn new(own: &[Amps], regressors: &[&Regressor], block_s: i64) -> Option<Fit> {
        let mut columns = vec![Vec::new(); regressors.len()];
        let mut right = vec![Vec::new(); 3];
        for &start in own[0].keys() {
            let change = |amps: &Amps| Some(amps.get(&start)? - amps.get(&(start - block_s))?);
            let y: Option<Vec<f64>> = own.iter().map(change).collect();
            let mean = |one: &Regressor, start: i64| -> Option<f64> {
                if one.interval_s == block_s {
                    return one.amps.get(&start).copied();
                }
                let parts = one.amps.range(start..start + block_s);
                let (sum, count) =
                    parts.fold((0.0, 0), |(sum, count), part| (sum + part.1, count + 1));
                (count == block_s / one.interval_s).then(|| sum / f64::from(count as u32))
            };
            let x: Option<Vec<f64>> = regressors
                .iter()
                .map(|one| Some(mean(one, start)? - mean(one, start - block_s)?))
                .collect();
            let (Some(y), Some(x)) = (y, x) else { continue };
            right
                .iter_mut()
                .zip(y)
                .for_each(|(column, y)| column.push(y));
            columns
                .iter_mut()
                .zip(x)
                .for_each(|(column, x)| column.push(x));
        }
        let phases: Vec<LeastSquares> = right
            .iter()
            .map(|y| LeastSquares::fit(&columns, y))
            .collect::<Option<_>>()?;
        let residuals = right
            .into_iter()
            .zip(&phases)
            .map(|(mut y, fit)| {
                for (column, coefficient) in columns.iter().zip(fit.coefficients()) {
                    let coefficient = coefficient.unwrap_or(0.0);
                    for (y, x) in y.iter_mut().zip(column) {
                        *y -= coefficient * x;
                    }
                }
                y
            })
            .collect();
        Some(Fit {
            columns,
            phases,
            residuals,
        })
    }

    /// Parts of a column on the three phases.
    fn shares(&self, column: usize) -> Option<[f64; 3]> {
        let [l1, l2, l3] = [0, 1, 2].map(|k| self.phases[k].coefficients()[column]);
        Some([l1?, l2?, l3?])
    }

    /// Standard error of the difference of a column's parts on two phases, heteroscedasticity-consistent.
    fn error(&self, column: usize, (one, other): (usize, usize)) -> Option<f64> {
        let mut asked = vec![0.0; self.columns.len()];
        asked[column] = 1.0;
        let influence = self.phases[0].influence(&asked)?;
        let variance: f64 = (0..self.residuals[0].len())
            .map(|row| {
                let pull: f64 = self
                    .columns
                    .iter()
                    .zip(&influence)
                    .map(|(x, w)| x[row] * w)
                    .sum();
                (pull * (self.residuals[one][row] - self.residuals[other][row])).powi(2)
            })
            .sum();
        Some(variance.sqrt())
    }

    fn steps(&self, column: usize) -> usize {
        let changes = &self.columns[column];
        let largest = changes
            .iter()
            .fold(0.0, |most: f64, change| most.max(change.abs()));
        changes
            .iter()
            .filter(|change| largest > 0.0 && change.abs() >= STEP_SHARE * largest)
            .count()
    }

    /// Another column that changes as this one does.
    fn twin(&self, column: usize) -> Option<usize> {
        let product = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
        let own = &self.columns[column];
        (0..self.columns.len())
            .filter(|&other| other != column)
            .find(|&other| {
                let size = (product(own, own)
                    * product(&self.columns[other], &self.columns[other]))
                .sqrt();
                size > 0.0 && product(own, &self.columns[other]).abs() > ALIKE * size
            })
    }
}

fn identify(
    site: &Site,
    machine: usize,
    within: &[&Regressor],
    column: usize,
    fit: Option<&Fit>,
) -> PhaseIdentification {
    let listed = standing_connection(site, machine);
    let own = within[column];
    let mut found = PhaseIdentification {
        machine: site.machines[machine].name.clone(),
        listed,
        probable: None,
        verdict: PhaseVerdict::NotJudged,
        profile: if own.metered { "meter" } else { "schedule" },
        share_of_phase: None,
        lead: None,
        lead_error: None,
        steps: fit.map_or(0, |fit| fit.steps(column)),
        reason: None,
    };
    let name = |index: usize| site.machines[index].name.clone();
    let others: Vec<String> = own
        .machines
        .iter()
        .filter(|&&other| other != machine)
        .map(|&index| name(index))
        .collect();
    let twin = fit
        .and_then(|fit| fit.twin(column))
        .map(|twin| name(within[twin].machines[0]));
    found.reason = if found.steps < limits::WORK_FEWEST_STEPS {
        Some(format!("it switched only {} times", found.steps))
    } else if let Some(first) = others.first() {
        Some(format!("no meter, and the same schedule as `{first}`"))
    } else {
        twin.map(|twin| format!("it switches together with `{twin}`"))
    };
    let Some(fit) = fit.filter(|_| found.reason.is_none()) else {
        return found;
    };
    let Some(shares) = fit.shares(column) else {
        found.reason =
            Some("its profile cannot be separated from those of other machines".to_owned());
        return found;
    };
    found.share_of_phase = Some(shares);
    let mut order = [0, 1, 2];
    order.sort_by(|&a, &b| shares[b].total_cmp(&shares[a]));
    // A load to neutral is on the phase with the most; one between two phases is not on that with the least.
    let (decides, turned, next) = match listed {
        Connection::Between(_) => (order[1], (order[2] + 1) % 3, order[2]),
        _ => (order[0], order[0], order[1]),
    };
    let lead = shares[decides] - shares[next];
    let error = fit.error(column, (decides, next));
    (found.lead, found.lead_error) = (Some(lead), error);
    if shares[decides] < limits::WORK_SMALLEST_SHARE {
        found.reason = Some("its switching shows in no phase of the supply".to_owned());
    } else if lead < limits::WORK_SMALLEST_LEAD
        || error.is_none_or(|error| lead < limits::WORK_ERRORS * error)
    {
        found.reason = Some("other machines switch at the same time".to_owned());
    } else {
        let probable = connection_of(listed, turned);
        found.verdict = if turn(listed) == Some(turned) {
            PhaseVerdict::AsListed
        } else {
            PhaseVerdict::Elsewhere
        };
        found.probable = Some(probable);
    }
    found
}
