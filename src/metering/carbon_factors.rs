//! The user's own carbon factors: a CSV with a time and grams per kilowatt-hour in each row.

use chrono_tz::Tz;

use crate::time::clock::{Clock, Reading};
use crate::time::repeated_hour::RepeatedHourOrder;
use message::{Message, Messages, Place, did_you_mean};
use site::{CarbonFile, RepeatedHour, Site, TimeColumn, TimeFormat, Zone, read_file};
use user_tables::{Line, Lines, text_of};

/// Shorter than this, a factor cannot be set against a quarter-hour. (s)
const SHORTEST_STEP_S: i64 = 900;
/// Longer than this, a factor is one for all time. (s)
const LONGEST_STEP_S: i64 = 86_400;
/// No kilowatt-hour causes more. (g)
const LARGEST_G_PER_KWH: f64 = 5000.0;

/// Factors over time; each holds from its time for as long as the usual step, or until the next.
#[derive(Clone, Debug, PartialEq)]
pub struct CarbonFactors {
    rows: Vec<(i64, f64)>,
    step_s: i64,
}

impl CarbonFactors {
    /// The factor that holds at a moment, Unix seconds. (g/kWh)
    #[must_use]
    pub fn at(&self, at_s: i64) -> Option<f64> {
        let after = self.rows.partition_point(|(start_s, _)| *start_s <= at_s);
        let (start_s, factor) = self.rows[..after].last()?;
        (at_s < start_s + self.step_s).then_some(*factor)
    }
}

/// Reads the factors that site.toml names; `None` where it names none, or after an error.
pub(super) fn read_factors(site: &Site, messages: &mut Messages) -> Option<CarbonFactors> {
    let named = site.carbon.as_ref()?;
    let file = named.file.as_str();
    let inside = std::path::Path::new(file)
        .components()
        .all(|part| matches!(part, std::path::Component::Normal(_)));
    let read = if inside {
        read_file(&site.folder.join(file))
    } else {
        Err(std::io::Error::other("it is outside the site folder"))
    };
    let bytes = match read {
        Ok(bytes) => bytes,
        Err(error) => {
            messages.push(
                Message::error("cannot-read", format!("cannot read `{file}`: {error}"))
                    .at(named.at.clone(), "expected a CSV inside the site folder")
                    .help("put the file of carbon factors there and save it as UTF-8"),
            );
            return None;
        }
    };
    let text = match text_of(file, bytes) {
        Ok(text) => text,
        Err(message) => {
            messages.push(*message);
            return None;
        }
    };
    let faults = messages.of(message::Level::Error).count();
    let rows = parse(named, &text, site.timezone, messages);
    (messages.of(message::Level::Error).count() == faults).then_some(())?;
    finish(named, rows, messages)
}

/// The file while it is read.
struct FactorSheet {
    /// Cells of time and factor.
    cells: [usize; 2],
    clock: Clock,
    rows: Vec<(i64, f64)>,
    hour: RepeatedHourOrder<f64>,
}

fn parse(named: &CarbonFile, text: &str, zone: Tz, messages: &mut Messages) -> Vec<(i64, f64)> {
    let mut lines = Lines::new(&named.file, text, None);
    let Some(header) = lines.next() else {
        messages.push(
            Message::error("empty-file", format!("`{}` is empty", named.file))
                .at(Place::file(&named.file), "")
                .help(format!("start it with `{},{}`", named.time, named.column)),
        );
        return Vec::new();
    };
    let mut find = |wanted: &str| {
        let found = header.cells().position(|name| name == wanted);
        if found.is_none() {
            messages.push(
                Message::error(
                    "missing-column",
                    format!("`{}` has no column `{wanted}`", named.file),
                )
                .at(header.whole(), format!("expected a column `{wanted}`"))
                .help(did_you_mean(wanted, header.cells()).unwrap_or_else(|| {
                    "name its columns under `[carbon]`: `time = \"…\"`, `column = \"…\"`".to_owned()
                })),
            );
        }
        found
    };
    let (time, factor) = (find(&named.time), find(&named.column));
    let (Some(time), Some(factor)) = (time, factor) else {
        return Vec::new();
    };
    let column = TimeColumn {
        columns: Vec::new(),
        format: TimeFormat::Iso,
        zone: Zone::Local,
        midnight_closes_day: false,
        repeated_hour: RepeatedHour::ByOrder,
    };
    let mut sheet = FactorSheet {
        cells: [time, factor],
        clock: Clock::new(&column, zone),
        rows: Vec::new(),
        hour: RepeatedHourOrder::new(false, |_, _| false),
    };
    for line in lines {
        sheet.row(&line, messages);
    }
    let ends = sheet.rows.first().zip(sheet.rows.last());
    let descends = ends.is_some_and(|(first, last)| last.0 < first.0);
    let repeated = sheet.hour.finish(descends);
    sheet.rows.extend(repeated);
    sheet.rows
}

