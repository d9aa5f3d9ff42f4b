//! The analysis of one site, in this process.

use std::io::Read;
use std::path::Path;

use super::EstateArguments;
use super::settings::SiteSettings;
use crate::cli::CommandError;
use crate::cli::loading::{Loaded, load_for_energy, settle_unknown};
use crate::cli::output::write_whole;
use crate::estate::{Analysed, Inputs, SitePart, SiteTables, part_bytes, site_path};
use balance::{BalanceError, BalanceResult, Settings};
use demand::DemandSettings;
use message::{InputErrors, Level, Message, Messages};
use site::EstateSite;

/// Between the checksum of the inputs and the minutes within which there was no plan.
const NO_PLAN: &str = " no plan within min ";

/// Analyses a site and writes its rows, unless the file is the result of the same inputs.
pub(super) fn write(
    arguments: &EstateArguments,
    entry: &EstateSite,
    file: &Path,
) -> anyhow::Result<()> {
    end_with_the_caller();
    let (folder, settings) = (&arguments.folder, &arguments.settings);
    let inputs = match Inputs::of(folder, &site_path(folder, entry)) {
        Ok(inputs) => inputs,
        Err(why) => {
            let refused = SiteTables::failed(entry, &why, &Messages::new());
            return write_whole(file, &part_bytes(&refused, "")?);
        }
    };
    let mut made_from = inputs.checksum(folder, entry, &settings.words().join(" "))?;
    if SitePart::open(file).is_ok_and(|part| {
        let known = part.made_from();
        let (checksum, minutes) = known.split_once(NO_PLAN).unwrap_or((&known, ""));
        // With more time there may be a plan.
        let has_more = minutes
            .parse()
            .is_ok_and(|tried: u64| tried < arguments.site_minutes);
        checksum == made_from && !has_more
    }) {
        return Ok(());
    }
    let no_plan = arguments.no_plan_within;
    let tables = analyse(folder, entry, settings, no_plan);
    if let Some(minutes) = no_plan {
        made_from = format!("{made_from}{NO_PLAN}{minutes}");
    }
    write_whole(file, &part_bytes(&tables, &made_from)?)
}

/// Whoever started this process holds its standard input open: when that ends, so does this.
fn end_with_the_caller() {
    use std::io::IsTerminal;
    let input = std::io::stdin();
    if input.is_terminal() {
        return;
    }
    std::thread::spawn(move || {
        let _ = input.lock().read_to_end(&mut Vec::new());
        #[expect(clippy::exit, reason = "nobody is left who could use the result")]
        std::process::exit(2);
    });
}

fn analyse(
    folder: &Path,
    entry: &EstateSite,
    settings: &SiteSettings,
    no_plan_within: Option<u64>,
) -> SiteTables {
    let input = settings.input(site_path(folder, entry));
    let mut loaded = match load_for_energy(&input, None) {
        Ok(loaded) => loaded,
        Err(error) => return failed(folder, entry, &error),
    };
    settle_unknown(&mut loaded);
    loaded.warnings = without_folder(folder, &loaded.warnings);
    let demand_settings = DemandSettings {
        window_min: settings.window_min,
        ..DemandSettings::default()
    };
    let energy = demand::analyse_with(&loaded.site, &loaded.logs, &demand_settings);
    let declared = loaded.site.supply.declared;
    let diagnosis = declared.then(|| diagnosis::diagnose(&loaded.site, &loaded.logs));
    let held_back = diagnosis
        .as_ref()
        .map(|found| found.held_back(&loaded.site, &[]));
    let plan = match (held_back, no_plan_within) {
        (None, _) => None,
        (Some(_), Some(minutes)) => {
            loaded.warnings.push(plan_given_up(minutes));
            None
        }
        (Some(held_back), None) => match plan(&loaded, held_back) {
            Ok(plan) => plan,
            Err(error) => return failed(folder, entry, &error),
        },
    };
    SiteTables::of(&Analysed {
        entry,
        site: &loaded.site,
        energy: &energy,
        diagnosis: diagnosis.as_ref(),
        plan: plan.as_ref(),
        messages: &loaded.warnings,
    })
}

fn plan_given_up(minutes: u64) -> Message {
    Message::warning(
        "plan-given-up",
        format!("no plan was found within {minutes} min"),
    )
    .help("`tapoff balance SITE --time-limit 3600`, or a larger `--site-minutes`")
}

/// The recommended plan, as the site's own report has it; `None` where there is nothing to allocate.
fn plan(
    loaded: &Loaded,
    held_back: Vec<balance::HeldBack>,
) -> anyhow::Result<Option<BalanceResult>> {
    let settings = Settings {
        held_back,
        enough_pct: Some(80.0),
        curve_moves: 0,
        ..Settings::default()
    };
    match balance::balance_with(&loaded.site, &loaded.logs, &settings, &[]) {
        Ok(plan) => Ok(Some(plan)),
        Err(BalanceError::NothingToBalance) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

fn failed(folder: &Path, entry: &EstateSite, error: &anyhow::Error) -> SiteTables {
    let Some(CommandError::Input(InputErrors(messages))) = error.downcast_ref::<CommandError>()
    else {
        let why = below(folder, &format!("{error:#}"));
        return SiteTables::failed(entry, &why, &Messages::new());
    };
    let messages = without_folder(folder, messages);
    let mut errors = messages.of(Level::Error);
    let first = errors.next();
    let first = first.map_or_else(String::new, |first| match &first.place {
        Some(place) => format!("{place}: {}", first.text),
        None => first.text.clone(),
    });
    let why = match errors.count() {
        0 => first,
        more => format!("{first} (and {more} more)"),
    };
    SiteTables::failed(entry, &why, &messages)
}

/// The same messages with paths below the estate: where the estate lies is no matter of its results.
fn without_folder(folder: &Path, messages: &Messages) -> Messages {
    let mut all = Messages::new();
    for message in messages.all() {
        all.push(Message {
            text: below(folder, &message.text),
            help: message.help.as_deref().map(|help| below(folder, help)),
            ..message.clone()
        });
    }
    all
}

fn below(folder: &Path, text: &str) -> String {
    text.replace(&format!("{}/", folder.display()), "")
}
