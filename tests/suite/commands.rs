//! The commands from outside: helps, exit statuses, and forms of the result.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::program::{Workshop, command, finished, run, same_as_before};
use crate::sample::sample_run;

pub(crate) const FORMS: [&str; 3] = ["text", "json", "csv"];

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

/// L1 of the demo reaches 126.5 A, its limit is 100 A (`sample-data/README.md`); L1 of the workshop draws 18 A.
#[test]
fn an_exceeded_limit_is_1_where_it_was_asked_for() {
    assert_eq!(sample_run("check sample-data/ferry-lane").run.status, 1);
    assert_eq!(sample_run("energy sample-data/ferry-lane").run.status, 0);
    let report = ["report", "SITE", "-o", "BESIDE/report"];
    for (limit, status) in [("18", 0), ("17", 1)] {
        let supply = format!("line_voltage_v = 400\nphase_limit_a = {limit}");
        let workshop = Workshop::new().replace(
            "site.toml",
            "line_voltage_v = 400\nphase_limit_a = 63",
            &supply,
        );
        assert_eq!(workshop.run(&["check", "SITE"]).status, status);
        for arguments in [&["energy", "SITE"][..], &["balance", "SITE"], &report] {
            assert_eq!(workshop.run(arguments).status, 0, "{arguments:?}");
            let asked = workshop.run(&[arguments, &["--fail-on", "limit"]].concat());
            assert_eq!(asked.status, status, "{arguments:?}: {}", asked.err);
        }
    }
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
        "objective intervals before after lower_bound_neutral_rms_a gap_pct proof allocation moves \
         moves_curve nodes",
    );
    assert_eq!(result["objective"], "neutral-rms");
    has_keys(&result["before"], "before", NODE_KEYS);
    has_keys(&result["after"], "after", NODE_KEYS);
    has_keys(
        &result["allocation"],
        "allocation",
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
        assert_eq!((header.get(0), header.get(1)), (Some("site"), Some(first)));
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

/// What the examples of a help show can be done, as far as a shell has no part in it.
fn examples_run(name: &str) {
    let help = finished(command().args([name, "--help"])).out;
    let mut examples = help
        .lines()
        .filter_map(|line| line.trim().strip_prefix("tapoff "))
        .filter(|line| line.starts_with(name))
        .peekable();
    assert!(examples.peek().is_some(), "{name} shows no example");
    for example in examples {
        let without_shell = example.split(['>', '|']).next().unwrap_or_default();
        let run = &sample_run(without_shell).run;
        assert!(run.status <= 1, "{example}: {}", run.err);
    }
}

/// A test for the examples of each command, so that they run beside each other.
macro_rules! examples_of_the_helps_run {
    ($($name:ident)*) => {
        mod examples_of_the_helps_run {
            $(
                #[test]
                fn $name() {
                    super::examples_run(stringify!($name));
                }
            )*
        }

        #[test]
        fn every_command_has_its_examples_run() {
            let mut tested = [$(stringify!($name)),*];
            let mut listed = commands();
            // It runs until it is ended: tests/browser/workbench.test.mjs opens it.
            listed.retain(|name| name != "open");
            tested.sort_unstable();
            listed.sort_unstable();
            assert_eq!(listed, tested);
        }
    };
}

examples_of_the_helps_run!(balance check completions diagnose energy estate explain man new phases place readings report schema);
