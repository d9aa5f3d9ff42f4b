//! Reads `[carbon]`.

use super::table::SiteTable;
use crate::model::carbon::CarbonFile;
use message::Message;

/// Reads `[carbon]`; `constant` says whether `[site]` has a factor for all time.
pub(crate) fn read(root: &SiteTable<'_, '_>, constant: bool) -> Option<CarbonFile> {
    let table = root.table("carbon")?;
    let file = table.required_text("file");
    let time = table.text("time").map(|text| text.value);
    let column = table.text("column").map(|text| text.value);
    table.finish();
    let file = file?;
    let at = table.source.place(&file.span);
    if constant {
        table.source.push(
            Message::error(
                "two-carbon-factors",
                "`[site]` has `carbon_g_per_kwh` and `[carbon]` names a file of factors",
            )
            .at(at, "expected one of the two")
            .help("take `carbon_g_per_kwh` out, or `[carbon]`"),
        );
        return None;
    }
    Some(CarbonFile {
        file: file.value,
        time: time.unwrap_or_else(|| "time".to_owned()),
        column: column.unwrap_or_else(|| "g_per_kwh".to_owned()),
        at,
    })
}
