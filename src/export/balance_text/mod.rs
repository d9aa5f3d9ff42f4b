//! The plan as text for a terminal: the answer first, then the moves with their cautions.

mod answer;

use std::fmt::Write;

use answer::answer;

use super::balance_csv::basis;
use super::text_table::{Side, plain, table};
use super::work_order_text::work_order;
use balance::{BalanceResult, NodeFigures, Objective, Proof};
use site::Site;
use units::{format_kwh, or_dash};

/// The usual cautions of work on an installation.
pub(crate) const CAUTIONS: &str = "\
Moving a conductor is work for a competent person: isolate, lock off, prove dead. Move the neutral
of a circuit together with its line, keep the rotation of three-phase machines, retest, and bring the
board's chart up to date. Local wiring rules and the manufacturer's data decide. A reading is a reason
to inspect, never a clearance.";

/// The whole plan.
#[must_use]
pub fn balance_text(site: &Site, result: &BalanceResult) -> String {
    let mut text = String::new();
    answer(&mut text, site, result);
    work_order(&mut text, result);
    curve(&mut text, result);
    nodes(&mut text, site, result);
    circuits(&mut text, site, result);
    machines(&mut text, result);
    if !result.notes.is_empty() {
        text.push_str("\nNotes\n");
        for note in &result.notes {
            line(&mut text, &format!("  - {}", plain(note)));
        }
    }
    text
}

/// Writing to a string cannot fail.
pub(super) fn line(text: &mut String, line: &str) {
    let _ = writeln!(text, "{line}");
}

/// `1 move`, `3 moves`.
pub(super) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn curve(text: &mut String, result: &BalanceResult) {
    if result.moves_curve.len() < 2 {
        return;
    }
    line(text, "\nWhat few moves already give");
    let rows: Vec<Vec<String>> = result
        .moves_curve
        .iter()
        .map(|point| {
            let proof = match (point.proof, point.lower_bound_neutral_rms_a) {
                _ if !point.within_limits => "passes a limit".to_owned(),
                (Proof::Optimal, _) => "proven".to_owned(),
                (_, Some(bound)) => format!("best found, none is below {bound:.2}"),
                (_, None) => "best found".to_owned(),
            };
            let knee = if result.knee_moves == Some(point.moves) {
                "; from here each move gives less"
            } else {
                ""
            };
            let mut cells = vec![
                point.moves.to_string(),
                format!("{:.2}", point.neutral_rms_a),
            ];
            cells.extend(point.loss_kwh_per_year.map(|kwh| format!("{kwh:.1}")));
            cells.extend(point.peak_a.map(|amps| format!("{amps:.2}")));
            cells.push(format!("{proof}{knee}"));
            cells
        })
        .collect();
    let mut head = vec![("moves", Side::Right), ("neutral rms (A)", Side::Right)];
    if result.objective == Objective::NeutralLoss {
        head.push(("heat in feeders (kWh a year)", Side::Right));
    }
    if result.peaks.is_some() {
        head.push(("highest block (A)", Side::Right));
    }
    head.push(("", Side::Left));
    text.push_str(&table(&head, &rows));
    if let Some(point) = result.fewest_within_limits() {
        line(
            text,
            &format!(
                "No limit is passed from {} on: `--max-moves {}` tells which.",
                counted(point.moves, "move", "moves"),
                point.moves
            ),
        );
    }
}

fn nodes(text: &mut String, site: &Site, result: &BalanceResult) {
    line(text, "\nCurrents (A)");
    let mut rows = Vec::new();
    for node in result.nodes.iter().take(1 + site.boards.len()) {
        if let Some(before) = &node.before {
            rows.push(node_row(&node.id, "now", before));
        }
        rows.push(node_row(&node.id, "after", &node.after));
    }
    text.push_str(&table(
        &[
            ("at", Side::Left),
            ("", Side::Left),
            ("N rms", Side::Right),
            ("N p95", Side::Right),
            ("N max", Side::Right),
            ("L1 max", Side::Right),
            ("L2 max", Side::Right),
            ("L3 max", Side::Right),
            ("unbalance (%)", Side::Right),
        ],
        &rows,
    ));
}

/// One line for each circuit: its largest currents now and after.
fn circuits(text: &mut String, site: &Site, result: &BalanceResult) {
    let circuits: Vec<_> = result.nodes.iter().skip(1 + site.boards.len()).collect();
    if circuits.is_empty() {
        return;
    }
    line(text, "\nCircuits: largest current, now > after (A)");
    let rows: Vec<Vec<String>> = circuits
        .iter()
        .map(|node| {
            let pair = |now: Option<f64>, after: f64| match now {
                Some(now) if (now - after).abs() < 0.05 => format!("{after:.1}"),
                Some(now) => format!("{now:.1} > {after:.1}"),
                None => format!("{after:.1}"),
            };
            let before = node.before.as_ref();
            let mut row = vec![node.id.clone()];
            row.extend((0..3).map(|k| {
                pair(
                    before.map(|now| now.phase_max_a[k]),
                    node.after.phase_max_a[k],
                )
            }));
            row.push(pair(
                before.map(|now| now.neutral_max_a),
                node.after.neutral_max_a,
            ));
            row.push(or_dash(node.phase_limit_a, |amps| amps.to_string()));
            row.push(basis(node.basis).to_owned());
            row
        })
        .collect();
    text.push_str(&table(
        &[
            ("circuit", Side::Left),
            ("L1", Side::Right),
            ("L2", Side::Right),
            ("L3", Side::Right),
            ("N", Side::Right),
            ("device (A)", Side::Right),
            ("basis", Side::Left),
        ],
        &rows,
    ));
}

fn node_row(id: &str, when: &str, figures: &NodeFigures) -> Vec<String> {
    let mut row = vec![id.to_owned(), when.to_owned()];
    let amps = [
        figures.neutral_rms_a,
        figures.neutral_p95_a,
        figures.neutral_max_a,
    ];
    row.extend(
        amps.into_iter()
            .chain(figures.phase_max_a)
            .map(|amps| format!("{amps:.1}")),
    );
    row.push(
        figures
            .current_unbalance_pct
            .map_or("–".to_owned(), |pct| format!("{pct:.1}")),
    );
    row
}

fn machines(text: &mut String, result: &BalanceResult) {
    if result.machines.is_empty() {
        return;
    }
    line(text, "\nMachines");
    let rows: Vec<Vec<String>> = result
        .machines
        .iter()
        .map(|machine| {
            vec![
                machine.machine.clone(),
                machine.from.to_string(),
                machine.to.to_string(),
                if machine.movable { "yes" } else { "no" }.to_owned(),
                format_kwh(machine.energy_kwh),
                format!("{:.1}", machine.current_rms_a),
                basis(machine.basis).to_owned(),
            ]
        })
        .collect();
    text.push_str(&table(
        &[
            ("machine", Side::Left),
            ("from", Side::Left),
            ("to", Side::Left),
            ("movable", Side::Left),
            ("energy", Side::Right),
            ("rms (A)", Side::Right),
            ("basis", Side::Left),
        ],
        &rows,
    ));
}
