//! How times are written where no format is declared. Unless said otherwise each log holds two
//! hours of 4 and 5 kW, the first of which ends on 9 March 2026 at 10:00 UTC: 9 kWh.

use std::fmt::Write;

use super::{NONE, Written, power};
use crate::log_values::{Outcome, close};

#[track_caller]
fn nine_from(log: &Written, first: &str) -> Outcome {
    let outcome = log.run();
    close(outcome.meter().energy_kwh, 9.0);
    assert_eq!(outcome.kinds(), NONE);
    assert_eq!(outcome.meter().from.to_rfc3339(), first);
    outcome
}

/// The first hour is 09:00 to 10:00.
#[track_caller]
fn nine(log: &Written) {
    nine_from(log, "2026-03-09T09:00:00+00:00");
}

fn log(first: &str, second: &str) -> String {
    format!("time;P\n{first};4\n{second};5\n")
}

#[test]
fn usual_forms_are_recognised() {
    for (first, second) in [
        ("2026-03-09T10:00:00Z", "2026-03-09T11:00:00Z"),
        ("2026-03-09T11:00:00+01:00", "2026-03-09 12:00+01:00"),
        ("2026-03-09 10:00", "2026-03-09 11:00"),
        ("09.03.2026 10:00", "09.03.2026 11:00"),
        ("9.3.26 10:00", "9.3.26 11:00"),
        ("2026/03/09 10:00:00", "2026/03/09 11:00:00"),
        ("20260309100000", "20260309110000"),
        ("09-Mar-2026 10:00", "09-Mar-2026 11:00"),
        ("1773050400", "1773054000"),
        ("1773050400000", "1773054000000"),
    ] {
        nine(&power(log(first, second)));
    }
}

/// 13 can only be a day. 23:00 is followed by 00:00 of the next day, in March or in September.
#[test]
fn day_or_month_first_is_decided_by_the_file() {
    let day = power(log("13/03/2026 10:00", "13/03/2026 11:00"));
    nine_from(&day, "2026-03-13T09:00:00+00:00");
    let month = power(log("03/13/2026 10:00", "03/13/2026 11:00"));
    nine_from(&month, "2026-03-13T09:00:00+00:00");
    let rows = |next: &str| format!("time,P\n09/03/2026 22:00,1\n09/03/2026 23:00,3\n{next},5\n");
    let day = power(rows("10/03/2026 00:00"));
    nine_from(&day, "2026-03-09T21:00:00+00:00");
    let month = power(rows("09/04/2026 00:00"));
    nine_from(&month, "2026-09-03T21:00:00+00:00");
}

#[test]
fn a_date_that_nothing_decides_is_an_error() {
    let open = power(log("09/03/2026 10:00", "09/03/2026 11:00"));
    let refusal = open.refused();
    assert!(refusal.contains("ambiguous-date"), "{refusal}");
    assert!(refusal.contains("`09/03/2026 10:00`"), "{refusal}");
    assert!(refusal.contains("%d/%m/%Y %H:%M"), "{refusal}");
    assert!(refusal.contains("%m/%d/%Y %H:%M"), "{refusal}");
    nine(&open.with("time = { format = \"%d/%m/%Y %H:%M\" }"));
    // What an earlier file of the meter showed counts for a later one.
    let files = power("time;P\n13/02/2026 10:00;0\n13/02/2026 11:00;0\n")
        .and("b.csv", log("09/03/2026 10:00", "09/03/2026 11:00"));
    close(files.run().meter().energy_kwh, 9.0);
}

/// 4 kW and 5 kW for an hour each. Taken as offsets from UTC, the ends of the spans would put two hours
/// between the rows and double the energy. A log that goes from summer to winter has two offsets.
#[test]
fn spans_of_time_are_refused_and_two_offsets_are_not() {
    let spans = power(
        "time,P\n2026-03-09 10:00-11:00,4\n2026-03-09 11:00-12:00,5\n2026-03-09 12:00-13:00,6\n",
    );
    let refusal = spans.refused();
    assert!(refusal.contains("span-of-time"), "{refusal}");
    assert!(refusal.contains("`2026-03-09 10:00-11:00`"), "{refusal}");
    let autumn = power("time,P\n2026-10-25T02:00-03:00,4\n2026-10-25T02:00-04:00,5\n");
    close(autumn.run().meter().energy_kwh, 9.0);
}

#[test]
fn date_and_time_in_two_columns() {
    let rows = "09.03.2026;10:00;4\n09.03.2026;11:00;5\n";
    nine(&power(format!("Date;Time;P\n{rows}")));
    let declared = "time = { columns = [\"Day\", \"Clock\"], format = \"%d.%m.%Y %H:%M\" }";
    nine(&power(format!("Day;Clock;P\n{rows}")).with(declared));
    // Apart from each other, the other way round, and in quotes.
    let apart = "Clock,P,Day\n10:00,4,2026-03-09\n\"11:00\",5,\"2026-03-09\"\n";
    nine(&power(apart).with("time = { columns = [\"Day\", \"Clock\"] }"));
    // A whole time beside a date needs no second column.
    nine(&power(
        "date,time,P\n2026-03-09,2026-03-09 10:00,4\n2026-03-09,2026-03-09 11:00,5\n",
    ));
}

/// The hour to midnight is written in three ways; each ends on 10 March at 00:00.
#[test]
fn midnight() {
    let day = "2026-03-09T22:00:00+00:00";
    nine_from(&power(log("2026-03-09 23:00", "2026-03-09 24:00")), day);
    nine_from(&power(log("2026-03-09 23:00", "2026-03-10 00:00")), day);
    let closes = power(log("2026-03-09 23:00", "2026-03-09 00:00"));
    nine_from(&closes.with("time = { midnight = \"closes-day\" }"), day);
    let two = power("date,time,P\n09.03.2026,23:00,4\n09.03.2026,24:00,5\n");
    nine_from(&two, day);
}

/// 29 February 2024 has 24 hours of 1 kW between those of its neighbours: 26 kWh.
#[test]
fn leap_day() {
    let mut log = "time,P\n2024-02-28 24:00,1\n".to_owned();
    for hour in 1..=24 {
        writeln!(log, "2024-02-29 {hour:02}:00,1").expect("a String takes any text");
    }
    log += "2024-03-01 01:00,1\n";
    let outcome = power(log).run();
    close(outcome.meter().energy_kwh, 26.0);
    assert_eq!(outcome.kinds(), NONE);
}
