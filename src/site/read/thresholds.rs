//! Reads `[thresholds]`.

use super::table::SiteTable;
use crate::model::thresholds::Thresholds;

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Thresholds {
    let Some(table) = root.table("thresholds") else {
        return Thresholds::default();
    };
    let read = Thresholds::each(|name, usual| table.number(name).unwrap_or(usual));
    table.finish();
    read
}
