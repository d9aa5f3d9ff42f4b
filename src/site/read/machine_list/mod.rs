//! Reads machines.csv, and lists with the same columns: one row per machine or group of equal machines.
//!
//! In: the text of a list. Out: machines, or a message at the cell for each fault.

mod header;
mod machine_row;
mod rating;
mod row;
mod rows;

pub(crate) use machine_row::{find_node, read_row};
pub(crate) use row::Row;
pub(crate) use rows::read_rows;

use super::kept_together;
use crate::model::machine::Machine;
use crate::model::site::Site;
use message::{Messages, Place};

/// The columns of the machine list.
pub(crate) const COLUMNS: [&str; 18] = [
    "machine",
    "circuit",
    "connection",
    "power_kw",
    "apparent_kva",
    "current_a",
    "shaft_kw",
    "efficiency",
    "power_factor",
    "utilisation_factor",
    "third_harmonic_pct",
    "schedule",
    "quantity",
    "movable",
    "keep_with",
    "protective_device",
    "meter",
    "description",
];

/// What a machine list refers to.
pub(crate) struct Context<'c> {
    pub(crate) site: &'c Site,
    pub(crate) meter_ids: &'c [&'c str],
    /// Machines that are not connected yet: no circuit is asked for, an open connection is
    /// usual, and what a motor's plate leaves out is typical.
    pub(crate) unplaced: bool,
    /// Columns that the list may have besides those of the machine list.
    pub(crate) more_columns: &'static [&'static str],
}

impl Context<'_> {
    /// Every column that the list may have.
    pub(crate) fn columns(&self) -> impl Iterator<Item = &'static str> {
        COLUMNS.iter().chain(self.more_columns).copied()
    }
}

/// What parts the cells of a machine list: a comma, or a semicolon where its header has no comma.
#[must_use]
pub fn list_separator(list: &str) -> u8 {
    let header = list.lines().next().unwrap_or("");
    if header.contains(';') && !header.contains(',') {
        b';'
    } else {
        b','
    }
}

/// Reads the list; rows with faults are left out, each fault a message.
pub(crate) fn read(
    file: &str,
    text: &str,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Vec<Machine> {
    let mut machines: Vec<Machine> = Vec::new();
    let mut kept_at: Vec<Place> = Vec::new();
    read_rows(file, text, context, messages, |row, messages| {
        if let Some(machine) = read_row(row, context, messages) {
            machines.push(machine);
            kept_at.push(row.place("keep_with"));
        }
    });
    kept_together::check(context.site, &machines, &kept_at, messages);
    machines
}
