//! The what-if board: other phases for the machines, calculated in the page.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use num_complex::Complex64;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use tables::plain;

use super::format::{counted, moment, number, percent};
use super::header::SiteHeader;
use balance::{BalanceResult, HeldBack, NodeFigures, TrialBoard, TrialNode, TrialUnit};
use user_tables::list_separator;

/// The page's only script: the order of its sections, and the what-if board.
pub(super) const SCRIPT: &str = concat!(
    include_str!("reader.js"),
    include_str!("chart.js"),
    include_str!("day.js"),
    include_str!("board.js")
);

/// The script as a content-security policy names it, so that the page runs this one and no other.
pub(super) fn script_hash() -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(SCRIPT)))
}

/// The section as its template sees it.
#[derive(Debug)]
pub(super) struct TrialView {
    /// JSON without any `<`, so that no user text can close the element that holds it.
    pub(super) data: String,
    pub(super) nodes: Vec<String>,
    pub(super) rows: Vec<TrialRow>,
    /// Numbers of moves for which a best plan is known.
    pub(super) plans: Vec<usize>,
    /// Has every machine a phase now?
    pub(super) has_now: bool,
    /// Phases that are not offered, and why; empty where all are.
    pub(super) held: String,
    /// Accuracy of the maximum currents.
    pub(super) note: String,
}

/// A machine, or what moves with it.
#[derive(Debug)]
pub(super) struct TrialRow {
    pub(super) unit: usize,
    pub(super) name: String,
    pub(super) at: String,
    pub(super) options: Vec<TrialOption>,
}

/// A phase that it may have.
#[derive(Debug)]
pub(super) struct TrialOption {
    pub(super) turn: usize,
    pub(super) words: String,
    pub(super) now: bool,
    pub(super) plan: bool,
}

impl TrialView {
    /// `None` where nothing can be moved.
    pub(super) fn new(header: &SiteHeader, balance: &BalanceResult) -> Option<TrialView> {
        let board = balance.trial.as_ref()?;
        let rows: Vec<TrialRow> = board
            .units
            .iter()
            .enumerate()
            .filter(|(_, unit)| unit.choices.len() > 1)
            .map(|(index, unit)| row(balance, index, unit))
            .collect();
        (!rows.is_empty()).then(|| TrialView {
            data: data(header, balance, board),
            nodes: board.nodes.iter().map(|node| node.id.clone()).collect(),
            rows,
            plans: board.plans.iter().map(|plan| plan.moves).collect(),
            has_now: board.units.iter().all(|unit| unit.now.is_some()),
            held: held_note(&balance.held_back),
            note: note(board),
        })
    }
}

/// Which phases are not offered, and why.
fn held_note(held_back: &[HeldBack]) -> String {
    let sentence = |held: &HeldBack| {
        format!(
            "{} at {} must be repaired first: until then nothing can be put there. ",
            held.because.title(),
            held.place()
        )
    };
    held_back.iter().map(sentence).collect()
}

fn note(board: &TrialBoard) -> String {
    let held = board.start_s.len();
    if held == board.intervals {
        return format!(
            "Rms and maximum currents are over all {} of the period.",
            counted(board.intervals, "interval", "intervals")
        );
    }
    let miss = if board.largest_miss_pct < 0.05 {
        "was always found".to_owned()
    } else {
        format!("was at most {} higher", percent(board.largest_miss_pct))
    };
    format!(
        "Rms currents are exact, over all {} intervals of the period. Maximum currents are taken from {} of them, those \
         with the maximum in many allocations; in {} other allocations, chosen at random, the true maximum {miss}.",
        number(board.intervals as f64, 0),
        number(held as f64, 0),
        board.compared,
    )
}

fn row(balance: &BalanceResult, index: usize, unit: &TrialUnit) -> TrialRow {
    let names = names(balance, unit);
    TrialRow {
        unit: index,
        name: match &unit.circuit {
            Some(circuit) => format!("circuit {circuit}: {}", names.join(", ")),
            None => names.join(", "),
        },
        at: unit.at.clone(),
        options: unit
            .choices
            .iter()
            .map(|(turn, connections)| TrialOption {
                turn: *turn,
                words: connections
                    .first()
                    .map_or_else(String::new, |connection| words(connection.name())),
                now: unit.now == Some(*turn),
                plan: unit.plan == *turn,
            })
            .collect(),
    }
}

fn names(balance: &BalanceResult, unit: &TrialUnit) -> Vec<String> {
    unit.machines
        .iter()
        .filter_map(|&machine| Some(plain(&balance.machines.get(machine)?.machine)))
        .collect()
}

