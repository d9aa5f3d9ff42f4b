//! Rounds of readings with a clamp meter: `readings.csv` in the site folder, or a workbook in its stead.

mod doubts;
mod rounds;
mod row;
mod switching;
mod time;

use chrono::{DateTime, Utc};

pub use doubts::reading_doubts;
use rounds::into_rounds;
use row::ClampRow;
pub(super) use switching::read_switching;
pub use switching::{SwitchingTest, read_typed_switching};

use message::{Message, Messages, Place, did_you_mean};
use site::{
    Measured, READINGS, ReadingsSource, Site, TableFile, read_table_file, reading_words,
    table_files, two_files,
};
use user_tables::{TableText, Understood, WrittenTable};

/// Name of the file without its kind.
const TABLE: &str = "readings";

/// Lines among which the header is.
const MOST_LINES_ABOVE: usize = 20;

/// What was read on one way round the boards.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// When it began.
    pub at: DateTime<Utc>,
    /// Its word in the column `round`.
    pub label: Option<String>,
    /// Each place once.
    pub readings: Vec<ClampReading>,
}

/// What a clamp meter showed at one place: rms with harmonics; negative where it flows back to the source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampReading {
    /// Where it was read.
    pub at: Measured,
    /// On L1, L2, L3. (A)
    pub phases_a: [Option<f64>; 3],
    /// In the neutral. (A)
    pub neutral_a: Option<f64>,
}

impl Round {
    /// What was read at a place.
    pub fn of(&self, at: Measured) -> Option<&ClampReading> {
        self.readings.iter().find(|reading| reading.at == at)
    }
}

/// Reads the rounds whose time is in the window, and how the file was understood; none where there is no file.
pub(super) fn read_rounds(
    site: &Site,
    (from, to): (i64, i64),
    messages: &mut Messages,
) -> (Vec<Round>, Understood) {
    let Some(file) = find_file(site, messages) else {
        return Default::default();
    };
    let (mut rounds, understood) = parse(site, &file, messages);
    rounds.retain(|round| (from..to).contains(&round.at.timestamp()));
    (rounds, understood)
}

fn find_file(site: &Site, messages: &mut Messages) -> Option<TableFile> {
    if let ReadingsSource::Sheet(sheet) = &site.readings {
        return sheet.clone();
    }
    let files = table_files(&site.folder, TABLE);
    match &files[..] {
        [] => None,
        [name] => read_table_file(&site.folder, name, TABLE, &reading_words(&[]), messages),
        [_, _, ..] => {
            messages.push(two_files("two-readings-files", "files of readings", &files));
            None
        }
    }
}

fn parse(site: &Site, file: &TableFile, messages: &mut Messages) -> (Vec<Round>, Understood) {
    let source = file.source();
    let conductors = conductor_words(site, source);
    let words = reading_words(&conductors);
    let Some(table) = WrittenTable::read(source, &words, "a reading") else {
        let names: Vec<&str> = READINGS.names().collect();
        messages.push(
            Message::error("empty-file", format!("`{}` is empty", file.name))
                .at(Place::file(&file.name), "")
                .help(format!("start it with `{}`", names.join(","))),
        );
        return Default::default();
    };
    check_header(&table, &file.name, messages);
    let mut readings = Vec::new();
    let mut above = None;
    for line in table.rows() {
        let row = ClampRow {
            site,
            cells: table.columns.read(line, &words, messages),
            above,
        };
        if row.is_blank() && !row.has_time() {
            continue;
        }
        let time = row.time(messages);
        above = time.or(above);
        if !row.is_blank() {
            readings.extend(row.read(time, messages));
        }
    }
    // The sheet of a workbook begins empty.
    let own_file = site.readings == ReadingsSource::InFolder;
    if own_file && readings.is_empty() && !messages.has_errors() {
        messages.push(
            Message::warning("no-readings", format!("`{}` has no reading", file.name))
                .at(Place::file(&file.name), "")
                .help("fill it in at the board: `tapoff readings SITE` writes a sheet to print"),
        );
    }
    let understood = table.understood(source);
    (into_rounds(site, readings, messages), understood)
}

/// Words above the currents: the marks of the site's conductors, and letters where the header has all three of a kind.
fn conductor_words(site: &Site, source: TableText<'_>) -> Vec<(String, &'static str)> {
    const COLUMNS: [&str; 4] = ["l1_a", "l2_a", "l3_a", "n_a"];
    let mut words: Vec<(String, &'static str)> = Vec::new();
    if let Some(marks) = &site.supply.conductor_marks {
        words.extend(marks.iter().map(|mark| mark.to_lowercase()).zip(COLUMNS));
    }
    for line in source.text.lines().take(MOST_LINES_ABOVE) {
        let lower = line.to_lowercase();
        let cells: Vec<&str> = lower
            .split([',', ';', '\t'])
            .map(|cell| {
                cell.split('(')
                    .next()
                    .unwrap_or_default()
                    .trim_matches(['"', ' '])
            })
            .collect();
        for letters in [["r", "y", "b"], ["a", "b", "c"], ["r", "s", "t"]] {
            if letters.iter().all(|letter| cells.contains(letter)) {
                words.extend(letters.iter().map(|&letter| letter.to_owned()).zip(COLUMNS));
            }
        }
    }
    words
}

fn check_header(table: &WrittenTable<'_>, file: &str, messages: &mut Messages) {
    let columns = &table.columns;
    let header = &columns.header;
    for (index, name) in header.cells().enumerate() {
        if let Some(meaning) = columns.meaning(index) {
            if columns.get(meaning.column) != Some(index) {
                let text = format!("the column `{}` appears twice", meaning.column);
                messages.push(
                    Message::error("duplicate-column", text)
                        .at(header.place(index), "the second is here"),
                );
            }
        } else if !name.starts_with("x_") && !name.is_empty() {
            messages.push(
                Message::error(
                    "unknown-column",
                    format!("unknown column `{name}` in `{file}`"),
                )
                .at(header.place(index), "not a column of the readings")
                .maybe_help(
                    conductor_in_doubt(name)
                        .or_else(|| did_you_mean(name, READINGS.names()))
                        .or_else(|| Some("columns of your own start with `x_`".to_owned())),
                ),
            );
        }
    }
    for name in ["time", "at"] {
        let instead = name == "time" && columns.get("date").is_some();
        if columns.get(name).is_none() && !instead {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{file}` needs the column `{name}`"),
                )
                .at(header.end(), format!("no column `{name}` in this header")),
            );
        }
    }
}

/// Help for a colour or letter that may be one phase or another, or the neutral.
fn conductor_in_doubt(name: &str) -> Option<String> {
    let plain = name.to_lowercase();
    let word = plain.split('(').next().unwrap_or_default().trim();
    ["black", "blue", "white", "orange", "b"].contains(&word).then(|| {
        format!(
            "`{name}` may be a phase or the neutral, by the colour code: write `L1`, `L2`, `L3` or `N`, or say in \
             site.toml what marks the conductors here, `conductor_colours = \"brown-black-grey\"`"
        )
    })
}
