//! The command lines of README.md and DEVELOPERS.md work as they are written.

use std::fs;

use crate::program::{Workshop, command, finished, project, words};

/// A command line of a page, and what the page says can be found in its result.
#[derive(Debug)]
struct CommandLine {
    arguments: String,
    shows: Vec<String>,
}

/// What follows `tapoff` in the command lines of a page's code blocks, each with the lines after `#>` below it.
fn command_lines(page: &str) -> Vec<CommandLine> {
    let text = fs::read_to_string(project().join(page)).expect("the page is there");
    let mut fenced = false;
    let mut found: Vec<CommandLine> = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
            continue;
        }
        if !fenced && !line.starts_with("    ") {
            continue;
        }
        if let Some(shown) = line.trim().strip_prefix("#> ") {
            let last = found.last_mut().expect("a command before what it shows");
            last.shows.push(shown.to_owned());
            continue;
        }
        let line = line.split('#').next().unwrap_or_default().trim();
        let line = line.strip_prefix("$ ").unwrap_or(line);
        let arguments = line
            .strip_prefix("cargo run -- ")
            .or_else(|| line.strip_prefix("cargo run --release -- "))
            .or_else(|| line.strip_prefix("tapoff "));
        found.extend(arguments.map(|arguments| CommandLine {
            arguments: arguments.to_owned(),
            shows: Vec::new(),
        }));
    }
    found
}

/// Words with single spaces, whatever spaces part them and their digits.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs a line, what it writes beside the project, so that the project stays as it is.
fn runs(page: &str, line: &CommandLine) {
    let workshop = Workshop::empty();
    let mut words = words(&line.arguments);
    if let Some(at) = words
        .iter()
        .position(|word| word == "-o" || word == "--output")
    {
        words.drain(at..(at + 2).min(words.len()));
    }
    let place = workshop.beside("result").to_string_lossy().into_owned();
    if words[0] == "init" {
        words[1] = place;
    } else if words[0] == "report" {
        words.extend(["-o".to_owned(), place]);
    }
    let run = finished(command().args(&words));
    let line_text = &line.arguments;
    assert!(
        run.status <= 1,
        "{page}: `{line_text}` ends with {}\n{}",
        run.status,
        run.err
    );
    let out = plain(&run.out);
    for shown in &line.shows {
        assert!(
            out.contains(&plain(shown)),
            "{page}: `{line_text}` does not print `{shown}`"
        );
    }
}

#[test]
fn the_command_lines_of_the_readme_run() {
    let lines = command_lines("README.md");
    assert!(lines.len() >= 3, "{lines:?}");
    assert!(
        lines
            .iter()
            .any(|line| line.arguments.starts_with("report ")),
        "{lines:?}"
    );
    for line in &lines {
        runs("README.md", line);
    }
    let shown: usize = lines.iter().map(|line| line.shows.len()).sum();
    assert!(shown >= 10, "the walks say what to look for");
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