/// A connection in words that fit a button.
fn words(connection: &str) -> String {
    match connection {
        "3ph" => "as wired".to_owned(),
        "3ph+1" => "shifted by 1".to_owned(),
        "3ph+2" => "shifted by 2".to_owned(),
        other => other.to_owned(),
    }
}

fn data(header: &SiteHeader, balance: &BalanceResult, board: &TrialBoard) -> String {
    let (separator, rows) = machine_list(&header.machine_list);
    let value = json!({
        "units": board.units.iter().map(|unit| unit_data(balance, unit)).collect::<Vec<_>>(),
        "nodes": board.nodes.iter().map(|node| node_data(balance, node)).collect::<Vec<_>>(),
        "waves": board.waves.iter().map(|wave| json!({
            "step": wave.step_a,
            "values": little_endian(wave.values.iter().flatten().map(|step| step.to_le_bytes())),
        })).collect::<Vec<_>>(),
        "times": board.start_s.iter().map(|&start| time(header, start)).collect::<Vec<_>>(),
        "plans": board.plans.iter().map(|plan| json!({ "moves": plan.moves, "turns": plan.turns })).collect::<Vec<_>>(),
        "list": { "separator": separator, "rows": rows },
    });
    // As the list has them: the changed list that the page writes has the same names.
    let escaped = |c: char| {
        if c == '<' || tables::is_hidden(c) {
            format!("\\u{:04x}", u32::from(c))
        } else {
            c.to_string()
        }
    };
    value.to_string().chars().map(escaped).collect()
}

fn unit_data(balance: &BalanceResult, unit: &TrialUnit) -> Value {
    json!({
        "machines": unit.machines,
        "names": names(balance, unit),
        "circuit": unit.circuit.as_deref().map(plain),
        "at": plain(&unit.at),
        "now": unit.now,
        "plan": unit.plan,
        "moves": unit.moves,
        "choices": unit.choices.iter().map(|(turn, connections)| json!({
            "turn": turn,
            "connections": connections,
        })).collect::<Vec<_>>(),
    })
}

fn node_data(balance: &BalanceResult, node: &TrialNode) -> Value {
    let result = balance.nodes.iter().find(|result| result.id == node.id);
    let parts = node
        .moments
        .iter()
        .flat_map(|Complex64 { re, im }| [re.to_le_bytes(), im.to_le_bytes()]);
    json!({
        "id": plain(&node.id),
        "phaseLimit": node.phase_limit_a,
        "neutralLimit": node.neutral_limit_a,
        "slots": node.slots.iter().map(|slot| {
            (slot.wave, slot.unit.map_or(-1, |unit| unit as i64), slot.position)
        }).collect::<Vec<_>>(),
        "now": result.and_then(|result| result.before.as_ref()).map(figures_data),
        "plan": result.map(|result| figures_data(&result.after)),
        "moments": little_endian(parts),
        "unresolved": node.unresolved_square,
        "beyondMeanSquare": node.beyond_mean_square,
        "beyond": little_endian(node.beyond_a.iter().map(|amps| (*amps as f32).to_le_bytes())),
    })
}

fn figures_data(figures: &NodeFigures) -> Value {
    json!({
        "phaseRms": figures.phase_rms_a,
        "phaseMax": figures.phase_max_a,
        "neutralRms": figures.neutral_rms_a,
        "neutralMax": figures.neutral_max_a,
    })
}

fn little_endian<const N: usize>(values: impl Iterator<Item = [u8; N]>) -> String {
    STANDARD.encode(values.flatten().collect::<Vec<u8>>())
}

fn time(header: &SiteHeader, start_s: i64) -> String {
    chrono::DateTime::from_timestamp(start_s, 0)
        .map_or_else(String::new, |at| moment(at, header.timezone))
}

/// The list's separator and its rows, the header first.
fn machine_list(text: &str) -> (char, Vec<Vec<String>>) {
    let separator = list_separator(text);
    let rows = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{FEFF}').as_bytes())
        .into_records()
        .filter_map(Result::ok)
        .map(|record| record.iter().map(str::to_owned).collect())
        .collect();
    (char::from(separator), rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_machine_list_is_kept_cell_by_cell() {
        let (separator, rows) = machine_list(
            "\u{FEFF}machine;circuit;connection\n\"Saw; big\";C1;L1\n\nLathe;C2;3ph\n",
        );
        assert_eq!(separator, ';');
        assert_eq!(rows.len(), 3);
        assert_eq!(rows[1], ["Saw; big", "C1", "L1"]);
    }

    #[test]
    fn the_script_cannot_end_its_own_element() {
        assert!(!SCRIPT.to_lowercase().contains("</script"));
        assert!(!SCRIPT.contains("<!--"));
    }
}
