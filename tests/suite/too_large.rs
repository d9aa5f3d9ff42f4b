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
