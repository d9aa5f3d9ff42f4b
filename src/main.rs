//! The command `tapoff`: arguments in, exit status out. Everything else is in the library.

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use tapoff::app::{self, Console};

fn main() -> ExitCode {
    let mut out = io::BufWriter::new(io::stdout().lock());
    // Not locked: the progress bar draws there from other threads.
    let mut err = io::stderr();
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let mut console = Console {
        colour: io::stderr().is_terminal() && !plain,
        out: &mut out,
        err: &mut err,
    };
    let status = app::run(std::env::args_os(), &mut console);
    // A closed pipe is no error: its reader has stopped reading.
    let _ = out.flush();
    ExitCode::from(status.code())
}
