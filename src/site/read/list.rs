//! Finds the machine list: `machines.csv`, or a spreadsheet in its stead.

use std::path::Path;

use super::machine_list::{self, Context};
use super::sheet::{self, Sheet};
use crate::model::machine::Machine;
use crate::read::file::{cannot_read, read_file, read_text};
use message::{Message, Messages, Place};
use user_tables::Lines;

/// The machines and the list as text: from `machines.csv`, or from a spreadsheet in its stead.
pub(crate) fn read_list(
    folder: &Path,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<(Vec<Machine>, String)> {
    const LIST: &str = "machines.csv";
    let is_there = |name: &&&str| folder.join(name).exists();
    let found: Vec<&str> = [LIST]
        .iter()
        .chain(&sheet::NAMES)
        .filter(is_there)
        .copied()
        .collect();
    match found.as_slice() {
        [name] if *name != LIST => read_sheet(folder, name, context, messages),
        [_, _, ..] => {
            messages.push(
                Message::error(
                    "two-machine-lists",
                    format!(
                        "the site has {} machine lists: {}",
                        found.len(),
                        found.join(", ")
                    ),
                )
                .at(Place::file(found[1]), "")
                .help("keep one of them; call the others something else"),
            );
            None
        }
        _ => {
            let text = read_text(folder, LIST, messages)?;
            let machines =
                machine_list::read(LIST, Lines::new(LIST, &text, None), context, messages);
            Some((machines, text))
        }
    }
}

fn read_sheet(
    folder: &Path,
    name: &str,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<(Vec<Machine>, String)> {
    let read = match read_file(&folder.join(name)) {
        Ok(bytes) => Sheet::read(name, bytes),
        Err(error) => Err(cannot_read(folder, name, &error).into()),
    };
    match read {
        Ok(sheet) => {
            let lines = Lines::new(name, &sheet.text, Some(&sheet.begins));
            let machines = machine_list::read(name, lines, context, messages);
            Some((machines, sheet.text))
        }
        Err(message) => {
            messages.push(*message);
            None
        }
    }
}
