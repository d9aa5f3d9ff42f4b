//! `tapoff new`: a commented starter site, as a folder or as one workbook.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;

use super::arguments::ZoneArguments;
use super::machine_zone::machine_zone;
use super::output::{make_folder, write_whole};
use super::{CommandError, Outcome};
use crate::app::Console;
use message::{InputErrors, Messages};
use metering::open_log;
use site::{site_around, starter_files};

const EXAMPLES: &str = "\
EXAMPLES
  tapoff new mill
  tapoff check mill
  tapoff report mill
  tapoff new mill --workbook
  tapoff check mill.xlsx

EXIT STATUS
  0  done
  2  could not be done; nothing that was there is touched";

/// Arguments of `tapoff new`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct NewArguments {
    /// Folder to make; it may exist, without a site in it. With `--workbook`, name of the workbook
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,

    /// Write one workbook (.xlsx) that holds the whole site, instead of a folder
    #[arg(long)]
    workbook: bool,

    /// Around a log: its meters, its zone and its name, enough for energy and bills
    #[arg(long, value_name = "FILE", conflicts_with = "workbook")]
    from: Option<PathBuf>,

    #[command(flatten)]
    zone: ZoneArguments,

    /// Name of the site [default: the folder's name]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn execute(
    arguments: &NewArguments,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    if arguments.workbook {
        return write_workbook(arguments, console);
    }
    if let Some(log) = &arguments.from {
        return write_around(arguments, log, console);
    }
    let folder = &arguments.folder;
    let files = starter_files(&name(arguments)?);
    for (file, _) in &files {
        let path = folder.join(file);
        if path.symlink_metadata().is_ok() {
            bail!(
                "`{}` is there already; give a folder without a site in it",
                path.display()
            );
        }
    }
    make_folder(&folder.join("meters"))?;
    for (file, text) in &files {
        write_whole(&folder.join(file), text.as_bytes())?;
        writeln!(console.out, "{}", folder.join(file).display())?;
    }
    writeln!(
        console.out,
        "\nThe machines in it are examples. Put in your own, then:\n\n  tapoff check {0}\n  tapoff report {0}",
        in_quotes(folder)
    )?;
    Ok(Outcome::default())
}

/// A folder around a copy of a log, with each meter in it as a meter of the supply.
fn write_around(
    arguments: &NewArguments,
    log: &Path,
    console: &mut Console<'_>,
) -> anyhow::Result<Outcome> {
    let (zone, said) = arguments
        .zone
        .timezone
        .map_or_else(machine_zone, |zone| (zone, "`--timezone`".to_owned()));
    let mut messages = Messages::new();
    let Some(opened) = open_log(log, zone, &mut messages) else {
        return Err(CommandError::Input(InputErrors(messages)).into());
    };
    let folder = &arguments.folder;
    let site = folder.join("site.toml");
    if site.symlink_metadata().is_ok() {
        bail!(
            "`{}` is there already; give a folder without a site in it",
            site.display()
        );
    }
    let file = log
        .file_name()
        .context("a log has a name")?
        .to_string_lossy()
        .into_owned();
    let text = site_around(&name(arguments)?, zone.name(), &file, &opened.site.meters);
    make_folder(&folder.join("meters"))?;
    let bytes = std::fs::read(log).with_context(|| format!("cannot read `{}`", log.display()))?;
    write_whole(&folder.join("meters").join(&file), &bytes)?;
    write_whole(&site, text.as_bytes())?;
    writeln!(
        console.out,
        "{}\n{}\n\nLocal times are those of {zone} ({said}). Then:\n\n  tapoff check {2}\n  tapoff energy {2}",
        folder.join("meters").join(&file).display(),
        site.display(),
        in_quotes(folder)
    )?;
    Ok(Outcome::default())
}

/// One workbook; its name may be given with or without `.xlsx`.
fn write_workbook(arguments: &NewArguments, console: &mut Console<'_>) -> anyhow::Result<Outcome> {
    let given = &arguments.folder;
    let has_kind = given
        .extension()
        .is_some_and(|kind| kind.eq_ignore_ascii_case("xlsx"));
    let path = if has_kind {
        given.clone()
    } else {
        let mut name = given.clone().into_os_string();
        name.push(".xlsx");
        PathBuf::from(name)
    };
    let name = name(arguments)?;
    let name = name.strip_suffix(".xlsx").unwrap_or(&name);
    if path.symlink_metadata().is_ok() {
        bail!("`{}` is there already; give another name", path.display());
    }
    write_whole(&path, &export::starter_workbook(name)?)?;
    writeln!(
        console.out,
        "{1}\n\nFill in the sheets Supply and Machines, and Readings where you have some. Then:\n\n  tapoff check {0}\n  tapoff report {0}",
        in_quotes(&path),
        path.display(),
    )?;
    Ok(Outcome::default())
}

fn name(arguments: &NewArguments) -> anyhow::Result<String> {
    if let Some(name) = &arguments.name {
        return Ok(name.clone());
    }
    let absolute = std::path::absolute(&arguments.folder)
        .with_context(|| format!("`{}` is not a folder's name", arguments.folder.display()))?;
    Ok(absolute.file_name().map_or_else(
        || "Workshop".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    ))
}

/// As it can be typed again.
fn in_quotes(folder: &Path) -> String {
    let text = folder.display().to_string();
    let plain = |c: char| c.is_alphanumeric() || "-_./\\:".contains(c);
    if text.chars().all(plain) {
        text
    } else {
        format!("'{}'", text.replace('\'', r"'\''"))
    }
}
