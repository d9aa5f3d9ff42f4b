//! A file of interval data: registers read by hand.
#![no_main]

use libfuzzer_sys::{Corpus, fuzz_target};
use tapoff_fuzz::interval_files::read_as;

fuzz_target!(|data: &[u8]| -> Corpus {
    if read_as("registers read by hand", data) {
        Corpus::Keep
    } else {
        Corpus::Reject
    }
});
