//! Small sites and logs for the tests of this room.

use super::{Diagnosis, diagnose};
use electrical::Phase;
use finding::{Finding, Kind};
use metering::{IntervalTable, Logs, MeterLog};
use site::{Quantity, Site, read_site};

/// Monday 9 March 2026, 00:00 UTC.
pub(super) const MONDAY: i64 = 1_773_014_400;

const SITE: &str = r#"
[site]
name = "test"
timezone = "UTC"
[supply]
line_voltage_v = 400
phase_limit_a = 100
[[board]]
id = "DB1"
fed_from = "supply"
[[meter]]
id = "main"
measures = "supply"
files = "main.csv"
[[meter]]
id = "board"
measures = "DB1"
files = "board.csv"
"#;

/// A site with a supply, one board, a meter on each and these rows of the machine list.
pub(super) fn site(machines: &[&str], more: &str) -> Site {
    let folder = tempfile::tempdir().expect("a folder");
    let head = "machine,circuit,connection,power_kw\n";
    let text = format!("{head}{}\n", machines.join("\n"));
    std::fs::write(folder.path().join("site.toml"), format!("{SITE}{more}")).expect("written");
    std::fs::write(folder.path().join("machines.csv"), text).expect("written");
    match read_site(folder.path()) {
        Ok((site, _)) => site,
        Err(errors) => panic!("{errors:?}"),
    }
}

/// Columns of a log.
pub(super) type Columns = Vec<(Quantity, Vec<f64>)>;

/// The same value in all rows.
pub(super) fn constant(quantity: Quantity, value: f64, rows: usize) -> (Quantity, Vec<f64>) {
    (quantity, vec![value; rows])
}

/// A quantity of the three phases, constant.
pub(super) fn on_phases(of: impl Fn(Phase) -> Quantity, values: [f64; 3], rows: usize) -> Columns {
    Phase::ALL
        .map(|phase| constant(of(phase), values[phase.index()], rows))
        .into()
}

/// A table without gaps from Monday on.
pub(super) fn table(interval_s: u32, columns: Columns) -> IntervalTable {
    let rows = columns.first().map_or(0, |column| column.1.len());
    let starts = (0..rows as i64)
        .map(|row| MONDAY + row * i64::from(interval_s))
        .collect();
    let columns = columns
        .into_iter()
        .map(|(quantity, values)| (quantity.name(), values.into_iter().map(Some).collect()))
        .collect();
    IntervalTable::of_columns(starts, interval_s, columns)
}

/// What is said of a site whose supply has this log.
pub(super) fn judge_site(site: &Site, interval_s: u32, columns: Columns) -> Diagnosis {
    let mut logs = Logs {
        meters: vec![MeterLog::of_table(0, table(interval_s, columns))],
        ..Logs::default()
    };
    wiring::verify(site, &mut logs);
    diagnose(site, &logs)
}

/// What is said of the supply's log and that of the board below it, whose clock is ahead by `ahead_s`.
pub(super) fn judge_pair(supply: Columns, board: Columns, ahead_s: i64) -> Diagnosis {
    let site = site(&[], "");
    let mut below = table(60, board);
    if ahead_s != 0 {
        let starts = below.starts().iter().map(|start| start + ahead_s).collect();
        let quantity = Quantity::ActivePower(None);
        let power = below.values(quantity).expect("a total power");
        below = IntervalTable::of_columns(starts, 60, vec![(quantity.name(), power.to_vec())]);
    }
    let logs = Logs {
        meters: vec![
            MeterLog::of_table(0, table(60, supply)),
            MeterLog::of_table(1, below),
        ],
        ..Logs::default()
    };
    diagnose(&site, &logs)
}

/// What is said of a supply's log by the minute.
pub(super) fn judge(columns: Columns) -> Diagnosis {
    judge_site(&site(&[], ""), 60, columns)
}

/// The only finding of a kind.
pub(super) fn only(diagnosis: &Diagnosis, kind: Kind) -> &Finding {
    let found: Vec<&Finding> = diagnosis
        .findings
        .iter()
        .filter(|finding| finding.kind == kind)
        .collect();
    assert_eq!(found.len(), 1, "{kind}: {found:?}");
    found[0]
}

/// True where a kind was looked for and not found.
pub(super) fn clear(diagnosis: &Diagnosis, kind: Kind) -> bool {
    let found = diagnosis
        .findings
        .iter()
        .any(|finding| finding.kind == kind);
    let cleared = diagnosis
        .nothing_found
        .iter()
        .any(|entry| entry.kind == kind);
    cleared && !found
}

/// What a check of a kind asks for.
pub(super) fn needs(diagnosis: &Diagnosis, kind: Kind) -> &str {
    let entry = diagnosis.not_judged.iter().find(|entry| entry.kind == kind);
    entry.map_or("nothing", |entry| entry.needs.as_str())
}
