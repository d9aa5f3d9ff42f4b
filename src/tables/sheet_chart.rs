//! A chart of a workbook: columns of a sheet drawn over another, for some of its rows.

use std::ops::Range;

use rust_xlsxwriter::{Chart, ChartType, XlsxError};

use super::column::Output;
use super::table::Table;

/// How the values are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChartShape {
    /// A line through values at equal steps.
    Line,
    /// A column for each value.
    Columns,
    /// A line through points.
    Curve,
}

/// A chart of a workbook.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetChart {
    /// What it shows.
    pub title: String,
    /// How it is drawn.
    pub shape: ChartShape,
    /// The table whose sheet has its values.
    pub table: &'static str,
    /// The rows of the table.
    pub rows: Range<usize>,
    /// Key of the column across.
    pub across: &'static str,
    /// Keys of the columns that are drawn.
    pub drawn: &'static [&'static str],
}

impl SheetChart {
    /// The chart; `None` where the table lacks its columns.
    pub(super) fn of(&self, table: &Table) -> Result<Option<Chart>, XlsxError> {
        let places = table.places(Output::Workbook);
        let column = |key: &str| {
            let place = table.position(key)?;
            let at = places.iter().position(|&shown| shown == place)?;
            Some((at as u16, table.columns[place].heading()))
        };
        let Some((across, axis)) = column(self.across) else {
            return Ok(None);
        };
        // Under the heading.
        let (first, last) = (1 + self.rows.start as u32, self.rows.end as u32);
        let mut chart = Chart::new(match self.shape {
            ChartShape::Line => ChartType::Line,
            ChartShape::Columns => ChartType::Column,
            ChartShape::Curve => ChartType::ScatterStraight,
        });
        let mut unit = None;
        for key in self.drawn {
            let Some((at, heading)) = column(key) else {
                continue;
            };
            chart
                .add_series()
                .set_name(heading.as_str())
                .set_categories((self.table, first, across, last, across))
                .set_values((self.table, first, at, last, at));
            unit.get_or_insert(heading);
        }
        let Some(unit) = unit else { return Ok(None) };
        chart.title().set_name(self.title.as_str());
        chart.x_axis().set_name(axis.as_str());
        chart.y_axis().set_name(unit.as_str());
        if self.drawn.len() == 1 {
            chart.legend().set_hidden();
        }
        chart.set_width(760).set_height(340);
        Ok(Some(chart))
    }
}
