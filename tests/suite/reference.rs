//! The reference that ships with the program: `tapoff explain`.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::program::{Workshop, command, finished};

fn explain(arguments: &[&str]) -> crate::program::Run {
    finished(command().arg("explain").args(arguments))
}

#[test]
fn a_key_is_explained_with_meaning_unit_default_values_and_example() {
    let page = explain(&["supply.phase_limit_a"]);
    assert_eq!((page.status, page.err.as_str()), (0, ""));
    for part in [
        "supply.phase_limit_a: a key of [supply] in site.toml",
        "supply fuse or the agreed capacity",
        "more than 0 and at most 20000 A",
        "Unit\n  A\n",
        "Default\n  none: it must be given",
        "[supply]\n  line_voltage_v = 400\n  phase_limit_a = 100",
    ] {
        assert!(page.out.contains(part), "{part}\n{}", page.out);
    }
    let both = explain(&["phase_limit_a"]);
    assert!(
        both.out.starts_with("phase_limit_a is used in 2 places\n"),
        "{}",
        both.out
    );
    assert!(
        both.out.contains("supply.phase_limit_a: ") && both.out.contains("board.phase_limit_a: ")
    );
}

#[test]
fn columns_quantities_tariff_terms_findings_and_messages_have_pages() {
    for (name, part) in [
        ("machines.utilisation_factor", "a column of machines.csv"),
        ("readings.n_a", "Current of the neutral"),
        ("invoice.amount", "a column of an invoice"),
        ("voltage_l1_v", "Line-to-neutral voltage of phase L1"),
        ("tariff.demand.ratchet_share", "Share of the highest demand"),
        ("neutral-fault", "What to do"),
        ("wrong-phase", "See also message.wrong-phase"),
        ("not-a-number", "a message"),
        ("[supply]", "phase_limit_a"),
        ("machines.csv", "third_harmonic_pct"),
    ] {
        let page = explain(&[name]);
        assert_eq!(page.status, 0, "{}", page.err);
        assert!(page.out.contains(part), "{name}: {part}\n{}", page.out);
    }
    let unknown = explain(&["phase_limt_a"]);
    assert_eq!(unknown.status, 2);
    assert!(
        unknown.err.contains("did you mean `phase_limit_a`?"),
        "{}",
        unknown.err
    );
}

#[test]
fn alone_it_lists_every_table_and_file_with_its_names() {
    let list = explain(&[]).out;
    for part in [
        "site.toml: [supply]  (supply)",
        "site.toml: cable of [[circuit]]  (circuit.cable)",
        "machines.csv",
        "readings.csv",
        "Findings  (findings)",
        "high-resistance-joint",
        "current_l1_a",
        "decimal-comma",
    ] {
        assert!(list.contains(part), "{part}\n{list}");
    }
    assert!(list.lines().all(|line| line.chars().count() <= 110));
}

#[test]
fn as_a_page_it_is_whole_and_not_written_over_anything_else() {
    let workshop = Workshop::empty();
    let file = workshop.beside("reference.html");
    let shown = file.to_string_lossy().into_owned();
    fs::write(&file, "mine").expect("a file");
    assert_eq!(explain(&["--html", &shown]).status, 2);
    let written = explain(&["--html", &shown, "--force"]);
    assert_eq!((written.status, written.err.as_str()), (0, ""));
    let page = fs::read_to_string(&file).expect("the page");
    for part in [
        "supply.phase_limit_a",
        "prefers-color-scheme:dark",
        "id=\"machines.csv\"",
        "message.not-toml",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("<script"));
    assert_eq!(
        explain(&["--html", &shown]).status,
        2,
        "an existing file is replaced only with `--force`"
    );
}

/// Names in the source: the first literal after a call that makes a message.
fn names_in_source(folder: &Path, names: &mut BTreeSet<String>) {
    const CALLS: [&str; 6] = [
        "Message::error(",
        "Message::warning(",
        "complain(",
        ".fault(",
        "wrong(",
        "let name = ",
    ];
    for entry in fs::read_dir(folder).expect("the source") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            names_in_source(&path, names);
            continue;
        }
        if path.extension().is_none_or(|extension| extension != "rs") {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a source file");
        for call in CALLS {
            for (at, _) in text.match_indices(call) {
                // Before the name there may be the collector and the cell.
                let after = &text[at + call.len()..];
                let Some((before, rest)) = after.split_once('"') else {
                    continue;
                };
                let plain = |c: char| c.is_ascii_lowercase() || "_&,. \n".contains(c);
                let name = rest.split('"').next().unwrap_or_default();
                let is_name = !name.is_empty()
                    && name.bytes().all(|byte| {
                        byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'
                    });
                if before.chars().all(plain) && is_name {
                    names.insert(name.to_owned());
                }
            }
        }
    }
}

#[test]
fn every_message_has_a_page_and_every_page_a_message() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut names = BTreeSet::new();
    names_in_source(&source, &mut names);
    // What the calls of `complain` name first may be a column.
    let explained: BTreeSet<String> = tapoff::message::explained()
        .into_iter()
        .flat_map(|(_, pages)| pages)
        .map(|page| page.name.to_owned())
        .collect();
    names.remove("failed");
    let without: Vec<&String> = names.difference(&explained).collect();
    assert!(without.is_empty(), "messages without a page: {without:?}");
    let all = all_source(&source);
    let unused: Vec<&String> = explained
        .iter()
        .filter(|name| !all.contains(&format!("\"{name}\"")))
        .collect();
    assert!(unused.is_empty(), "pages without a message: {unused:?}");
}

/// The source but for the pages themselves.
fn all_source(folder: &Path) -> String {
    let mut text = String::new();
    for entry in fs::read_dir(folder).expect("the source") {
        let path = entry.expect("an entry").path();
        if path.is_dir() && !path.ends_with("explained") {
            text.push_str(&all_source(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            text.push_str(&fs::read_to_string(&path).expect("a source file"));
        }
    }
    text
}

#[test]
fn the_examples_of_readings_variables_and_carbon_factors_are_read() {
    use tapoff::declaration::row_example;
    use tapoff::site::{CARBON_FILE, READINGS, VARIABLE_FILE};
    let workshop = Workshop::empty();
    let site = workshop.beside("mill");
    let folder = site.to_string_lossy().into_owned();
    assert_eq!(finished(command().args(["new", &folder])).status, 0);
    for column in READINGS.keys {
        fs::write(site.join("readings.csv"), row_example(&READINGS, column)).expect("written");
        let checked = finished(command().args(["check", &folder]));
        assert_eq!(
            (checked.status, checked.err.as_str()),
            (0, ""),
            "{}",
            column.name
        );
    }
    let example = |file: &'static tapoff::declaration::Declared| row_example(file, &file.keys[0]);
    fs::write(site.join("variables.csv"), example(&VARIABLE_FILE)).expect("written");
    // One factor alone would be one for all time.
    let carbon = example(&CARBON_FILE);
    let row = carbon.lines().last().expect("a row");
    let next = row.replace("00:00", "00:30");
    fs::write(site.join("carbon.csv"), format!("{carbon}{next}\n")).expect("written");
    let more = "[[variable]]\nname = \"outdoor\"\nfile = \"variables.csv\"\ncolumn = \"outdoor_c\"\n[carbon]\nfile = \"carbon.csv\"\n";
    let path = site.join("site.toml");
    let text = fs::read_to_string(&path).expect("the site");
    fs::write(&path, text + more).expect("written");
    let checked = finished(command().args(["check", &folder]));
    assert_eq!(checked.status, 0, "{}\n{}", checked.out, checked.err);
}
