//! Currents of the supply after the work, compared with those that the plan predicted.

use chrono::NaiveDate;
use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use crate::view::{View, at};
use balance::{NodeCurrents, Standing, standing_connection, turn};
use electrical::Phase;
use metering::Logs;
use site::{Node, Site, Work};

/// Shorter than this before the work promises nothing, and shorter after it shows nothing. (s)
const SHORTEST_S: i64 = 86_400;

/// A conductor of the supply around the work.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ConductorCheck {
    /// `L1`, `L2`, `L3` or `N`.
    pub conductor: &'static str,
    /// Root mean square before the work. (A)
    pub before_rms_a: f64,
    /// The same time with the machines where the list has them. (A)
    pub predicted_rms_a: f64,
    /// Least and most of the single days of that. (A)
    pub predicted_days_a: (f64, f64),
    /// Root mean square since the work. (A)
    pub measured_rms_a: f64,
}

/// The site as it was before.
fn before(site: &Site, work: &Work) -> Site {
    let mut was = site.clone();
    for moved in &work.moves {
        was.machines[moved.machine].connection = moved.from;
        if let Node::Circuit(circuit) = was.machines[moved.machine].tapped_off {
            let phases = &mut was.circuits[circuit].phases;
            if turn(*phases).is_some() && !matches!(phases, site::Connection::ThreePhase { .. }) {
                *phases = moved.from;
            }
        }
    }
    was
}

/// The conductors around the work; an error says what is needed.
pub(super) fn compare(
    site: &Site,
    logs: &Logs,
    view: &View<'_>,
    work: &Work,
) -> Result<Vec<ConductorCheck>, String> {
    if work.moves.is_empty() {
        return Err("what was moved: `moves` of `[[work]]`".to_owned());
    }
    let was = before(site, work);
    let standing = Standing::new(&was, logs).map_err(|error| error.to_string())?;
    let (Some(_), Some(currents)) = (standing.main_meter(), standing.carried(Node::Supply)) else {
        return Err("the current of each phase at the supply".to_owned());
    };
    let starts = standing.starts();
    let done = starts.partition_point(|&start| start < work.done.timestamp());
    let covered = |rows: usize| rows as i64 * standing.interval_s();
    if covered(done) < SHORTEST_S {
        return Err("at least a day of readings before the work".to_owned());
    }
    if covered(starts.len() - done) < SHORTEST_S {
        return Err("at least a day of readings since the work".to_owned());
    }
    let mut promised = currents.clone();
    for moved in &work.moves {
        let machine = standing.machine(moved.machine);
        let turns = (
            turn(moved.from),
            turn(standing_connection(site, moved.machine)),
        );
        let (Some(old), Some(new)) = turns else {
            continue;
        };
        for position in 0..3 {
            let Some(series) = machine.currents.series(position) else {
                continue;
            };
            for (row, current) in series.iter().enumerate() {
                promised.phases[(position + old) % 3][row] -= current;
                promised.phases[(position + new) % 3][row] += current;
            }
        }
    }
    let dates: Vec<NaiveDate> = starts[..done]
        .iter()
        .map(|&start| at(start).with_timezone(&view.site.timezone).date_naive())
        .collect();
    let conductors = [Some(Phase::L1), Some(Phase::L2), Some(Phase::L3), None];
    Ok(conductors
        .into_iter()
        .map(|conductor| {
            let then = squares(&currents, conductor);
            let squares = squares(&promised, conductor);
            ConductorCheck {
                conductor: conductor.map_or("N", Phase::name),
                before_rms_a: root_mean(&then[..done]),
                predicted_rms_a: root_mean(&squares[..done]),
                predicted_days_a: range_of_days(&dates, &squares[..done]),
                measured_rms_a: root_mean(&then[done..]),
            }
        })
        .collect())
}

/// Square of a conductor's current, interval by interval; `None` is the neutral.
fn squares(currents: &NodeCurrents<'_>, conductor: Option<Phase>) -> Vec<f64> {
    match conductor {
        Some(phase) => currents.phases[phase.index()]
            .iter()
            .map(Complex64::norm_sqr)
            .collect(),
        None => (0..currents.intervals())
            .map(|row| currents.neutral_square(row))
            .collect(),
    }
}

fn root_mean(squares: &[f64]) -> f64 {
    (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
}

fn range_of_days(dates: &[NaiveDate], squares: &[f64]) -> (f64, f64) {
    let mut rows = 0;
    let days = dates.chunk_by(|a, b| a == b).map(|day| {
        let root = root_mean(&squares[rows..rows + day.len()]);
        rows += day.len();
        root
    });
    days.fold((f64::INFINITY, 0.0), |(least, most), day| {
        (least.min(day), most.max(day))
    })
}
