//! A small workshop in a temporary folder, and the program run on it: as a function, or as the
//! installed command where the process itself matters.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tapoff::app::{self, Console};
use tempfile::TempDir;

/// Supply, one board, two circuits, one meter.
pub(crate) const SITE: &str = r#"[site]
name = "Five Machines"
timezone = "Europe/London"

[supply]
line_voltage_v = 400
phase_limit_a = 63

[[board]]
id = "DB1"
fed_from = "supply"
phase_limit_a = 50

[[circuit]]
id = "C1"
board = "DB1"
protective_device = "gG 25"

[[circuit]]
id = "C2"
board = "DB1"
phases = "L1"
protective_device = "B 16"

[[schedule]]
name = "day shift"
days = "Mon-Fri"
from = "07:30"
to = "16:00"

[[meter]]
id = "main"
measures = "supply"
files = "meters/main.csv"
time = { column = "time", format = "%Y-%m-%d %H:%M" }

[meter.columns]
current_l1_a = "I1"
current_l2_a = "I2"
current_l3_a = "I3"
active_power_l1_kw = "P1"
active_power_l2_kw = "P2"
active_power_l3_kw = "P3"
"#;

/// Five machines, none of them special.
pub(crate) const MACHINES: &str = "\
machine,circuit,connection,power_kw,power_factor,utilisation_factor,schedule,quantity,movable,keep_with,description
saw,C1,3ph,2.4,0.8,0.5,day shift,1,,,
drill,C1,L1,0.9,0.75,,day shift,1,,,
grinder,C1,L1,1.2,0.8,,day shift,1,,,
heater,C1,L2,2,,,,1,yes,,under the window
lamps,C2,L1,0.1,,,day shift,4,yes,,
";

/// Two hours of a Monday morning; every quarter-hour is the same.
pub(crate) const MAIN_LOG: &str = "\
time,I1,I2,I3,P1,P2,P3
2026-03-09 08:15,18,10,2,3.6,2.3,0.4
2026-03-09 08:30,18,10,2,3.6,2.3,0.4
2026-03-09 08:45,18,10,2,3.6,2.3,0.4
2026-03-09 09:00,18,10,2,3.6,2.3,0.4
2026-03-09 09:15,18,10,2,3.6,2.3,0.4
2026-03-09 09:30,18,10,2,3.6,2.3,0.4
2026-03-09 09:45,18,10,2,3.6,2.3,0.4
2026-03-09 10:00,18,10,2,3.6,2.3,0.4
";

/// A site folder that is gone when the test ends.
#[derive(Debug)]
pub(crate) struct Workshop {
    temporary: TempDir,
}

/// How a run ended and what it said, with the temporary path and the version blotted out.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Workshop {
    /// The five machines.
    pub(crate) fn new() -> Workshop {
        Workshop::empty()
            .with("site.toml", SITE)
            .with("machines.csv", MACHINES)
            .with("meters/main.csv", MAIN_LOG)
    }

    /// A folder without files.
    pub(crate) fn empty() -> Workshop {
        let temporary = TempDir::new().expect("a temporary folder can be made");
        fs::create_dir(temporary.path().join("site")).expect("the folder is new");
        Workshop { temporary }
    }

    /// A file of the site, new or written over.
    pub(crate) fn with(self, name: &str, content: impl AsRef<[u8]>) -> Workshop {
        let path = self.site().join(name);
        let folder = path.parent().expect("a file lies in a folder");
        fs::create_dir_all(folder).expect("the temporary folder can be written");
        fs::write(path, content).expect("the temporary folder can be written");
        self
    }

    /// A file less.
    pub(crate) fn without(self, name: &str) -> Workshop {
        fs::remove_file(self.site().join(name)).expect("the file is there");
        self
    }

    /// More at the end of a file.
    pub(crate) fn append(self, name: &str, more: &str) -> Workshop {
        let text = fs::read_to_string(self.site().join(name)).expect("the file is there");
        self.with(name, text + "\n" + more)
    }

    /// One stretch of a file exchanged; it must be there exactly once.
    pub(crate) fn replace(self, name: &str, from: &str, to: &str) -> Workshop {
        let text = fs::read_to_string(self.site().join(name)).expect("the file is there");
        assert_eq!(text.matches(from).count(), 1, "`{from}` in {name}");
        let text = text.replace(from, to);
        self.with(name, text)
    }

    /// The site folder.
    pub(crate) fn site(&self) -> PathBuf {
        self.temporary.path().join("site")
    }

    /// A place beside the site.
    pub(crate) fn beside(&self, name: &str) -> PathBuf {
        self.temporary.path().join(name)
    }

    /// Everything below the temporary folder, sorted.
    pub(crate) fn files(&self) -> Vec<String> {
        let mut found = Vec::new();
        list(self.temporary.path(), self.temporary.path(), &mut found);
        found.sort();
        found
    }

    /// Runs the program as a function. `SITE` and `BESIDE` stand for the folders, `BESIDE/x` for a
    /// place beside the site.
    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        run(&self.filled(arguments)).filtered(&self.temporary.path().to_string_lossy())
    }

    /// The same by the command itself.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = command();
        command.args(self.filled(arguments));
        command
    }

    /// The same by the command itself, run to its end.
    pub(crate) fn run_command(&self, arguments: &[&str]) -> Run {
        finished(&mut self.command(arguments)).filtered(&self.temporary.path().to_string_lossy())
    }

    /// A command of JSON that is done, read.
    pub(crate) fn json(&self, arguments: &[&str]) -> serde_json::Value {
        let run = self.run(arguments);
        assert_eq!(run.status, 0, "{}", run.err);
        serde_json::from_str(&run.out).expect("the result is JSON")
    }

    fn filled(&self, arguments: &[&str]) -> Vec<String> {
        let site = self.site().to_string_lossy().into_owned();
        let beside = self.temporary.path().to_string_lossy().into_owned();
        arguments
            .iter()
            .map(|argument| argument.replace("SITE", &site).replace("BESIDE", &beside))
            .collect()
    }
}

