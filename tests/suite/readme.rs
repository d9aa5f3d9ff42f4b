//! The command lines of README.md and DEVELOPERS.md work as they are written.

use std::fs;

use crate::program::{Workshop, command, finished, project, words};

/// What follows `tapoff` in the command lines of a page's code blocks.
fn command_lines(page: &str) -> Vec<String> {
    let text = fs::read_to_string(project().join(page)).expect("the page is there");
    let mut fenced = false;
    let mut found = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
            continue;
        }
        if !fenced && !line.starts_with("    ") {
            continue;
        }
        let line = line.split('#').next().unwrap_or_default().trim();
        let line = line.strip_prefix("$ ").unwrap_or(line);
        let arguments = line
            .strip_prefix("cargo run -- ")
            .or_else(|| line.strip_prefix("cargo run --release -- "))
            .or_else(|| line.strip_prefix("tapoff "));
        found.extend(arguments.map(str::to_owned));
    }
    found
}

/// Runs a line with its result beside the project, so that the project stays as it is.
fn runs(page: &str, line: &str) {
    let workshop = Workshop::empty();
    let mut words = words(line);
    if let Some(at) = words
        .iter()
        .position(|word| word == "-o" || word == "--output")
    {
        words.drain(at..(at + 2).min(words.len()));
    }
    let place = workshop.beside("result").to_string_lossy().into_owned();
    let shows_only = words
        .iter()
        .any(|word| word == "--help" || word == "--version");
    if words[0] == "init" {
        words[1] = place;
    } else if !shows_only {
        words.extend(["-o".to_owned(), place]);
    }
    let run = finished(command().args(&words));
    assert!(
        run.status <= 1,
        "{page}: `{line}` ends with {}\n{}",
        run.status,
        run.err
    );
}

#[test]
fn the_command_lines_of_the_readme_run() {
    let lines = command_lines("README.md");
    assert!(lines.len() >= 3, "{lines:?}");
    assert!(
        lines.iter().any(|line| line.starts_with("report ")),
        "{lines:?}"
    );
    for line in &lines {
        runs("README.md", line);
    }
}

#[test]
fn the_command_lines_of_the_developers_page_run() {
    for line in command_lines("DEVELOPERS.md") {
        runs("DEVELOPERS.md", &line);
    }
}

/// Pages and pictures that the two pages point to are there.
#[test]
fn links_within_the_project_lead_somewhere() {
    for page in ["README.md", "DEVELOPERS.md", "sample-data/README.md"] {
        let path = project().join(page);
        let text = fs::read_to_string(&path).expect("the page is there");
        for link in text
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next())
        {
            let target = link.split('#').next().unwrap_or_default();
            if target.is_empty() || target.contains("://") {
                continue;
            }
            let folder = path.parent().expect("a page lies in a folder");
            assert!(folder.join(target).exists(), "{page} points to {target}");
        }
    }
}
