//! All texts that a user sees are in plain trade English: none has a word or phrase that the list below rules out.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;

use crate::program::project;
use crate::sample::{SampleRun, sample_run};

/// Words and phrases that no text has, and what to write.
const RULED_OUT: &[(&[&str], &str)] = &[
    (&["nought", "noughts"], "zero"),
    (
        &["told", "tell", "tells", "telling"],
        "report, show, determine",
    ),
    (&["told apart", "tell apart"], "distinguish"),
    (&["beside", "set against"], "compared with, next to"),
    (&["mind"], "note"),
    (&["maker", "makers", "maker's"], "manufacturer"),
    (&["stands", "stand"], "is, appears"),
    (&["lies", "lies on", "lies in"], "is, is in"),
    (
        &["tapped off", "tap off", "taps off"],
        "connected to, fed from",
    ),
    (
        &[
            "leaves least",
            "leaves less",
            "carries least",
            "leaves the least",
        ],
        "lowest neutral current",
    ),
    (
        &[
            "passes a limit",
            "pass a limit",
            "passes the limit",
            "passes its limit",
            "limit is passed",
            "limits are passed",
            "passes them least",
            "passes the limits",
        ],
        "over a limit; no limit exceeded",
    ),
    (
        &[
            "made small",
            "make small",
            "makes small",
            "make it small",
            "small is made",
        ],
        "minimise",
    ),
    (
        &["at its largest", "at its highest", "at their largest"],
        "maximum, max.",
    ),
    (
        &["fullest", "how full"],
        "most heavily loaded; phase loading",
    ),
    (
        &["board chart", "board's chart", "chart of the board"],
        "circuit chart",
    ),
    (&["board to try", "try it first"], "what-if board"),
    (&["consumer", "consumers"], "load, machine"),
    (
        &[
            "remainder",
            "remainders",
            "everything else",
            "seen above only",
        ],
        "unmetered",
    ),
    (&["origin", "origins", "known from"], "basis"),
    (&["assignment", "assignments"], "phase allocation"),
    (
        &[
            "gives back",
            "giving back",
            "gives energy",
            "giving power",
            "gives power back",
        ],
        "shows export",
    ),
    (&["standing load", "stands by"], "base load"),
    (&["outside hours"], "out of hours"),
    (
        &[
            "demand block",
            "demand blocks",
            "highest block",
            "highest blocks",
        ],
        "demand period; highest demand periods",
    ),
    (
        &[
            "line voltage",
            "line voltages",
            "between the lines",
            "between lines",
        ],
        "line-to-line voltage",
    ),
    (
        &["current clamp's partner", "device of residual current"],
        "CT, RCD",
    ),
    (
        &[
            "conventional operating current",
            "conventional non-operating current",
        ],
        "fusing, non-fusing (gG); tripping, non-tripping current (breakers)",
    ),
    (
        &["cable section", "conductor section", "copper section"],
        "cross-sectional area",
    ),
    (
        &["oddity", "oddities", "nothing odd", "is odd"],
        "data quality; problems found in the data",
    ),
    (
        &["imitate", "imitates", "imitator", "imitators"],
        "possible other causes",
    ),
    (&["look first"], "what to do"),
    (&["smaller ones together"], "other (small)"),
    (
        &["never a clearance"],
        "a normal reading does not prove it safe",
    ),
    (
        &[
            "exchange two lines",
            "exchange no two lines",
            "exchanging two lines",
            "keep the sequence",
        ],
        "swap two phases; check phase rotation",
    ),
    (&["agree when it may be off"], "agree a shutdown"),
    (&["quantile", "quantiles"], "percentile"),
    (&["look for a place", "looks for a place"], "new machines"),
    (
        &["driver", "drivers", "goes by", "go by", "what drives"],
        "variables",
    ),
    (
        &["stand out", "stands out", "out of their kind"],
        "unusual days",
    ),
    (
        &["chance explains", "than chance"],
        "not statistically significant",
    ),
    (&["sisters"], "the other phases"),
    (
        &["against the clock", "with the clock"],
        "anticlockwise, clockwise",
    ),
    (&["as arrows"], "phasor diagram"),
    (&["how much is drawn", "carries how much"], "duration curve"),
    (&["so many moves"], "number of moves"),
    (&["how sure"], "status"),
    (
        &["all else held", "all else at its mean"],
        "other variables held constant",
    ),
    (&["went on"], "advanced during the gap"),
    (&["on balance"], "net"),
    (&["secondary wires"], "S1 and S2"),
    (
        &["could not be judged", "cannot be judged"],
        "checks not possible: data needed",
    ),
    (&["time of the log costs"], "cost of the logged period"),
    (&["compares with no other"], "not comparable"),
    (&["due in full"], "monthly charges in full"),
    (
        &["have to come down", "has to come down"],
        "half-hours must fall",
    ),
    (&["as things are"], "now"),
    (&["goes best"], "best connection point"),
    (&["in the way"], "why it fails"),
    (&["taken as typical"], "assumed: not on the rating plate"),
    (&["something else than"], "is not a tapoff result"),
    (&["no longer looked at"], "excluded"),
    (&["warm conductors"], "loaded conductors"),
    (&["backward field"], "reverse-rotating field"),
    (&["part from the network"], "disconnect"),
    (
        &["from memory"],
        "value not checked against the standard's text",
    ),
    (&["a tester"], "an approved voltage indicator"),
    (&["take off the neutral", "takes off the neutral"], "saving"),
    (
        &["sought", "whatever it holds", "wherein", "thereof"],
        "plain words",
    ),
];

