//! Reads machines.csv, and lists with the same columns: one row per machine or group of equal machines.
//!
//! In: the lines of a list. Out: machines, or a message at the cell for each fault.

mod doubtful_columns;
mod header;
mod list_row;
mod machine_row;
mod plain;
mod rating;
mod rows;

pub(crate) use list_row::ListRow;
pub(crate) use machine_row::{find_node, read_row};
pub(crate) use rows::read_rows;

use super::kept_together;
use crate::declared::{MACHINES, NEW_MACHINES};
use crate::model::machine::Machine;
use crate::model::site::Site;
use message::{Messages, Place};
use user_tables::{TableText, Understood};

/// What a machine list refers to.
pub(crate) struct Context<'c> {
    pub(crate) site: &'c Site,
    pub(crate) meter_ids: &'c [&'c str],
    /// Machines that are not connected yet: no circuit is asked for, an open connection is
    /// usual, what a motor's plate leaves out is typical, and the list may have more columns.
    pub(crate) unplaced: bool,
}

impl Context<'_> {
    /// Every column that the list may have.
    pub(crate) fn columns(&self) -> impl Iterator<Item = &'static str> {
        let more = self.unplaced.then(|| NEW_MACHINES.names());
        MACHINES.names().chain(more.into_iter().flatten())
    }
}

/// The machines of a list.
#[derive(Default)]
pub(crate) struct MachineList {
    pub(crate) machines: Vec<Machine>,
    /// The list as text in the declared columns; as it is written, where it has no others.
    pub(crate) text: String,
    pub(crate) understood: Understood,
}

/// Reads the list; rows with faults are left out, each fault a message.
pub(crate) fn read(
    source: TableText<'_>,
    context: &Context<'_>,
    messages: &mut Messages,
) -> MachineList {
    let mut machines: Vec<Machine> = Vec::new();
    let mut kept_at: Vec<Place> = Vec::new();
    let mut records: Vec<Vec<String>> = Vec::new();
    let understood = read_rows(source, context, messages, |row, messages| {
        if let Some(machine) = read_row(row, context, messages) {
            records.push(plain::record(row, &machine, context.site));
            machines.push(machine);
            kept_at.push(row.place("keep_with"));
        }
    });
    kept_together::check(context.site, &machines, &kept_at, messages);
    let text = if understood.is_plain() {
        source.text.to_owned()
    } else {
        plain::text(&records)
    };
    MachineList {
        machines,
        text,
        understood,
    }
}
