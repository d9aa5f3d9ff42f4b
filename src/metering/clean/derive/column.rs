//! A derived column and where it comes from.

use crate::table::interval_table::IntervalTable;
use crate::table::logged::Logged;
use crate::table::origin::Origin;
use site::Quantity;

/// Adds a quantity if it is missing and all its sources are there.
pub(super) fn add_from(
    table: &mut IntervalTable,
    quantity: Quantity,
    sources: &[Quantity],
    assumption: Option<&str>,
    formula: impl Fn(&[Option<f64>]) -> Option<f64>,
) {
    add_rows(table, quantity, sources, assumption, |_, values| {
        formula(values)
    });
}

/// The same with a formula that looks at the number of the row.
pub(super) fn add_rows(
    table: &mut IntervalTable,
    quantity: Quantity,
    sources: &[Quantity],
    assumption: Option<&str>,
    formula: impl Fn(usize, &[Option<f64>]) -> Option<f64>,
) {
    if table.has(quantity) {
        return;
    }
    let columns: Option<Vec<Logged<'_>>> =
        sources.iter().map(|&source| table.values(source)).collect();
    let Some(columns) = columns else { return };
    let mut row_values = vec![None; columns.len()];
    let values = (0..table.len())
        .map(|row| {
            for (value, column) in row_values.iter_mut().zip(&columns) {
                *value = column.get(row);
            }
            formula(row, &row_values)
        })
        .collect();
    let origin = origin_of(table, sources, assumption);
    table.add(quantity, values, origin);
}

/// What follows from an estimate is an estimate.
pub(super) fn origin_of(
    table: &IntervalTable,
    sources: &[Quantity],
    assumption: Option<&str>,
) -> Origin {
    let mut assumptions: Vec<String> = assumption.map(str::to_owned).into_iter().collect();
    for &source in sources {
        if let Some(Origin::Estimated { assumption }) = table.origin(source)
            && !assumptions.contains(&assumption)
        {
            assumptions.push(assumption);
        }
    }
    if assumptions.is_empty() {
        Origin::Derived {
            from: sources.to_vec(),
        }
    } else {
        Origin::Estimated {
            assumption: assumptions.join("; "),
        }
    }
}
