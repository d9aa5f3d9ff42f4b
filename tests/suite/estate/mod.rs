//! An estate from outside: its sites, tables, page and what happens to sites that are broken or hostile. The figures are
//! recalculated from the logs by `tests/reference/check_estate.py`.

mod invented;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use parquet::basic::{LogicalType, Type};
use parquet::file::reader::{FileReader, SerializedFileReader};
use serde_json::Value;

use crate::program::{Run, command, finished, run};
use crate::sample::sample_json;
use invented::{Invented, folder_for, write};
use tapoff::estate::part_file;

/// Twenty sites, of which the last twelve are broken, each in its own way.
const TWENTY: Invented = Invented {
    sites: 20,
    broken: 12,
    days: 8,
    step_min: 30,
};

fn estate(arguments: &[&str], folder: &Path, out: &Path) -> Run {
    let mut command = command();
    command
        .arg("estate")
        .arg(folder)
        .arg("-o")
        .arg(out)
        .args(arguments);
    finished(&mut command)
}

fn json(out: &Path) -> Value {
    let text = fs::read_to_string(out.join("estate.json")).expect("it was written");
    serde_json::from_str(&text).expect("JSON")
}

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inside = path.strip_prefix(folder).expect("inside").to_owned();
                found.insert(inside, fs::read(&path).expect("a file"));
            }
        }
    }
    found
}

/// One run, looked at from all sides, since it takes some seconds.
#[test]
fn broken_and_hostile_sites_are_rows_and_the_others_are_whole() {
    let home = folder_for("estate-of-twenty");
    let (folder, out) = (home.join("sites"), home.join("out"));
    fs::create_dir_all(&folder).expect("a folder");
    let paths = write(&folder, &TWENTY);
    let first = estate(&["--csv"], &folder, &out);
    assert_eq!(first.status, 0, "{}", first.err);
    assert!(
        first.err.contains("12 of 20 sites could not be analysed"),
        "{}",
        first.err
    );

    let result = json(&out);
    let rows = result["sites"].as_array().expect("rows");
    assert_eq!(rows.len(), 20);
    for (number, path) in paths.iter().enumerate() {
        let row = rows
            .iter()
            .find(|row| row["site"] == path.as_str())
            .expect("each site is a row");
        let is_broken = number >= 8;
        assert_eq!(
            row["status"],
            if is_broken { "failed" } else { "ok" },
            "{row}"
        );
        assert_eq!(row["message"].is_string(), is_broken, "{row}");
        assert_eq!(row["energy_import_kwh"].is_null(), is_broken, "{row}");
    }
    let refused = rows.iter().filter_map(|row| row["message"].as_str());
    let refused: Vec<&str> = refused
        .filter(|why| why.contains("is a link out of"))
        .collect();
    assert_eq!(refused.len(), 1, "a link out of the site is refused");
    assert!(
        !result.to_string().contains(&*folder.to_string_lossy()),
        "no path outside the estate"
    );

    let page = fs::read_to_string(out.join("index.html")).expect("a page");
    assert!(
        page.contains("&lt;b&gt;bold") || page.contains("&#60;b&#62;bold"),
        "names are escaped"
    );
    assert!(!page.contains("<b>bold"));
    let csv = fs::read_to_string(out.join("tables/sites.csv")).expect("a table");
    assert!(csv.lines().all(|line| !line.starts_with(['=', '+', '@'])));
    columns_are_those_that_are_documented(&out.join("tables"));

    // Nothing has changed: the same files, and no site was analysed again.
    let before = files(&out);
    let analysed = |out: &Path| -> BTreeMap<PathBuf, std::time::SystemTime> {
        let parts = fs::read_dir(out.join("parts")).expect("parts");
        let parts = parts.map(|entry| entry.expect("an entry").path());
        parts
            .map(|path| {
                (
                    path.clone(),
                    path.metadata()
                        .and_then(|known| known.modified())
                        .expect("a time"),
                )
            })
            .collect()
    };
    let made_at = analysed(&out);
    assert_eq!(estate(&["--csv"], &folder, &out).status, 0);
    assert_eq!(before, files(&out));
    let list = folder.join(&paths[7]).join("machines.csv");
    fs::write(
        &list,
        fs::read_to_string(&list).expect("a list") + "kettle,DB1,L3,2,1,0.1,day shift\n",
    )
    .expect("written");
    assert_eq!(estate(&[], &folder, &out).status, 0);
    let again = analysed(&out);
    let changed = again
        .iter()
        .filter(|(path, at)| made_at.get(*path) != Some(*at))
        .count();
    // The refused site is looked at each time.
    assert_eq!(changed, 2);
    fs::remove_dir_all(folder.join(&paths[7])).expect("removed");
    assert_eq!(estate(&[], &folder, &out).status, 0);
    let gone = json(&out)["sites"]
        .as_array()
        .expect("rows")
        .iter()
        .filter(|row| row["status"] == "failed")
        .count();
    assert_eq!(gone, 13, "a listed site that is not there is a row");
}

