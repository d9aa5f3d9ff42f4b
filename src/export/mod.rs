//! Results as text, JSON, CSV and workbook: pure functions of results.
//!
//! In: results of the analyses. Out: strings, and the tables that a page shows. The table of a result is declared once,
//! in the file named after the result, as columns of `tables`; the text around it is in a file `…_text`. Text is for
//! people and groups its digits; JSON and CSV are for programs and never do.

mod after_work_text;
mod balance_tables;
mod balance_text;
mod base_load;
mod baseline;
mod baseline_text;
mod bill;
mod blank_readings;
mod breakdown;
mod carbon;
mod check;
mod corrected_list;
mod diagnosis_csv;
mod diagnosis_text;
mod energy_charts;
mod energy_tables;
mod energy_text;
mod highest_demand_periods;
mod infeasible_text;
mod invoice;
mod machine_list;
mod meters;
mod phases_text;
mod placement_tables;
mod placement_text;
mod power_factor;
mod quality;
mod schema;
mod since;
mod site_workbook;
mod story_text;
mod study_text;
mod together_text;
mod what_if;
mod wording;
mod work_order_text;

pub use after_work_text::{conductors_table, round_words, whereabouts_sentences};
pub use balance_tables::{
    balance_csv, curve_table, machines_table, nodes_table, work_order_csv, work_order_table,
};
pub use balance_text::{
    after_repair_sentence, balance_text, connected_table, enough_sentence, later_moves,
    open_sentences, optional_table, proof_sentence, repair_sentences, rounds_table,
};
pub use baseline_text::since_sentence;
pub use bill::{bill_lines, bill_text, month_tables};
pub use blank_readings::{blank_readings_csv, blank_readings_workbook};
pub use breakdown::{breakdown_table, breakdown_text, part_tables};
pub use check::{
    CheckResult, CheckedFile, ExceededLimit, Mapped, MeterCheck, UnderstoodTable, check_csv,
    check_text,
};
pub use corrected_list::corrected_list;
pub use diagnosis_csv::diagnosis_csv;
pub use diagnosis_text::diagnosis_text;
pub use diagnosis_text::{figure as evidence_figure, label as evidence_label};
pub use energy_tables::{all_tables, energy_tables, energy_workbook};
pub use energy_text::energy_text;
pub use infeasible_text::infeasible_sentences;
pub use invoice::{invoice_csv, invoice_table, invoice_text};
pub use machine_list::{Addition, machine_list_with};
pub use meters::{
    all_loads_table, coverage_table, energy_csv, meter_parts, meters_table, unmetered_table,
};
pub use phases_text::{
    indistinct_sentences, open_phases_table, phases_sentence, phases_table, phases_text,
    plan_doubt_sentences, status_words, worth_table,
};
pub use placement_tables::{
    checks_table, effect_table, placement_csv, places_table, together_csv, together_table,
};
pub use placement_text::{placement_detail_text, placement_text};
pub use quality::quality_shown;
pub use schema::SchemaName;
pub use since::{since_mark, since_title};
pub use site_workbook::starter_workbook;
pub use story_text::story_text;
pub use together_text::together_text;
pub use what_if::{what_if_table, what_if_text};
pub use work_order_text::order_sentence;

/// A result as JSON, ending in a line end.
///
/// # Errors
///
/// Those of the serializer, which results do not cause.
pub fn json<R: serde::Serialize>(result: &R) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(result)?;
    text.push('\n');
    Ok(text)
}
