//! Reads `[thresholds]` and `[accuracy]`.

use super::table::SiteTable;
use crate::model::accuracy::Accuracy;
use crate::model::thresholds::Thresholds;

pub(crate) fn read(root: &SiteTable<'_, '_>) -> Thresholds {
    let Some(table) = root.table("thresholds") else {
        return Thresholds::default();
    };
    let read = Thresholds::each(|name, usual| table.number(name).unwrap_or(usual));
    table.finish();
    read
}

pub(crate) fn read_accuracy(root: &SiteTable<'_, '_>) -> Accuracy {
    let Some(table) = root.table("accuracy") else {
        return Accuracy::default();
    };
    let read = Accuracy::each(|name, usual| table.number(name).unwrap_or(usual));
    table.finish();
    read
}
