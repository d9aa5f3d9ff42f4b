//! Text, CSV, workbook and page of each table say the same, cell by cell.
//!
//! Each output is read back by means of its own: the CSV and the workbook by general-purpose readers, the page by its
//! tags, the text by the places of its columns. What programs get in full is rounded here by the column's decimals.

use std::io::Cursor;
use std::path::Path;

use calamine::{Data, DataType, Reader, Xlsx, open_workbook_from_rs};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use tapoff::balance::{self, BalanceResult};
use tapoff::demand::{self, BaselineWish, BreakdownBy, BreakdownInput, EnergyResult};
use tapoff::export;
use tapoff::message::Messages;
use tapoff::metering::{Logs, Period};
use tapoff::placement::{PlacementSettings, place, place_together};
use tapoff::report::{SiteHeader, charts};
use tapoff::site::{Site, read_new_machines, read_site};
use tapoff::tables::{Output, Table, workbook};
use tapoff::wiring::read_logs;

use crate::program::{Workshop, ferry_lane};

/// Rows of cells as text.
type Rows = Vec<Vec<String>>;

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

/// Head and rows of the table in a piece of a page.
fn of_html(html: &str) -> Rows {
    let table = html.split_once("</table>").map_or("", |(table, _)| table);
    let rows = table.split("<tr>").skip(1).map(|row| {
        let cells = row
            .split('\n')
            .filter(|line| line.starts_with("<th") || line.starts_with("<td"));
        cells
            .map(|cell| {
                let inner = cell.split_once('>').map_or("", |(_, inner)| inner);
                let inner = inner.rsplit_once("</t").map_or("", |(inner, _)| inner);
                unescaped(&inner.replace("<bdi>", "").replace("</bdi>", ""))
            })
            .collect()
    });
    rows.collect()
}

/// Head and rows of a table for a terminal, cut where its columns begin and end.
fn of_text(text: &str, widths: &[usize]) -> Rows {
    let cells = |line: &str| {
        let letters: Vec<char> = line.chars().skip(2).collect();
        let mut from = 0;
        let cut = widths.iter().map(|&width| {
            let to = (from + width).min(letters.len());
            let cell: String = letters[from.min(letters.len())..to].iter().collect();
            from += width + 2;
            cell.trim_matches(' ').to_owned()
        });
        cut.collect()
    };
    text.lines().map(cells).collect()
}

/// How people read what a program gets.
fn as_shown(raw: &str, decimals: Option<usize>, zone: Tz) -> String {
    let raw = raw.strip_prefix('\'').unwrap_or(raw);
    if let Ok(date) = raw.parse::<NaiveDate>() {
        return date.format("%a %-d %b %Y").to_string();
    }
    if let Ok(time) = DateTime::parse_from_rfc3339(raw) {
        return if raw.ends_with('Z') {
            let local = time.with_timezone(&Utc).with_timezone(&zone);
            local.format("%a %-d %b %Y %H:%M").to_string()
        } else {
            time.format("%a %-d %b %Y %H:%M").to_string()
        };
    }
    match (raw.parse::<f64>(), decimals) {
        (Ok(number), Some(decimals)) => format!("{number:.decimals$}"),
        _ => raw.to_owned(),
    }
}

/// A shown figure as a program would write it; the dash of what is not known is empty.
fn plain(shown: &str) -> String {
    if shown == "–" {
        return String::new();
    }
    let digits = shown.replace('\u{202f}', "").replace('−', "-");
    let is_number = digits.trim_start_matches('+').parse::<f64>().is_ok();
    if is_number {
        digits.trim_start_matches('+').to_owned()
    } else {
        shown.to_owned()
    }
}

fn agree(one: &str, other: &str) -> bool {
    one == other
        || one
            .parse::<f64>()
            .ok()
            .zip(other.parse::<f64>().ok())
            .is_some_and(|(one, other)| (one - other).abs() < 1e-9)
}

fn of_sheet(cell: &Data) -> String {
    if let Some((year, month, day, hour, minute, ..)) =
        cell.get_datetime().map(|at| at.to_ymd_hms_milli())
    {
        return format!("{year}-{month:02}-{day:02} {hour:02}:{minute:02}");
    }
    match cell {
        Data::Bool(flag) => (if *flag { "yes" } else { "no" }).to_owned(),
        other => other.to_string(),
    }
}

