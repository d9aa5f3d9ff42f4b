//! What meters of the supply and of boards say on the analysis intervals, and of now.

use std::ops::Range;

use num_complex::Complex64;

use super::grid::{AnalysisGrid, Lookup};
use crate::answer::figures::{NodeFigures, current_unbalance_pct};
use crate::problem::currents::phasor_sum;
use analysis::{Course, MeterAnalysis};
use electrical::is_above_limit;
use metering::{AngleBasis, Logs, MeterLog};
use site::{Node, Site};
use statistics::quantile;

/// A place with a meter or readings of its own: its currents on the grid and what was measured.
#[derive(Debug)]
pub(crate) struct MeasuredNode {
    pub(crate) phases: [Vec<Complex64>; 3],
    /// Where the neutral is smaller than the sum of the phases: what the sum is longer by, turned round. Else 0.
    pub(crate) neutral_alone: Vec<Complex64>,
    /// Where the neutral is larger than the sum of the phases: the difference in quadrature. Else 0. (A)
    pub(crate) beyond: Vec<f64>,
    /// The neutral is measured, not computed from the phases.
    pub(crate) neutral_is_measured: bool,
    /// Mean squares of L1, L2, L3 and N as measured, less those of the above. (A²)
    pub(crate) unresolved_square: [f64; 4],
    /// What the meter itself says; `None` of rounds of readings, which the above are.
    pub(crate) figures: Option<MeasuredFigures>,
}

/// What is known of a place besides its node of the problem.
#[derive(Clone, Debug)]
pub(crate) struct MeasuredNow {
    /// It has a meter or readings of its own.
    pub(crate) is_measured: bool,
    /// What its meter says.
    pub(crate) figures: Option<MeasuredFigures>,
}

/// What a meter says of now, and what its phase currents alone would say.
#[derive(Clone, Debug)]
pub(crate) struct MeasuredFigures {
    pub(crate) now: NodeFigures,
    /// By how much the sum of the phase currents, with nothing taken off, passes the neutral. (A)
    pub(crate) difference: ModelDifference,
}

/// A model's neutral less the measured one, root mean square and largest. (A)
#[derive(Clone, Copy, Debug)]
pub(crate) struct ModelDifference {
    pub(crate) rms_a: f64,
    pub(crate) max_a: f64,
}

/// What makes a neutral of this magnitude of the sum of the phases: a current in the neutral alone where the sum is
/// larger, the smallest there is; a part in quadrature where it is smaller, as harmonics are.
pub(crate) fn unexplained(neutral_a: f64, sum: Complex64) -> (Complex64, f64) {
    let explained = sum.norm();
    if neutral_a < explained {
        (sum * (neutral_a / explained - 1.0), 0.0)
    } else {
        let square = neutral_a * neutral_a - explained * explained;
        (Complex64::ZERO, square.max(0.0).sqrt())
    }
}

/// The supply's meter on the grid.
pub(crate) fn main_currents(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    meter: usize,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let log = logs.of(meter)?;
    let node = on_grid(site, log, grid, Node::Supply)?;
    match log.phasors()?.angle {
        AngleBasis::Powers => {}
        AngleBasis::PowerFactor => notes.push(
            "the supply's angles come from its logged power factors, taken as lagging".to_owned(),
        ),
        AngleBasis::Unity => notes.push(
            "the supply's meter logs no reactive power: its currents are taken as in phase with their voltages"
                .to_owned(),
        ),
    }
    let lacking = log.table.len() - grid.starts.len();
    if lacking > 0 {
        notes.push(format!(
            "the supply's meter has no current in {lacking} of {} intervals: the plan leaves them out",
            log.table.len()
        ));
    }
    Some(node.measured)
}

/// A board whose own meter covers the whole grid.
pub(crate) fn metered_board(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    place: Node,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let meter = site.meter_of(site::Measured::Node(place))?;
    let node = on_grid(site, logs.of(meter)?, grid, place)?;
    if node.missing > grid.starts.len() / 20 {
        notes.push(format!(
            "the meter of `{}` covers too little of the period and is not used",
            site.node_name(place)
        ));
        return None;
    }
    if node.beyond_grid > node.readings / 20 {
        notes.push(format!(
            "`{}`: now is measured over all of its {} readings, after the moves its figures differ by what the moves change \
             where the supply's currents are known too; that is so in {} of them",
            site.node_name(place),
            node.readings,
            node.readings - node.beyond_grid
        ));
    }
    Some(node.measured)
}

