//! The table `problems`: what is wrong with the files of a site, and what was found in its logs.

use super::{Analysed, moments, utc};
use demand::QualityEntry;
use message::{Level, Message, Messages};
use tables::{Cell, Table, columns, exact, words};

/// A problem: of a file, or of the readings of a meter.
#[derive(Clone, Copy)]
enum SiteProblem<'p> {
    OfFile(&'p Message),
    OfReadings(&'p str, &'p QualityEntry),
}

/// Messages, then the problems of each meter's readings.
pub(super) fn problems(found: &Analysed<'_>) -> Table {
    let messages = found.messages.all().iter().map(SiteProblem::OfFile);
    let readings = found.energy.meters.iter().flat_map(|meter| {
        let of_meter = |entry| SiteProblem::OfReadings(meter.id.as_str(), entry);
        meter.quality.iter().map(of_meter)
    });
    table(messages.chain(readings))
}

/// Messages of a site that could not be read.
pub(super) fn messages_alone(messages: &Messages) -> Table {
    table(messages.all().iter().map(SiteProblem::OfFile))
}

fn table<'p>(problems: impl Iterator<Item = SiteProblem<'p>>) -> Table {
    columns! { problem in SiteProblem<'p>;
        level: words("Level") => match problem {
            SiteProblem::OfFile(message) if message.level == Level::Error => "error",
            _ => "warning",
        };
        kind: words("Kind") => match problem {
            SiteProblem::OfFile(message) => message.name,
            SiteProblem::OfReadings(_, entry) => entry.kind.as_str(),
        };
        meter: words("Meter") => match problem {
            SiteProblem::OfFile(_) => Cell::Unknown,
            SiteProblem::OfReadings(meter, _) => meter.into(),
        };
        count: exact("Count", "") => match problem {
            SiteProblem::OfFile(_) => 1_u64,
            SiteProblem::OfReadings(_, entry) => entry.count,
        };
        file: words("File") => match problem {
            SiteProblem::OfFile(message) => message.place.as_ref().map(|place| place.file.clone()),
            SiteProblem::OfReadings(_, entry) => entry.first_file.clone(),
        };
        line: exact("Line", "") => match problem {
            SiteProblem::OfFile(message) => message.place.as_ref().map(|place| place.line as u64).filter(|line| *line > 0),
            SiteProblem::OfReadings(_, entry) => entry.first_line,
        };
        first: moments("First, UTC") => match problem {
            SiteProblem::OfReadings(_, entry) => entry.first.map_or(Cell::Unknown, utc),
            SiteProblem::OfFile(_) => Cell::Unknown,
        };
        last: moments("Last, UTC") => match problem {
            SiteProblem::OfReadings(_, entry) => entry.last.map_or(Cell::Unknown, utc),
            SiteProblem::OfFile(_) => Cell::Unknown,
        };
        problem: words("Problem") => match problem {
            SiteProblem::OfFile(message) => &message.text,
            SiteProblem::OfReadings(_, entry) => &entry.note,
        };
        help: words("What to do") => match problem {
            SiteProblem::OfFile(message) => message.help.clone(),
            SiteProblem::OfReadings(_, entry) => entry.action.map(|action| action.name().to_owned()),
        };
    }
    .table("problems", "Problems found in the data", problems)
}
