//! `site.toml`, with a machine list and logs beside it.
#![no_main]

use std::cell::LazyCell;

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::Workshop;

const LOG: &str = "\
time,U1,U2,U3,I1,I2,I3,IN,P1,P2,P3,Q1,Q2,Q3,kWh
2026-03-09 00:01,237.1,236.8,238.2,27.2,14.3,4.1,23.9,6.02,3.38,0.97,2.09,0.10,0,48210.4
2026-03-09 00:02,237.0,236.7,238.1,27.2,14.3,4.1,23.9,6.02,3.38,0.96,2.09,0.10,0,48210.6
2026-03-09 00:03,237.0,236.7,238.1,27.2,14.3,4.1,23.9,6.02,3.38,0.96,2.09,0.10,0,48210.8
";

thread_local! {
    static WORKSHOP: LazyCell<Workshop> = LazyCell::new(|| {
        let workshop = Workshop::new();
        workshop.put("a.csv", LOG);
        workshop.put("variables.csv", "date,doors\n2026-03-09,12\n2026-03-10,14\n");
        workshop.put("carbon.csv", "time,g\n2026-03-09 00:00,150\n2026-03-09 01:00,160\n");
        workshop
    });
}

fuzz_target!(|data: &[u8]| {
    WORKSHOP.with(|workshop| {
        workshop.put("site.toml", data);
        workshop.read();
    });
});
