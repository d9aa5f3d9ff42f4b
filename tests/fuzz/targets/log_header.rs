//! The header of a log, above rows of plain numbers that fit it.
#![no_main]

use std::fmt::Write;

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::logs::LogSites;

thread_local! {
    static SITES: LogSites = LogSites::new("log.csv");
}

fuzz_target!(|data: &[u8]| {
    let Some((which, header)) = data.split_first() else {
        return;
    };
    let separator = [b',', b';', b'\t', b'|'][usize::from(*which) % 4];
    let cells = header.split(|byte| *byte == separator);
    let columns = cells.skip(1).count().min(300);
    let mut rows = String::from("\n");
    for row in 0..12 {
        // Writing to a string cannot fail.
        let _ = write!(rows, "2026-03-{:02} 08:{:02}", 9 + row / 6, row % 6 * 10);
        for column in 0..columns {
            let _ = write!(rows, "{}{}.5", separator as char, column * 3 % 40 + row);
        }
        rows.push('\n');
    }
    let log = [header, rows.as_bytes()].concat();
    // Recognised, not declared: the site of number 0.
    SITES.with(|sites| sites.read(0, &log));
});
