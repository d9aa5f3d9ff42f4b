//! Finds the machine list: `machines.csv`, or a workbook in its stead.

use std::path::Path;

use super::machine_list::{self, Context, MachineList};
use super::table_file::{read_table_file, table_files, two_files};
use crate::declared::machine_words;
use message::Messages;

/// The machines of the list in a site folder.
pub(crate) fn read_list(
    folder: &Path,
    context: &Context<'_>,
    messages: &mut Messages,
) -> Option<MachineList> {
    const TABLE: &str = "machines";
    let files = table_files(folder, TABLE);
    let name = match &files[..] {
        [] if !context.site.supply.declared => return Some(MachineList::default()),
        [] => "machines.csv",
        [name] => name,
        [_, _, ..] => {
            messages.push(two_files("two-machine-lists", "machine lists", &files));
            return None;
        }
    };
    let file = read_table_file(folder, name, TABLE, &machine_words(false), messages)?;
    Some(machine_list::read(file.source(), context, messages))
}
