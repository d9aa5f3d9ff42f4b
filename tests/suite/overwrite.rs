//! A file that holds something else than such a result is not written over, unless told to.

use std::fs;

use crate::program::Workshop;

const NOTES: &str = "remember the milk\n";

/// Commands that write a file, the file last.
const WRITING: [&[&str]; 9] = [
    &["check", "SITE", "-o"],
    &["energy", "SITE", "-o"],
    &["energy", "SITE", "--by", "day", "--format", "csv", "-o"],
    &["energy", "SITE", "--format", "xlsx", "-o"],
    &["balance", "SITE", "-o"],
    &["balance", "SITE", "--format", "json", "-o"],
    &["balance", "SITE", "--certificate"],
    &["balance", "SITE", "--circuit-chart"],
    &["diagnose", "SITE", "--format", "csv", "-o"],
];

#[test]
fn somebody_elses_file_stays_and_a_result_is_renewed() {
    let workshop = Workshop::new();
    let path = workshop.beside("file");
    for command in WRITING {
        let run = |more: &[&str]| {
            let arguments = [command, &["BESIDE/file"][..], more].concat();
            workshop.run(&arguments)
        };
        fs::write(&path, NOTES).expect("the folder can be written");
        let refused = run(&[]);
        assert_eq!(refused.status, 2, "{command:?}: {}", refused.err);
        assert!(
            refused.err.contains("file` is there") && refused.err.contains("--force"),
            "{}",
            refused.err
        );
        assert_eq!(fs::read(&path).ok().as_deref(), Some(NOTES.as_bytes()));
        let forced = run(&["--force"]);
        assert!(forced.status < 2, "{command:?}: {}", forced.err);
        let written = fs::read(&path).expect("it is there");
        assert_ne!(written, NOTES.as_bytes());
        let again = run(&[]);
        assert!(again.status < 2, "{command:?}: {}", again.err);
        assert_eq!(fs::read(&path).ok(), Some(written), "{command:?}");
    }
}

#[test]
fn a_report_writes_over_no_file_of_somebody_else_and_then_over_none() {
    let workshop = Workshop::new();
    let folder = workshop.beside("report");
    let report = |more: &[&str]| {
        workshop.run(&[&["report", "SITE", "-o", "BESIDE/report"][..], more].concat())
    };
    fs::create_dir(&folder).expect("the folder is new");
    for name in ["energy.csv", "index.html", "phasors.svg"] {
        fs::write(folder.join(name), NOTES).expect("the folder can be written");
        let refused = report(&[]);
        assert_eq!(refused.status, 2, "{}", refused.err);
        assert!(refused.err.contains(name), "{}", refused.err);
        let names: Vec<_> = fs::read_dir(&folder)
            .expect("the folder can be read")
            .map(|entry| entry.expect("an entry").file_name())
            .collect();
        assert_eq!(names, [name]);
        fs::remove_file(folder.join(name)).expect("it can be removed");
    }
    fs::write(folder.join("notes.txt"), NOTES).expect("the folder can be written");
    fs::write(folder.join("balance.csv"), NOTES).expect("the folder can be written");
    assert_eq!(report(&["--force"]).status, 0);
    // What is not of the report is left alone, and a report is renewed without a word.
    let notes = fs::read(folder.join("notes.txt")).ok();
    assert_eq!(notes.as_deref(), Some(NOTES.as_bytes()));
    let again = report(&[]);
    assert_eq!(again.status, 0, "{}", again.err);
}

#[test]
fn the_list_with_new_machines_is_always_a_new_file() {
    let workshop = Workshop::new();
    let place = |file: &str, more: &[&str]| {
        let plate = [
            "place",
            "SITE",
            "--name",
            "Fan",
            "--power-kw",
            "0.2",
            "--write",
            file,
        ];
        workshop.run(&[&plate[..], more].concat())
    };
    let first = place("BESIDE/list.csv", &[]);
    assert_eq!(first.status, 0, "{}", first.err);
    for more in [&[][..], &["--force"]] {
        assert_eq!(place("BESIDE/list.csv", more).status, 2);
        assert_eq!(place("SITE/machines.csv", more).status, 2);
    }
}

/// A file that is renamed over a pipe or a device would take its place; for root that is `/dev/null` too.
#[cfg(unix)]
#[test]
fn a_pipe_is_written_to_and_stays_one() {
    use std::os::unix::fs::FileTypeExt;

    let workshop = Workshop::new();
    let pipe = workshop.beside("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.is_ok_and(|status| status.success()));
    let reading = std::thread::spawn({
        let pipe = pipe.clone();
        move || fs::read_to_string(pipe)
    });
    let run = workshop.run(&["energy", "SITE", "-o", "BESIDE/pipe"]);
    assert_eq!(run.status, 0, "{}", run.err);
    assert!(
        fs::metadata(&pipe).is_ok_and(|known| known.file_type().is_fifo()),
        "the pipe was replaced"
    );
    let read = reading.join().expect("the reader has ended");
    let printed = workshop.run(&["energy", "SITE"]).out;
    assert_eq!(read.expect("text"), printed);
}
