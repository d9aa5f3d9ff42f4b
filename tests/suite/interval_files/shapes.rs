//! One truth in many shapes: the half-hours of sixteen days in London, over the day on which the clock goes forward, as
//! different programs would write them. Each shape gives the same energy, span and maximum demand, or a question.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{DateTime, Datelike, Duration, NaiveDate, TimeZone, Timelike, Utc};
use chrono_tz::Tz;

use crate::program::{Run, Workshop};

const LONDON: Tz = Tz::Europe__London;

/// One half-hour.
#[derive(Clone, Copy)]
struct HalfHour {
    start: DateTime<Tz>,
    end: DateTime<Tz>,
    kwh: f64,
}

/// 20 March to 4 April 2026: 766 half-hours.
fn truth() -> Vec<HalfHour> {
    let midnight = |day: u32, month: u32| {
        LONDON
            .with_ymd_and_hms(2026, month, day, 0, 0, 0)
            .single()
            .expect("a midnight")
    };
    let (first, last) = (midnight(20, 3), midnight(5, 4));
    let count = (last.timestamp() - first.timestamp()) / 1800;
    (0..count)
        .map(|at| {
            let start = first + Duration::minutes(30 * at);
            let third = if at % 3 == 0 { 0.0 } else { 0.25 };
            HalfHour {
                start,
                end: start + Duration::minutes(30),
                kwh: 0.5 + ((at * 37) % 101) as f64 / 10.0 + third,
            }
        })
        .collect()
}

