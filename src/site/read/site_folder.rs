//! Reads a site: site.toml, then the machine list, then joins the two; or the sheets of one workbook.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use chrono_tz::Tz;
use toml::de::DeTable;

use super::bounds::exceeded;
use super::date::read_date;
use super::file::read_text;
use super::list::read_list;
use super::machine_list::{self, Context};
use super::meters::{self, MeterDraft};
use super::price_file::TariffFiles;
use super::table::{Located, SiteTable, Source};
use super::toml_fault;
use super::tree::{self, Tree};
use super::work::{self, WorkDraft};
use super::{
    accepted, carbon, schedules, supply, tariff_file, thresholds, variables, workbook_site,
};
use crate::declared::SITE_FILE;
use crate::model::site::{CableSize, ReadingsSource, Site};
use message::{InputErrors, Message, Messages, Place, did_you_mean};
use user_tables::{TableFile, Understood, is_workbook};

/// Reads and validates a site: a folder, or a workbook that holds all of it.
///
/// # Errors
///
/// [`InputErrors`] with everything that is wrong in both files.
pub fn read_site(folder: &Path) -> Result<(Site, Messages), InputErrors> {
    let mut messages = Messages::new();
    let site = read_into(folder, &mut messages);
    let messages = messages.into_result()?;
    match site {
        Some(site) => Ok((site, messages)),
        None => Err(InputErrors(messages)),
    }
}

/// What a site is read from.
struct SiteText {
    /// The folder that its logs are in.
    folder: PathBuf,
    /// Name of the file for messages: `site.toml`, or the one beside a workbook.
    file: String,
    text: String,
    /// Cells of the workbook behind the first lines.
    cells: Vec<Place>,
    /// Machine list and readings of a workbook.
    sheets: Option<(TableFile, Option<TableFile>)>,
}

impl SiteText {
    fn read(path: &Path, messages: &mut Messages) -> Option<SiteText> {
        if !(path.is_file() && is_workbook(path)) {
            return Some(SiteText {
                folder: path.to_owned(),
                file: "site.toml".to_owned(),
                text: read_text(path, "site.toml", messages)?,
                cells: Vec::new(),
                sheets: None,
            });
        }
        let book = workbook_site::read(path, messages)?;
        let folder = path
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty());
        let folder = folder.unwrap_or(Path::new(".")).to_owned();
        let beside = path.with_extension("toml");
        let file = beside.file_name()?.to_string_lossy().into_owned();
        let more = if beside.is_file() {
            read_text(&folder, &file, messages)?
        } else {
            String::new()
        };
        // A fault of its grammar is shown in its own lines.
        let source = Source::new(&file, &more);
        toml_fault::complain(&DeTable::parse_recoverable(&more).1, &source);
        messages.append(source.into_messages());
        Some(SiteText {
            folder,
            file,
            text: book.text + &more,
            cells: book.places,
            sheets: Some((book.machines, book.readings)),
        })
    }
}

fn read_into(path: &Path, messages: &mut Messages) -> Option<Site> {
    let read = SiteText::read(path, messages)?;
    (!messages.has_errors()).then_some(())?;
    let (document, faults) = DeTable::parse_recoverable(&read.text);
    let source = Source::of_cells(&read.file, &read.text, &read.cells);
    toml_fault::complain(&faults, &source);
    let root = SiteTable::new(&source, document.get_ref(), 0..0, "", &SITE_FILE);
    let is_read = faults.is_empty() && !exceeded(document.get_ref(), &source);
    let draft = is_read.then(|| read_document(&root, &read.folder));
    // The machine list comes after the site file it refers to, in the messages as well.
    let mut of_machines = Messages::new();
    let site = draft.and_then(|draft| join(draft, &read, &source, &mut of_machines));
    messages.append(source.into_messages());
    messages.append(of_machines);
    if site.is_none() && !messages.has_errors() {
        messages.push(Message::error("incomplete", "the site could not be read"));
    }
    site
}

/// Everything of site.toml; meters are resolved once the machines are known.
struct Draft {
    site: Site,
    meters: Vec<MeterDraft>,
    works: Vec<WorkDraft>,
    /// Nothing stands in for what could not be read.
    complete: bool,
}

