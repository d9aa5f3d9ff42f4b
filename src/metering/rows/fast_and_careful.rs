//! The fast path, the careful path, and any cut into chunks give one result.

use chrono::{DateTime, TimeDelta};
use chrono_tz::Tz;
use proptest::prelude::*;
use proptest::sample::select;

use crate::header::dialect::Dialect;
use crate::header::layout::{ColumnPlan, TimeCells};
use crate::header::names::Reason;
use crate::intervals::closed_columns::GatheredColumn;
use crate::intervals::merger::Merger;
use crate::intervals::meter_part::MeterPart;
use crate::rows::{Chunk, Counts, Names, RowReader};
use crate::source::chunks::{Chunks, in_order};
use crate::table::quality::Tally;
use crate::time::clock::Clock;
use crate::time::grid::Grid;
use electrical::Phase;
use site::{Quantity, ReadingKind, RepeatedHour, Stamp, TimeColumn, TimeFormat, Zone};

type Named = (String, Vec<Option<f64>>);

/// What a log gave, meter by meter.
#[derive(Debug, PartialEq)]
struct ParseOutcome {
    lines: usize,
    counts: Counts,
    twice: Vec<[Tally; 3]>,
    numbers: Vec<Vec<u64>>,
    tables: Vec<(Vec<i64>, Vec<Named>)>,
}

fn grid(fast: bool) -> Grid {
    Grid {
        readings: ReadingKind::Average,
        stamp: Stamp::Start,
        cadence_s: if fast { 1 } else { 60 },
        base_s: 60,
        anchor_s: 0,
        within_second: false,
        spread_from_s: None,
        later_counts: false,
        spread_before_s: None,
    }
}

/// What may differ from log to log.
#[derive(Clone, Copy, Debug)]
struct LogForm {
    /// Several samples an interval?
    fast: bool,
    /// Date and time of day in two cells?
    two_cells: bool,
    /// Points between groups of three digits?
    grouped: bool,
}

const SECONDS: LogForm = LogForm {
    fast: true,
    two_cells: false,
    grouped: false,
};

fn reader(missing: &[String], form: LogForm) -> RowReader<'_> {
    let more = usize::from(form.two_cells);
    let time = TimeColumn {
        columns: Vec::new(),
        format: TimeFormat::Pattern("%d.%m.%Y %H:%M:%S".into()),
        zone: Zone::Local,
        midnight_closes_day: false,
        repeated_hour: RepeatedHour::ByOrder,
    };
    let plan = |cell, factor, quantity| ColumnPlan {
        cell: cell + more,
        factor,
        quantity,
        unit: None,
        reason: Reason::Declared,
    };
    let first: Vec<ColumnPlan> = Phase::ALL
        .into_iter()
        .map(|phase| plan(2 + phase.index(), 1.0, Quantity::Current(phase)))
        .collect();
    // The second meter shares a cell with the first.
    let second = [
        plan(3, 0.1, Quantity::ActivePower(None)),
        plan(6, 1.0, Quantity::EnergyImport(None)),
    ];
    RowReader::new(
        Dialect {
            separator: b';',
            decimal: b',',
            thousands: form.grouped.then_some(b'.'),
        },
        Clock::new(&time, Tz::Europe__Berlin).of_two_cells(form.two_cells.then_some(b';')),
        TimeCells {
            first: 1,
            second: form.two_cells.then_some(2),
        },
        Names {
            header: names(form).map(str::to_owned).collect(),
            units: Vec::new(),
        },
        missing,
        &[(grid(form.fast), &first), (grid(form.fast), &second)],
    )
}

fn names(form: LogForm) -> impl Iterator<Item = &'static str> {
    let time: &[&str] = if form.two_cells {
        &["", "date", "time"]
    } else {
        &["", "time"]
    };
    time.iter().chain(&["I1", "I2", "I3", "x", "E"]).copied()
}

fn outcome(
    reader: &RowReader<'_>,
    text: &[u8],
    chunk_bytes: usize,
    work: impl Fn(&[u8]) -> Chunk + Sync,
) -> ParseOutcome {
    let mut merger = Merger::new(reader, 0);
    let mut lines = 0;
    let chunks = Chunks::of_bytes(text, chunk_bytes);
    in_order(chunks, work, |chunk| {
        lines += chunk.lines;
        merger.take(chunk);
    })
    .expect("memory can be read");
    let (mut parts, mut counts) = merger.finish();
    counts.fast = 0;
    for (part, grid) in parts.iter_mut().zip(reader.grids()) {
        part.settle(grid);
    }
    ParseOutcome {
        lines,
        counts,
        twice: parts
            .iter()
            .map(|part| [part.repeats, part.contradictions, part.late])
            .collect(),
        numbers: parts.iter().map(MeterPart::numbers).collect(),
        tables: parts
            .into_iter()
            .map(|part| {
                let (bins, columns) = part.intervals.finish(|bin| bin, (i64::MIN, i64::MAX));
                (
                    bins,
                    columns
                        .into_iter()
                        .flat_map(GatheredColumn::figures)
                        .collect(),
                )
            })
            .collect(),
    }
}

