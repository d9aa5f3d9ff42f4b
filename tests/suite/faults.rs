//! Faults while the program works: killed at any moment, nowhere to write, nobody to read.

use std::fs;
use std::process::Stdio;
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::program::{SITE, Workshop};

/// Runs of the kill test: enough for a chance at each of its writes, few enough for every test run.
const KILLS: u32 = 40;

/// Numbers from 0 to 1 that are the same in every run.
fn shares() -> impl Iterator<Item = f64> {
    std::iter::successors(Some(1_u64), |state| {
        Some(
            state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407),
        )
    })
    .map(|state| (state >> 33) as f64 / f64::from(1_u32 << 31))
}

#[test]
fn killed_at_any_moment_it_leaves_a_whole_page() {
    let old = Workshop::new();
    let page = |workshop: &Workshop| {
        let run = workshop.run_command(&["report", "SITE", "-o", "BESIDE/report"]);
        assert_eq!(run.status, 0, "{}", run.err);
        fs::read(workshop.beside("report/index.html")).expect("the page is there")
    };
    let first = page(&old);
    let new = old.replace(
        "site.toml",
        "name = \"Five Machines\"",
        "name = \"Six Machines\"",
    );
    let started = Instant::now();
    let second = page(&new);
    let whole = started.elapsed();
    assert_ne!(first, second);

    let place = new.beside("report/index.html");
    let mut cut_short = 0;
    for share in shares().take(KILLS as usize) {
        fs::write(&place, &first).expect("the page can be laid back");
        let mut child = new
            .command(&["report", "SITE", "-o", "BESIDE/report"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command can be started");
        sleep(whole.mul_f64(share * 1.1));
        let ran_out = child
            .try_wait()
            .expect("the command can be asked")
            .is_some();
        let _ = child.kill();
        child.wait().expect("it has ended");
        cut_short += u32::from(!ran_out);
        let left = fs::read(&place).expect("a page is there");
        assert!(
            left == first || left == second,
            "a page that is neither old nor new"
        );
    }
    assert!(
        cut_short > KILLS / 10,
        "only {cut_short} of {KILLS} were cut short"
    );
}

#[test]
fn a_place_that_cannot_be_written_is_named_and_nothing_is_left_behind() {
    let workshop = Workshop::new().with("taken", "a file, not a folder");
    for arguments in [
        ["report", "SITE", "-o", "SITE/taken/report"],
        ["energy", "SITE", "-o", "SITE/taken/energy.txt"],
        ["balance", "SITE", "-o", "BESIDE/not-there/plan.txt"],
    ] {
        let before = workshop.files();
        let run = workshop.run_command(&arguments);
        assert_eq!(run.status, 2, "{}", run.err);
        let place = arguments[3].rsplit('/').nth(1).expect("a folder");
        assert!(run.err.contains(place), "{}", run.err);
        assert_eq!(workshop.files(), before);
    }
}

/// `head` closes its end early; that is no error of the program.
#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let workshop = Workshop::new();
    let mut child = workshop
        .command(&["balance", "SITE", "--format", "json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command can be started");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it has ended");
    assert_eq!(output.status.code(), Some(0));
    assert!(
        output.stderr.is_empty(),
        "{:?}",
        String::from_utf8_lossy(&output.stderr)
    );
}

/// A pipe without a writer would keep a reader waiting for ever.
#[cfg(unix)]
#[test]
fn pipes_and_devices_are_not_read() {
    let files = [
        "site.toml",
        "machines.csv",
        "meters/main.csv",
        "readings.csv",
        "carbon.csv",
    ];
    for name in files {
        for pipe in [true, false] {
            let mut workshop = Workshop::new();
            if name == "carbon.csv" {
                let site = format!("{SITE}[carbon]\nfile = \"carbon.csv\"\n");
                workshop = workshop.with("site.toml", site);
            }
            let workshop = workshop.with(name, "").without(name);
            let place = workshop.site().join(name);
            if pipe {
                let made = std::process::Command::new("mkfifo").arg(&place).status();
                assert!(made.is_ok_and(|status| status.success()));
            } else {
                std::os::unix::fs::symlink("/dev/zero", &place).expect("a link");
            }
            let mut child = workshop
                .command(&["check", "SITE"])
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("the command can be started");
            let started = Instant::now();
            let status = loop {
                if let Some(status) = child.try_wait().expect("the command can be asked") {
                    break status;
                }
                if started.elapsed() > Duration::from_secs(20) {
                    let _ = child.kill();
                    panic!("{name} keeps it waiting");
                }
                sleep(Duration::from_millis(5));
            };
            assert_eq!(status.code(), Some(2), "{name}");
        }
    }
}