/// Reads on where `[site]` or `[supply]` cannot be read, so that one run shows the faults of both files.
fn read_document(root: &SiteTable<'_, '_>, folder: &Path) -> Draft {
    let head = root.table("site");
    if head.is_none() && root.value("site").is_none() {
        root.source.push(
            Message::error("missing-table", "`site.toml` needs the table `[site]`")
                .at(Place::file("site.toml"), "")
                .help("add `[site]` with `name = \"…\"` and `timezone = \"Europe/London\"`"),
        );
    }
    let head = head.map(|table| read_head(&table));
    let supply = supply::read(root);
    let marks = supply
        .as_ref()
        .and_then(|supply| supply.conductor_marks.as_ref());
    let tree = tree::read(root, marks);
    let schedules = schedules::read(root);
    let cable_sizes = read_cable_sizes(root);
    let meters = meters::read(root);
    let accepted = accepted::read(root);
    let works = work::read(root);
    let thresholds = thresholds::read(root);
    let accuracy = thresholds::read_accuracy(root);
    let constant = head.as_ref();
    let constant = constant.is_some_and(|head| head.carbon_g_per_kwh.is_some());
    let carbon = carbon::read(root, constant);
    let zone = head.as_ref().map_or(Tz::UTC, |head| head.timezone);
    let supply_meters = meters::of_supply(&meters);
    let files = TariffFiles {
        folder,
        zone,
        supply_meters: Some(&supply_meters),
    };
    let tariff_file = head.as_ref().and_then(|head| head.tariff_file.as_ref());
    let prices = tariff_file::read(root, files, tariff_file);
    let variables = variables::read(root);
    let meter_ids: Vec<&str> = meters.iter().map(|meter| meter.id.value.as_str()).collect();
    let baseline = variables::read_baseline(root, &variables, &meter_ids);
    root.finish();
    let complete = head.is_some() && supply.is_some();
    let head = head.unwrap_or_else(Head::stand_in);
    let supply = supply.unwrap_or_else(supply::stand_in);
    let Tree { boards, circuits } = tree;
    Draft {
        site: Site {
            folder: folder.to_owned(),
            name: head.name,
            timezone: head.timezone,
            currency: head.currency,
            carbon_g_per_kwh: head.carbon_g_per_kwh,
            carbon,
            demand_window_min: head.demand_window_min,
            holidays: head.holidays,
            supply,
            boards,
            circuits,
            schedules,
            cable_sizes,
            meters: Vec::new(),
            machines: Vec::new(),
            machine_list: String::new(),
            readings: ReadingsSource::InFolder,
            understood: Understood::default(),
            accepted,
            works: Vec::new(),
            thresholds,
            accuracy,
            tariffs: prices.tariffs,
            meter_tariffs: prices.of_meters,
            billing: prices.billing,
            variables,
            baseline,
        },
        meters,
        works,
        complete,
    }
}

struct Head {
    name: String,
    timezone: Tz,
    currency: Option<String>,
    carbon_g_per_kwh: Option<f64>,
    demand_window_min: u32,
    holidays: Vec<NaiveDate>,
    tariff_file: Option<Located<String>>,
}

impl Head {
    /// Never part of a site that is returned.
    fn stand_in() -> Head {
        Head {
            name: String::new(),
            timezone: Tz::UTC,
            currency: None,
            carbon_g_per_kwh: None,
            demand_window_min: 30,
            holidays: Vec::new(),
            tariff_file: None,
        }
    }
}

fn read_head(table: &SiteTable<'_, '_>) -> Head {
    let name = table.required_text("name");
    let timezone = table
        .text("timezone")
        .and_then(|zone| read_zone(table.source, &zone));
    let currency = table.text("currency").and_then(|code| {
        let is_code = code.value.len() == 3 && code.value.bytes().all(|b| b.is_ascii_uppercase());
        if !is_code {
            table.source.push(
                Message::error(
                    "currency",
                    format!("`{}` is not a currency code", code.value),
                )
                .at(
                    table.source.place(&code.span),
                    "expected three capital letters (ISO 4217), such as GBP",
                ),
            );
        }
        is_code.then_some(code.value)
    });
    let carbon_g_per_kwh = table.number("carbon_g_per_kwh");
    let demand_window_min = table
        .whole("demand_window_min")
        .and_then(|window| {
            if [15, 30, 60].contains(&window.value) {
                return Some(window.value);
            }
            table.source.push(
                Message::error("demand-window", "`demand_window_min` must be 15, 30 or 60").at(
                    table.source.place(&window.span),
                    format!("expected 15, 30 or 60 minutes, found {}", window.value),
                ),
            );
            None
        })
        .unwrap_or(30);
    let holidays = table
        .texts("holidays")
        .iter()
        .filter_map(|date| read_date(table.source, date))
        .collect();
    let tariff_file = table.text("tariff_file");
    table.finish();
    Head {
        name: name.map(|name| name.value).unwrap_or_default(),
        timezone: timezone.unwrap_or(Tz::UTC),
        currency,
        carbon_g_per_kwh,
        demand_window_min,
        holidays,
        tariff_file,
    }
}

fn read_zone(source: &Source<'_>, zone: &Located<String>) -> Option<Tz> {
    if let Ok(zone) = zone.value.parse::<Tz>() {
        return Some(zone);
    }
    let names = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
    source.push(
        Message::error("timezone", format!("unknown time zone `{}`", zone.value))
            .at(
                source.place(&zone.span),
                "expected an IANA name such as `Europe/London`",
            )
            .maybe_help(did_you_mean(&zone.value, names)),
    );
    None
}

fn read_cable_sizes(root: &SiteTable<'_, '_>) -> Vec<CableSize> {
    root.tables("cable_size")
        .iter()
        .filter_map(|table| {
            let mm2 = table.required_number("mm2");
            let amps = table.required_number("current_capacity_a");
            table.finish();
            Some(CableSize {
                mm2: mm2?,
                current_capacity_a: amps?,
            })
        })
        .collect()
}

/// Reads the machine list and resolves who measures what.
fn join(
    draft: Draft,
    read: &SiteText,
    source: &Source<'_>,
    messages: &mut Messages,
) -> Option<Site> {
    let Draft {
        mut site,
        meters,
        works,
        complete,
    } = draft;
    let meter_ids: Vec<&str> = meters.iter().map(|meter| meter.id.value.as_str()).collect();
    let context = Context {
        site: &site,
        meter_ids: &meter_ids,
        unplaced: false,
    };
    let list = match &read.sheets {
        Some((machines, _)) => machine_list::read(machines.source(), &context, messages),
        None => read_list(&read.folder, &context, messages)?,
    };
    site.machines = list.machines;
    site.machine_list = list.text;
    site.understood = list.understood;
    if let Some((_, readings)) = &read.sheets {
        site.readings = ReadingsSource::Sheet(readings.clone());
    }
    site.meters = meters::resolve(meters, &site, source);
    site.works = work::resolve(works, &site, source);
    complete.then_some(site)
}