/// A local time or date as a workbook has it.
fn as_in_sheet(shown: &str) -> String {
    let moment = chrono::NaiveDateTime::parse_from_str(shown, "%a %d %b %Y %H:%M");
    let date = NaiveDate::parse_from_str(shown, "%a %d %b %Y");
    match (moment, date) {
        (Ok(moment), _) => moment.format("%Y-%m-%d %H:%M").to_string(),
        (_, Ok(date)) => date.format("%Y-%m-%d 00:00").to_string(),
        _ => plain(shown),
    }
}

/// Compares the four outputs of a table; gives the number of compared pairs of cells.
fn compare(table: &Table, zone: Tz) -> usize {
    if table.rows.is_empty() {
        return 0;
    }
    let id = table.id;
    let page = of_html(&table.html());
    let pages = table.places(Output::Html);
    assert_eq!(pages, table.places(Output::Text), "{id}: text and page");
    assert_eq!(page[0].len(), pages.len(), "{id}");
    let widths: Vec<usize> = (0..pages.len())
        .map(|place| {
            let cells = page.iter().map(|row| row[place].chars().count());
            cells.max().unwrap_or(0)
        })
        .collect();
    let text = of_text(&table.text_body(), &widths);
    assert_eq!(text.len(), page.len(), "{id}: rows of text and page");
    let mut count = 0;
    for (told, shown) in text.iter().zip(&page) {
        for (told, shown) in told.iter().zip(shown) {
            assert_eq!(told, shown.trim_matches(' '), "{id}: text and page");
            count += 1;
        }
    }
    let csv = table.csv().expect("memory can be written");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let keys = reader.headers().expect("a head").clone();
    let declared = table.places(Output::Csv).into_iter();
    assert!(
        declared
            .map(|place| table.columns[place].key)
            .eq(keys.iter())
    );
    let records: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(records.len(), table.rows.len(), "{id}: rows of the CSV");
    let book = workbook(std::slice::from_ref(table), "", []).expect("a workbook");
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(book)).expect("a workbook");
    let sheet = book.worksheet_range(id).expect("a sheet");
    let sheets = table.places(Output::Workbook);
    for (row, record) in records.iter().enumerate() {
        for (place, column) in table.columns.iter().enumerate() {
            let at = |places: &[usize]| places.iter().position(|&shown| shown == place);
            // Of what changes, programs get what is after the moves.
            let shown = at(&pages).map(|at| page[1 + row][at].rsplit(" → ").next().unwrap_or(""));
            let raw = at(&table.places(Output::Csv)).map(|at| &record[at]);
            let cell = at(&sheets).map(|at| {
                let cell = sheet.get_value((1 + row as u32, at as u32));
                cell.map(of_sheet).unwrap_or_default()
            });
            let what = format!("{id}, row {row}, {}", column.heading());
            // In these tables a row has a unit and digits of its own.
            let digits = match (id, shown) {
                ("effect" | "checks", Some(shown)) => {
                    shown.split_once('.').map(|(_, fraction)| fraction.len())
                }
                _ => column.decimals(),
            };
            if let (Some(shown), Some(raw)) = (shown, raw) {
                let words = raw.strip_prefix('\'').unwrap_or(raw);
                let raw = as_shown(raw, digits, zone);
                let is_alike = agree(&plain(shown), &raw) || shown == words;
                assert!(is_alike, "{what}: page {shown}, CSV {raw}");
                count += 1;
            }
            let Some(cell) = cell else { continue };
            let words = cell.clone();
            let cell = as_shown(&cell, digits, zone);
            let other = shown.map(str::to_owned);
            let other = other.or_else(|| Some(as_shown(raw?, digits, zone)));
            if let Some(other) = other {
                let is_alike = agree(&cell, &plain(&other))
                    || words == other
                    || cell == other
                    || cell == as_in_sheet(&other);
                assert!(is_alike, "{what}: workbook {cell}, else {other}");
                count += 1;
            }
        }
    }
    count
}

struct Analysed {
    site: Site,
    logs: Logs,
    energy: EnergyResult,
}

