//! Problems found in the data, and what was done about them.

use chrono_tz::Tz;

use demand::EnergyResult;
use metering::{Action, QualityEntry};
use tables::{CSV, Cell, FILES, PAGES, Table, columns, exact, number, words};
use units::FigureKind as Q;

/// A meter with its coverage, and an entry of its list; `None` where the list is empty.
type QualityRow<'r> = (&'r str, f64, Option<&'r QualityEntry>);

/// One row per meter and problem; times are shown in a zone.
pub(super) fn quality_table<'r>(rows: impl IntoIterator<Item = QualityRow<'r>>, zone: Tz) -> Table {
    let time = move |at: Option<_>| at.map(|at| Cell::instant(at, &zone));
    let name = |name: &'r Option<String>| name.as_deref().unwrap_or_default();
    columns! { (meter, coverage, entry) in QualityRow<'r>;
        meter: words("Meter") => meter;
        coverage_pct: number("Coverage", Q::Percent).only(CSV) => coverage;
        kind: words("Kind") => entry.map_or("", |entry| &entry.kind);
        count: exact("Count", "") => entry.map_or(0, |entry| entry.count);
        note: words("What was done") => entry.map_or("", |entry| &entry.note);
        first: words("First") => time(entry.and_then(|entry| entry.first));
        last: words("Last") => time(entry.and_then(|entry| entry.last));
        first_file: words("First file").only(FILES) => entry.map_or("", |entry| name(&entry.first_file));
        first_line: exact("First line", "").only(FILES) => entry.and_then(|entry| entry.first_line);
        last_file: words("Last file").only(FILES) => entry.map_or("", |entry| name(&entry.last_file));
        last_line: exact("Last line", "").only(FILES) => entry.and_then(|entry| entry.last_line);
        lines: words("Lines").only(PAGES).optional() => entry.map_or_else(String::new, QualityEntry::lines);
        action: words("Action").only(FILES) => entry.and_then(|entry| entry.action).map_or("", Action::name);
        effect_kwh: number("Effect on energy", Q::ActiveEnergy).signed() => entry.and_then(|entry| entry.effect_kwh);
    }
    .table("quality", "Data quality", rows)
}

/// Of all meters; without rows where no problems were found.
pub(super) fn quality_list(result: &EnergyResult, zone: Tz) -> Table {
    let rows = result.meters.iter().flat_map(|meter| {
        let entries = meter.quality.iter();
        entries.map(|entry| (meter.id.as_str(), meter.coverage_pct, Some(entry)))
    });
    quality_table(rows, zone)
}

/// For terminal and page: the note comes last, since it is long.
#[must_use]
pub fn quality_shown(result: &EnergyResult, zone: Tz) -> Table {
    let all = quality_list(result, zone);
    let keys = [
        "meter",
        "kind",
        "count",
        "first",
        "last",
        "lines",
        "effect_kwh",
        "note",
    ];
    all.part(all.title.clone(), &keys)
}
