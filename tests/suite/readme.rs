//! The command lines of README.md and DEVELOPERS.md work as they are written.

use std::fs;

use crate::program::{project, words};
use crate::sample::sample_run;

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

/// Runs the lines of a page that begin with a command.
fn lines_run(page: &str, name: &str) {
    let lines = command_lines(page);
    let own = lines
        .iter()
        .filter(|line| words(&line.arguments)[0] == name);
    for CommandLine { arguments, shows } in own {
        let run = &sample_run(arguments).run;
        assert!(
            run.status <= 1,
            "{page}: `{arguments}` ends with {}\n{}",
            run.status,
            run.err
        );
        let out = plain(&run.out);
        for shown in shows {
            assert!(
                out.contains(&plain(shown)),
                "{page}: `{arguments}` does not print `{shown}`"
            );
        }
    }
}

/// A test for the lines of each command of README.md, so that they run beside each other.
macro_rules! lines_of_the_readme_run {
    ($($name:ident)*) => {
        mod lines_of_the_readme_run {
            $(
                #[test]
                fn $name() {
                    super::lines_run("README.md", stringify!($name));
                }
            )*
        }

        #[test]
        fn every_command_of_the_readme_is_run() {
            let tested = [$(stringify!($name)),*];
            let lines = command_lines("README.md");
            for line in &lines {
                assert!(tested.contains(&words(&line.arguments)[0].as_str()), "{line:?}");
            }
            let shown: usize = lines.iter().map(|line| line.shows.len()).sum();
            assert!(shown >= 10, "the walks say what to look for");
        }
    };
}

lines_of_the_readme_run!(balance check diagnose energy estate explain new place readings report);

#[test]
fn the_command_lines_of_the_developers_page_run() {
    let lines = command_lines("DEVELOPERS.md");
    assert!(!lines.is_empty());
    for line in lines {
        lines_run("DEVELOPERS.md", &words(&line.arguments)[0]);
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
