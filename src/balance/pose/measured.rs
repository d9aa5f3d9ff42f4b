//! What meters of the supply and of boards say on the analysis intervals.

use num_complex::Complex64;

use super::grid::{Grid, Lookup};
use crate::problem::currents::phasor_sum;
use metering::{AngleBasis, Logs, phase_phasors};
use site::{Node as Place, Quantity, Site};

/// Currents of a meter on the grid, and the part of the neutral that their phasors cannot explain.
#[derive(Debug)]
pub(crate) struct MeasuredNode {
    pub(crate) phases: [Vec<Complex64>; 3],
    pub(crate) beyond: Vec<f64>,
}

/// The supply's meter on the grid.
pub(crate) fn main_currents(
    site: &Site,
    logs: &Logs,
    grid: &Grid,
    meter: usize,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let log = logs.of(meter)?;
    let phasors = phase_phasors(&log.table, site.supply.phase_voltage_v())?;
    match phasors.angle {
        AngleBasis::Powers => {}
        AngleBasis::PowerFactor => notes.push(
            "the supply's angles come from its logged power factors, taken as lagging".to_owned(),
        ),
        AngleBasis::Unity => notes.push(
            "the supply's meter logs no reactive power: its currents are taken as in phase with their voltages"
                .to_owned(),
        ),
    }
    let node = on_grid(&log.table, &phasors.series, grid);
    if node.missing > 0 {
        notes.push(format!(
            "the supply's meter lacks a current in {} of {} intervals: nothing is taken to flow there",
            node.missing,
            grid.starts.len()
        ));
    }
    Some(node.measured)
}

struct OnGrid {
    measured: MeasuredNode,
    missing: usize,
}

fn on_grid(
    table: &metering::IntervalTable,
    series: &[Vec<Option<Complex64>>; 3],
    grid: &Grid,
) -> OnGrid {
    let lookup = Lookup::new(table);
    let rows: Vec<Option<usize>> = grid.starts.iter().map(|&start| lookup.row(start)).collect();
    let mut missing = 0;
    let phases = [0, 1, 2].map(|k| {
        rows.iter()
            .map(|row| {
                row.and_then(|row| series[k][row]).unwrap_or_else(|| {
                    missing += 1;
                    Complex64::ZERO
                })
            })
            .collect::<Vec<Complex64>>()
    });
    let neutral = table.values(Quantity::NeutralCurrent);
    let beyond = neutral.map_or_else(Vec::new, |neutral| {
        rows.iter()
            .enumerate()
            .map(|(interval, row)| {
                let measured = row.and_then(|row| neutral[row]).unwrap_or(0.0);
                let explained = phasor_sum(&phases, interval).norm_sqr();
                (measured * measured - explained).max(0.0).sqrt()
            })
            .collect()
    });
    OnGrid {
        measured: MeasuredNode { phases, beyond },
        missing,
    }
}

/// A board whose own meter covers the whole grid.
pub(crate) fn metered_board(
    site: &Site,
    logs: &Logs,
    grid: &Grid,
    place: Place,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let meter = site.meter_of(site::Measured::Node(place))?;
    let log = logs.of(meter)?;
    let phasors = phase_phasors(&log.table, site.supply.phase_voltage_v())?;
    let node = on_grid(&log.table, &phasors.series, grid);
    if node.missing > grid.starts.len() / 20 {
        notes.push(format!(
            "the meter of `{}` covers too little of the time to be used for it",
            site.node_name(place)
        ));
        return None;
    }
    Some(node.measured)
}
