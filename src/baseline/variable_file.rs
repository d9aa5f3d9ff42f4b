//! Reads the user's own series.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, NaiveDate, NaiveDateTime};
use chrono_tz::Tz;

use message::{Message, Messages, Place, did_you_mean};
use metering::Period;
use site::{Per, Site, Variable, read_text};
use user_tables::{Lines, NamedColumns, Row};

/// A variable's values by local day.
#[derive(Clone, Debug, PartialEq)]
pub struct VariableValues {
    /// Its name.
    pub name: String,
    /// What a value counts.
    pub unit: String,
    /// What a row of its file represents; a week or month is spread evenly over its days.
    pub per: Per,
    /// Of each day that has one.
    pub of_day: BTreeMap<NaiveDate, f64>,
}

/// All variables of a site; what is wrong with their files becomes messages.
pub fn read_variables(site: &Site, messages: &mut Messages) -> Vec<VariableValues> {
    let mut all = Vec::new();
    for variable in &site.variables {
        let Some(text) = read_text(&site.folder, &variable.file, messages) else {
            continue;
        };
        all.push(VariableValues {
            name: variable.name.clone(),
            unit: unit_of(variable),
            per: variable.per,
            of_day: values(variable, &text, site.timezone, messages),
        });
    }
    all
}

fn unit_of(variable: &Variable) -> String {
    match (&variable.unit, variable.degree_days) {
        (Some(unit), _) => unit.clone(),
        (None, Some(_)) => "K·d".to_owned(),
        (None, None) => "unit".to_owned(),
    }
}

fn values(
    variable: &Variable,
    text: &str,
    zone: Tz,
    messages: &mut Messages,
) -> BTreeMap<NaiveDate, f64> {
    let mut own = Messages::new();
    let mut lines = Lines::new(&variable.file, text, None);
    let header = lines.next().unwrap_or_else(|| lines.none());
    let columns = NamedColumns::of(header, "a row of the variable");
    let first = columns.header.cells().next();
    let time = variable.time.as_deref().or(first).unwrap_or_default();
    for column in [time, &variable.column] {
        expect_column(variable, &columns, column, &mut own);
    }
    let mut rows: BTreeMap<NaiveDate, Vec<f64>> = BTreeMap::new();
    if !own.has_errors() {
        let mut seen: Vec<NaiveDate> = Vec::new();
        for row in lines.map(|line| columns.row(line)) {
            if !row.fits(&mut own) {
                continue;
            }
            let Some(date) = date_of(variable.per, &row, time, &mut own) else {
                continue;
            };
            if variable.per != Per::Hour {
                if seen.contains(&date) {
                    row.fault(
                        "duplicate-date",
                        time,
                        "appears twice",
                        "one row for each day, week or month",
                        &mut own,
                    );
                }
                seen.push(date);
            }
            if let Some(value) = number(&row, &variable.column, &mut own) {
                rows.entry(date).or_default().push(value);
            }
        }
    }
    messages.append(own);
    by_day(variable, &rows, zone)
}

fn expect_column(
    variable: &Variable,
    columns: &NamedColumns<'_>,
    column: &str,
    messages: &mut Messages,
) {
    if columns.get(column).is_some() {
        return;
    }
    let header = &columns.header;
    let place = if header.width() == 0 {
        Place::file(&variable.file)
    } else {
        header.place(0)
    };
    messages.push(
        Message::error(
            "missing-column",
            format!(
                "`{}` has no column `{column}`, which the variable `{}` needs",
                variable.file, variable.name
            ),
        )
        .at(place, format!("expected `{column}` among the columns"))
        .maybe_help(did_you_mean(column, header.cells())),
    );
}

/// The day; of a week its Monday, of a month its first.
fn date_of(per: Per, row: &Row<'_>, time: &str, messages: &mut Messages) -> Option<NaiveDate> {
    let text = row.cell(time).unwrap_or_default();
    let day = |text: &str| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    let (date, expected) = match per {
        Per::Day => (day(text), "a date such as `2026-03-09`"),
        Per::Hour => (
            hour(text).map(|time| time.date()),
            "a local time such as `2026-03-09 13:00`",
        ),
        Per::Week => (
            day(text)
                .or_else(|| NaiveDate::parse_from_str(&format!("{text}-1"), "%G-W%V-%u").ok())
                .map(|date| date.week(chrono::Weekday::Mon).first_day()),
            "a week such as `2026-W11`, or a date in it",
        ),
        Per::Month => (
            day(text)
                .or_else(|| day(&format!("{text}-01")))
                .and_then(|date| date.with_day(1)),
            "a month such as `2026-03`, or a date in it",
        ),
    };
    if date.is_none() {
        row.fault("date", time, "cannot be read", expected, messages);
    }
    date
}

fn hour(text: &str) -> Option<NaiveDateTime> {
    let text = text.replace('T', " ");
    ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"]
        .into_iter()
        .find_map(|format| NaiveDateTime::parse_from_str(&text, format).ok())
}

fn number(row: &Row<'_>, column: &str, messages: &mut Messages) -> Option<f64> {
    let text = row.plain_number(column)?;
    let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
    if value.is_none() {
        row.fault(
            "not-a-number",
            column,
            "is not a number",
            "a number, or an empty cell if it is not known",
            messages,
        );
    }
    value
}

