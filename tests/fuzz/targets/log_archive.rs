//! An archive of logs, or a workbook.
#![no_main]

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::Workshop;
use tapoff_fuzz::interval_files::open;

thread_local! {
    static WORKSHOP: Workshop = Workshop::new();
}

fuzz_target!(|data: &[u8]| {
    WORKSHOP.with(|workshop| {
        workshop.put("a.zip", data);
        open(&workshop.path().join("a.zip"));
    });
});
