//! Which cell of a log holds what: header line, time column, columns of each meter.

use super::dialect::Dialect;
use crate::message::{Message, Messages, Place, closest};
use crate::site::{ColumnUse, Meter, Quantity};

/// How many lines may stand before the header.
const LONGEST_PREAMBLE: usize = 60;

/// A cell of the log and what it becomes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ColumnPlan {
    pub(super) cell: usize,
    pub(super) factor: f64,
    pub(super) quantity: Quantity,
}

/// Where everything stands in the rows of a log.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// Lines before the first row of data.
    pub(super) lines_before: usize,
    /// Bytes before the first row of data.
    pub(super) bytes_before: usize,
    pub(super) time_cell: usize,
    /// The columns of each meter, in the order of the meters given.
    pub(super) meters: Vec<Vec<ColumnPlan>>,
    /// Names of the columns that no meter uses.
    pub(super) unused: Vec<String>,
    pub(super) names: Vec<String>,
}

/// The header: its line number from 1, its text and its names.
struct Header<'h> {
    line: usize,
    text: &'h str,
    names: Vec<String>,
}

impl Layout {
    /// Finds the header in the beginning of a log and the columns that the meters need.
    pub(super) fn find(
        file: &str,
        sample: &[u8],
        dialect: &Dialect,
        meters: &[&Meter],
        messages: &mut Messages,
    ) -> Option<Layout> {
        let first = meters.first()?;
        let text = String::from_utf8_lossy(sample);
        let header = if first.header {
            find_header(&text, dialect, meters)
        } else {
            unnamed_header(&text, dialect)
        };
        let Some((header, bytes_before)) = header else {
            messages.push(
                Message::error("empty-log", format!("the log `{file}` is empty"))
                    .at(Place::file(file), "")
                    .help("export the log again, or take the file out of the meter's `files`"),
            );
            return None;
        };
        let time_cell = find_time(file, &header, dialect, first, messages);
        let mut used = vec![false; header.names.len()];
        let mut plans = Vec::new();
        let mut complete = true;
        for meter in meters {
            match plan_columns(file, &header, dialect, meter, messages) {
                Some(plan) => {
                    for column in &plan {
                        used[column.cell] = true;
                    }
                    plans.push(plan);
                }
                None => complete = false,
            }
        }
        let time_cell = time_cell?;
        complete.then_some(())?;
        used[time_cell] = true;
        Some(Layout {
            lines_before: if first.header { header.line } else { 0 },
            bytes_before,
            time_cell,
            meters: plans,
            unused: header
                .names
                .iter()
                .zip(used)
                .filter(|(name, used)| !used && !name.is_empty())
                .map(|(name, _)| name.clone())
                .collect(),
            names: header.names,
        })
    }
}

fn names_of(line: &str, dialect: &Dialect) -> Vec<String> {
    dialect
        .split(line.trim_end_matches('\r').as_bytes())
        .iter()
        .map(|cell| String::from_utf8_lossy(cell).trim().to_owned())
        .collect()
}

/// The first line with every declared column, else the first with cells that are not numbers.
fn find_header<'h>(
    text: &'h str,
    dialect: &Dialect,
    meters: &[&Meter],
) -> Option<(Header<'h>, usize)> {
    let wanted: Vec<&str> = meters
        .iter()
        .flat_map(|meter| {
            let time = meter.time.column.as_deref();
            let columns = meter.columns.iter().map(|column| column.column.as_str());
            time.into_iter().chain(columns)
        })
        .collect();
    let mut best: Option<(usize, Header<'h>, usize)> = None;
    let mut bytes = 0;
    for (index, line) in text
        .split_inclusive('\n')
        .take(LONGEST_PREAMBLE)
        .enumerate()
    {
        bytes += line.len();
        let line = line.trim_end_matches(['\n', '\r']);
        if line.trim().is_empty() {
            continue;
        }
        let names = names_of(line, dialect);
        let hits = wanted
            .iter()
            .filter(|name| names.iter().any(|known| known == *name))
            .count();
        if best.as_ref().is_none_or(|(most, ..)| hits > *most) {
            let header = Header {
                line: index + 1,
                text: line,
                names,
            };
            best = Some((hits, header, bytes));
        }
    }
    best.map(|(_, header, bytes)| (header, bytes))
}

/// Columns without names are called by their number.
fn unnamed_header<'h>(text: &'h str, dialect: &Dialect) -> Option<(Header<'h>, usize)> {
    let line = text.lines().find(|line| !line.trim().is_empty())?;
    let names = (1..=names_of(line, dialect).len())
        .map(|number| number.to_string())
        .collect();
    Some((
        Header {
            line: 1,
            text: line,
            names,
        },
        0,
    ))
}