/// `src/estate/columns.txt` against the files.
fn columns_are_those_that_are_documented(tables: &Path) {
    let text = run(&["estate", ".", "--columns"]).out;
    let mut documented: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
    let mut table = String::new();
    for line in text.lines().skip_while(|line| !line.is_empty()) {
        if let Some(column) = line.strip_prefix("  ") {
            let (name, rest) = column.split_once(' ').expect("a name");
            let kind = ["text", "number", "moment", "date", "yes or no"];
            let kind = kind
                .iter()
                .find(|kind| rest.trim_start().starts_with(**kind))
                .expect("a type");
            documented
                .entry(table.clone())
                .or_default()
                .push((name.to_owned(), (*kind).to_owned()));
        } else if let Some((name, _)) = line.split_once(':') {
            name.clone_into(&mut table);
        }
    }
    assert_eq!(documented.len(), 9);
    for (table, columns) in documented {
        let mut found = files(&tables.join(&table))
            .into_keys()
            .map(|file| tables.join(&table).join(file));
        let file = found.find(|file| file.extension().is_some_and(|kind| kind == "parquet"));
        let file = File::open(file.expect("the table has rows")).expect("a file");
        let reader = SerializedFileReader::new(file).expect("Parquet");
        let schema = reader.metadata().file_metadata().schema_descr();
        let written: Vec<(String, String)> = schema
            .columns()
            .iter()
            .map(|column| {
                let kind = match (column.physical_type(), column.logical_type_ref()) {
                    (Type::BYTE_ARRAY, Some(LogicalType::String)) => "text",
                    (Type::DOUBLE, _) => "number",
                    (Type::INT64, Some(LogicalType::Timestamp(_))) => "moment",
                    (Type::INT32, Some(LogicalType::Date)) => "date",
                    (Type::BOOLEAN, _) => "yes or no",
                    other => panic!("{table}: {other:?}"),
                };
                (column.name().to_owned(), kind.to_owned())
            })
            .collect();
        assert_eq!(columns, written, "{table}");
    }
}

/// The figures of the demo are those of its own commands.
#[test]
fn a_site_has_the_figures_of_its_own_commands() {
    let home = folder_for("estate-of-the-demo");
    let run = estate(&[], Path::new("sample-data"), &home.join("out"));
    assert_eq!(run.status, 0, "{}", run.err);
    let row = json(&home.join("out"))["sites"][0].clone();
    let energy = sample_json("energy sample-data/ferry-lane");
    let main = &energy["meters"][0];
    for key in [
        "energy_import_kwh",
        "max_demand_kw",
        "max_demand_kva",
        "load_factor",
        "power_factor",
        "neutral_rms_a",
    ] {
        assert_eq!(row[key], main[key], "{key}");
    }
    assert_eq!(row["data_coverage_pct"], main["coverage_pct"]);
    assert_eq!(row["cost"], energy["cost"]["total"]);
    for (at, key) in ["phase_max_a_l1", "phase_max_a_l2", "phase_max_a_l3"]
        .iter()
        .enumerate()
    {
        assert_eq!(row[key], main["phase_max_a"][at]);
    }
    let plan: Value = serde_json::from_str(
        &fs::read_to_string("reports/ferry-lane/balance.json").expect("the demo's report"),
    )
    .expect("JSON");
    assert_eq!(
        row["neutral_after_recommended_a"],
        plan["after"]["neutral_rms_a"]
    );
    assert_eq!(
        row["recommended_moves"].as_f64(),
        plan["recommended_moves"].as_f64()
    );
    let findings = sample_json("diagnose sample-data/ferry-lane");
    let findings = findings["findings"].as_array().expect("findings");
    for (key, severity) in [
        ("dangers", "danger"),
        ("warnings", "warning"),
        ("notices", "notice"),
    ] {
        let count = findings
            .iter()
            .filter(|one| one["severity"] == severity && one["accepted"] == false)
            .count();
        assert_eq!(row[key].as_f64(), Some(count as f64), "{key}");
    }
}

