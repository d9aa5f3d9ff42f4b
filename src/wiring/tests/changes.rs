//! Changes within a log that are reported, and a ratio that changes where no neutral is logged.

use super::*;

fn kinds(log: &MeterLog) -> Vec<FaultKind> {
    log.faults.iter().map(|fault| fault.kind).collect()
}

#[test]
fn loads_of_two_phases_that_change_places_are_dated() {
    for seed in 0..6 {
        let (a, b) = [(0, 1), (1, 2), (0, 2)][(seed % 3) as usize];
        for days in [3.0, 7.0] {
            let faults = [(Fault::LoadsExchanged(a, b), 0.5..1.0)];
            let (read, _) = verified(seed, days, &faults);
            let phases = [Phase::ALL[a], Phase::ALL[b]];
            assert_eq!(
                kinds(&read),
                [FaultKind::LoadsExchanged { phases }],
                "seed {seed}, {days} days"
            );
            let half = read.table.len() / 2;
            let off_min = read.faults[0].rows.start.abs_diff(half);
            assert!(
                off_min <= 240,
                "seed {seed}, {days} days: {off_min} min off"
            );
        }
    }
}

#[test]
fn a_standby_generator_is_a_state() {
    for seed in 0..6 {
        for frequency in [false, true] {
            let mut meter = Meter::of_seed(seed, 7.0);
            meter.frequency = frequency;
            let when = (33.0 / 168.0)..(37.0 / 168.0);
            let faults = [(Fault::Generator, when)];
            let columns = log(&meter, &Workshop::of_seed(seed), &faults);
            let table = IntervalTable::of_columns(meter.starts(), 60, columns);
            let mut read = MeterLog::of_table(0, table);
            verify_meter(&site(), &mut read);
            assert_eq!(kinds(&read), [FaultKind::OnGenerator], "seed {seed}");
            let rows = &read.faults[0].rows;
            assert!(
                rows.start.abs_diff(1980) < 5 && rows.end.abs_diff(2220) < 5,
                "{rows:?}"
            );
        }
    }
}

#[test]
fn another_logger_and_two_in_one_file_are_told() {
    for seed in 0..6 {
        let (read, _) = verified(seed, 7.0, &[(Fault::CoarserLogger, 0.5..1.0)]);
        assert_eq!(kinds(&read), [FaultKind::LoggerChanged], "seed {seed}");
        let off = read.faults[0].rows.start.abs_diff(read.table.len() / 2);
        assert!(off <= 3, "seed {seed}: {off} rows off");
        let (read, _) = verified(seed, 7.0, &[(Fault::TwoLoggers, 0.0..1.0)]);
        assert_eq!(kinds(&read), [FaultKind::TwoLoggers], "seed {seed}");
    }
}

#[test]
fn a_ratio_that_changes_without_a_neutral_is_put_right() {
    for seed in 0..6 {
        let phase = (seed % 3) as usize;
        let mut meter = Meter::of_seed(seed, 7.0);
        meter.neutral = false;
        for part in [0.5, 0.9] {
            let faults = [(Fault::Ratio(phase, part), 0.5..1.0)];
            let columns = log(&meter, &Workshop::of_seed(seed), &faults);
            let table = IntervalTable::of_columns(meter.starts(), 60, columns);
            let mut read = MeterLog::of_table(0, table);
            verify_meter(&site(), &mut read);
            let [fault] = read.faults.as_slice() else {
                panic!("seed {seed}, {part}: {:?}", read.faults);
            };
            let FaultKind::Ratio { factor } = fault.kind else {
                panic!("seed {seed}, {part}: {fault:?}");
            };
            assert_eq!(fault.phase, Some(Phase::ALL[phase]), "seed {seed}");
            assert!((factor * part - 1.0).abs() < 0.015, "seed {seed}: {factor}");
        }
    }
}

/// Work from 7 to 17 h, on the clock of Berlin: an hour ahead of UTC in March.
#[test]
fn a_log_in_utc_that_is_declared_local_is_doubted() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "[site]\nname = \"test\"\ntimezone = \"Europe/Berlin\"\n\
                [supply]\nline_voltage_v = 400\nphase_limit_a = 100\n\
                [[schedule]]\nname = \"day\"\ndays = \"Mon-Fri\"\nfrom = \"07:00\"\nto = \"17:00\"\n\
                [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"main.csv\"\n";
    std::fs::write(folder.path().join("site.toml"), text).expect("written");
    let head = "machine,circuit,connection,power_kw\n";
    std::fs::write(folder.path().join("machines.csv"), head).expect("written");
    let site = site::read_site(folder.path()).expect("a sound site").0;
    for seed in 0..6 {
        for (shift_h, expected) in [
            (0, vec![]),
            (-1, vec![FaultKind::TimeZone { hours: -1.0 }]),
            (1, vec![FaultKind::TimeZone { hours: 1.0 }]),
        ] {
            let meter = Meter::of_seed(seed, 7.0);
            let columns = log(&meter, &Workshop::of_seed(seed), &[]);
            // The workshop's clock shows local time.
            let starts = meter
                .starts()
                .into_iter()
                .map(|start| start - 3600 + 3600 * shift_h);
            let table = IntervalTable::of_columns(starts.collect(), 60, columns);
            let mut read = MeterLog::of_table(0, table);
            verify_meter(&site, &mut read);
            assert_eq!(kinds(&read), expected, "seed {seed}, {shift_h} h");
        }
    }
}
