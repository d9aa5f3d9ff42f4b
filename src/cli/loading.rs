//! Reads the site and its logs, or reports everything that is wrong with them.

use std::path::Path;

use anyhow::Context;
use chrono_tz::Tz;

use super::CommandError;
use super::arguments::InputArguments;
use super::machine_zone::machine_zone;
use super::reading_bar::ReadingBar;
use crate::app::Console;
use message::{InputErrors, Level, Message, Messages};
use metering::{Logs, open_log, read_logs_watched};
use phases::PhaseResult;
use site::{Site, read_site};
use user_tables::text_of;

/// A site with its logs and the warnings about both.
#[derive(Debug)]
pub(super) struct Loaded {
    pub(super) site: Site,
    pub(super) logs: Logs,
    pub(super) warnings: Messages,
    /// Phases of all loads with the list as it is written, where it calls some of them unknown.
    pub(super) phases: Option<PhaseResult>,
}

/// Reads everything.
pub(super) fn load(input: &InputArguments) -> anyhow::Result<Loaded> {
    refuse_empty(input)?;
    let bar = ReadingBar::new();
    let read = site_and_logs(input, true, &bar)?;
    drop(bar);
    finished(read)
}

/// Reads a site of which nothing needs to be declared but its meters, or a log alone, in a zone that is given.
pub(super) fn load_for_energy(input: &InputArguments, zone: Option<Tz>) -> anyhow::Result<Loaded> {
    refuse_empty(input)?;
    let bar = ReadingBar::new();
    let read = if is_log(&input.site) {
        let mut messages = Messages::new();
        let (zone, said) = zone.map_or_else(machine_zone, |zone| (zone, "`--timezone`".to_owned()));
        messages.push(zone_note(zone, &said));
        let Some(opened) = open_log(&input.site, zone, &mut messages) else {
            return Err(CommandError::Input(InputErrors(messages)).into());
        };
        let logs = opened.read(input.period(), &bar, &mut messages);
        Loaded {
            site: opened.site,
            logs,
            warnings: messages,
            phases: None,
        }
    } else if zone.is_some() {
        anyhow::bail!(
            "`--timezone` is for a log without a site: `site.toml` has the zone of its site"
        );
    } else {
        site_and_logs(input, false, &bar)?
    };
    drop(bar);
    finished(read)
}

/// Reads a site and its logs, with what was wrong among the messages.
fn site_and_logs(
    input: &InputArguments,
    needs_a_supply: bool,
    bar: &ReadingBar,
) -> anyhow::Result<Loaded> {
    let (site, mut messages) = read_site(&input.site).map_err(CommandError::Input)?;
    if needs_a_supply && !site.supply.declared {
        return Err(needs_supply());
    }
    let logs = read_logs_watched(&site, input.period(), bar, &mut messages);
    Ok(Loaded {
        site,
        logs,
        warnings: messages,
        phases: None,
    })
}

/// What was read, its meters checked where it is known how they are to be connected; refused after an error.
fn finished(mut read: Loaded) -> anyhow::Result<Loaded> {
    if read.warnings.has_errors() {
        return Err(CommandError::Input(InputErrors(read.warnings)).into());
    }
    if read.site.supply.declared {
        wiring::verify(&read.site, &mut read.logs);
    }
    Ok(read)
}

/// Is the path a log, and not a site? A workbook may be either: that of a site has a sheet for its supply.
fn is_log(path: &Path) -> bool {
    let is_site_file = path
        .extension()
        .is_some_and(|kind| kind.eq_ignore_ascii_case("toml"));
    path.is_file()
        && !is_site_file
        && !(user_tables::is_workbook(path) && site::is_site_workbook(path))
}

fn zone_note(zone: Tz, said: &str) -> Message {
    Message::warning(
        "zone-of-log",
        format!("local times are those of {zone} ({said})"),
    )
    .help("name another with `--timezone`, such as `--timezone Europe/London`")
}

