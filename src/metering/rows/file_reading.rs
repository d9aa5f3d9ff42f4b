//! What one file of a log gave, whatever it is written in, and what it is held to by the files before it.

use crate::header::file_form::FileForm;
use crate::header::layout::{ColumnPlan, Layout};
use crate::intervals::meter_part::MeterPart;
use crate::logged_column::LoggedColumn;
use crate::rows::Counts;
use crate::time::grid::Grid;
use crate::time::known::Known;
use site::{Meter, Stamp, TimeFormat};

/// What one file gave for each of its meters.
#[derive(Debug)]
pub(crate) struct FileReading {
    pub(crate) grids: Vec<Grid>,
    pub(crate) parts: Vec<MeterPart>,
    pub(crate) counts: Counts,
    pub(crate) columns: Vec<Vec<LoggedColumn>>,
    pub(crate) unused: Vec<String>,
    pub(crate) form: FileForm,
    /// The first times, in file order. (Unix s)
    pub(crate) times: Vec<i64>,
    pub(crate) format: TimeFormat,
}

impl FileReading {
    pub(crate) fn new(
        grids: Vec<Grid>,
        parts: Vec<MeterPart>,
        counts: Counts,
        layout: Layout,
        (form, format, times): (FileForm, TimeFormat, Vec<i64>),
    ) -> FileReading {
        let logged = |column: &ColumnPlan| LoggedColumn {
            quantity: column.quantity,
            column: layout.name(column.cell).to_owned(),
            unit: column.unit.clone(),
            scale: column.factor,
            reason: column.reason,
        };
        FileReading {
            grids,
            parts,
            counts,
            columns: layout
                .meters
                .iter()
                .map(|columns| columns.iter().map(logged).collect())
                .collect(),
            unused: layout.unused,
            form,
            format,
            times,
        }
    }
}

/// The grid of each meter: what earlier files showed, or what the first times of this one show.
pub(crate) fn grids(
    meters: &[&Meter],
    known: &[Option<Known>],
    stamp: Stamp,
    times: &[i64],
) -> Vec<Grid> {
    let of = |(meter, known): (&&Meter, &Option<Known>)| {
        known.as_ref().map_or_else(
            || Grid::learned(meter, meter.stamp.unwrap_or(stamp), times),
            |known| known.grid,
        )
    };
    meters.iter().zip(known).map(of).collect()
}

/// The grid of each meter with its columns.
pub(crate) fn plans<'l>(grids: &[Grid], layout: &'l Layout) -> Vec<(Grid, &'l [ColumnPlan])> {
    let columns = layout.meters.iter().map(Vec::as_slice);
    grids.iter().copied().zip(columns).collect()
}
