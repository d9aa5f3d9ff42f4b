//! Charts of the workbook: load profile, monthly energy and load duration curve of each meter.

use tables::{Cell, ChartShape, SheetChart, Table};

/// Meters whose charts are drawn.
const MOST_METERS: usize = 12;

/// The charts of the tables, meter by meter.
pub(super) fn energy_charts(tables: &[Table]) -> Vec<SheetChart> {
    let kinds = [
        (
            "load-profile",
            "Load profile",
            ChartShape::Line,
            "time",
            &["working_days_kw", "other_days_kw"][..],
        ),
        (
            "months",
            "Monthly energy",
            ChartShape::Columns,
            "month",
            &["energy_kwh"][..],
        ),
        (
            "load-duration",
            "Load duration curve",
            ChartShape::Curve,
            "share_pct",
            &["kw"][..],
        ),
    ];
    let mut charts: Vec<(usize, SheetChart)> = Vec::new();
    for (id, title, shape, across, drawn) in kinds {
        let Some(table) = tables.iter().find(|table| table.id == id) else {
            continue;
        };
        let Some(meter) = table.position("meter") else {
            continue;
        };
        let mut first = 0;
        let meters = table.rows.chunk_by(|a, b| a[meter] == b[meter]);
        for (number, rows) in meters.take(MOST_METERS).enumerate() {
            let name = match &rows[0][meter] {
                Cell::Text(name) => name.as_str(),
                _ => "",
            };
            charts.push((
                number,
                SheetChart {
                    title: format!("{title}, meter {name}"),
                    shape,
                    table: id,
                    rows: first..first + rows.len(),
                    across,
                    drawn,
                },
            ));
            first += rows.len();
        }
    }
    charts.sort_by_key(|(number, _)| *number);
    charts.into_iter().map(|(_, chart)| chart).collect()
}