fn by_day(
    variable: &Variable,
    rows: &BTreeMap<NaiveDate, Vec<f64>>,
    zone: Tz,
) -> BTreeMap<NaiveDate, f64> {
    let mut of_day = BTreeMap::new();
    for (&date, values) in rows {
        let sum = |values: &[f64]| -> f64 { values.iter().sum() };
        let kelvins = variable.degree_days.map(|degree_days| {
            let each = values.iter().map(|&value| degree_days.of(value));
            each.sum::<f64>() / values.len() as f64
        });
        match variable.per {
            // A day without all its hours is not known.
            Per::Hour if values.len() != hours_of(date, zone) => {}
            Per::Hour | Per::Day => {
                of_day.insert(date, kelvins.unwrap_or_else(|| sum(values)));
            }
            Per::Week | Per::Month => {
                let last = if variable.per == Per::Week {
                    date + Days::new(7)
                } else {
                    date + chrono::Months::new(1)
                };
                let days = (last - date).num_days();
                for day in date.iter_days().take_while(|day| *day < last) {
                    of_day.insert(day, sum(values) / days as f64);
                }
            }
        }
    }
    of_day
}

/// Hours of a local day: 23, 24 or 25, as a rule.
fn hours_of(date: NaiveDate, zone: Tz) -> usize {
    let (from, to) = Period {
        from: Some(date),
        to: date.succ_opt(),
    }
    .seconds(zone);
    (to.saturating_sub(from) / 3600) as usize
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;
    use site::DegreeDays;

    fn variable(per: Per, degree_days: Option<DegreeDays>) -> Variable {
        Variable {
            name: "test".to_owned(),
            file: "variables.csv".to_owned(),
            column: "value".to_owned(),
            time: None,
            per,
            unit: None,
            degree_days,
        }
    }

    fn read(variable: &Variable, text: &str) -> (BTreeMap<NaiveDate, f64>, Vec<&'static str>) {
        let mut messages = Messages::new();
        let values = values(variable, text, Tz::Europe__London, &mut messages);
        let names = messages.all().iter().map(|message| message.name).collect();
        (values, names)
    }

    fn date(text: &str) -> NaiveDate {
        text.parse().expect("a date")
    }

    /// Base 15.5 °C: 10 °C are 5.5 kelvins below it, 20 °C none.
    #[test]
    fn days_below_the_base_are_degree_days() {
        let heating = variable(Per::Day, Some(DegreeDays::Heating(15.5)));
        let text = "day;value;note\n2026-03-09;10,0;\n2026-03-10;20;warm\n2026-03-11;;\n";
        let (values, faults) = read(&heating, text);
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!(values.len(), 2);
        assert!((values[&date("2026-03-09")] - 5.5).abs() < 1e-12);
        assert!(values[&date("2026-03-10")].abs() < 1e-12);
    }

    /// The clock of London skips an hour on 29 March 2026, so that the day has 23.
    #[test]
    fn a_day_of_hours_needs_all_of_them() {
        let cooling = variable(Per::Hour, Some(DegreeDays::Cooling(20.0)));
        let mut text = String::from("time,value\n");
        for day in ["2026-03-28", "2026-03-29"] {
            for hour in (0..24).filter(|hour| *hour != 1) {
                let _ = writeln!(text, "{day} {hour:02}:00,{}", 18 + hour % 4);
            }
        }
        let (values, faults) = read(&cooling, &text);
        assert!(faults.is_empty(), "{faults:?}");
        // The 28th lacks one. Of 18, 19, 20, 21 °C only the last is above 20: 6 of 23 hours.
        assert_eq!(values.keys().collect::<Vec<_>>(), [&date("2026-03-29")]);
        assert!((values[&date("2026-03-29")] - 6.0 / 23.0).abs() < 1e-12);
    }

    #[test]
    fn weeks_and_months_are_spread_over_their_days() {
        let (values, faults) = read(&variable(Per::Week, None), "week,value\n2026-W11,14\n");
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!(values.len(), 7);
        assert!((values[&date("2026-03-15")] - 2.0).abs() < 1e-12);
        let (values, _) = read(&variable(Per::Month, None), "month,value\n2026-02,14\n");
        assert_eq!(values.len(), 28);
        assert!((values[&date("2026-02-28")] - 0.5).abs() < 1e-12);
    }

    #[test]
    fn every_fault_has_its_name() {
        let day = variable(Per::Day, None);
        let faults = |text: &str| read(&day, text).1;
        assert_eq!(faults("day,value\n9.3.2026,4\n"), ["date"]);
        assert_eq!(faults("day,value\n2026-03-09,some\n"), ["not-a-number"]);
        assert_eq!(faults("day,value\n2026-03-09,NaN\n"), ["not-a-number"]);
        assert_eq!(
            faults("day,value\n2026-03-09,4\n2026-03-09,5\n"),
            ["duplicate-date"]
        );
        assert_eq!(faults("day,valeu\n2026-03-09,4\n"), ["missing-column"]);
        assert_eq!(faults("day,value\n2026-03-09,4,5\n"), ["too-many-cells"]);
        assert_eq!(faults(""), ["missing-column", "missing-column"]);
    }
}
