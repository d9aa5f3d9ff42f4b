//! What many tests look at and what takes long to make: the demo as it is read, and command lines on the sample
//! data. Each is made once, by whichever test comes first.

use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::Path;
use std::sync::{LazyLock, Mutex, OnceLock};

use serde_json::Value;
use tapoff::demand::{EnergyResult, analyse};
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period};
use tapoff::site::{Site, read_site};
use tapoff::wiring::read_logs;

use crate::program::{Run, Workshop, command, ferry_lane, finished, words};

/// The demo site and its logs.
pub(crate) fn demo() -> &'static (Site, Logs) {
    static DEMO: OnceLock<(Site, Logs)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let (site, _) = read_site(&ferry_lane()).expect("a sound site");
        let mut messages = Messages::new();
        let logs = read_logs(&site, Period::default(), &mut messages);
        assert!(!messages.has_errors(), "{messages:?}");
        (site, logs)
    })
}

/// Energy and demand of the demo.
pub(crate) fn demo_energy() -> &'static EnergyResult {
    static ENERGY: OnceLock<EnergyResult> = OnceLock::new();
    ENERGY.get_or_init(|| {
        let (site, logs) = demo();
        analyse(site, logs, None)
    })
}

/// How a command line ended, and what it wrote.
#[derive(Debug)]
pub(crate) struct SampleRun {
    pub(crate) run: Run,
    /// A report's files by their names, in a folder `result`; `result` for another result, `written` for what else
    /// it writes.
    pub(crate) files: BTreeMap<String, Vec<u8>>,
}

impl SampleRun {
    /// Writes the files again, into a folder of the test's own.
    pub(crate) fn write(&self, folder: &Path) {
        for (name, bytes) in &self.files {
            let path = folder.join(name);
            let parent = path.parent().expect("it lies in the folder");
            fs::create_dir_all(parent).expect("the folder can be written");
            fs::write(path, bytes).expect("the folder can be written");
        }
    }
}

/// Runs a line as it would be typed after `tapoff` in the project's folder; what it writes goes elsewhere. The run is
/// shared: the same words are not run twice.
pub(crate) fn sample_run(line: &str) -> &'static SampleRun {
    type Runs = Mutex<HashMap<Vec<String>, &'static OnceLock<SampleRun>>>;
    static RUNS: LazyLock<Runs> = LazyLock::new(Runs::default);
    let arguments = redirected(line);
    let run: &OnceLock<SampleRun> = RUNS
        .lock()
        .expect("nothing can go wrong while it is held")
        .entry(arguments.clone())
        .or_insert_with(|| Box::leak(Box::default()));
    run.get_or_init(|| run_on_threads("2", &arguments))
}

/// As [`sample_run`], with so many threads, and not shared.
pub(crate) fn sample_run_on(threads: &str, line: &str) -> SampleRun {
    run_on_threads(threads, &redirected(line))
}

/// The JSON of a command line that is done.
pub(crate) fn sample_json(line: &str) -> Value {
    let SampleRun { run, .. } = sample_run(&format!("{line} --format json"));
    assert!(run.status <= 1, "{line}: {}", run.err);
    serde_json::from_str(&run.out).expect("the result is JSON")
}

/// The words of a line; what it writes is named anew, relative to `BESIDE`.
fn redirected(line: &str) -> Vec<String> {
    let mut arguments = words(line);
    let named_output = arguments
        .iter()
        .position(|word| word == "-o" || word == "--output");
    if let Some(at) = named_output {
        arguments.drain(at..(at + 2).min(arguments.len()));
    }
    for option in ["--write", "--circuit-chart", "--html"] {
        if let Some(at) = arguments.iter().position(|word| word == option) {
            "BESIDE/written".clone_into(&mut arguments[at + 1]);
        }
    }
    let needs_place = match arguments.first().map(String::as_str) {
        Some("report") => true,
        Some("estate") => named_output.is_some(),
        // Where no file is named, all pages are printed, or the form is refused.
        _ => {
            named_output.is_some()
                && (arguments[0] == "man"
                    || arguments
                        .iter()
                        .any(|word| word == "xlsx" || word == "parquet"))
        }
    };
    if arguments.first().is_some_and(|name| name == "new") {
        "BESIDE/result".clone_into(&mut arguments[1]);
    } else if needs_place {
        arguments.extend(["-o".to_owned(), "BESIDE/result".to_owned()]);
    }
    arguments
}

/// The day of the committed report, 6 April 2026, in seconds.
pub(crate) const MADE_ON: &str = "1775476800";

fn run_on_threads(threads: &str, arguments: &[String]) -> SampleRun {
    let place = Workshop::empty();
    let beside = place.beside("").to_string_lossy().into_owned();
    let filled = arguments
        .iter()
        .map(|argument| argument.replace("BESIDE/", &beside));
    let fixed = [
        ("RAYON_NUM_THREADS", threads),
        ("SOURCE_DATE_EPOCH", MADE_ON),
    ];
    let run = finished(command().args(filled).envs(fixed));
    let read = |name: String| {
        let bytes = fs::read(place.beside(&name)).expect("it was written");
        (name, bytes)
    };
    let files = place.files().into_iter().map(read).collect();
    SampleRun { run, files }
}

#[test]
fn what_a_line_writes_goes_elsewhere() {
    for (line, run) in [
        ("check mill", "check mill"),
        ("new mill", "new BESIDE/result"),
        (
            "energy mill --format csv -o a.csv",
            "energy mill --format csv",
        ),
        (
            "energy mill --format xlsx -o a.xlsx",
            "energy mill --format xlsx -o BESIDE/result",
        ),
        ("report mill", "report mill -o BESIDE/result"),
        (
            "report mill -o a --since b",
            "report mill --since b -o BESIDE/result",
        ),
        (
            "place mill --write a.csv --name 'b c'",
            "place mill --write BESIDE/written --name b c",
        ),
    ] {
        assert_eq!(redirected(line).join(" "), run);
    }
}