/// The same but for the last digits of sums that were added in another order.
fn nearly_same(a: &ParseOutcome, b: &ParseOutcome) -> bool {
    let close = |a: &Option<f64>, b: &Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-6 * a.abs().max(b.abs()).max(1e-6),
        (a, b) => a == b,
    };
    let same_columns = |a: &[Named], b: &[Named]| {
        a.len() == b.len()
            && a.iter()
                .zip(b)
                .all(|(a, b)| a.0 == b.0 && a.1.iter().zip(&b.1).all(|(a, b)| close(a, b)))
    };
    // A late reading reaches its interval where the chunks are joined: how often and when is
    // exact, the line only approximate.
    let how_often = |outcome: &ParseOutcome| -> Vec<[Tally; 3]> {
        let twice = outcome.twice.iter();
        twice
            .map(|tallies| tallies.map(Tally::without_lines))
            .collect()
    };
    (a.lines, &a.counts, &a.numbers) == (b.lines, &b.counts, &b.numbers)
        && how_often(a) == how_often(b)
        && a.tables
            .iter()
            .zip(&b.tables)
            .all(|(a, b)| a.0 == b.0 && same_columns(&a.1, &b.1))
}

fn cell() -> impl Strategy<Value = String> {
    let odd = [
        "",
        "",
        "",
        "0",
        "-0",
        "-",
        "-9999",
        " 7",
        "7 ",
        "\t5",
        "1e3",
        "+4",
        "1.5",
        ",5",
        "5,",
        "off",
        "\"6,5\"",
        "\"1;2\"",
        "n/a",
        "NaN",
        "1,2,3",
        "00012,500",
        "12345678901234567",
        "1.234",
        "-12.345,5",
        "1.23",
        "1.234.567",
        "0,1234567890123",
        "0,12345678901234",
        "\u{ef}",
        "--1",
        "\u{2212}4,5",
        "\u{2013}7",
    ];
    prop_oneof![
        6 => (-999_999_i32..999_999, 0_usize..4).prop_map(|(number, decimals)| {
            let scale = 10_f64.powi(decimals as i32);
            format!("{:.decimals$}", f64::from(number) / scale).replace('.', ",")
        }),
        1 => select(odd.to_vec()).prop_map(str::to_owned),
    ]
}

/// A line, and how far the clock goes on after it. (s)
fn line() -> impl Strategy<Value = (Vec<String>, &'static str, i64, u8)> {
    let steps = [1_i64, 1, 1, 1, 1, 1, 0, 0, 2, 61, -1, -3600];
    let ends = [
        "\n", "\n", "\n", "\n", "\r\n", "\r", "\n\n", ";\n", ";x;\"q\n",
    ];
    (
        prop::collection::vec(cell(), 5),
        select(ends.to_vec()),
        select(steps.to_vec()),
        0_u8..24,
    )
}

