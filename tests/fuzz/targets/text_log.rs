//! A text log. The first byte tells what site.toml declares about it.
#![no_main]

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::logs::LogSites;

thread_local! {
    static SITES: LogSites = LogSites::new("log.csv");
}

fuzz_target!(|data: &[u8]| {
    if let Some((which, log)) = data.split_first() {
        SITES.with(|sites| sites.read(*which, log));
    }
});
