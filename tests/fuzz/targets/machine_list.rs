//! The lists beside `site.toml`: machines, rounds of readings, carbon factors, variables. The first
//! byte tells which.
#![no_main]

use std::cell::LazyCell;

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::{MACHINES, SITE, Workshop};

const MORE: &str = "\
[[meter]]
id = 'main'
measures = 'supply'
files = 'a.csv'
[[variable]]
name = 'doors'
file = 'variables.csv'
column = 'doors'
per = 'day'
[carbon]
file = 'carbon.csv'
column = 'g'
";

const FILES: [(&str, &str); 4] = [
    ("machines.csv", MACHINES),
    (
        "readings.csv",
        "time,at,l1_a,l2_a,l3_a\n2026-03-09 10:00,supply,10,11,12\n",
    ),
    (
        "carbon.csv",
        "time,g\n2026-03-09 00:00,150\n2026-03-09 01:00,160\n",
    ),
    ("variables.csv", "date,doors\n2026-03-09,12\n2026-03-10,14\n"),
];

thread_local! {
    static WORKSHOP: LazyCell<Workshop> = LazyCell::new(|| {
        let workshop = Workshop::new();
        workshop.put("site.toml", format!("{SITE}{MORE}"));
        workshop.put("a.csv", "time,I1,P\n2026-03-09 00:15,27.2,14.3\n2026-03-09 00:30,27.2,14.3\n");
        workshop
    });
}

fuzz_target!(|data: &[u8]| {
    let Some((which, list)) = data.split_first() else {
        return;
    };
    WORKSHOP.with(|workshop| {
        let (fuzzed, _) = FILES[usize::from(*which) % FILES.len()];
        for (name, usual) in FILES {
            workshop.put(
                name,
                if name == fuzzed {
                    list
                } else {
                    usual.as_bytes()
                },
            );
        }
        workshop.read();
    });
});
