//! The commands from outside: helps, exit statuses, forms of the result, where it goes, and what user
//! text may not do.

use std::collections::BTreeSet;
use std::io;
use std::process::Stdio;

use serde_json::Value;

use crate::program::{Workshop, command, ferry_lane, finished, run, same_as_before, words};

const FORMS: [&str; 3] = ["text", "json", "csv"];

// ---- helps -------------------------------------------------------------------------------------

/// The commands that the help lists.
fn commands() -> Vec<String> {
    let help = finished(command().arg("--help")).out;
    let list = help.split("Commands:").nth(1).unwrap_or_default();
    let list = list.split("Options:").next().unwrap_or_default();
    list.lines()
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn helps() {
    assert!(
        commands().iter().any(|name| name == "balance"),
        "{:?}",
        commands()
    );
    for name in commands() {
        let help = finished(command().args([&name, "--help"]));
        assert_eq!((help.status, help.err.as_str()), (0, ""));
        same_as_before(&format!("help_{name}"), &help.out);
    }
    let help = finished(command().arg("--help"));
    assert_eq!((help.status, help.err.as_str()), (0, ""));
    same_as_before("help", &help.out);
}

#[test]
fn the_version_is_that_of_the_package() {
    let version = run(&["--version"]);
    assert_eq!(version.status, 0);
    assert_eq!(
        version.out,
        concat!("tapoff ", env!("CARGO_PKG_VERSION"), "\n")
    );
}

// ---- exit statuses -----------------------------------------------------------------------------

#[test]
fn a_sound_workshop_ends_with_0() {
    let workshop = Workshop::new();
    for name in ["check", "balance", "energy"] {
        let run = workshop.run_command(&[name, "SITE"]);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{name}");
    }
    let report = workshop.run_command(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(report.status, 0, "{}", report.err);
    assert_eq!(report.out, "[TEMP]/report/index.html\n");
}

/// L1 of the demo reaches 126.5 A, its limit is 100 A (`sample-data/README.md`).
#[test]
fn an_exceeded_limit_is_1_where_it_was_asked_for() {
    let demo = ferry_lane().to_string_lossy().into_owned();
    let workshop = Workshop::empty();
    let page = workshop.beside("report").to_string_lossy().into_owned();
    assert_eq!(run(&["check", &demo]).status, 1);
    assert_eq!(run(&["energy", &demo]).status, 0);
    assert_eq!(run(&["energy", &demo, "--fail-on", "limit"]).status, 1);
    assert_eq!(run(&["balance", &demo, "--fail-on", "limit"]).status, 1);
    let report = run(&["report", &demo, "-o", &page, "--fail-on", "limit"]);
    assert_eq!(report.status, 1, "{}", report.err);
    let within = Workshop::new().run(&["balance", "SITE", "--fail-on", "limit"]);
    assert_eq!(within.status, 0);
}

#[test]
fn wrong_usage_is_2_and_said_on_stderr() {
    for arguments in [
        &[][..],
        &["levitate"],
        &["check"],
        &["balance", "SITE", "--max-moves", "many"],
        &["energy", "SITE", "--window-min", "20"],
        &["energy", "SITE", "--from", "9 March"],
        &["check", "SITE", "--format", "xml"],
    ] {
        let run = Workshop::new().run_command(arguments);
        assert_eq!(run.status, 2, "{arguments:?}");
        assert_eq!(run.out, "", "{arguments:?}");
        assert!(
            run.err.contains("--help") || run.err.contains("Usage"),
            "{}",
            run.err
        );
    }
}

// ---- forms -------------------------------------------------------------------------------------

/// Digits do not matter here, where they stand does: figures are checked elsewhere.
fn layout(text: &str) -> String {
    let mut before = ' ';
    let mut in_name = false;
    text.chars()
        .map(|c| {
            in_name = c.is_alphanumeric() && (in_name || before.is_alphabetic());
            before = c;
            if c.is_ascii_digit() && !in_name {
                '0'
            } else {
                c
            }
        })
        .collect()
}

#[test]
fn texts_keep_their_layout() {
    let workshop = Workshop::new();
    for name in ["check", "balance", "energy"] {
        let run = workshop.run(&[name, "SITE"]);
        same_as_before(&format!("text_{name}"), &layout(&run.out));
    }
}

fn has_keys(value: &Value, place: &str, wanted: &str) {
    let object = value
        .as_object()
        .unwrap_or_else(|| panic!("{place} is no object"));
    for key in wanted.split_whitespace() {
        assert!(object.contains_key(key), "`{key}` is missing in {place}");
    }
}

const NODE_KEYS: &str =
    "neutral_rms_a neutral_p95_a neutral_max_a phase_max_a phase_rms_a current_unbalance_pct";

/// The keys that scripts read; one that goes missing breaks them.
#[test]
fn balance_keeps_its_keys() {
    let result = Workshop::new().json(&["balance", "SITE", "--format", "json"]);
    has_keys(
        &result,
        "the result",
        "objective intervals before after lower_bound_neutral_rms_a gap_pct proof assignment moves \
         moves_curve nodes",
    );
    assert_eq!(result["objective"], "neutral-rms");
    has_keys(&result["before"], "before", NODE_KEYS);
    has_keys(&result["after"], "after", NODE_KEYS);
    has_keys(
        &result["assignment"],
        "assignment",
        "saw drill grinder heater lamps",
    );
    has_keys(&result["moves"][0], "moves", "machine from to");
    has_keys(
        &result["moves_curve"][0],
        "moves_curve",
        "moves neutral_rms_a proof",
    );
    has_keys(&result["nodes"][0], "nodes", "id before after");
    assert_eq!(result["nodes"][0]["id"], "supply");
}

#[test]
fn energy_keeps_its_keys() {
    let result = Workshop::new().json(&["energy", "SITE", "--format", "json"]);
    has_keys(&result, "the result", "meters reconciliation cost");
    has_keys(
        &result["meters"][0],
        "meters",
        "id from to interval_s energy_kwh energy_kwh_by_phase register_energy_kwh \
         reactive_energy_import_kvarh reactive_energy_export_kvarh max_demand_kw max_demand_at \
         max_demand_kva demand_window_min load_factor power_factor neutral_rms_a neutral_max_a \
         neutral_computed_rms_a current_unbalance_mean_pct current_unbalance_p95_pct \
         voltage_unbalance_p95_pct coverage_pct quality",
    );
}

#[test]
fn csv_has_a_row_for_each_machine_and_each_meter() {
    let workshop = Workshop::new();
    for (name, first, rows) in [("balance", "machine", 5), ("energy", "meter", 1)] {
        let run = workshop.run(&[name, "SITE", "--format", "csv"]);
        let mut reader = csv::Reader::from_reader(run.out.as_bytes());
        let header = reader.headers().expect("there is a header").clone();
        assert_eq!(header.get(0), Some(first));
        let distinct: BTreeSet<&str> = header.iter().collect();
        assert_eq!(distinct.len(), header.len(), "{header:?}");
        let records: Result<Vec<_>, _> = reader.records().collect();
        assert_eq!(
            records.map(|records| records.len()).ok(),
            Some(rows),
            "{}",
            run.out
        );
    }
}

// ---- where it goes -----------------------------------------------------------------------------

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
        assert!(run.err.starts_with("error["), "{}", run.err);
        assert_eq!(workshop.files(), before, "{arguments:?}");
    }
}