fn text(start: i64, lines: &[(Vec<String>, &'static str, i64, u8)], form: LogForm) -> String {
    let mut time = DateTime::from_timestamp(start, 0).expect("in range");
    let mut text = String::new();
    for (cells, end, step, kind) in lines {
        let local = time.with_timezone(&Tz::Europe__Berlin);
        let stamp = local.format("%d.%m.%Y %H:%M:%S").to_string();
        // Date and time of day in two cells, or in one.
        let between = if form.two_cells { ";" } else { " " };
        let quoted = if form.two_cells { "\";\"" } else { " " };
        let (date, time_of_day) = stamp.split_once(' ').expect("both");
        let stamp = [date, between, time_of_day].concat();
        let stamp = match kind {
            0 => format!("soon{}", if form.two_cells { ";" } else { "" }),
            1 => if form.two_cells { "date;time" } else { "time" }.to_owned(),
            2 => if form.two_cells { ";" } else { "" }.to_owned(),
            7 => [date, " ", between, "  ", time_of_day].concat(),
            3 => format!(" {stamp}"),
            4 => format!("\"{date}{quoted}{time_of_day}\""),
            5 => format!("   {}", if form.two_cells { "; " } else { "" }),
            _ => stamp,
        };
        let label = ["", "a", "\u{feff}b", "\"c\"", "\"c;\"", " "][usize::from(*kind) % 6];
        let shown = match kind {
            6 => cells[..2].join(";"),
            // A header between the rows, whole or with other names.
            1 => names(form)
                .skip(2 + usize::from(form.two_cells))
                .collect::<Vec<_>>()
                .join(";"),
            _ => cells.join(";"),
        };
        text += &[label, ";", &stamp, ";", &shown, end].concat();
        time += TimeDelta::seconds(*step);
    }
    text
}

proptest! {
    #[test]
    fn messy_logs_are_read_alike_on_both_paths_and_in_any_chunks(
        lines in prop::collection::vec(line(), 0..120),
        // Any time, and the two clock changes of 2026 in Berlin.
        start in select(vec![1_780_000_000_i64, 1_774_746_000 - 30, 1_792_886_400 - 30]),
        (fast, two_cells, grouped) in (any::<bool>(), any::<bool>(), any::<bool>()),
        chunk_bytes in 1_usize..2000,
    ) {
        let missing = ["-9999".to_owned()];
        let form = LogForm { fast, two_cells, grouped };
        let reader = reader(&missing, form);
        let text = text(start, &lines, form);
        let quick = outcome(&reader, text.as_bytes(), 1 << 20, |chunk| reader.read(chunk));
        let careful = outcome(&reader, text.as_bytes(), 1 << 20, |chunk| reader.read_carefully(chunk));
        prop_assert_eq!(&quick, &careful);
        prop_assert_eq!(quick.lines, text.matches('\n').count());
        // A quoted cell that holds a line end must not be cut there.
        if !text.contains("\"q\n") {
            let cut = outcome(&reader, text.as_bytes(), chunk_bytes, |chunk| reader.read(chunk));
            prop_assert!(nearly_same(&quick, &cut), "{quick:#?}\n{cut:#?}");
        }
    }
}

#[test]
fn plain_rows_take_the_fast_path() {
    let reader = reader(&[], SECONDS);
    let plain = ";24.11.2026 10:00:00;1,5;2;3;;7\n;24.11.2026 10:00:01;-1,5;;3;x;7\r\n";
    assert_eq!(reader.read(plain.as_bytes()).counts.fast, 2);
    let odd = ";24.11.2026 10:00:00;\"1,5\";2;3;;7\n;24.11.2026 10:00:01;1,5;2;3;;7\n";
    let counts = reader.read(odd.as_bytes()).counts;
    assert_eq!((counts.rows, counts.fast), (2, 1));
}

/// After each second the clock may go back by one: what it shows again is left out sample by sample,
/// wherever the chunks are cut, and nothing else is.
#[test]
fn a_clock_put_back_by_a_second_costs_the_late_samples_only() {
    let reader = reader(&[], SECONDS);
    for back_after in 1..120 {
        let row = |second: u32, amps: u32| {
            format!(
                ";24.11.2026 10:{:02}:{:02};{amps};0;0;;7\n",
                second / 60,
                second % 60
            )
        };
        let mut text: String = (0..=back_after).map(|second| row(second, 8)).collect();
        text.push_str(&row(back_after - 1, 900));
        text.push_str(&row(back_after, 900));
        text.extend((back_after + 1..120).map(|second| row(second, 8)));
        let whole = outcome(&reader, text.as_bytes(), 1 << 20, |chunk| {
            reader.read(chunk)
        });
        let [repeats, contradictions, late] = whole.twice[0].map(|tally| tally.count);
        // What follows its own moment contradicts it, the other comes late.
        assert_eq!((repeats, contradictions + late), (0, 2), "{back_after}");
        assert_eq!(whole.tables[0].1[0].1, [Some(8.0); 2], "{back_after}");
        for chunk_bytes in [1, 50, 100, 333, 1000] {
            let cut = outcome(&reader, text.as_bytes(), chunk_bytes, |chunk| {
                reader.read(chunk)
            });
            assert!(nearly_same(&whole, &cut), "{back_after} {chunk_bytes}");
        }
    }
}

/// Sixty samples a minute of which one is written twice and one again with another value: two
/// samples too many, wherever the chunks are cut.
#[test]
fn a_repeated_sample_is_found_across_the_border_of_chunks() {
    let reader = reader(&[], SECONDS);
    let mut text = String::new();
    for second in 0..60 {
        let row = |amps: u32| format!(";24.11.2026 10:00:{second:02};{amps};0;0;;7\n");
        text.push_str(&row(second));
        match second {
            20 => text.push_str(&row(second)),
            40 => text.push_str(&row(99)),
            _ => {}
        }
    }
    for chunk_bytes in [1, 40, 333, 1 << 20] {
        let found = outcome(&reader, text.as_bytes(), chunk_bytes, |chunk| {
            reader.read(chunk)
        });
        let [repeats, contradictions, _] = found.twice[0];
        assert_eq!(
            (repeats.count, contradictions.count),
            (1, 1),
            "{chunk_bytes}"
        );
        assert_eq!(found.numbers[0], [60, 60, 60, 60]);
        // The mean of 0 to 59.
        assert_eq!(found.tables[0].1[0].1, [Some(29.5)]);
    }
}
