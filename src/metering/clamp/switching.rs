//! Switching tests: `switching.csv` in the site folder, when which machine was switched on or off on purpose.

use chrono::{DateTime, NaiveDate, Utc};

use super::time::{day_or_month, is_time_of_day, read_time};
use message::{Message, Messages, Place, did_you_mean};
use site::{SWITCHING, Site, read_file, table_files, two_files};
use user_tables::{Line, Lines, text_of};

/// Words of a date and time at most, as in `Mon 9 Mar 2026 14:05`.
const MOST_TIME_WORDS: usize = 5;

/// A machine that was switched on purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SwitchingTest {
    /// When, as written: often to the minute.
    pub at: DateTime<Utc>,
    /// Index of the machine.
    pub machine: usize,
    /// On, or off.
    pub on: bool,
}

/// Reads the tests whose time is in the window, in order of time; none where there is no file.
pub(crate) fn read_switching(
    site: &Site,
    (from, to): (i64, i64),
    messages: &mut Messages,
) -> Vec<SwitchingTest> {
    let files = table_files(&site.folder, "switching");
    let files: Vec<String> = files
        .into_iter()
        .filter(|name| name.to_lowercase().ends_with(".csv"))
        .collect();
    let name = match files.as_slice() {
        [] => return Vec::new(),
        [name] => name,
        [_, _, ..] => {
            messages.push(two_files(
                "two-switching-files",
                "files of switching tests",
                &files,
            ));
            return Vec::new();
        }
    };
    let text = match read_file(&site.folder.join(name)) {
        Ok(bytes) => text_of(name, bytes),
        Err(error) => Err(
            Message::error("cannot-read", format!("cannot read `{name}`: {error}"))
                .at(Place::file(name), "")
                .into(),
        ),
    };
    match text {
        Ok(text) => {
            let mut tests = parse(site, name, &text, messages);
            tests.retain(|test| (from..to).contains(&test.at.timestamp()));
            tests.sort_by_key(|test| test.at);
            tests
        }
        Err(message) => {
            messages.push(*message);
            Vec::new()
        }
    }
}

/// Reads tests typed in a row, such as `14:05 Lathe off, 14:07 Lathe on`, in order of time; a first time without a date is
/// of the day that is given. `origin` is what messages name as their place.
pub fn read_typed_switching(
    site: &Site,
    origin: &str,
    typed: &str,
    day: Option<NaiveDate>,
    messages: &mut Messages,
) -> Vec<SwitchingTest> {
    let mut rows = SWITCHING.names().collect::<Vec<_>>().join(",");
    for (place, entry) in entries(typed).into_iter().enumerate() {
        let words: Vec<&str> = entry.split_whitespace().collect();
        let Some((state, others)) = words.split_last() else {
            continue;
        };
        // A date may have several words.
        let time_words = (1..=others.len().min(MOST_TIME_WORDS))
            .rev()
            .find(|&count| {
                let text = others[..count].join(" ");
                is_time_of_day(&text) || read_time(&text, site.timezone).is_some()
            })
            .unwrap_or(others.len().min(1));
        let (time, machine) = others.split_at(time_words);
        let mut time = time.join(" ");
        if let Some(day) = day.filter(|_| place == 0 && is_time_of_day(&time)) {
            time = format!("{day} {time}");
        }
        let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
        let machine = machine.join(" ");
        let cells = [time.as_str(), machine.as_str(), *state].map(quoted);
        rows.push('\n');
        rows.push_str(&cells.join(","));
    }
    let mut tests = parse(site, origin, &rows, messages);
    tests.sort_by_key(|test| test.at);
    tests
}

/// What was typed, test by test: each ends with its state, so that a comma in a machine's name divides nothing.
fn entries(typed: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for part in typed.split_inclusive([',', ';', '\n']) {
        match all.last_mut() {
            Some(open) if !has_state(open) => open.push_str(part),
            _ => all.push(part.to_owned()),
        }
    }
    let ends = |c: char| c.is_whitespace() || matches!(c, ',' | ';');
    all.iter()
        .map(|entry| entry.trim_matches(ends).to_owned())
        .filter(|entry| !entry.is_empty())
        .collect()
}

