//! Reads `[thresholds]`.

use super::table::Table;
use crate::model::thresholds::Thresholds;

pub(crate) fn read(root: &Table<'_, '_>) -> Thresholds {
    let Some(table) = root.table("thresholds") else {
        return Thresholds::default();
    };
    let read = Thresholds::each(|name, range, unit, usual| {
        table.number(name, range, unit).unwrap_or(usual)
    });
    table.finish();
    read
}
