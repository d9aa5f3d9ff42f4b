//! Results as text, JSON and CSV: pure functions of results.
//!
//! In: results of the analyses. Out: strings. Text is for people and groups its digits; JSON and
//! CSV are for programs and never do. User text is stripped of control characters, and cells that
//! a spreadsheet would run as a formula are made text.

mod after_work_text;
mod balance_csv;
mod balance_text;
mod baseline_sheets;
mod baseline_text;
mod bill_csv;
mod bill_sheets;
mod bill_text;
mod breakdown;
mod breakdown_sheet;
mod carbon;
mod check;
mod comparison;
mod csv_table;
mod diagnosis_csv;
mod diagnosis_text;
mod energy_sheets;
mod energy_text;
mod infeasible_text;
mod invoice;
mod machine_list;
mod meters_sheet;
mod page_text;
mod placement_csv;
mod placement_text;
mod schema;
mod sheet;
mod since_text;
mod story_text;
mod study_text;
mod text_table;
mod together_text;
mod work_order_text;
mod workbook;

pub use balance_csv::{balance_csv, work_order_csv};
pub use balance_text::balance_text;
pub use baseline_text::since_sentence;
pub use bill_csv::bill_csv;
pub use bill_text::bill_text;
pub use breakdown::breakdown_text;
pub use breakdown_sheet::breakdown_csv;
pub use check::{
    CheckResult, CheckedFile, ExceededLimit, Mapped, MeterCheck, check_csv, check_text,
};
pub use comparison::comparison_text;
pub use diagnosis_csv::diagnosis_csv;
pub use diagnosis_text::diagnosis_text;
pub use diagnosis_text::{figure as evidence_figure, label as evidence_label};
pub use energy_sheets::energy_sheets;
pub use energy_text::energy_text;
pub use infeasible_text::infeasible_sentences;
pub use invoice::{invoice_csv, invoice_text};
pub use machine_list::{Addition, machine_list_with};
pub use meters_sheet::energy_csv;
pub use page_text::page_text;
pub use placement_csv::{placement_csv, together_csv};
pub use placement_text::{placement_detail_text, placement_text};
pub use schema::SchemaName;
pub use sheet::{Cell, Column, Sheet};
pub use since_text::since_text;
pub use since_text::{since_mark, since_title};
pub use story_text::story_text;
pub use together_text::together_text;
pub use work_order_text::order_sentence;
pub use workbook::energy_workbook;

/// A result as JSON, ending in a line end.
///
/// # Errors
///
/// Those of the serializer, which results do not provoke.
pub fn json<R: serde::Serialize>(result: &R) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(result)?;
    text.push('\n');
    Ok(text)
}