fn needs_supply() -> anyhow::Error {
    let mut messages = Messages::new();
    messages.push(
        Message::error(
            "needs-supply",
            "this command needs the supply: `site.toml` has no `[supply]`",
        )
        .note("without it, `tapoff energy` and `tapoff check` work")
        .help("add `[supply]` with `line_voltage_v = 400` and `phase_limit_a = 100`"),
    );
    CommandError::Input(InputErrors(messages)).into()
}

/// Refuses a period that ends before it begins.
fn refuse_empty(input: &InputArguments) -> anyhow::Result<()> {
    if let (Some(from), Some(to)) = (input.from, input.to)
        && to <= from
    {
        let mut messages = Messages::new();
        messages.push(
            Message::error(
                "empty-period",
                format!("the period is empty: its end, {to}, is not after its start, {from}"),
            )
            .note("`--from` is the first day of the period, `--to` the day after its last")
            .help("give a `--to` later than `--from`"),
        );
        return Err(CommandError::Input(InputErrors(messages)).into());
    }
    Ok(())
}

/// Reads a period of which the logs may have only part: meters without a reading in it are left out.
pub(super) fn load_what_exists(input: &InputArguments) -> anyhow::Result<Loaded> {
    let (site, _) = read_site(&input.site).map_err(CommandError::Input)?;
    let mut messages = Messages::new();
    let mut logs = read_logs_watched(&site, input.period(), &ReadingBar::new(), &mut messages);
    let is_empty = |message: &Message| message.name == "empty-period";
    if logs.meters.is_empty() || !messages.of(Level::Error).all(is_empty) {
        return Err(CommandError::Input(InputErrors(messages)).into());
    }
    wiring::verify(&site, &mut logs);
    Ok(Loaded {
        site,
        logs,
        warnings: Messages::new(),
        phases: None,
    })
}

/// Reads everything and shows the warnings; what the list calls `unknown` is put where the logs show it.
pub(super) fn load_and_warn(
    input: &InputArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Loaded> {
    let mut loaded = load(input)?;
    settle_unknown(&mut loaded);
    warned(loaded, console)
}

/// Reads everything and shows the warnings; the list stays as it is.
pub(super) fn load_as_listed(
    input: &InputArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Loaded> {
    warned(load(input)?, console)
}

/// Shows the warnings of what was read.
pub(super) fn warned(loaded: Loaded, console: &mut Console<'_>) -> anyhow::Result<Loaded> {
    let text = loaded.warnings.draw(Level::Warning, console.colour);
    if !text.is_empty() {
        writeln!(console.err, "{text}\n")?;
    }
    Ok(loaded)
}

/// Puts loads whose phase is not known where the logs show them; what stays unknown is not moved.
pub(super) fn settle_unknown(loaded: &mut Loaded) {
    let Some((phases, unknown)) = phases::settle(&mut loaded.site, &loaded.logs) else {
        return;
    };
    loaded.phases = Some(phases);
    for load in unknown {
        let message = match (load.is_settled(), load.probable, load.probability) {
            (true, Some(probable), Some(probability)) => Message::warning(
                "phase-found",
                format!(
                    "`{}` is taken to be on {probable}: probability {:.0} %",
                    load.machine,
                    phases::shown_probability_pct(probability)
                ),
            )
            .note(load.basis)
            .help("write it into the column `connection` once it is checked"),
            _ => Message::warning(
                "phase-unknown",
                format!("the phase of `{}` is not known", load.machine),
            )
            .note("it stays where it is: no plan moves it, and figures from ratings leave it out")
            .help("`tapoff phases SITE` shows what would settle it"),
        };
        loaded.warnings.push(message);
    }
}

/// Name and text of a table that an argument names.
pub(super) fn read_table(path: &Path) -> anyhow::Result<(String, String)> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).with_context(|| format!("cannot read `{name}`"))?;
    let text = text_of(&name, bytes).map_err(|message| {
        let mut messages = Messages::new();
        messages.push(*message);
        CommandError::Input(InputErrors(messages))
    })?;
    Ok((name, text))
}
