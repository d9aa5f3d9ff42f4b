//! A log packed with gzip. Half of the changes are made to what is packed, and packed again.
#![no_main]

use std::io::{Read, Write};

use flate2::Compression;
use flate2::read::MultiGzDecoder;
use flate2::write::GzEncoder;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use tapoff_fuzz::logs::LogSites;

/// Most of what is changed before it is packed again.
const MOST_UNPACKED: usize = 16 << 10;

thread_local! {
    static SITES: LogSites = LogSites::new("log.csv.gz");
}

fuzz_target!(|data: &[u8]| {
    SITES.with(|sites| sites.read(0, data));
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    let changed = if seed.is_multiple_of(2) {
        repacked(&data[..size], seed)
    } else {
        None
    };
    match changed.filter(|packed| packed.len() <= max_size) {
        Some(packed) => {
            data[..packed.len()].copy_from_slice(&packed);
            packed.len()
        }
        None => fuzzer_mutate(data, size, max_size),
    }
});

/// Packed anew, in one or two members, after a change; `None` where it cannot be unpacked.
fn repacked(packed: &[u8], seed: u32) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    let unpacker = MultiGzDecoder::new(packed);
    unpacker
        .take(MOST_UNPACKED as u64)
        .read_to_end(&mut text)
        .ok()?;
    let size = text.len();
    text.resize(MOST_UNPACKED, 0);
    let size = fuzzer_mutate(&mut text, size, MOST_UNPACKED);
    let text = &text[..size];
    let cut = if seed & 2 == 0 {
        0
    } else {
        (seed >> 2) as usize % (size + 1)
    };
    let mut members = Vec::new();
    for part in [&text[..cut], &text[cut..]]
        .into_iter()
        .filter(|part| !part.is_empty())
    {
        let mut packer = GzEncoder::new(&mut members, Compression::new(seed >> 4 & 7));
        packer.write_all(part).ok()?;
        packer.finish().ok()?;
    }
    Some(members)
}