fn has_state(entry: &str) -> bool {
    let mut words = entry.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';'));
    let last = words.rfind(|word| !word.is_empty());
    last.is_some_and(|word| matches!(word.to_lowercase().as_str(), "on" | "off"))
}

fn parse(site: &Site, file: &str, text: &str, messages: &mut Messages) -> Vec<SwitchingTest> {
    let mut lines = Lines::new(file, text, None);
    let names: Vec<&str> = SWITCHING.names().collect();
    let Some(header) = lines.next() else {
        messages.push(
            Message::error("empty-file", format!("`{file}` is empty"))
                .at(Place::file(file), "")
                .help(format!("start it with `{}`", names.join(","))),
        );
        return Vec::new();
    };
    for (at, name) in header.cells().enumerate() {
        if !names.contains(&name) && !name.starts_with("x_") && !name.is_empty() {
            messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{file}`"),
                )
                .at(header.place(at), "not a column of the switching tests")
                .maybe_help(did_you_mean(name, SWITCHING.names())),
            );
        }
    }
    let mut cells = Vec::new();
    for name in names {
        match header.cells().position(|cell| cell == name) {
            Some(cell) => cells.push(cell),
            None => messages.push(
                Message::error(
                    "missing-column",
                    format!("`{file}` needs the column `{name}`"),
                )
                .at(header.end(), format!("no column `{name}` in this header")),
            ),
        }
    }
    let [time, machine, state] = cells[..] else {
        return Vec::new();
    };
    let mut tests: Vec<SwitchingTest> = Vec::new();
    for line in lines {
        if line.cells().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let above = tests.last().map(|test| test.at);
        let at = read_at(site, &line, time, above, messages);
        let machine = read_machine(site, &line, machine, messages);
        let on = read_state(&line, state, messages);
        if let (Some(at), Some(machine), Some(on)) = (at, machine, on) {
            tests.push(SwitchingTest { at, machine, on });
        }
    }
    tests
}

/// The time of a row; with the date of the row above where it is the time of day alone.
fn read_at(
    site: &Site,
    line: &Line<'_>,
    cell: usize,
    above: Option<DateTime<Utc>>,
    messages: &mut Messages,
) -> Option<DateTime<Utc>> {
    let text = line.cell(cell).unwrap_or_default();
    let with_date = match above {
        Some(above) if is_time_of_day(text) => {
            format!(
                "{} {text}",
                above.with_timezone(&site.timezone).date_naive()
            )
        }
        _ => text.to_owned(),
    };
    let read = read_time(&with_date, site.timezone);
    if read.is_none() {
        let text = format!("`{text}` is not a time of {}", site.timezone.name());
        messages.push(
            Message::error("unreadable-time", text)
                .at(
                    line.place(cell),
                    "expected local time such as `2026-03-09 10:30`, or with its offset `2026-03-09T10:30+01:00`",
                )
                .maybe_help(day_or_month(&with_date)),
        );
    }
    read
}

fn read_machine(
    site: &Site,
    line: &Line<'_>,
    cell: usize,
    messages: &mut Messages,
) -> Option<usize> {
    let text = line.cell(cell).unwrap_or_default();
    let names = || site.machines.iter().map(|machine| machine.name.as_str());
    let found = names()
        .position(|name| name == text)
        .or_else(|| names().position(|name| name.to_lowercase() == text.to_lowercase()));
    if found.is_none() {
        messages.push(
            Message::error("unknown-machine", format!("there is no machine `{text}`"))
                .at(line.place(cell), "expected a machine of the machine list")
                .maybe_help(did_you_mean(text, names())),
        );
    }
    found
}

fn read_state(line: &Line<'_>, cell: usize, messages: &mut Messages) -> Option<bool> {
    let text = line.cell(cell).unwrap_or_default();
    match text.trim().to_lowercase().as_str() {
        "on" => Some(true),
        "off" => Some(false),
        _ => {
            messages.push(
                Message::error("switching-state", format!("`{text}` is neither on nor off"))
                    .at(line.place(cell), "expected on or off")
                    .help(
                        "write on where the machine was switched on, off where it was switched off",
                    ),
            );
            None
        }
    }
}
