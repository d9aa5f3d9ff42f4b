//! A file of interval data: NEM12.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use tapoff_fuzz::interval_files::read_as;

fuzz_target!(|data: &[u8]| -> Corpus {
    if read_as("NEM12", data) {
        Corpus::Keep
    } else {
        Corpus::Reject
    }
});