fn find_time(
    file: &str,
    header: &Header<'_>,
    dialect: &Dialect,
    meter: &Meter,
    messages: &mut Messages,
) -> Option<usize> {
    if let Some(wanted) = &meter.time.column {
        return find_column(file, header, dialect, wanted, meter, messages);
    }
    let usual = ["time", "timestamp", "datetime", "date time", "date"];
    let found = usual.iter().find_map(|word| {
        header
            .names
            .iter()
            .position(|name| name.eq_ignore_ascii_case(word))
    });
    Some(found.unwrap_or(0))
}

fn find_column(
    file: &str,
    header: &Header<'_>,
    dialect: &Dialect,
    wanted: &str,
    meter: &Meter,
    messages: &mut Messages,
) -> Option<usize> {
    let mut matches = header
        .names
        .iter()
        .enumerate()
        .filter(|(_, name)| *name == wanted);
    match (matches.next(), matches.next()) {
        (Some((index, _)), None) => Some(index),
        (Some(_), Some((second, _))) => {
            messages.push(
                Message::error(
                    "two-columns",
                    format!("`{file}` has two columns `{wanted}`"),
                )
                .at(
                    Place::in_record(file, header.line, header.text, dialect.separator, second),
                    "second time here",
                ),
            );
            None
        }
        (None, _) => {
            let names = header.names.iter().map(String::as_str);
            let near = closest(wanted, names.clone());
            let cell = near.and_then(|near| header.names.iter().position(|name| name == near));
            let place = match cell {
                Some(cell) => {
                    Place::in_record(file, header.line, header.text, dialect.separator, cell)
                }
                None => Place::in_line(file, header.line, header.text, 0..header.text.len()),
            };
            messages.push(
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
                }),
            );
            None
        }
    }
}

fn shown_names(names: &[String]) -> String {
    let mut list = names
        .iter()
        .take(20)
        .cloned()
        .collect::<Vec<_>>()
        .join(", ");
    if names.len() > 20 {
        list.push_str(", …");
    }
    list
}

fn plan_columns(
    file: &str,
    header: &Header<'_>,
    dialect: &Dialect,
    meter: &Meter,
    messages: &mut Messages,
) -> Option<Vec<ColumnPlan>> {
    let recognised: Vec<ColumnUse>;
    let uses = if meter.columns.is_empty() {
        recognised = recognise(&header.names);
        if recognised.is_empty() {
            messages.push(
                Message::error(
                    "no-known-column",
                    format!(
                        "no column of `{file}` is recognised for meter `{}`",
                        meter.id
                    ),
                )
                .at(
                    Place::in_line(file, header.line, header.text, 0..header.text.len()),
                    "expected quantity names such as `current_l1_a`",
                )
                .help("name the columns under `[meter.columns]`"),
            );
            return None;
        }
        &recognised
    } else {
        &meter.columns
    };
    let mut complete = true;
    let mut plan = Vec::new();
    for column in uses {
        let Some(cell) = find_column(file, header, dialect, &column.column, meter, messages) else {
            complete = false;
            continue;
        };
        let ratio = if column.quantity.scales_with_current() {
            meter.ratio
        } else {
            1.0
        };
        plan.push(ColumnPlan {
            cell,
            factor: column.scale * ratio,
            quantity: column.quantity,
        });
    }
    complete.then_some(plan)
}

/// Headers that are quantity names.
fn recognise(names: &[String]) -> Vec<ColumnUse> {
    names
        .iter()
        .filter_map(|name| {
            Quantity::from_name(name).map(|quantity| ColumnUse {
                quantity,
                column: name.clone(),
                scale: 1.0,
            })
        })
        .collect()
}