fn figure(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What is expected of a shape.
#[derive(Clone, Copy, PartialEq)]
enum Expected {
    /// The energy, the span and the maximum demand.
    All,
    /// The energy and the span: days have no demand periods.
    Energy,
    /// A question.
    Asked,
}

struct Shape {
    name: &'static str,
    text: String,
    expected: Expected,
}

/// A table with a row for each half-hour.
fn rows(name: &'static str, header: &str, row: impl Fn(&HalfHour) -> String) -> Shape {
    let rows: String = truth().iter().map(|own| row(own) + "\n").collect();
    Shape {
        name,
        text: format!("{header}\n{rows}"),
        expected: Expected::All,
    }
}

/// The same with the start in some form and the energy behind a comma.
fn starts(name: &'static str, header: &str, form: &'static str) -> Shape {
    rows(name, header, |own| {
        format!("{},{}", own.start.format(form), figure(own.kwh))
    })
}

fn days() -> BTreeMap<NaiveDate, Vec<HalfHour>> {
    let mut days: BTreeMap<NaiveDate, Vec<HalfHour>> = BTreeMap::new();
    for own in truth() {
        days.entry(own.start.date_naive()).or_default().push(own);
    }
    days
}

/// Cells of a day by the local clock; empty where there is none.
fn by_clock(day: &[HalfHour], empty: &str) -> Vec<String> {
    (0..48)
        .map(|at| {
            let own = day
                .iter()
                .find(|own| own.start.hour() * 2 + own.start.minute() / 30 == at);
            own.map_or_else(|| empty.to_owned(), |own| figure(own.kwh))
        })
        .collect()
}

/// Cells of a day counted through.
fn by_count(day: &[HalfHour], width: usize) -> Vec<String> {
    let mut cells: Vec<String> = day.iter().map(|own| figure(own.kwh)).collect();
    cells.resize(width, String::new());
    cells
}

fn labels(first: usize) -> Vec<String> {
    (0..48)
        .map(|at| 30 * at + first)
        .map(|minute| format!("{:02}:{:02}", minute / 60, minute % 60))
        .collect()
}

/// A table with a row for each day.
fn wide(
    name: &'static str,
    header: Option<&[String]>,
    front: [&str; 2],
    form: &str,
    cells: impl Fn(&[HalfHour]) -> Vec<String>,
) -> Shape {
    let mut text = String::new();
    let [front_names, front_cells] = front;
    if let Some(header) = header {
        let _ = writeln!(text, "{front_names}Date,{}", header.join(","));
    }
    for (date, day) in days() {
        let _ = writeln!(
            text,
            "{front_cells}{},{}",
            date.format(form),
            cells(&day).join(",")
        );
    }
    Shape {
        name,
        text,
        expected: Expected::All,
    }
}

/// Registers at every stamp, from 100 kWh on.
fn register(name: &'static str, header: &str, form: &str) -> Shape {
    let mut count = 100.0;
    let all = truth();
    let mut text = format!("{header}\n{},{count:.3}\n", all[0].start.format(form));
    for own in &all {
        count += own.kwh;
        let _ = writeln!(text, "{},{count:.3}", own.end.format(form));
    }
    Shape {
        name,
        text,
        expected: Expected::All,
    }
}

fn grouped(value: f64, sign: char) -> String {
    let digits = format!("{value:.0}");
    let (head, tail) = digits.split_at(digits.len().saturating_sub(3));
    if head.is_empty() {
        digits
    } else {
        format!("{head}{sign}{tail}")
    }
}

fn shapes() -> Vec<Shape> {
    let estimated = |own: &HalfHour| own.start.day() == 22;
    let minute = "%Y-%m-%d %H:%M";
    let mut all = vec![
        rows("offset-at-end", "time,kWh", |own| {
            format!(
                "{},{}",
                own.end.format("%Y-%m-%dT%H:%M:%S%z"),
                figure(own.kwh)
            )
        }),
        rows("local-end", "time,energy_interval_kwh", |own| {
            format!("{},{}", own.end.format(minute), figure(own.kwh))
        }),
        rows("from-to", "From,To,kWh", |own| {
            format!(
                "{},{},{}",
                own.start.format("%d/%m/%Y %H:%M"),
                own.end.format("%d/%m/%Y %H:%M"),
                figure(own.kwh)
            )
        }),
        starts("interval-start", "Interval start,Consumption (kWh)", minute),
        starts("weekday", "Start time,kWh", "%a %d/%m/%Y %H:%M"),
        starts("month-first", "Start time,Usage kWh", "%m/%d/%Y %I:%M %p"),
        rows("dotted-half-days", "Start time,kWh", |own| {
            let half = if own.start.hour() < 12 {
                "a.m."
            } else {
                "p.m."
            };
            format!(
                "{} {half},{}",
                own.start.format("%d %b %Y %I:%M"),
                figure(own.kwh)
            )
        }),
        starts(
            "zone-in-brackets",
            "start,kWh",
            "%Y-%m-%dT%H:%M:%S[Europe/London]",
        ),
        rows("iso-basic", "start,kWh", |own| {
            format!(
                "{},{}",
                own.start.with_timezone(&Utc).format("%Y%m%dT%H%MZ"),
                figure(own.kwh)
            )
        }),
        starts("iso-week", "start,kWh", "%G-W%V-%u %H:%M"),
        rows("range", "period,kWh", |own| {
            format!(
                "{} - {},{}",
                own.start.format(minute),
                own.end.format("%H:%M"),
                figure(own.kwh)
            )
        }),
        rows("date-and-range", "Date,Time,kWh", |own| {
            format!(
                "{},{}-{},{}",
                own.start.format("%d/%m/%Y"),
                own.start.format("%H:%M"),
                own.end.format("%H:%M"),
                figure(own.kwh)
            )
        }),
        starts("zone-names", "start,kWh", "%d/%m/%Y %H:%M %Z"),
        rows("unix", "start,kWh", |own| {
            format!("{},{}", own.start.timestamp(), figure(own.kwh))
        }),
        rows("serial-numbers", "Start time,kWh", |own| {
            let since = own.start.naive_local()
                - NaiveDate::from_ymd_opt(1899, 12, 30)
                    .expect("a date")
                    .and_hms_opt(0, 0, 0)
                    .expect("midnight");
            format!(
                "{:.6},{}",
                since.num_seconds() as f64 / 86_400.0,
                figure(own.kwh)
            )
        }),
        rows("decimal-commas", "Zeit start;kWh", |own| {
            format!(
                "{};{}",
                own.start.format("%d.%m.%Y %H:%M"),
                format!("{:.3}", own.kwh).replace('.', ",")
            )
        }),
        rows("tabs", "start\tkWh", |own| {
            format!("{}\t{}", own.start.format(minute), figure(own.kwh))
        }),
        rows("watt-hours", "start,E [Wh]", |own| {
            format!("{},{}", own.start.format(minute), figure(own.kwh * 1000.0))
        }),
        rows("megawatt-hours", "start,Energy (MWh)", |own| {
            format!("{},{:.6}", own.start.format(minute), own.kwh / 1000.0)
        }),
        rows("mean-power", "start,Average power (kW)", |own| {
            format!("{},{}", own.start.format(minute), figure(own.kwh * 2.0))
        }),
        rows("unit-in-the-cell", "start,Consumption", |own| {
            format!("{},{} kWh", own.start.format(minute), figure(own.kwh))
        }),
        rows("unit-in-a-column", "start,Value,Unit", |own| {
            format!("{},{},kWh", own.start.format(minute), figure(own.kwh))
        }),
        rows("quality-behind-the-value", "start,kWh", |own| {
            format!(
                "{},{}{}",
                own.start.format(minute),
                figure(own.kwh),
                if estimated(own) { "E" } else { "A" }
            )
        }),
        rows("quality-in-a-column", "start,kWh,Quality", |own| {
            format!(
                "{},{},{}",
                own.start.format(minute),
                figure(own.kwh),
                if estimated(own) {
                    "Estimated"
                } else {
                    "Actual"
                }
            )
        }),
        rows(
            "quantity-in-a-column",
            "meter,start,quantity,value,unit",
            |own| {
                format!(
                    "M1,{},import,{},kWh",
                    own.start.format(minute),
                    figure(own.kwh)
                )
            },
        ),
        rows("formula-cells", "meter,start,kWh", |own| {
            format!("=\"0012\",{},{}", own.start.format(minute), figure(own.kwh))
        }),
        rows("grouped-with-decimals", "start,Wh", |own| {
            let wh = own.kwh * 1000.0;
            format!("{},\"{}.0\"", own.start.format(minute), grouped(wh, ','))
        }),
        rows("grouped-whole-numbers", "start,Wh", |own| {
            format!(
                "{},\"{}\"",
                own.start.format(minute),
                grouped(own.kwh * 1000.0, ',')
            )
        }),
        register("register", "time,register kWh", minute),
        register("register-by-code", "time,1.8.0 (kWh)", "%Y-%m-%dT%H:%M%z"),
        wide(
            "columns-by-clock",
            Some(&labels(0)),
            ["", ""],
            "%d/%m/%Y",
            |day| by_clock(day, ""),
        ),
        wide(
            "columns-by-clock-with-zeros",
            Some(&labels(0)),
            ["", ""],
            "%d/%m/%Y",
            |day| by_clock(day, "0"),
        ),
        wide(
            "columns-by-ends",
            Some(&labels(30)),
            ["", ""],
            "%d/%m/%Y",
            |day| by_clock(day, ""),
        ),
        wide(
            "fifty-columns",
            Some(&(1..=50).map(|at| format!("HH{at:02}")).collect::<Vec<_>>()),
            ["MPAN,", "1012345678901,"],
            "%d/%m/%Y",
            |day| by_count(day, 50),
        ),
        wide(
            "numbered-columns-with-a-total",
            Some(
                &(1..=48)
                    .map(|at| at.to_string())
                    .chain(["Total".to_owned()])
                    .collect::<Vec<_>>(),
            ),
            ["Serial,Measurement,", "E12,kWh,"],
            "%d/%m/%Y",
            |day| {
                let mut cells = by_count(day, 48);
                cells.push(figure(day.iter().map(|own| own.kwh).sum()));
                cells
            },
        ),
        wide("no-header", None, ["", ""], "%Y%m%d", |day| {
            by_count(day, 48)
        }),
    ];
    let semicolons = wide(
        "columns-with-decimal-commas",
        Some(&labels(0)),
        ["", ""],
        "%d.%m.%Y",
        |day| by_clock(day, ""),
    );
    all.push(Shape {
        text: semicolons
            .text
            .replace(',', ";")
            .lines()
            .map(|line| {
                let (date, rest) = line.split_once(';').unwrap_or((line, ""));
                format!(
                    "{date};{}\n",
                    if date == "Date" {
                        rest.to_owned()
                    } else {
                        rest.replace('.', ",")
                    }
                )
            })
            .collect::<Vec<String>>()
            .concat(),
        ..semicolons
    });
    let mut backwards: Vec<String> = starts("backwards", "start,kWh", minute)
        .text
        .lines()
        .skip(1)
        .map(str::to_owned)
        .collect();
    backwards.reverse();
    all.push(Shape {
        name: "backwards",
        text: format!("start,kWh\n{}\n", backwards.join("\n")),
        expected: Expected::All,
    });
    let plain = starts(
        "title-and-total",
        "Supplier report\nMeter: 12345\nUnits: kWh\n\nStart,kWh",
        "%d-%b-%Y %H:%M",
    );
    all.push(Shape {
        text: format!(
            "{}Total,{}\n",
            plain.text,
            figure(truth().iter().map(|own| own.kwh).sum())
        ),
        ..plain
    });
    let mut periods = "Settlement Date,Settlement Period,kWh\n".to_owned();
    let mut daily = "Date,kWh\n".to_owned();
    for (date, day) in days() {
        for (at, own) in day.iter().enumerate() {
            let _ = writeln!(
                periods,
                "{},{},{}",
                date.format("%d-%b-%Y"),
                at + 1,
                figure(own.kwh)
            );
        }
        let _ = writeln!(
            daily,
            "{date},{}",
            figure(day.iter().map(|own| own.kwh).sum())
        );
    }
    all.push(Shape {
        name: "numbered-periods",
        text: periods,
        expected: Expected::All,
    });
    all.push(Shape {
        name: "energy-by-day",
        text: daily,
        expected: Expected::Energy,
    });
    let mut standard: BTreeMap<NaiveDate, [String; 48]> = BTreeMap::new();
    for own in truth() {
        let utc = own.start.with_timezone(&Utc);
        let cells = standard
            .entry(utc.date_naive())
            .or_insert_with(|| std::array::from_fn(|_| String::new()));
        cells[(utc.hour() * 2 + utc.minute() / 30) as usize] = figure(own.kwh);
    }
    let standard: Vec<String> = standard
        .iter()
        .map(|(date, cells)| format!("{date},{}\n", cells.join(",")))
        .collect();
    let standard = standard.concat();
    all.push(Shape {
        name: "standard-time-throughout",
        text: format!("Date,{}\n{standard}", labels(0).join(",")),
        expected: Expected::All,
    });
    // 5.250 Wh or 5250 Wh: nothing in the file decides.
    all.push(Shape {
        expected: Expected::Asked,
        ..rows("points-that-may-group", "start;Wh", |own| {
            format!(
                "{};{}",
                own.start.format(minute),
                grouped(own.kwh * 1000.0 + 1000.0, '.')
            )
        })
    });
    // Day and month change places, and no day of the file shows which is which.
    let one_day: Vec<String> = truth()
        .iter()
        .take(48)
        .map(|own| {
            format!(
                "{},{}\n",
                own.start.format("03/04/2026 %H:%M"),
                figure(own.kwh)
            )
        })
        .collect();
    let one_day = one_day.concat();
    all.push(Shape {
        name: "day-or-month",
        text: format!("start,kWh\n{one_day}"),
        expected: Expected::Asked,
    });
    all
}

/// Is the result the truth? What differs, where it is not.
fn differs(run: &Run, expected: Expected) -> Option<String> {
    let all = truth();
    let kwh: f64 = all.iter().map(|own| own.kwh).sum();
    let most = all.iter().map(|own| own.kwh).fold(0.0, f64::max) * 2.0;
    let result: serde_json::Value = match serde_json::from_str(&run.out) {
        Ok(result) if run.status == 0 => result,
        _ => return Some(run.err.clone()),
    };
    let meters = result["meters"].as_array().map_or(&[][..], Vec::as_slice);
    let [meter] = meters else {
        return Some(format!("{} meters", meters.len()));
    };
    let near = |key: &str, value: f64| {
        meter[key]
            .as_f64()
            .is_some_and(|found| (found - value).abs() < 1e-6)
    };
    let demand = expected == Expected::Energy || near("max_demand_kw", most);
    let span = meter["from"] == "2026-03-20T00:00:00Z" && meter["to"] == "2026-04-04T23:00:00Z";
    let ok = near("energy_import_kwh", kwh) && demand && span;
    (!ok).then(|| {
        format!(
            "{} kWh for {kwh}, {} kW for {most}, {} to {}",
            meter["energy_import_kwh"], meter["max_demand_kw"], meter["from"], meter["to"]
        )
    })
}

#[test]
fn one_truth_in_many_shapes_is_one_result_or_a_question() {
    let shapes = shapes();
    assert!(shapes.len() >= 40, "{}", shapes.len());
    let mut wrong = Vec::new();
    for shape in &shapes {
        let file = format!("{}.csv", shape.name);
        let workshop = Workshop::empty().with(&file, &shape.text);
        let run = workshop.run(&[
            "energy",
            &format!("SITE/{file}"),
            "--format",
            "json",
            "--timezone",
            "Europe/London",
        ]);
        let fault = match shape.expected {
            Expected::Asked => {
                let asked = ["thousands-or-decimals", "ambiguous-date"]
                    .iter()
                    .any(|name| run.err.contains(name));
                (!(asked && run.status == 2)).then(|| run.err.clone())
            }
            expected => differs(&run, expected),
        };
        if let Some(fault) = fault {
            wrong.push(format!("{}: {fault}", shape.name));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {} shapes:\n{}",
        wrong.len(),
        shapes.len(),
        wrong.join("\n")
    );
}

/// The 22nd of March is marked, by a letter or in a column.
#[test]
fn marks_of_quality_are_kept() {
    let all = truth();
    let of_day: f64 = all
        .iter()
        .filter(|own| own.start.day() == 22)
        .map(|own| own.kwh)
        .sum();
    let share = 100.0 * of_day / all.iter().map(|own| own.kwh).sum::<f64>();
    for shape in shapes()
        .iter()
        .filter(|shape| shape.name.starts_with("quality"))
    {
        let workshop = Workshop::empty().with("a.csv", &shape.text);
        let result = workshop.json(&[
            "energy",
            "SITE/a.csv",
            "--format",
            "json",
            "--timezone",
            "Europe/London",
        ]);
        let found = result["meters"][0]["estimated_pct"]
            .as_f64()
            .expect("marks");
        assert!(
            (found - share).abs() < 1e-9,
            "{}: {found} {share}",
            shape.name
        );
    }
}
