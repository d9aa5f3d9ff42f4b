//! A file of interval data: a row per day.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use tapoff_fuzz::interval_files::read_as;

fuzz_target!(|data: &[u8]| -> Corpus {
    if read_as("a row per day", data) {
        Corpus::Keep
    } else {
        Corpus::Reject
    }
});
