//! What a new user meets first: a starter site, completions, manual pages.

use std::fs;

use crate::program::{Workshop, command, finished};

fn run(arguments: &[&str]) -> crate::program::Run {
    finished(command().args(arguments))
}

#[test]
fn a_starter_site_checks_balances_and_reports_as_it_stands() {
    let workshop = Workshop::empty();
    let site = workshop.beside("St. Mary's \"mill\"");
    let folder = site.to_string_lossy().into_owned();
    let made = run(&["new", &folder]);
    assert_eq!((made.status, made.err.as_str()), (0, ""));
    let checked = run(&["check", &folder]);
    assert_eq!(
        (checked.status, checked.err.as_str()),
        (0, ""),
        "{}",
        checked.out
    );
    let plan = run(&["balance", &folder, "--format", "json"]);
    let plan: serde_json::Value = serde_json::from_str(&plan.out).expect("JSON");
    assert_eq!(plan["proof"], "optimal");
    assert!(
        plan["allocation"]["Example charger"]
            .as_str()
            .is_some_and(|to| to.starts_with('L'))
    );
    let report = workshop.beside("report").to_string_lossy().into_owned();
    let written = run(&["report", &folder, "-o", &report]);
    assert_eq!((written.status, written.err.as_str()), (0, ""));
    let page = fs::read_to_string(workshop.beside("report").join("index.html")).expect("the page");
    assert!(page.contains("St. Mary&#39;s &#34;mill&#34;"));
}

/// Lines of the starter's comments with this indent, as a file.
fn lines_behind(starter: &str, indent: &str) -> String {
    let lines = starter
        .lines()
        .filter_map(|line| line.strip_prefix(indent))
        .filter(|line| !line.starts_with(' '));
    lines
        .map(|line| format!("{line}\n"))
        .collect::<Vec<_>>()
        .concat()
}

#[test]
fn the_starters_examples_of_readings_logs_and_tariff_are_read_once_they_are_written() {
    let workshop = Workshop::empty();
    let site = workshop.beside("mill");
    let folder = site.to_string_lossy().into_owned();
    assert_eq!(run(&["new", &folder]).status, 0);
    let path = site.join("site.toml");
    let starter = fs::read_to_string(&path).expect("the starter");
    fs::write(
        site.join("readings.csv"),
        lines_behind(
            &starter[..starter.find("# ---- logs").expect("a part on logs")],
            "#   ",
        ),
    )
    .expect("written");
    let log = lines_behind(&starter, "#     ");
    assert_eq!(log.lines().count(), 4, "{log}");
    fs::write(site.join("meters").join("main-2026-03.csv"), log).expect("written");
    let from = starter.find("# [[meter]]").expect("a meter");
    let to = starter
        .find("# ---- your own carbon")
        .expect("the end of the tariff");
    let lines = starter[from..to].lines().map(|line| {
        let rest = line.strip_prefix("# ").unwrap_or(line);
        let is_prose = rest.starts_with("---") || rest.starts_with("Each price");
        if is_prose { "" } else { rest }
    });
    let switched_on = lines.collect::<Vec<_>>().join("\n");
    let text = format!("{}{switched_on}\n{}", &starter[..from], &starter[to..]);
    fs::write(&path, text.replace("# currency", "currency")).expect("written");
    let checked = run(&["check", &folder]);
    assert_eq!(checked.status, 0, "{}\n{}", checked.out, checked.err);
    let energy = run(&["energy", &folder, "--format", "json"]);
    let energy: serde_json::Value = serde_json::from_str(&energy.out).expect("JSON");
    assert_eq!(energy["meters"][0]["id"], "main");
    assert!(energy["cost"].is_object(), "{}", energy["cost"]);
    let plan = run(&["balance", &folder, "--format", "json"]);
    assert_eq!(plan.status, 0, "{}", plan.err);
}

#[test]
fn a_site_that_is_there_is_left_alone() {
    let workshop = Workshop::empty();
    let site = workshop.beside("mill");
    let folder = site.to_string_lossy().into_owned();
    fs::create_dir(&site).expect("a folder");
    fs::write(site.join("machines.csv"), "mine").expect("a file");
    let refused = run(&["new", &folder]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("is there already"), "{}", refused.err);
    assert_eq!(
        fs::read_to_string(site.join("machines.csv")).expect("still there"),
        "mine"
    );
    assert!(!site.join("site.toml").exists());
}

#[test]
fn every_command_has_a_manual_page_and_is_completed() {
    let workshop = Workshop::empty();
    let folder = workshop.beside("man").to_string_lossy().into_owned();
    let pages = run(&["man", "-o", &folder]);
    assert_eq!(pages.status, 0, "{}", pages.err);
    let help = run(&["--help"]).out;
    let names: Vec<&str> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(names.len() >= 9, "{names:?}");
    let completed = run(&["completions", "bash"]).out;
    for name in names {
        let page = workshop.beside("man").join(format!("tapoff-{name}.1"));
        let text = fs::read_to_string(page).expect("a page");
        assert!(text.contains(".SH SYNOPSIS"), "{name}");
        assert!(completed.contains(&format!("tapoff,{name})")), "{name}");
    }
}
