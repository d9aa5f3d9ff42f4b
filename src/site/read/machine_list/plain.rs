//! A list in the declared columns, whatever words it was written in.

use super::ListRow;
use crate::declared::MACHINES;
use crate::model::machine::Machine;
use crate::model::site::Site;

/// The cells of a row in the order of the declared columns.
pub(super) fn record(row: &ListRow<'_>, machine: &Machine, site: &Site) -> Vec<String> {
    let yes_or_no = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let plain = |column: &str, written: &str| match column {
        "circuit" => site.node_name(machine.tapped_off).to_owned(),
        "connection" => machine.connection.to_string(),
        "movable" => yes_or_no(machine.movable),
        "neutral" => yes_or_no(machine.has_neutral),
        "protective_device" => machine
            .protective_device
            .map_or_else(String::new, |device| device.to_string()),
        _ => written.to_owned(),
    };
    MACHINES
        .names()
        .map(|column| {
            let written = row.cell(column);
            written.map_or_else(String::new, |written| plain(column, written))
        })
        .collect()
}

/// The list as text, without columns that nothing is in.
pub(super) fn text(records: &[Vec<String>]) -> String {
    let used = |index: usize| records.iter().any(|record| !record[index].is_empty());
    let columns: Vec<(usize, &str)> = MACHINES
        .names()
        .enumerate()
        .filter(|(index, name)| used(*index) || ["machine", "circuit", "connection"].contains(name))
        .collect();
    let quoted = |text: &str| {
        if text.contains([',', '"', '\n']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.to_owned()
        }
    };
    let header: Vec<&str> = columns.iter().map(|(_, name)| *name).collect();
    let mut text = header.join(",") + "\n";
    for record in records {
        let cells: Vec<String> = columns
            .iter()
            .map(|(index, _)| quoted(&record[*index]))
            .collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}