/// Uses that are right, each with its reason.
const ALLOWED: &[(&str, &str)] = &[
    (
        "Sample Quantiles in Statistical Packages",
        "the title of the paper that defines the percentile",
    ),
    (
        "LED drivers",
        "the usual name of the power supplies of lamps",
    ),
];

/// A text, and where a user sees it.
struct UserText {
    seen_at: String,
    text: String,
}

impl UserText {
    fn new(seen_at: impl Into<String>, text: impl Into<String>) -> UserText {
        UserText {
            seen_at: seen_at.into(),
            text: text.into(),
        }
    }

    /// What a command line prints.
    fn printed(line: &str) -> UserText {
        let SampleRun { run, .. } = sample_run(line);
        assert!(run.status <= 1, "`tapoff {line}`: {}", run.err);
        UserText::new(
            format!("tapoff {line}"),
            format!("{}\n{}", run.out, run.err),
        )
    }

    /// Each ruled-out phrase with the words around it and what to write.
    fn faults(&self) -> BTreeSet<String> {
        let plain = self.plain();
        let mut faults = BTreeSet::new();
        for (phrases, write) in RULED_OUT {
            for phrase in *phrases {
                for at in whole_words(&plain, phrase) {
                    let around = around(&plain, at, phrase.len());
                    faults.insert(format!(
                        "{}: `{phrase}` in “{around}”; write: {write}",
                        self.seen_at
                    ));
                }
            }
        }
        faults
    }

    /// In lower case with single spaces, without what is allowed.
    fn plain(&self) -> String {
        let text = self
            .text
            .replace(['\u{A0}', '\u{202F}'], " ")
            .replace('’', "'");
        let mut plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for (allowed, _) in ALLOWED {
            plain = plain.replace(allowed, "…");
        }
        plain.to_lowercase()
    }
}

/// Where a phrase is found that is no part of a longer word. A hyphen and an underscore are parts of a word: names of
/// keys are no phrases.
fn whole_words(text: &str, phrase: &str) -> Vec<usize> {
    let is_part = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    text.match_indices(phrase)
        .map(|(at, _)| at)
        .filter(|&at| {
            let before = text[..at].chars().next_back();
            let after = text[at + phrase.len()..].chars().next();
            !before.is_some_and(is_part) && !after.is_some_and(is_part)
        })
        .collect()
}

/// A few words before and after.
fn around(text: &str, at: usize, length: usize) -> String {
    let before: Vec<char> = text[..at].chars().rev().take(40).collect();
    let after = text[at..].chars().take(length + 40);
    before.into_iter().rev().chain(after).collect()
}

#[track_caller]
fn are_plain(texts: &[UserText]) {
    assert!(!texts.is_empty());
    let faults: BTreeSet<String> = texts.iter().flat_map(UserText::faults).collect();
    let list = faults.iter().fold(String::new(), |mut list, fault| {
        let _ = writeln!(list, "  {fault}");
        list
    });
    assert!(faults.is_empty(), "{} in all:\n{list}", faults.len());
}

/// The names of all commands.
fn commands() -> Vec<String> {
    let help = &sample_run("--help").run.out;
    let names: Vec<String> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect();
    assert!(names.len() >= 9, "{names:?}");
    names
}

#[test]
fn helps_are_plain() {
    let all = UserText::printed("--help");
    let each = commands()
        .into_iter()
        .map(|name| UserText::printed(&format!("{name} --help")));
    are_plain(&std::iter::once(all).chain(each).collect::<Vec<_>>());
}

#[test]
fn explain_pages_are_plain() {
    let kinds = tapoff::finding::Kind::ALL.iter();
    let pages = kinds.map(|kind| UserText::printed(&format!("explain {kind}")));
    let list = UserText::printed("explain");
    are_plain(&pages.chain([list]).collect::<Vec<_>>());
}

#[test]
fn schemas_are_plain() {
    let listed = &sample_run("schema").run.out;
    let names = listed
        .lines()
        .filter_map(|line| line.split_whitespace().next());
    let schemas = names.map(|name| UserText::printed(&format!("schema {name}")));
    are_plain(&schemas.collect::<Vec<_>>());
}