impl FactorSheet {
    fn row(&mut self, line: &Line<'_>, messages: &mut Messages) {
        let cell = |at: usize| line.cell(at).unwrap_or_default();
        let [time, factor] = self.cells.map(cell);
        let mut wrong = |cell: usize, name: &'static str, what: String, expected: &str| {
            messages.push(Message::error(name, what).at(line.place(cell), expected));
        };
        let reading = self.clock.read(time.as_bytes());
        if reading == Reading::Unreadable {
            let what = format!("`{time}` is not a time");
            wrong(
                self.cells[0],
                "not-a-time",
                what,
                "expected ISO 8601, such as `2026-03-09T00:30+00:00`",
            );
        }
        let grams = line.with_point(factor).parse::<f64>().ok();
        let grams = grams.filter(|grams| (0.0..=LARGEST_G_PER_KWH).contains(grams));
        if grams.is_none() {
            let what = format!("`{factor}` is not a carbon factor");
            wrong(
                self.cells[1],
                "carbon-factor",
                what,
                "expected grams per kWh from 0 to 5000",
            );
        }
        let Some(grams) = grams else { return };
        match reading {
            Reading::At(at) | Reading::Skipped(at) => self.rows.push((at, grams)),
            Reading::Repeated { earlier, later } => self.hour.push((earlier, later), grams),
            Reading::Unreadable => {}
        }
    }
}

/// Sorted, each time once, with the step that is most usual.
fn finish(
    named: &CarbonFile,
    mut rows: Vec<(i64, f64)>,
    messages: &mut Messages,
) -> Option<CarbonFactors> {
    rows.sort_by_key(|(at, _)| *at);
    let mut complain = |name: &'static str, text: String, help: &str| {
        let message = Message::error(name, text).at(Place::file(&named.file), "");
        messages.push(message.help(help));
    };
    if let Some(pair) = rows.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        let at = chrono::DateTime::from_timestamp(pair[0].0, 0).unwrap_or_default();
        let text = format!("`{}` has two factors for {}", named.file, at.to_rfc3339());
        complain("two-carbon-factors", text, "keep one row for each time");
        return None;
    }
    let mut steps: Vec<i64> = rows.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    steps.sort_unstable();
    let usual = steps
        .chunk_by(|a, b| a == b)
        .max_by_key(|run| (run.len(), -run[0]))
        .map(|run| run[0]);
    match usual {
        Some(step_s) if (SHORTEST_STEP_S..=LONGEST_STEP_S).contains(&step_s) => {
            Some(CarbonFactors { rows, step_s })
        }
        _ => {
            let text = format!(
                "the rows of `{}` are not at regular intervals from 15 minutes to a day",
                named.file
            );
            complain(
                "carbon-step",
                text,
                "write one row for each half-hour, or one factor in `carbon_g_per_kwh`",
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_holds_for_its_step_and_not_over_a_gap() {
        let factors = CarbonFactors {
            rows: vec![(0, 100.0), (1800, 200.0), (7200, 50.0)],
            step_s: 1800,
        };
        assert_eq!(factors.at(-1), None);
        assert_eq!(factors.at(900), Some(100.0));
        assert_eq!(factors.at(1800), Some(200.0));
        assert_eq!(factors.at(3600), None);
        assert_eq!(factors.at(8999), Some(50.0));
        assert_eq!(factors.at(9000), None);
    }
}
