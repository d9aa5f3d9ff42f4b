//! How fast rows are read: plain lines by the fast path, quoted ones by the careful path.

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period, read_logs};
use tapoff::site::{Site, read_site};

mod long_log;

use long_log::{Writing, write_site};

fn read(site: &Site) -> Logs {
    let mut messages = Messages::new();
    let logs = read_logs(site, Period::default(), &mut messages);
    assert!(!messages.has_errors());
    logs
}

fn parsing(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("reading a day of samples");
    group
        .sample_size(20)
        .measurement_time(Duration::from_secs(5));
    for (name, quoted) in [("plain", false), ("quoted", true)] {
        let folder = tempfile::tempdir().expect("a folder");
        let writing = Writing {
            seconds: Some(86_400),
            quoted,
            ..Writing::default()
        };
        let (rows, bytes) = write_site(folder.path(), writing).expect("room on the disk");
        let (site, _) = read_site(folder.path()).expect("a sound site");
        let log = &read(&site).meters[0];
        assert_eq!(
            (log.rows, log.plain_rows),
            (rows, if quoted { 0 } else { rows })
        );
        group.throughput(Throughput::Bytes(bytes));
        group.bench_function(name, |bench| bench.iter(|| read(black_box(&site))));
    }
    group.finish();
}

criterion_group!(benches, parsing);
criterion_main!(benches);