/// The command lines on the demo whose output is read, without what chooses its format.
const LINES: [&str; 12] = [
    "check sample-data/ferry-lane",
    "diagnose sample-data/ferry-lane",
    "diagnose sample-data/ferry-lane --phase L1",
    "diagnose sample-data/ferry-lane --since-work 2026-03-23",
    "balance sample-data/ferry-lane --max-moves 2",
    "place sample-data/ferry-lane --new-machines sample-data/new-machines.csv",
    "place sample-data/ferry-lane --name 'Edge sander' --power-kw 1.5 --power-factor 0.8 --schedule 'day shift'",
    "place sample-data/ferry-lane --name 'Edge sander' --power-kw 1.5 --power-factor 0.8 --detail 'J7 benches:L2'",
    "energy sample-data/ferry-lane",
    "energy sample-data/ferry-lane --bill",
    "energy sample-data/ferry-lane --invoice sample-data/ferry-lane-invoice.csv",
    "energy sample-data/ferry-lane --by machine --by board",
];

#[test]
fn text_outputs_are_plain() {
    are_plain(&LINES.map(UserText::printed));
}

#[test]
fn csv_outputs_are_plain() {
    are_plain(&LINES.map(|line| UserText::printed(&format!("{line} --format csv"))));
}

#[test]
fn every_table_of_energy_is_plain() {
    let help = &sample_run("energy --help").run.out;
    let (_, after) = help.split_once("--table").expect("the option has a help");
    let tables: Vec<UserText> = after
        .lines()
        .map(str::trim)
        .skip_while(|line| !line.starts_with("- "))
        .take_while(|line| line.starts_with("- ") || !line.starts_with("--"))
        .filter_map(|line| line.strip_prefix("- ")?.split_once(':'))
        .filter(|(name, _)| !["since", "text", "json", "csv", "xlsx"].contains(name))
        .map(|(name, _)| {
            UserText::printed(&format!("energy sample-data/ferry-lane --table {name}"))
        })
        .collect();
    assert!(tables.len() >= 10, "{}", tables.len());
    are_plain(&tables);
}

/// A page without its style sheet and its data.
fn shown(page: &str) -> String {
    let mut shown = page.to_owned();
    for (from, to) in [
        ("<style>", "</style>"),
        ("<script type=\"application/json\"", "</script>"),
    ] {
        while let Some(start) = shown.find(from) {
            let length = shown[start..].find(to).expect("it is closed") + to.len();
            shown.replace_range(start..start + length, " ");
        }
    }
    shown
}

#[test]
fn pages_and_charts_are_plain() {
    let with_new = "report sample-data/ferry-lane --new-machines sample-data/new-machines.csv";
    let mut texts = Vec::new();
    for line in ["report sample-data/ferry-lane", with_new] {
        let run = sample_run(line);
        assert_eq!(run.run.status, 0, "{}", run.run.err);
        for (name, bytes) in &run.files {
            let text = String::from_utf8_lossy(bytes);
            // Of a CSV file the heads are the program's; its words are those of the outputs above.
            let text = match name.rsplit_once('.') {
                Some((_, "html" | "svg")) => shown(&text),
                Some((_, "csv")) => text.lines().next().unwrap_or_default().to_owned(),
                _ => continue,
            };
            texts.push(UserText::new(format!("{line}, {name}"), text));
        }
    }
    are_plain(&texts);
}

#[test]
fn the_starter_is_plain() {
    let SampleRun { run, files } = sample_run("new mill");
    assert_eq!(run.status, 0, "{}", run.err);
    let texts = files.iter().map(|(name, bytes)| {
        UserText::new(
            format!("tapoff new mill, {name}"),
            String::from_utf8_lossy(bytes),
        )
    });
    are_plain(&texts.collect::<Vec<_>>());
}

#[test]
fn written_pages_are_plain() {
    let read = |name: &str| {
        let text = fs::read_to_string(project().join(name)).expect("the page is there");
        UserText::new(name, text)
    };
    are_plain(
        &[
            "README.md",
            "sample-data/README.md",
            "sample-data/ferry-lane/site.toml",
        ]
        .map(read),
    );
}

#[test]
fn whole_words_alone_are_found_and_keys_are_no_phrases() {
    assert_eq!(
        whole_words("the remainder, a remainder_kwh", "remainder"),
        [4]
    );
    assert!(whole_words("line-to-line voltage", "line voltage").is_empty());
    let text = UserText::new("here", "Nothing is Told;\n the limit is  passed");
    assert_eq!(text.faults().len(), 2);
    let allowed = UserText::new("here", "Sample Quantiles in Statistical Packages");
    assert!(allowed.faults().is_empty());
}
