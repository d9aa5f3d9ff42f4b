//! The whole way from the site folder to energy and demand, with three million samples.

use std::path::PathBuf;
use std::time::Duration;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use tapoff::demand;
use tapoff::metering::Period;
use tapoff::site::read_site;
use tapoff::wiring::read_logs;

mod long_log;

use long_log::{DAYS, Writing, write_site};

fn whole_pass(criterion: &mut Criterion) {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("long-log");
    let (rows, bytes) = write_site(&folder, Writing::default()).expect("room on the disk");
    assert_eq!(rows, DAYS * 86_400);
    let mut group = criterion.benchmark_group("site to energy");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(15))
        .throughput(Throughput::Bytes(bytes));
    group.bench_function("three million samples", |bench| {
        bench.iter(|| {
            let (site, mut messages) = read_site(&folder).expect("a sound site");
            let logs = read_logs(&site, Period::default(), &mut messages);
            assert_eq!(logs.meters[0].plain_rows, rows);
            demand::analyse(&site, &logs, None)
        });
    });
    group.finish();
}

criterion_group!(benches, whole_pass);
criterion_main!(benches);
