//! The plan as text for a terminal: the result first, then the moves with their cautions.

mod answer;
mod enough;
mod open;
mod repair;

use answer::answer;
pub use enough::{enough_sentence, optional_table, proof_sentence};
pub use open::{connected_table, open_sentences, rounds_table};
pub use repair::{after_repair_sentence, later_moves, repair_sentences};

use super::balance_tables::{curve_table, machines_table, nodes_table};
use super::wording::{counted, line};
use super::work_order_text::work_order;
use balance::BalanceResult;
use site::Site;
use tables::plain;

/// The whole plan.
#[must_use]
pub fn balance_text(site: &Site, result: &BalanceResult) -> String {
    let mut text = String::new();
    answer(&mut text, site, result);
    work_order(&mut text, result);
    text.push_str(&optional_table(result).text());
    repair::after_the_repair(&mut text, result);
    curve(&mut text, result);
    text.push_str(&nodes_table(result).text());
    text.push_str(&rounds_table(result, site.timezone).text());
    text.push_str(&connected_table(result).text());
    text.push_str(&machines_table(result).text());
    if !result.notes.is_empty() {
        text.push_str("\nNotes\n");
        for note in &result.notes {
            line(&mut text, &format!("  - {}", plain(note)));
        }
    }
    text
}

fn curve(text: &mut String, result: &BalanceResult) {
    let table = curve_table(result).text();
    if table.is_empty() {
        return;
    }
    text.push_str(&table);
    if let Some(point) = result.fewest_within_limits() {
        line(
            text,
            &format!(
                "No limit is exceeded with {} or more: `--max-moves {}` shows which.",
                counted(point.moves, "move", "moves"),
                point.moves
            ),
        );
    }
}