/// A reader that went away has seen what it wanted.
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
    assert!(err.starts_with("error["), "{err}");
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
    assert!(String::from_utf8_lossy(&plain.stdout).contains("error["));
    assert!(!escapes(&plain));
    // Set but empty does not count.
    assert!(escapes(
        &on_terminal(Some("")).expect("`script` ran before")
    ));
}

#[test]
fn a_second_run_in_one_process_gives_the_same_bytes() {
    let workshop = Workshop::new();
    for name in ["check", "balance", "energy"] {
        for form in FORMS {
            let arguments = [name, "SITE", "--format", form];
            let first = workshop.run(&arguments);
            assert_eq!(first.out, workshop.run(&arguments).out, "{name} {form}");
        }
    }
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

// ---- user text ---------------------------------------------------------------------------------

/// Clears the screen, then turns the direction of writing.
const HOSTILE: &str = "saw\u{1b}[2J\u{202e}\u{7}";

fn hostile() -> Workshop {
    Workshop::new()
        .replace("machines.csv", "drill,", &format!("{HOSTILE},"))
        .replace(
            "site.toml",
            "Five Machines",
            "Five \\u001b[2J\\u202e <script>alert(1)</script>",
        )
        .replace("site.toml", "id = \"main\"", "id = \"=main\\u001b[2J\"")
        .replace("meters/main.csv", "P2,P3\n", &format!("P2,P3,{HOSTILE}\n"))
}

fn is_harmless(text: &str) -> bool {
    !text.contains(|c: char| {
        c.is_control() && c != '\n'
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    })
}

#[test]
fn control_characters_reach_no_terminal() {
    let workshop = hostile();
    for name in ["check", "balance", "energy"] {
        for form in ["text", "csv"] {
            let run = workshop.run(&[name, "SITE", "--format", form]);
            assert_eq!(run.status, 0, "{}", run.err);
            assert!(is_harmless(&run.out), "{name} {form}: {:?}", run.out);
            assert!(is_harmless(&run.err), "{name} {form}: {:?}", run.err);
        }
        let json = workshop.run(&[name, "SITE", "--format", "json"]);
        assert!(!json.out.contains('\u{1b}'), "{name}: {:?}", json.out);
    }
}

#[test]
fn control_characters_in_messages_reach_no_terminal() {
    let workshop = Workshop::new();
    for (file, from) in [
        ("machines.csv", "drill,C1,L1,0.9"),
        ("machines.csv", "drill,C1"),
        ("machines.csv", "keep_with"),
        ("meters/main.csv", "2026-03-09 08:15"),
        ("meters/main.csv", "I2"),
    ] {
        let to = match from.rsplit_once(',') {
            Some((head, _)) => format!("{head},{HOSTILE}"),
            None => HOSTILE.to_owned(),
        };
        let text = std::fs::read_to_string(workshop.site().join(file)).expect("the file is there");
        let spoilt = Workshop::new().with(file, text.replacen(from, &to, 1));
        let run = spoilt.run(&["check", "SITE"]);
        assert!(is_harmless(&run.err), "{from}: {:?}", run.err);
        assert!(is_harmless(&run.out), "{from}: {:?}", run.out);
    }
    let run = workshop
        .replace("site.toml", "Europe/London", "\\u001b[2J\\u202e")
        .run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(is_harmless(&run.err), "{:?}", run.err);
}

/// A cell that starts with `=`, `+`, `-` or `@` is run as a formula by spreadsheets (OWASP, "CSV Injection").
#[test]
fn formulas_are_disarmed() {
    for start in ["=", "+", "-", "@"] {
        let name = format!("{start}cmd()");
        let workshop = Workshop::new()
            .replace("machines.csv", "drill,", &format!("{name},"))
            .replace("site.toml", "id = \"main\"", &format!("id = \"{name}\""));
        for command in ["check", "balance", "energy"] {
            let run = workshop.run(&[command, "SITE", "--format", "csv"]);
            let mut reader = csv::Reader::from_reader(run.out.as_bytes());
            for record in reader.records() {
                let record = record.expect("the result is CSV");
                assert!(
                    record.iter().all(|cell| cell != name),
                    "{command}: {record:?}"
                );
            }
            assert!(
                run.out.contains(&format!("'{name}")),
                "{command}: {}",
                run.out
            );
        }
    }
}

#[test]
fn user_text_is_no_markup_in_the_report() {
    let marked = "<img src=x onerror=alert(1)>";
    let workshop = hostile()
        .replace("machines.csv", "grinder,", &format!("{marked},"))
        .replace(
            "site.toml",
            "name = \"day shift\"",
            "name = \"</script><b>day\"",
        )
        .with(
            "machines.csv",
            std::fs::read_to_string(Workshop::new().site().join("machines.csv"))
                .expect("the list is there")
                .replace("grinder,", &format!("{marked},"))
                .replace("day shift", "</script><b>day"),
        );
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(run.status, 0, "{}", run.err);
    for name in workshop
        .files()
        .iter()
        .filter(|name| name.starts_with("report/"))
    {
        let text = std::fs::read_to_string(workshop.beside(name)).expect("the file is there");
        let kind = std::path::Path::new(name).extension();
        if kind.is_some_and(|kind| kind == "html" || kind == "svg") {
            for raw in [marked, "<script>alert", "</script><b>"] {
                assert!(!text.contains(raw), "{raw} in {name}");
            }
        }
    }
}

/// What the examples of each help show can be done.
#[test]
fn the_examples_of_the_helps_run() {
    let beside = Workshop::empty();
    let place = beside.beside("example").to_string_lossy().into_owned();
    for name in commands() {
        let help = finished(command().args([&name, "--help"])).out;
        let examples: Vec<&str> = help
            .lines()
            .filter_map(|line| line.trim().strip_prefix("tapoff "))
            .filter(|line| line.starts_with(&name))
            .collect();
        assert!(!examples.is_empty(), "{name} shows no example");
        for example in examples {
            let mut arguments = words(example);
            // What the shell would do with the result is not tried.
            let ends = |word: &String| ["-o", ">", "|"].contains(&word.as_str());
            for option in ["--write", "--board-chart"] {
                if let Some(at) = arguments.iter().position(|word| word == option) {
                    arguments[at + 1] = format!("{place}.written");
                }
            }
            if let Some(at) = arguments.iter().position(ends) {
                arguments.truncate(at);
            }
            if name == "init" {
                arguments[1].clone_from(&place);
            }
            if arguments.iter().any(|word| word.starts_with("sample-data")) {
                arguments.extend(["-o".to_owned(), place.clone()]);
            }
            let run = finished(command().args(&arguments));
            assert!(run.status <= 1, "{example}: {}", run.err);
            let _ = std::fs::remove_dir_all(&place);
            let _ = std::fs::remove_file(&place);
            let _ = std::fs::remove_file(format!("{place}.written"));
        }
    }
}
