//! One machine from the arguments of a command.

use super::{NewMachine, read_list};
use crate::Site;
use crate::declared::{MACHINES, NEW_MACHINES};
use message::{InputErrors, Message, Messages, Place};

/// Reads one machine from the arguments of a command: column and value.
///
/// # Errors
///
/// [`InputErrors`], each pointing at its argument.
pub fn read_new_machine(
    site: &Site,
    arguments: &[(&'static str, String)],
) -> Result<Option<NewMachine>, InputErrors> {
    let header: Vec<&str> = arguments.iter().map(|(column, _)| *column).collect();
    let cells: Vec<String> = arguments
        .iter()
        .map(|(_, value)| {
            format!(
                "\"{}\"",
                value.replace('"', "\"\"").replace(['\r', '\n'], " ")
            )
        })
        .collect();
    let text = format!("{}\n{}\n", header.join(","), cells.join(","));
    let mut messages = Messages::new();
    let ratings = ["power_kw", "apparent_kva", "current_a", "shaft_kw"];
    if !arguments.iter().any(|(column, _)| ratings.contains(column)) {
        let [first, others @ ..] = ratings.map(argument_of);
        let name = arguments.iter().find(|(column, _)| *column == "machine");
        let name = name.map_or("the machine", |(_, name)| name.as_str());
        messages.push(
            Message::error("missing-rating", format!("`{name}` has no rating"))
                .note(format!("expected one of {first}, {}", others.join(", ")))
                .help("take it from the rating plate"),
        );
        messages.into_result()?;
        return Ok(None);
    }
    let machines = read_list(site, "arguments", &text, &mut messages);
    let starts: Vec<usize> = cells
        .iter()
        .scan(1, |column, cell| {
            let start = *column;
            *column += cell.chars().count() + 1;
            Some(start)
        })
        .collect();
    let mut told = Messages::new();
    for message in messages.all() {
        told.push(at_argument(message.clone(), arguments, &starts));
    }
    told.into_result()?;
    Ok(machines.into_iter().next())
}

/// `power_kw` as the argument that gives it.
fn argument_of(column: &str) -> String {
    match column {
        "machine" => "--name".to_owned(),
        "protective_device" => "--device".to_owned(),
        column => format!("--{}", column.replace('_', "-")),
    }
}

/// A message about a cell, reported for the argument that the cell was made from.
fn at_argument(
    mut message: Message,
    arguments: &[(&'static str, String)],
    starts: &[usize],
) -> Message {
    for column in MACHINES.names().chain(NEW_MACHINES.names()) {
        let (from, to) = (format!("`{column}`"), format!("`{}`", argument_of(column)));
        let told = |text: &str| {
            let text = text.replace(&from, &to);
            // Without marks around it a name is only known by its underscore.
            if column.contains('_') {
                text.replace(column, &argument_of(column))
            } else {
                text
            }
        };
        message.text = told(&message.text);
        message.expected = told(&message.expected);
        message.help = message.help.map(|help| {
            let help = help.replace("add the column", "give");
            told(&help.replace("leave the other cells empty", "leave the others out"))
        });
    }
    let of_place = message.place.as_ref().map_or(0, |place| place.column);
    let index = starts.iter().rposition(|&start| start <= of_place);
    if let (Some((column, value)), Some(_)) =
        (index.and_then(|index| arguments.get(index)), &message.place)
    {
        let name = argument_of(column);
        let line = format!("{name} {value}");
        let span = name.len() + 1..line.len();
        message.place = Some(Place::in_line("command line", 1, &line, span));
    }
    message
}
