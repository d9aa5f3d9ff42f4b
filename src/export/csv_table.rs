//! CSV with a header, full precision, and no cell that a spreadsheet would run.

use super::text_table::plain;

/// Writes rows under a header.
pub(super) fn csv_text(header: &[&str], rows: &[Vec<String>]) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header)?;
    for row in rows {
        writer.write_record(row)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// User text; a leading sign that starts a formula is disarmed with an apostrophe, and control
/// characters are shown as unknown, since a CSV is looked at in terminals too.
pub(super) fn text(value: &str) -> String {
    let value = plain(value);
    if value.starts_with(['=', '+', '-', '@']) {
        format!("'{value}")
    } else {
        value
    }
}

/// A number in full, zero without a sign, empty where it is unknown.
pub(super) fn number(value: Option<f64>) -> String {
    value
        .map(|value| (value + 0.0).to_string())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_disarmed_and_numbers_are_not() {
        assert_eq!(text("=1+1"), "'=1+1");
        assert_eq!(text("saw, old"), "saw, old");
        assert_eq!(number(Some(-0.5)), "-0.5");
        assert_eq!(number(Some(-0.0)), "0");
        assert_eq!(number(None), "");
        let csv = csv_text(&["a"], &[vec!["x,\"y\"".into()]]).expect("memory can be written");
        assert_eq!(csv, "a\n\"x,\"\"y\"\"\"\n");
    }
}