struct OnGrid {
    measured: MeasuredNode,
    /// Intervals of the grid without a reading, of any phase.
    missing: usize,
    /// Readings of the period, and those of them in no interval of the grid.
    readings: usize,
    beyond_grid: usize,
}

fn on_grid(site: &Site, log: &MeterLog, grid: &AnalysisGrid, place: Node) -> Option<OnGrid> {
    let analysis = MeterAnalysis::of(log);
    let phasors = analysis.phasors()?;
    let lookup = Lookup::new(&log.table);
    let on_grid: Vec<Option<usize>> = grid.starts.iter().map(|&start| lookup.row(start)).collect();
    let mut missing = 0;
    let phases = phasors.series.each_ref().map(|series| {
        on_grid
            .iter()
            .map(|row| {
                row.and_then(|row| series[row]).unwrap_or_else(|| {
                    missing += 1;
                    Complex64::ZERO
                })
            })
            .collect::<Vec<Complex64>>()
    });
    let rows = within(log.table.starts(), grid.period_s);
    let readings = rows.len();
    let own_s = i64::from(log.table.interval_s());
    let starts = &log.table.starts()[rows.clone()];
    let beyond_grid = starts
        .iter()
        .filter(|&&start| !grid.has_any_of(start, own_s));
    let beyond_grid = beyond_grid.count();
    let neutral = analysis.neutral();
    let known = neutral.known();
    let (neutral_alone, beyond) = on_grid
        .iter()
        .enumerate()
        .map(|(interval, row)| {
            let sum = phasor_sum(&phases, interval);
            let amps = known
                .zip(*row)
                .and_then(|(course, row)| course.means.get(row));
            amps.map_or((Complex64::ZERO, 0.0), |amps| unexplained(amps, sum))
        })
        .unzip();
    let mut measured = MeasuredNode {
        phases,
        neutral_alone,
        beyond,
        neutral_is_measured: neutral.measured.is_some(),
        unresolved_square: [0.0; 4],
        figures: None,
    };
    if let (Some(phases), Some(neutral)) = (analysis.phases(), known) {
        let limit_a = site.phase_limit_a(place);
        let over = |course: &Course<'_>| {
            let amps = on_grid.iter().filter_map(|row| course.means.get((*row)?));
            limit_a.map_or(0, |limit| {
                amps.filter(|&amps| is_above_limit(amps, limit)).count()
            })
        };
        measured.figures = figures(&phases, neutral, &rows).map(|now| MeasuredFigures {
            difference: measured.difference(&now),
            now: NodeFigures {
                intervals_over_limit: phases.each_ref().map(over),
                ..now
            },
        });
    }
    measured.resolve();
    Some(OnGrid {
        measured,
        missing,
        readings,
        beyond_grid,
    })
}

/// The rows that start within a period.
fn within(starts: &[i64], (from, to): (i64, i64)) -> Range<usize> {
    let first = starts.partition_point(|&start| start < from);
    first..starts.partition_point(|&start| start < to).max(first)
}

