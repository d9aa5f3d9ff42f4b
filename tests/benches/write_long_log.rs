//! Writes the site with the long log that the benches read: FOLDER, then samples a second (1).

use std::path::PathBuf;
use std::process::ExitCode;

mod long_log;

use long_log::{Writing, write_site};

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1);
    let Some(folder) = arguments.next().map(PathBuf::from) else {
        return ExitCode::FAILURE;
    };
    let per_second = arguments
        .next()
        .and_then(|text| text.to_str()?.parse().ok())
        .unwrap_or(1);
    let writing = Writing {
        per_second,
        ..Writing::default()
    };
    match write_site(&folder, writing) {
        Ok(_) => ExitCode::SUCCESS,
        Err(_) => ExitCode::FAILURE,
    }
}
