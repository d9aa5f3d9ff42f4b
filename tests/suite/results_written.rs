//! Where results go: a file, a pipe, a terminal, and what happens where they cannot.

use std::io;
use std::process::Stdio;

use crate::commands::FORMS;
use crate::program::Workshop;

#[test]
fn a_file_gets_what_stdout_would_have_got() {
    let workshop = Workshop::new();
    for name in ["check", "balance", "energy"] {
        for form in FORMS {
            let shown = workshop.run(&[name, "SITE", "--format", form]);
            let file = format!("BESIDE/{name}.{form}");
            let quiet = workshop.run(&[name, "SITE", "--format", form, "-o", &file]);
            assert_eq!((quiet.status, quiet.out.as_str()), (0, ""), "{name} {form}");
            let written = std::fs::read_to_string(workshop.beside(&format!("{name}.{form}")));
            assert_eq!(
                written.ok().as_deref(),
                Some(shown.out.as_str()),
                "{name} {form}"
            );
        }
    }
}

#[test]
fn what_cannot_be_written_is_named_and_leaves_nothing() {
    let workshop = Workshop::new();
    let before = workshop.files();
    // A folder where the file should be; a folder that does not exist; a file where the folder should be.
    for (arguments, path) in [
        (["balance", "SITE", "-o", "SITE"], "[TEMP]/site"),
        (
            ["check", "SITE", "-o", "BESIDE/none/x.txt"],
            "[TEMP]/none/x.txt",
        ),
        (
            ["report", "SITE", "-o", "SITE/site.toml"],
            "[TEMP]/site/site.toml",
        ),
    ] {
        let run = workshop.run(&arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(run.err.contains(&format!("`{path}`")), "{}", run.err);
        assert!(run.err.starts_with("Error: "), "{}", run.err);
        assert_eq!(workshop.files(), before, "{arguments:?}");
    }
}

/// A closed pipe is no error: its reader has stopped reading.
#[test]
fn a_closed_pipe_is_no_failure() {
    let workshop = Workshop::new();
    for arguments in [&["balance", "SITE"][..], &["energy", "SITE"], &["--help"]] {
        let (reader, writer) = io::pipe().expect("a pipe can be made");
        drop(reader);
        let output = workshop
            .command(arguments)
            .stdout(writer)
            .output()
            .expect("the command can be started");
        let err = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {err}");
        assert_eq!(err, "", "{arguments:?}");
    }
}

#[test]
fn a_closed_stderr_does_not_hide_a_failure() {
    let (reader, writer) = io::pipe().expect("a pipe can be made");
    drop(reader);
    let output = Workshop::empty()
        .command(&["check", "SITE"])
        .stderr(writer)
        .output()
        .expect("the command can be started");
    assert_eq!(output.status.code(), Some(2));
}

/// A full disk is a failure, unlike a closed pipe.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_a_failure() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full");
    let full = full.expect("Linux has /dev/full");
    let output = Workshop::new()
        .command(&["balance", "SITE"])
        .stdout(Stdio::from(full))
        .output()
        .expect("the command can be started");
    assert_eq!(output.status.code(), Some(2));
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(err.starts_with("Error: "), "{err}");
}

/// Colour only where stderr is a terminal and `NO_COLOR` (no-color.org) is not set. `script` gives the
/// command a terminal.
#[cfg(target_os = "linux")]
#[test]
fn no_color_is_heeded() {
    let workshop = Workshop::empty();
    assert!(
        !workshop
            .run_command(&["check", "SITE"])
            .err
            .contains('\u{1b}')
    );
    let on_terminal = |setting: Option<&str>| {
        let line = format!(
            "{} check {}",
            env!("CARGO_BIN_EXE_tapoff"),
            workshop.site().display()
        );
        let mut script = std::process::Command::new("script");
        script
            .args(["-qec", &line, "/dev/null"])
            .env_remove("NO_COLOR");
        if let Some(setting) = setting {
            script.env("NO_COLOR", setting);
        }
        script.stdin(Stdio::null()).output()
    };
    let Ok(coloured) = on_terminal(None) else {
        // Nothing else here gives a terminal; the pipe above has been checked.
        return;
    };
    let escapes = |output: &std::process::Output| output.stdout.contains(&0x1b);
    assert!(escapes(&coloured));
    let plain = on_terminal(Some("1")).expect("`script` ran before");
    assert!(String::from_utf8_lossy(&plain.stdout).contains("Error: "));
    assert!(!escapes(&plain));
    // Set but empty does not count.
    assert!(escapes(
        &on_terminal(Some("")).expect("`script` ran before")
    ));
}

/// What was there before is left as it was when the new report cannot be made.
#[test]
fn a_failed_report_leaves_the_old_one() {
    let workshop = Workshop::new();
    assert_eq!(
        workshop
            .run(&["report", "SITE", "-o", "BESIDE/report"])
            .status,
        0
    );
    let page = std::fs::read(workshop.beside("report/index.html")).expect("the page is there");
    let workshop = workshop.replace("machines.csv", "drill,C1", "drill,C9");
    assert_eq!(
        workshop
            .run(&["report", "SITE", "-o", "BESIDE/report"])
            .status,
        2
    );
    let after = std::fs::read(workshop.beside("report/index.html")).expect("the page is there");
    assert!(page == after, "the old page was touched");
}