/// What a meter says of its rows, but for a limit; `None` where a conductor has no reading.
fn figures(
    phases: &[Course<'_>; 3],
    neutral: &Course<'_>,
    rows: &Range<usize>,
) -> Option<NodeFigures> {
    let level = |course: &Course<'_>| course.level_of(rows.clone());
    let [l1, l2, l3] = phases.each_ref().map(level);
    let levels = [l1?, l2?, l3?];
    let of_neutral = level(neutral)?;
    let phase_rms_a = levels.map(|level| level.rms_a);
    Some(NodeFigures {
        neutral_rms_a: of_neutral.rms_a,
        neutral_rms_low_a: of_neutral.rms_a,
        neutral_rms_high_a: of_neutral.rms_a,
        neutral_p95_a: neutral.p95_of(rows.clone())?,
        neutral_max_a: of_neutral.max_a,
        phase_max_a: levels.map(|level| level.max_a),
        phase_rms_a,
        current_unbalance_pct: current_unbalance_pct(phase_rms_a),
        intervals_over_limit: [0; 3],
    })
}

impl MeasuredNode {
    fn mean(&self, square: impl Fn(usize) -> f64) -> f64 {
        let count = self.phases[0].len();
        (0..count).map(square).sum::<f64>() / count.max(1) as f64
    }

    /// Square of what the phases and the part in quadrature make of the neutral, nothing taken off. (A²)
    fn uncorrected_square(&self, interval: usize) -> f64 {
        phasor_sum(&self.phases, interval).norm_sqr() + self.beyond[interval].powi(2)
    }

    fn difference(&self, now: &NodeFigures) -> ModelDifference {
        let squares = (0..self.beyond.len()).map(|interval| self.uncorrected_square(interval));
        let rms_a = self
            .mean(|interval| self.uncorrected_square(interval))
            .sqrt();
        ModelDifference {
            rms_a: rms_a - now.neutral_rms_a,
            max_a: squares.fold(0.0, f64::max).sqrt() - now.neutral_max_a,
        }
    }

    /// What the meter says, with third harmonics that are declared where the neutral is not measured. (A)
    pub(crate) fn with_third_harmonics(&self, now: &NodeFigures, third: &[f64]) -> NodeFigures {
        if third.is_empty() {
            return now.clone();
        }
        let neutral_a: Vec<f64> = (0..third.len())
            .map(|interval| {
                let beyond = self.beyond.get(interval).copied().unwrap_or(0.0);
                let alone = self.neutral_alone.get(interval).copied();
                let sum = phasor_sum(&self.phases, interval) + alone.unwrap_or_default();
                sum.norm().hypot(beyond).hypot(third[interval])
            })
            .collect();
        let more = self.mean(|interval| third[interval].powi(2));
        let neutral_rms_a = (now.neutral_rms_a.powi(2) + more).sqrt();
        NodeFigures {
            neutral_rms_a,
            neutral_rms_low_a: neutral_rms_a,
            neutral_rms_high_a: neutral_rms_a,
            neutral_p95_a: quantile(&neutral_a, 0.95).unwrap_or(0.0),
            neutral_max_a: neutral_a.into_iter().fold(0.0, f64::max),
            ..now.clone()
        }
    }

    /// Keeps the mean squares that the intervals do not resolve, and drops empty series.
    fn resolve(&mut self) {
        if let Some(figures) = &self.figures {
            let neutral = self.mean(|interval| {
                let sum = phasor_sum(&self.phases, interval) + self.neutral_alone[interval];
                sum.norm_sqr() + self.beyond[interval].powi(2)
            });
            let [l1, l2, l3] = [0, 1, 2].map(|k| {
                let on_grid = self.mean(|interval| self.phases[k][interval].norm_sqr());
                figures.now.phase_rms_a[k].powi(2) - on_grid
            });
            let n = figures.now.neutral_rms_a.powi(2) - neutral;
            self.unresolved_square = [l1, l2, l3, n];
        }
        if self
            .neutral_alone
            .iter()
            .all(|amps| *amps == Complex64::ZERO)
        {
            self.neutral_alone = Vec::new();
        }
        if !self.neutral_is_measured && self.beyond.iter().all(|&amps| amps == 0.0) {
            self.beyond = Vec::new();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 A and 4 A at a right angle are 5 A; 5 A with 2 A against them are 3 A.
    #[test]
    fn the_neutral_comes_out_as_measured() {
        let sum = Complex64::new(0.0, 3.0);
        assert_eq!(unexplained(5.0, sum), (Complex64::ZERO, 4.0));
        let (alone, beyond) = unexplained(3.0, Complex64::new(0.0, 5.0));
        assert!((alone - Complex64::new(0.0, -2.0)).norm() < 1e-12);
        assert!(beyond.abs() < 1e-12);
        assert_eq!(unexplained(0.0, Complex64::ZERO), (Complex64::ZERO, 0.0));
    }

    #[test]
    fn only_rows_of_the_period_count() {
        assert_eq!(within(&[0, 60, 120, 180], (60, 180)), 1..3);
        assert_eq!(within(&[0, 60], (300, 360)), 2..2);
    }
}
