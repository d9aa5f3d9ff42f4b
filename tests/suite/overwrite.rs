//! What is there already is only replaced with `--force`, or where it is a report.

use std::fs;

use crate::program::Workshop;

const NOTES: &str = "remember the milk\n";

/// Commands that write a file, the file last.
const WRITING: [&[&str]; 12] = [
    &["check", "SITE", "-o"],
    &["energy", "SITE", "-o"],
    &["energy", "SITE", "--by", "day", "--format", "csv", "-o"],
    &["energy", "SITE", "--format", "xlsx", "-o"],
    &["balance", "SITE", "-o"],
    &["balance", "SITE", "--format", "json", "-o"],
    &["balance", "SITE", "--certificate"],
    &["balance", "SITE", "--circuit-chart"],
    &["diagnose", "SITE", "--format", "csv", "-o"],
    &["phases", "SITE", "-o"],
    &["phases", "SITE", "--write"],
    &[
        "place",
        "SITE",
        "--name",
        "Fan",
        "--power-kw",
        "0.2",
        "--write",
    ],
];

#[test]
fn a_file_that_exists_is_only_replaced_with_force() {
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
            refused.err.contains("file` exists") && refused.err.contains("--force"),
            "{}",
            refused.err
        );
        assert_eq!(fs::read(&path).ok().as_deref(), Some(NOTES.as_bytes()));
        let forced = run(&["--force"]);
        assert!(forced.status < 2, "{command:?}: {}", forced.err);
        assert_ne!(fs::read(&path).expect("it is there"), NOTES.as_bytes());
    }
    let own = ["SITE/machines.csv", "--force"];
    assert_eq!(workshop.run(&[WRITING[11], &own].concat()).status, 2);
}

#[test]
fn a_report_replaces_a_report_and_removes_no_other_file() {
    let workshop = Workshop::new();
    let folder = workshop.beside("report");
    let report = |more: &[&str]| {
        workshop.run(&[&["report", "SITE", "-o", "BESIDE/report"][..], more].concat())
    };
    fs::create_dir(&folder).expect("the folder is new");
    fs::write(folder.join("notes.txt"), NOTES).expect("the folder can be written");
    let refused = report(&[]);
    assert_eq!(refused.status, 2, "{}", refused.err);
    assert!(
        refused.err.contains("report` holds files") && refused.err.contains("--force"),
        "{}",
        refused.err
    );
    assert_eq!(fs::read_dir(&folder).expect("a folder").count(), 1);
    assert_eq!(report(&["--force"]).status, 0);
    fs::write(folder.join("index.html"), NOTES).expect("the folder can be written");
    let again = report(&[]);
    assert_eq!(again.status, 0, "{}", again.err);
    let read = |name: &str| fs::read_to_string(folder.join(name)).expect("it is there");
    assert!(read("index.html").contains("</html>"));
    assert_eq!(read("notes.txt"), NOTES);
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
