//! Messages about a header that is not clear.

use super::{Finder, MOST_COLUMNS};
use crate::header::names::{Found, Open};
use formats::EnergyReading;
use message::{Level, Message, Place, closest};
use site::Meter;

/// Longest name that a list of the header's names shows in full. (characters)
const LONGEST_NAME: usize = 40;
/// Columns for which a similar name is suggested.
const MOST_SUGGESTED: usize = 5;

impl Finder<'_> {
    pub(super) fn too_many(&self, count: usize, meter: &Meter) -> Message {
        let header = self.header;
        Message::error(
            "too-large",
            format!(
                "{count} columns of `{}` are taken for meter `{}`; a meter may have {MOST_COLUMNS}",
                self.file, meter.id
            ),
        )
        .at(
            Place::in_line(self.file, header.line, &header.text, 0..header.text.len()),
            "expected the columns of one meter",
        )
        .help("name the columns that count under `[meter.columns]`")
    }

    pub(super) fn in_header(&self, cell: usize) -> Place {
        let header = self.header;
        Place::in_record(
            self.file,
            header.line,
            &header.text,
            self.dialect.separator,
            cell,
        )
    }

    pub(super) fn left_open(&self, open: &Open) -> Message {
        let name = |cell: usize| &self.header.names[cell];
        match open {
            Open::Twice {
                quantity,
                cells: [first, second],
            } => Message::error(
                "two-candidates",
                format!(
                    "two columns of `{}` may be `{quantity}`: `{}` and `{}`",
                    self.file,
                    name(*first),
                    name(*second)
                ),
            )
            .at(self.in_header(*second), "the second")
            .help(format!(
                "choose under `[meter.columns]`, such as `{quantity} = \"{}\"`",
                name(*first)
            )),
            Open::Energy {
                cell,
                register,
                amount,
                factor,
            } => {
                let numbers = self.numbers(*cell);
                let (counted, added) = EnergyReading::totals(numbers);
                let shown = |total: f64| units::plain_figure(total * factor);
                let (name, unit) = (name(*cell), register.unit());
                Message::error(
                    "register-or-interval",
                    format!(
                        "column `{name}` of `{}` may be a register or the energy of each interval: its first {} readings are {} {unit} as a register, {} {unit} as intervals",
                        self.file,
                        numbers.len(),
                        shown(counted),
                        shown(added)
                    ),
                )
                .at(
                    self.in_header(*cell),
                    "neither its name nor its first readings decide",
                )
                .help(format!(
                    "write it under `[meter.columns]`: `{register} = \"{name}\"` or `{amount} = \"{name}\"`; or put `register` or `interval` before its name in the file"
                ))
            }
        }
    }

    pub(super) fn assumed(&self, found: &Found) -> Message {
        let (name, quantity) = (&self.header.names[found.cell], found.quantity);
        Message::warning(
            "unit-not-said",
            format!(
                "column `{name}` of `{}` has no unit; read as `{quantity}`",
                self.file
            ),
        )
        .at(
            self.in_header(found.cell),
            "expected a unit in the header or in a row below it",
        )
        .help(format!(
            "if it is another, say so: `{quantity} = {{ column = \"{name}\", scale = 0.001 }}`"
        ))
    }

    pub(super) fn missing(&self, wanted: &str, meter: &Meter) -> Message {
        let header = self.header;
        // More suggestions are not read, and each compares all names.
        let few = self.messages.of(Level::Error).count() < MOST_SUGGESTED;
        let names = header.names.iter().take(if few { usize::MAX } else { 0 });
        let near = closest(wanted, names.map(String::as_str));
        let cell = near.and_then(|near| header.names.iter().position(|name| name == near));
        let place = match cell {
            Some(cell) => self.in_header(cell),
            None => Place::in_line(self.file, header.line, &header.text, 0..header.text.len()),
        };
        Message::error(
            "missing-log-column",
            format!("the log of meter `{}` has no column `{wanted}`", meter.id),
        )
        .at(
            place,
            format!("expected a column `{wanted}` in this header"),
        )
        .help(match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("columns here: {}", shown_names(&header.names)),
        })
    }
}

/// The first names, none of them longer than can be read.
fn shown_names(names: &[String]) -> String {
    let shown = names.iter().take(20).map(|name| {
        let short: String = name.chars().take(LONGEST_NAME).collect();
        let cut = if short.len() < name.len() { "…" } else { "" };
        short + cut
    });
    let mut list = shown.collect::<Vec<_>>().join(", ");
    if names.len() > 20 {
        list.push_str(", …");
    }
    list
}
