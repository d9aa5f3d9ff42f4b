//! The program as a function: arguments in, exit status out. Can be called any number of times.

use std::ffi::OsString;
use std::io::{self, Write};

use clap::Parser;

use crate::cli::{Cli, CommandError, Outcome};
use message::{Level, Message, Messages};

/// Where the program writes.
pub struct Console<'w> {
    /// Results.
    pub out: &'w mut dyn Write,
    /// Everything else.
    pub err: &'w mut dyn Write,
    /// May `err` be coloured?
    pub colour: bool,
}

impl std::fmt::Debug for Console<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Console")
            .field("colour", &self.colour)
            .finish_non_exhaustive()
    }
}

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExitStatus {
    /// Done.
    Done,
    /// Done, and a limit is exceeded.
    LimitExceeded,
    /// Could not be done.
    Failed,
}

impl ExitStatus {
    /// 0, 1 or 2.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            ExitStatus::Done => 0,
            ExitStatus::LimitExceeded => 1,
            ExitStatus::Failed => 2,
        }
    }
}

/// Runs the program.
pub fn run<A, I>(args: I, console: &mut Console<'_>) -> ExitStatus
where
    I: IntoIterator<Item = A>,
    A: Into<OsString> + Clone,
{
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => return usage(&error, console),
    };
    let json = cli.wants_json();
    match cli.execute(console) {
        Ok(Outcome {
            limit_exceeded: true,
        }) => ExitStatus::LimitExceeded,
        Ok(Outcome {
            limit_exceeded: false,
        }) => ExitStatus::Done,
        Err(error) => failed(&error, json, console),
    }
}

/// Help and version go to `out` and are not failures.
fn usage(error: &clap::Error, console: &mut Console<'_>) -> ExitStatus {
    let text = error.render();
    if error.use_stderr() {
        let text = if console.colour {
            text.ansi().to_string()
        } else {
            text.to_string()
        };
        let _ = write!(console.err, "{text}");
        ExitStatus::Failed
    } else {
        let _ = write!(console.out, "{text}");
        ExitStatus::Done
    }
}

fn failed(error: &anyhow::Error, json: bool, console: &mut Console<'_>) -> ExitStatus {
    if is_closed_pipe(error) {
        return ExitStatus::Done;
    }
    let messages = if let Some(CommandError::Input(errors)) = error.downcast_ref::<CommandError>() {
        errors.0.clone()
    } else {
        let mut messages = Messages::new();
        messages.push(Message::error(message::PLAIN, format!("{error:#}")));
        messages
    };
    let text = if json {
        let all: Vec<&Message> = messages.of(Level::Error).collect();
        serde_json::to_string_pretty(&serde_json::json!({ "errors": all })).unwrap_or_default()
    } else {
        messages.draw(Level::Error, console.colour)
    };
    // Where even the error cannot be written, the exit status must do.
    let _ = writeln!(console.err, "{text}");
    ExitStatus::Failed
}

fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error
        .chain()
        .filter_map(|cause| cause.downcast_ref::<io::Error>())
        .any(|cause| cause.kind() == io::ErrorKind::BrokenPipe)
}