/// Energy with its parts, its bill, its baseline.
fn analysed(folder: &Path, ways: &[BreakdownBy]) -> Analysed {
    let (site, _) = read_site(folder).expect("a sound site");
    let logs = read_logs(&site, Period::default(), &mut Messages::new());
    let mut energy = demand::analyse(&site, &logs, None);
    for by in ways {
        let ground = BreakdownInput {
            site: &site,
            logs: &logs,
            meters: &energy.meters,
            bill: energy.cost.as_ref(),
        };
        let parts = demand::breakdown(&ground, by, None);
        energy.add(parts);
    }
    let wish = BaselineWish {
        period: None,
        every: None,
    };
    energy.change = demand::change(&site, &logs, &energy, &[], wish);
    Analysed { site, logs, energy }
}

fn energy_tables(of: &Analysed) -> Vec<Table> {
    let energy = &of.energy;
    let mut tables = export::all_tables(&of.site, energy);
    tables.extend(export::meter_parts(energy));
    tables.push(export::coverage_table(energy, of.site.timezone));
    tables.push(export::quality_shown(energy, of.site.timezone));
    tables.extend(export::part_tables(energy, |_| true));
    tables.extend(energy.cost.iter().flat_map(export::month_tables));
    tables
}

fn plan_tables(plan: &BalanceResult) -> [Table; 4] {
    [
        export::machines_table(plan),
        export::nodes_table(plan),
        export::curve_table(plan),
        export::work_order_table(plan),
    ]
}

/// Places of two new machines, one of them with a name that is a formula, each by itself and both together.
fn placement_tables(of: &Analysed) -> Vec<Table> {
    let list = "machine,power_kw,power_factor,connection\n=new <b>,2,0.8,any\nlarge,40,0.9,3ph\n";
    let machines = read_new_machines(&of.site, "new.csv", list).expect("a sound list");
    let settings = PlacementSettings::default();
    let mut tables = Vec::new();
    for machine in &machines {
        let result = place(&of.site, &of.logs, machine, &settings).expect("places");
        tables.push(export::places_table(&result, 3));
        for found in &result.places {
            tables.push(export::checks_table(found, "Checks"));
            tables.push(export::effect_table(
                &found.effect,
                result.demand_window_min,
            ));
        }
    }
    let both = place_together(&of.site, &of.logs, &machines, &settings).expect("places");
    tables.push(export::together_table(&both));
    tables
}

/// All tables of a site agree; gives the number of compared cells.
fn all(tables: &[Table], zone: Tz) -> usize {
    let counts = tables.iter().map(|table| compare(table, zone));
    counts.sum()
}

#[test]
fn the_tables_of_the_demo_agree() {
    let demo = analysed(&ferry_lane(), &[BreakdownBy::Board, BreakdownBy::Meter]);
    let mut tables = energy_tables(&demo);
    let header = SiteHeader::of(&demo.site);
    let figures = charts(&header, None, &demo.energy, &[], None).expect("charts");
    assert!(figures.len() > 6);
    tables.extend(figures.into_iter().map(|figure| figure.table));
    let count = all(&tables, demo.site.timezone);
    assert!(count > 30_000, "{count}");
}

/// Names that are formulas or markup, machines without a meter, a meter without voltages, currents that fall.
#[test]
fn the_tables_of_a_small_site_with_hostile_names_agree() {
    let workshop = Workshop::new()
        .replace("machines.csv", "drill,", "\"=1+1 <b>&'\"\"\",")
        .replace("machines.csv", "heater,", "-cmd\u{202e}\u{7},")
        .replace("site.toml", "id = \"main\"", "id = \"@main <i>\"");
    let small = analysed(&workshop.site(), &[BreakdownBy::Machine, BreakdownBy::Hour]);
    let mut tables = energy_tables(&small);
    let plan = balance::balance(&small.site, &small.logs, &balance::Settings::default());
    let plan = plan.expect("a plan");
    tables.extend(plan_tables(&plan));
    let header = SiteHeader::of(&small.site);
    let figures = charts(&header, Some(&plan), &small.energy, &[], None).expect("charts");
    tables.extend(figures.into_iter().map(|figure| figure.table));
    tables.extend(placement_tables(&small));
    let count = all(&tables, small.site.timezone);
    assert!(count > 6_000, "{count}");
    let shown: Vec<String> = tables.iter().map(Table::html).collect();
    assert!(
        shown
            .iter()
            .any(|html| html.contains("=1+1 &lt;b&gt;&amp;&#39;&quot;"))
    );
}