#[test]
fn wrong_folders_and_lists_are_said_where_they_are() {
    let home = folder_for("estate-of-nothing");
    let empty = estate(&[], &home, &home.join("out"));
    assert_eq!(empty.status, 2);
    assert!(
        empty.err.contains("there is no site below"),
        "{}",
        empty.err
    );
    fs::write(
        home.join("estate.toml"),
        "[[site]]\npath = \"../other\"\nflor_area_m2 = 3\n",
    )
    .expect("written");
    let wrong = estate(&[], &home, &home.join("out"));
    assert_eq!(wrong.status, 2);
    assert!(
        wrong
            .err
            .contains("`../other` is not below the estate's folder"),
        "{}",
        wrong.err
    );
    assert!(
        wrong.err.contains("Did you mean `floor_area_m2`"),
        "{}",
        wrong.err
    );
    let full = estate(&[], Path::new("sample-data"), &home);
    assert_eq!(full.status, 2);
    assert!(
        full.err.contains("holds files and no results of an estate"),
        "{}",
        full.err
    );
}

/// A process that is ended from outside is a row with its message, and is tried again by the next run.
#[cfg(unix)]
#[test]
fn memory_and_the_end_of_the_caller_are_bounds() {
    let home = folder_for("estate-within-bounds");
    let folder = home.join("sites");
    fs::create_dir_all(&folder).expect("a folder");
    let paths = write(
        &folder,
        &Invented {
            sites: 1,
            broken: 0,
            days: 2,
            step_min: 1,
        },
    );
    let part = home.join("part.zip");
    let mut left = Command::new(env!("CARGO_BIN_EXE_tapoff"))
        .args(["estate", "--unguarded", "--site", &paths[0], "-o"])
        .arg(&part)
        .arg("--")
        .arg(&folder)
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("it starts");
    let status = left.wait().expect("it ends");
    // Whoever would use the result has gone.
    assert!(status.code() == Some(2) || part.is_file());
    let guarded = estate(&["--site", &paths[0]], &folder, &part);
    assert_eq!((guarded.status, guarded.err.as_str()), (0, ""));
    assert!(part.is_file());
}

/// A plan that took longer than its time: the row has all else, and is made again only where there is more time.
#[test]
fn a_plan_that_is_given_up_leaves_all_else() {
    let home = folder_for("estate-without-a-plan");
    let (folder, out) = (home.join("sites"), home.join("out"));
    fs::create_dir_all(&folder).expect("a folder");
    let one = Invented {
        sites: 1,
        broken: 0,
        days: 2,
        step_min: 30,
    };
    let paths = write(&folder, &one);
    let part = part_file(&out.join("parts"), &paths[0]);
    fs::create_dir_all(out.join("parts")).expect("a folder");
    let mut process = Command::new(env!("CARGO_BIN_EXE_tapoff"))
        .args([
            "estate",
            "--unguarded",
            "--no-plan-within",
            "10",
            "--site",
            &paths[0],
            "-o",
        ])
        .arg(&part)
        .arg("--")
        .arg(&folder)
        .stdin(Stdio::piped())
        .spawn()
        .expect("it starts");
    // Its standard input stays open until it has ended by itself.
    let open = process.stdin.take();
    assert!(process.wait().expect("it ends").success());
    drop(open);
    let has_plan = |arguments: &[&str]| {
        assert_eq!(estate(arguments, &folder, &out).status, 0);
        let row = json(&out)["sites"][0].clone();
        assert!(
            row["energy_import_kwh"].is_number() && row["status"] == "ok",
            "{row}"
        );
        let problems = fs::read_to_string(out.join("tables/problems.csv")).unwrap_or_default();
        assert_eq!(
            problems.contains("plan-given-up"),
            row["recommended_moves"].is_null()
        );
        row["recommended_moves"].is_number()
    };
    assert!(!has_plan(&[]));
    assert!(has_plan(&["--site-minutes", "11"]));
    assert!(has_plan(&[]));
}
