//! Writes the demo site `ferry-lane`: an invented joinery and boat workshop, its machine list and
//! four weeks of meter logs, simulated in steps of ten seconds.
//!
//! ```text
//! cargo run -p ferry-lane -- OUT_FOLDER [--healthy] [--seed N] [--days N]
//! ```
//!
//! Without options it writes exactly what `sample-data/ferry-lane` holds. `--healthy` writes the
//! twin: same loads, same weather, no faults.

use std::env;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use ferry_lane::Options;

const USAGE: &str = "usage: ferry-lane OUT_FOLDER [--healthy] [--seed N] [--days N]";

fn main() -> ExitCode {
    let mut err = io::stderr();
    let outcome = match parse(env::args().skip(1)) {
        Ok((out, options)) => ferry_lane::generate(&out, &options)
            .map(|_| ())
            .map_err(|error| format!("cannot write `{}`: {error}", out.display())),
        Err(message) => Err(format!("{message}\n{USAGE}")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            // Nothing is left to be done if standard error is closed.
            let _ = writeln!(err, "{message}");
            ExitCode::from(2)
        }
    }
}

fn parse(mut words: impl Iterator<Item = String>) -> Result<(PathBuf, Options), String> {
    let mut out = None;
    let mut options = Options::default();
    while let Some(word) = words.next() {
        match word.as_str() {
            "--healthy" => options.healthy = true,
            "--seed" => options.seed = number(&word, words.next().as_deref())?,
            "--days" => options.days = number(&word, words.next().as_deref())?,
            _ if word.starts_with("--") => return Err(format!("`{word}` is not an option")),
            _ if out.is_none() => out = Some(PathBuf::from(word)),
            _ => return Err(format!("one folder is enough, `{word}` is a second")),
        }
    }
    let out = out.ok_or("no folder to write to")?;
    if !(1..=366).contains(&options.days) {
        return Err(format!("`--days` is 1 to 366, not {}", options.days));
    }
    Ok((out, options))
}

fn number<T: std::str::FromStr>(option: &str, word: Option<&str>) -> Result<T, String> {
    word.and_then(|word| word.parse().ok())
        .ok_or_else(|| format!("`{option}` needs a whole number"))
}
