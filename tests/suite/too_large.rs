//! Input that would fill the memory or never end: a message within a bound, told in DEVELOPERS.md.

use std::fs::File;
use std::io::Write;
use std::process::Command;

use flate2::Compression;
use flate2::write::GzEncoder;

use crate::program::{SITE, Workshop};

/// Address space that the program may take, libraries and threads included. (kB)
const MOST_KB: u64 = 700_000;

/// Runs `check` with bounded memory; gives the status and what was said.
fn check(workshop: &Workshop) -> (Option<i32>, String) {
    let program = workshop.command(&["check", "SITE"]);
    let words = std::iter::once(program.get_program()).chain(program.get_args());
    let run = Command::new("sh")
        .args(["-c", &format!("ulimit -v {MOST_KB}; exec \"$@\""), "sh"])
        .args(words)
        .output()
        .expect("a shell is there");
    let said = String::from_utf8_lossy(&run.stderr).into_owned();
    (run.status.code(), said)
}

fn refused(workshop: &Workshop, because: &str) {
    let (status, said) = check(workshop);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains(because), "{said}");
}

fn accepted(workshop: &Workshop) {
    let (status, said) = check(workshop);
    assert!(matches!(status, Some(0 | 1)), "{status:?}: {said}");
}

/// The five machines with a packed log.
fn packed(write: impl Fn(&mut GzEncoder<File>)) -> Workshop {
    let workshop = Workshop::new().with("meters/main.csv.gz", "").replace(
        "site.toml",
        "files = \"meters/main.csv\"",
        "files = \"meters/main.csv.gz\"",
    );
    let file = File::create(workshop.site().join("meters/main.csv.gz")).expect("it can be made");
    let mut packer = GzEncoder::new(file, Compression::fast());
    write(&mut packer);
    packer.finish().expect("it can be written");
    workshop
}

const HEADER: &[u8] = b"time,I1,I2,I3,P1,P2,P3\n";

/// 200 MB of one row, packed to 1 MB: the repetitions are counted, not kept.
#[test]
fn a_row_that_is_repeated_for_ever_takes_no_memory() {
    let rows = b"2026-03-09 08:15,18,10,2,3.6,2.3,0.4\n".repeat(10_000);
    accepted(&packed(|file| {
        file.write_all(HEADER).expect("written");
        for _ in 0..550 {
            file.write_all(&rows).expect("written");
        }
    }));
}

/// 1 GB of noughts without a line's end, packed to 5 MB, and as a file with a hole.
#[test]
fn a_line_without_end_is_no_row() {
    let zeros = vec![b'0'; 1 << 20];
    let words = "a line of more than a million characters";
    refused(
        &packed(|file| {
            file.write_all(HEADER).expect("written");
            for _ in 0..1024 {
                file.write_all(&zeros).expect("written");
            }
        }),
        words,
    );
    let workshop = Workshop::new();
    let log = File::options()
        .append(true)
        .open(workshop.site().join("meters/main.csv"))
        .expect("the log is there");
    log.set_len(1 << 30).expect("a file may have a hole");
    refused(&workshop, words);
}

fn lines(count: usize, line: impl Fn(usize) -> String) -> String {
    let lines: Vec<String> = (0..count).map(line).collect();
    lines.join("\n") + "\n"
}

#[test]
fn a_log_of_ever_so_many_columns_is_read() {
    let more = |cell: &str| format!(",{cell}").repeat(100_000);
    let ones = more("1");
    let rows = lines(24, |hour| {
        format!("2026-03-09 {hour:02}:00,18,10,2,3.6,2.3,0.4{ones}")
    });
    let log = format!("time,I1,I2,I3,P1,P2,P3{}\n{rows}", more("x"));
    accepted(&Workshop::new().with("meters/main.csv", log));
}

#[test]
fn lists_far_beyond_a_workshop_are_refused() {
    let machines = lines(1_000_000, |at| format!("m{at},DB1"));
    refused(
        &Workshop::new().with("machines.csv", format!("machine,circuit\n{machines}")),
        "the machine list has more than 10000 rows",
    );
    // Each board feeds the next.
    let boards = lines(1001, |at| {
        let above = match at {
            0 => "supply".to_owned(),
            _ => format!("B{}", at - 1),
        };
        format!("[[board]]\nid = \"B{at}\"\nfed_from = \"{above}\"")
    });
    refused(
        &Workshop::new().with("site.toml", format!("{SITE}{boards}")),
        "`site.toml` has 1002 `[[board]]`; a site may have 1000",
    );
    let workshop = Workshop::new();
    let list = File::options()
        .append(true)
        .open(workshop.site().join("machines.csv"))
        .expect("the list is there");
    list.set_len(1 << 30).expect("a file may have a hole");
    refused(&workshop, "it has more than 16 MB");
}

/// A ring of a thousand boards, each fed from the next.
#[test]
fn boards_fed_from_each_other_are_refused() {
    let boards = lines(999, |at| {
        let above = (at + 1) % 999;
        format!("[[board]]\nid = \"B{at}\"\nfed_from = \"B{above}\"")
    });
    refused(
        &Workshop::new().with("site.toml", format!("{SITE}{boards}")),
        "board-loop",
    );
}