fn list(home: &Path, folder: &Path, found: &mut Vec<String>) {
    for entry in fs::read_dir(folder).expect("the folder can be read") {
        let path = entry.expect("the folder can be read").path();
        if path.is_dir() {
            list(home, &path, found);
        } else {
            let inside = path.strip_prefix(home).expect("the walk stays inside");
            found.push(inside.to_string_lossy().replace('\\', "/"));
        }
    }
}

/// Runs the program as a function.
pub(crate) fn run<A: AsRef<str>>(arguments: &[A]) -> Run {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let all = std::iter::once("tapoff").chain(arguments.iter().map(AsRef::as_ref));
    let mut console = Console {
        out: &mut out,
        err: &mut err,
        colour: false,
    };
    let status = app::run(all, &mut console);
    Run {
        status: i32::from(status.code()),
        out: String::from_utf8(out).expect("results are UTF-8"),
        err: String::from_utf8(err).expect("messages are UTF-8"),
    }
}

/// The command, in the project's folder and with nothing of the caller's environment that it heeds.
pub(crate) fn command() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tapoff"));
    command
        .current_dir(project())
        .env_remove("COLUMNS")
        .env_remove("NO_COLOR")
        .env_remove("RAYON_NUM_THREADS");
    command
}

/// Runs a command to its end.
pub(crate) fn finished(command: &mut Command) -> Run {
    let output = command.output().expect("the command can be started");
    Run {
        status: output.status.code().expect("the command ends by itself"),
        out: String::from_utf8(output.stdout).expect("results are UTF-8"),
        err: String::from_utf8(output.stderr).expect("messages are UTF-8"),
    }
}

/// Splits a command line into words as a shell does, as far as quotes go.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for c in line.chars() {
        match (quote, c) {
            (Some(open), _) if c == open => quote = None,
            (None, '\'' | '"') => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            (None, _) if c.is_whitespace() => words.extend(word.take()),
            _ => word.get_or_insert_default().push(c),
        }
    }
    words.extend(word);
    words
}

#[test]
fn words_keep_what_is_quoted_together() {
    assert_eq!(words("a 'b c'=d \"\" e"), ["a", "b c=d", "", "e"]);
}

/// The folder of the project.
pub(crate) fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The demo site.
pub(crate) fn ferry_lane() -> PathBuf {
    project().join("sample-data/ferry-lane")
}

impl Run {
    fn filtered(mut self, temporary: &str) -> Run {
        for text in [&mut self.out, &mut self.err] {
            *text = text
                .replace(temporary, "[TEMP]")
                .replace(env!("CARGO_PKG_VERSION"), "[VERSION]");
        }
        self
    }
}

/// Compares a text with `tests/snapshots/NAME.snap`. After a wanted change:
/// `INSTA_UPDATE=always cargo test`, then read the diff.
pub(crate) fn same_as_before(name: &str, text: &str) {
    insta::with_settings!({
        snapshot_path => "../snapshots",
        prepend_module_to_snapshot => false,
        omit_expression => true,
    }, {
        insta::assert_snapshot!(name, text);
    });
}
