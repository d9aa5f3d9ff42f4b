//! Machines that look for a place: a list of their own, or the arguments of a command.
//!
//! In: the text of a list, or columns and values. Out: [`NewMachine`]s, or a message at the cell or the argument for
//! each fault.

mod new_machine;
mod plate;
mod rest;

pub use new_machine::{NewMachine, OwnCable, Start};
pub use plate::read_new_machine;

use super::machine_list::{Context, read_row, read_rows};
use crate::model::site::Site;
use message::{InputErrors, Message, Messages, Place};
use rest::Rest;
use user_tables::TableText;

/// Reads a list of new machines.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in it.
pub fn read_new_machines(
    site: &Site,
    file: &str,
    text: &str,
) -> Result<Vec<NewMachine>, InputErrors> {
    let mut messages = Messages::new();
    let machines = read_list(site, file, text, &mut messages);
    if machines.is_empty() && !messages.has_errors() {
        messages.push(
            Message::error("no-machine", format!("`{file}` lists no machine"))
                .at(Place::file(file), "")
                .help("write one row for each new machine"),
        );
    }
    messages.into_result()?;
    Ok(machines)
}

pub(crate) fn read_list(
    site: &Site,
    file: &str,
    text: &str,
    messages: &mut Messages,
) -> Vec<NewMachine> {
    let meter_ids: Vec<&str> = site.meters.iter().map(|meter| meter.id.as_str()).collect();
    let context = Context {
        site,
        meter_ids: &meter_ids,
        unplaced: true,
    };
    let mut machines = Vec::new();
    let source = TableText {
        file,
        text,
        sheet: None,
    };
    read_rows(source, &context, messages, |row, messages| {
        let machine = read_row(row, &context, messages);
        let rest = Rest::read(row, site, messages);
        if let Some(name) = row.cell("machine")
            && site.machines.iter().any(|machine| machine.name == name)
        {
            row.complain(
                messages,
                "duplicate-machine",
                "machine",
                format!("the machine list has a `{name}` already"),
                "expected a name that is not in machines.csv",
                Some("give the new machine a name of its own".to_owned()),
            );
        }
        if let (Some(machine), Some(rest)) = (machine, rest) {
            machines.push(rest.join(site, row, machine));
        }
    });
    machines
}