/// The five machines with a log of one header; `columns` is the meter's table of columns.
fn headed(header: &str, columns: &str, rows: &str) -> Workshop {
    let site = SITE.split("[meter.columns]").next().expect("a beginning");
    Workshop::new()
        .with("site.toml", format!("{site}{columns}"))
        .with("meters/main.csv", format!("{header}\n{rows}"))
}

/// Rows of a morning whose second cell is a current.
fn morning(cells: usize) -> String {
    let cells = ",7".repeat(cells);
    lines(24, |hour| format!("2026-03-09 {hour:02}:00{cells}"))
}

/// Refused with a text that a person can read to its end.
fn refused_in_short(workshop: &Workshop, because: &str) {
    let (status, said) = check(workshop);
    assert_eq!(status, Some(2), "{said}");
    assert!(said.contains(because), "{said}");
    let first = said.split("\n\n").next().unwrap_or_default();
    assert!(first.len() < 2500, "{} bytes: {first}", first.len());
}

#[test]
fn a_header_of_megabytes_is_told_in_short() {
    let many = (0..200_000).map(|at| format!(",column number {at}"));
    let header = format!("time{}", many.collect::<String>());
    let wanted = "[meter.columns]\ncurrent_l1_a = \"I1\"\n";
    refused_in_short(
        &headed(&header, wanted, &morning(3)),
        "the log of meter `main` has no column `I1`",
    );
    refused_in_short(
        &headed(&header, "", &morning(3)),
        "no column of `meters/main.csv` is recognised",
    );
    // One name of a million letters, and one that is asked for.
    let long = "x".repeat(1_000_000);
    refused_in_short(
        &headed(&format!("time,{long}"), wanted, &morning(1)),
        "the log of meter `main` has no column `I1`",
    );
    let wanted = format!("[meter.columns]\ncurrent_l1_a = \"{long}\"\n");
    refused_in_short(
        &headed("time,I1", &wanted, &morning(1)),
        "the log of meter `main` has no column `xxx",
    );
}

/// What is asked for stands behind a megabyte of other names.
#[test]
fn a_column_at_the_end_of_a_long_header_is_found() {
    let many = (0..60_000).map(|at| format!(",column number {at}"));
    let header = format!("time{},I1", many.collect::<String>());
    let wanted = "[meter.columns]\ncurrent_l1_a = \"I1\"\n";
    accepted(&headed(&header, wanted, &morning(60_001)));
}

/// Each of these once took the time of all columns for every column.
#[test]
fn names_that_come_again_and_again_are_told_in_short() {
    let again = |name: &str, count: usize| format!("time{}", format!(",{name}").repeat(count));
    refused_in_short(
        &headed(&again("current_l1_a", 18_000), "", &morning(3)),
        "two columns of `meters/main.csv` may be `current_l1_a`",
    );
    let rows = "2026-03-09 00:00,1,1\n".repeat(6000);
    refused_in_short(
        &headed(&again("kWh", 30_000), "", &rows),
        "two columns of `meters/main.csv` may be `energy_interval_kwh`",
    );
    refused_in_short(
        &headed(&again("1.8.1", 43_000), "", &morning(3)),
        "43000 columns of `meters/main.csv` are taken for meter `main`; a meter may have 1000",
    );
    let meters = lines(999, |at| {
        format!(
            "[[meter]]\nid = \"m{at}\"\nmeasures = \"DB1\"\nfiles = \"meters/main.csv\"\n\
             columns = {{ current_l1_a = \"nowhere {at}\" }}"
        )
    });
    let many = (0..25_000).map(|at| format!(",column {at}"));
    let header = format!("time{}", many.collect::<String>());
    refused_in_short(
        &headed(&header, &meters, &morning(3)),
        "the log of meter `m0` has no column `nowhere 0`",
    );
}

/// The same slip of the pen made an interval of a hundred years, cut at its quarter-hours.
#[test]
fn rows_that_lie_centuries_apart_are_no_interval() {
    let rows = |year: u32| format!("2026-03-09 08:00,7\n{year}-03-09 08:00,7\n");
    let wanted = "[meter.columns]\nactive_power_kw = \"P\"\n";
    let (status, said) = check(&headed("time,P", wanted, &rows(9999)));
    assert!(matches!(status, Some(0 | 1)), "{said}");
    accepted(&headed("time,P", wanted, &rows(2099)));
}

/// A page that claims more texts than there are rows: as many as would fill any memory.
#[test]
fn a_parquet_page_that_lies_is_refused() {
    let lying = include_bytes!("../fixtures/lying-page.parquet");
    let workshop = headed("", "[meter.columns]\nactive_power_kw = \"P2\"\n", "")
        .replace(
            "site.toml",
            "time = { column = \"time\", format = \"%Y-%m-%d %H:%M\" }\n",
            "",
        )
        .with("meters/main.csv", lying);
    refused(
        &workshop,
        "a page claims to hold 68116944363978741 values, where there is room for 12",
    );
}
