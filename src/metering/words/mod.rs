//! A column of words in the logs, such as a shift or an order, read in a pass of its own: which word stood in
//! which interval. Logs are read no slower where nobody asks for it.
//!
//! In: the logs that were read, the name of the column. Out: [`Words`], interval by interval; an interval of
//! several samples may have several words, each with its share of them.

mod interner;
mod parquet;
mod text;
mod word_intervals;

use std::collections::BTreeMap;

use self::interner::Interner;
use self::word_intervals::WordIntervals;
use super::log_files::{files_of_meters, shown};
use super::logs::Logs;
use crate::rows::parquet::log as parquet_log;
use crate::time::clock::Reading;
use crate::time::grid::Grid;
use crate::time::repeated_hour::RepeatedHourOrder;
use message::{Message, Messages, Place, closest};
use site::{Meter, Site};

/// More different words than this are no groups: the column holds readings or remarks.
const MOST_WORDS: usize = 2000;

/// What an interval has of one word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WordShare {
    /// Start of the interval, Unix seconds.
    pub start_s: i64,
    /// Which of [`Words::words`]; `None`: the cell is empty.
    pub word: Option<usize>,
    /// Share of the interval's samples. 0–1
    pub share: f64,
}

/// A column of words of the logs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Words {
    /// The column's name.
    pub column: String,
    /// Its words, in the order in which they first stand.
    pub words: Vec<String>,
    meters: BTreeMap<usize, Vec<WordShare>>,
}

impl Words {
    /// Shares of a meter's intervals, ascending; `None` where no log of it has the column.
    #[must_use]
    pub fn of(&self, meter: usize) -> Option<&[WordShare]> {
        self.meters.get(&meter).map(Vec::as_slice)
    }
}

/// Where a file has the column, or what columns it has instead.
enum FoundColumn {
    There,
    NotThere(Vec<String>),
}

/// Reads a column of words out of the logs of all meters; `None` after an error.
pub fn read_words(
    site: &Site,
    logs: &Logs,
    column: &str,
    messages: &mut Messages,
) -> Option<Words> {
    let mut interner = Interner::default();
    let mut gathered: BTreeMap<usize, (Grid, WordIntervals)> = BTreeMap::new();
    let mut others: Vec<String> = Vec::new();
    for (path, groups) in files_of_meters(site, messages) {
        let name = shown(&site.folder, &path);
        for group in groups {
            let logged = |index: &usize| Some((*index, logs.of(*index)?.known.clone()?));
            let known: Vec<_> = group.iter().filter_map(logged).collect();
            let Some((first, of_first)) = known.first() else {
                continue;
            };
            let meter = &site.meters[*first];
            let grids: Vec<(usize, Grid)> = known.iter().map(|(at, of)| (*at, of.grid)).collect();
            let mut take = Take::new(&grids);
            let pass = WordPass {
                path: &path,
                name: &name,
                meter,
                zone: site.timezone,
                format: &of_first.format,
                column,
            };
            let found = if parquet_log::is_parquet(&path) {
                parquet::read(&pass, &mut interner, &mut take)
            } else {
                text::read(&pass, &mut interner, &mut take)
            };
            match found {
                Ok(FoundColumn::There) => take.put_into(&mut gathered),
                Ok(FoundColumn::NotThere(names)) => others.extend(names),
                Err(message) => messages.push(*message),
            }
        }
    }
    if interner.words.len() > MOST_WORDS {
        messages.push(too_many(column));
    } else if gathered.is_empty() && !messages.has_errors() {
        messages.push(not_there(column, &others));
    }
    if messages.has_errors() {
        return None;
    }
    Some(Words {
        column: column.to_owned(),
        words: interner.words,
        meters: gathered
            .into_iter()
            .map(|(meter, (grid, rows))| (meter, rows.finish(grid)))
            .collect(),
    })
}

/// What is read out of a file, and how.
struct WordPass<'a> {
    path: &'a std::path::Path,
    name: &'a str,
    /// The first of those that read it in the same way.
    meter: &'a Meter,
    zone: chrono_tz::Tz,
    format: &'a site::TimeFormat,
    column: &'a str,
}

/// Puts rows into the intervals of the meters that share a file.
struct Take {
    meters: Vec<(usize, Grid, WordIntervals)>,
    hour: RepeatedHourOrder<Option<usize>>,
    /// The first and the last time outside a repeated hour.
    ends: Option<(i64, i64)>,
}

impl Take {
    fn new(grids: &[(usize, Grid)]) -> Take {
        Take {
            meters: grids
                .iter()
                .map(|&(meter, grid)| (meter, grid, WordIntervals::default()))
                .collect(),
            hour: RepeatedHourOrder::new(
                grids.iter().all(|(_, grid)| grid.cadence_s >= 3600),
                |a, b| a == b,
            ),
            ends: None,
        }
    }

    /// A row with its word; rows without a time belong to no interval.
    fn row(&mut self, reading: Reading, word: Option<usize>) {
        match reading {
            Reading::At(at) | Reading::Skipped(at) => {
                let first = self.ends.map_or(at, |(first, _)| first);
                self.ends = Some((first, at));
                self.add(at, word);
            }
            Reading::Repeated { earlier, later } => {
                self.hour.push((earlier, later), word);
                for (at, word) in self.hour.known() {
                    self.add(at, word);
                }
            }
            Reading::Unreadable => {}
        }
    }

    fn add(&mut self, at: i64, word: Option<usize>) {
        for (_, grid, gathering) in &mut self.meters {
            gathering.add(grid.bin(at), word);
        }
    }

    fn put_into(mut self, all: &mut BTreeMap<usize, (Grid, WordIntervals)>) {
        let descends = self.ends.is_some_and(|(first, last)| last < first);
        for (at, word) in self.hour.finish(descends) {
            self.add(at, word);
        }
        for (meter, grid, gathering) in self.meters {
            let known = all
                .entry(meter)
                .or_insert_with(|| (grid, WordIntervals::default()));
            known.1.append(gathering);
        }
    }
}

fn not_there(column: &str, others: &[String]) -> Message {
    let mut names: Vec<&str> = Vec::new();
    for name in others.iter().map(String::as_str) {
        if !name.is_empty() && !names.contains(&name) {
            names.push(name);
        }
    }
    Message::error("no-such-column", format!("no log has a column `{column}`")).help(match closest(
        column,
        names.iter().copied(),
    ) {
        Some(near) => format!("did you mean `column:{near}`?"),
        None => format!("columns of the logs: {}", list(&names)),
    })
}

fn list(names: &[&str]) -> String {
    let first: Vec<&str> = names.iter().take(20).copied().collect();
    let more = if names.len() > 20 { ", …" } else { "" };
    format!("{}{more}", first.join(", "))
}

fn too_many(column: &str) -> Message {
    Message::error(
        "too-many-words",
        format!("the column `{column}` has more than {MOST_WORDS} different words"),
    )
    .help("name a column with few words, such as a shift or an order, not one with readings")
}

fn two_columns(pass: &WordPass<'_>) -> Box<Message> {
    let text = format!("`{}` has two columns `{}`", pass.name, pass.column);
    Box::new(
        Message::error("two-columns", text)
            .at(Place::file(pass.name), "")
            .help("give one of them another name"),
    )
}

fn unreadable(pass: &WordPass<'_>, why: &dyn std::fmt::Display) -> Box<Message> {
    let text = format!("cannot read the log `{}`: {why}", pass.name);
    Box::new(Message::error("cannot-read", text).at(Place::file(pass.name), ""))
}

/// The cell of a name that stands once.
fn cell_of(pass: &WordPass<'_>, names: &[String]) -> Result<Option<usize>, Box<Message>> {
    let mut cells = (0..names.len()).filter(|&cell| names[cell] == pass.column);
    match (cells.next(), cells.next()) {
        (Some(_), Some(_)) => Err(two_columns(pass)),
        (one, _) => Ok(one),
    }
}
