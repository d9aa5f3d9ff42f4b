//! Gathers the reference from the declarations.

use declaration::{Declared, Entry, Key, ValueKind, entries, row_example};
use finding::Kind;
use message::explained;
use site::{ESTATE_FILE, Quantity, SITE_FILE};

use crate::page::{ReferencePage, Section};

/// The whole reference, in the order in which it is read.
#[must_use]
pub fn sections() -> Vec<Section> {
    let mut sections = Vec::new();
    let all = entries(&SITE_FILE);
    for entry in &all {
        if let Some(table) = entry.key().kind.declared() {
            sections.push(of_table(entry, table, &all));
        }
    }
    for (name, title, columns) in [
        (
            "machines.csv",
            "The machine list: machines.csv",
            &site::MACHINES,
        ),
        (
            "new-machines",
            "A list of new machines",
            &site::NEW_MACHINES,
        ),
        (
            "readings.csv",
            "Clamp-meter readings: readings.csv",
            &site::READINGS,
        ),
        (
            "switching.csv",
            "Switching tests: switching.csv",
            &site::SWITCHING,
        ),
        (
            "variable-file",
            "The file of a variable",
            &site::VARIABLE_FILE,
        ),
        (
            "carbon-file",
            "The file of carbon factors",
            &site::CARBON_FILE,
        ),
        ("invoice", "An invoice", &tariff::INVOICE),
    ] {
        sections.push(of_file(name, title, columns));
    }
    sections.push(estate_file());
    sections.push(findings());
    sections.extend(
        explained()
            .into_iter()
            .map(|(title, pages)| of_messages(title, pages)),
    );
    sections
}

fn of_table(entry: &Entry, table: &'static Declared, all: &[Entry]) -> Section {
    let path = entry.path();
    let title = title_of(entry);
    let mut pages: Vec<ReferencePage> = all
        .iter()
        .filter(|below| {
            below.way.len() == entry.way.len() + 1 && below.path().starts_with(&format!("{path}."))
        })
        .map(|below| of_key(below, &title))
        .collect();
    // The keys of this table are the quantities.
    if table.keys.is_empty() {
        pages.extend(Quantity::all().into_iter().map(of_quantity));
    }
    Section {
        title: format!("site.toml: {title}"),
        meaning: table.meaning.to_owned(),
        example: entry.example(),
        name: path,
        pages,
    }
}

/// The table as it is written: `[supply]`, `cable of [[circuit]]`.
fn title_of(entry: &Entry) -> String {
    let key = entry.key();
    match (entry.table().as_str(), key.kind) {
        ("", ValueKind::Tables(_)) => format!("[[{}]]", key.name),
        ("", _) => format!("[{}]", key.name),
        (table, _) => format!("{} of {table}", key.name),
    }
}

fn of_key(entry: &Entry, table: &str) -> ReferencePage {
    let key = entry.key();
    ReferencePage {
        name: entry.path(),
        short: key.name.to_owned(),
        title: "",
        what: format!("a key of {table} in site.toml"),
        meaning: key.meaning.trim().to_owned(),
        facts: facts(key),
        example: entry.example(),
    }
}

fn facts(key: &Key) -> Vec<(&'static str, String)> {
    let mut facts = vec![("Value", key.values())];
    if !key.unit.is_empty() {
        facts.push(("Unit", key.unit.to_owned()));
    }
    facts.push(("Default", key.default_text()));
    facts
}

fn of_quantity(quantity: Quantity) -> ReferencePage {
    let name = quantity.name();
    let mut facts = vec![("Value", quantity.kind().meaning().to_owned())];
    if !quantity.unit().is_empty() {
        facts.push(("Unit", quantity.unit().to_owned()));
    }
    ReferencePage {
        name: format!("meter.columns.{name}"),
        what: "a quantity of a log, named under [meter.columns] in site.toml".to_owned(),
        meaning: quantity.meaning(),
        facts,
        example: format!("[meter.columns]\n{name} = \"the column's name in the log\"\n"),
        short: name,
        title: "",
    }
}

fn of_file(name: &str, title: &str, columns: &'static Declared) -> Section {
    let stem = name.trim_end_matches(".csv");
    let page = |key: &'static Key| ReferencePage {
        name: format!("{stem}.{}", key.name),
        short: key.name.to_owned(),
        title: "",
        what: match name.strip_suffix(".csv") {
            Some(_) => format!("a column of {name}"),
            None => format!("a column of {}", lower(title)),
        },
        meaning: key.meaning.to_owned(),
        facts: facts(key),
        example: row_example(columns, key),
    };
    let first = columns.keys.first();
    Section {
        name: name.to_owned(),
        title: title.to_owned(),
        meaning: columns.meaning.to_owned(),
        example: first.map_or_else(String::new, |key| row_example(columns, key)),
        pages: columns.keys.iter().map(page).collect(),
    }
}

/// estate.toml has one table.
fn estate_file() -> Section {
    let all = entries(&ESTATE_FILE);
    let title = "estate.toml: [[site]]";
    let pages = all
        .iter()
        .filter(|entry| entry.way.len() == 2)
        .map(|entry| {
            let page = of_key(entry, "[[site]]");
            ReferencePage {
                name: format!("estate.{}", entry.path()),
                what: "a key of [[site]] in estate.toml".to_owned(),
                ..page
            }
        });
    Section {
        name: "estate.toml".to_owned(),
        title: title.to_owned(),
        meaning: ESTATE_FILE.meaning.to_owned(),
        example: "[[site]]\npath = \"north/ferry-lane\"\nfloor_area_m2 = 1850\n".to_owned(),
        pages: pages.collect(),
    }
}

fn lower(title: &str) -> String {
    let mut letters = title.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

fn findings() -> Section {
    Section {
        name: "findings".to_owned(),
        title: "Findings".to_owned(),
        meaning: "What `tapoff diagnose` reports: kinds of finding.".to_owned(),
        example: String::new(),
        pages: Kind::ALL.map(of_finding).to_vec(),
    }
}

fn of_finding(kind: Kind) -> ReferencePage {
    let page = diagnosis::page(kind);
    ReferencePage {
        name: format!("finding.{kind}"),
        short: kind.name().to_owned(),
        title: kind.title(),
        what: "a kind of finding".to_owned(),
        meaning: page.meaning.to_owned(),
        facts: [
            ("How it is calculated", page.formula),
            ("Source", page.source),
            ("Possible other causes", page.imitators),
            ("What to do", page.action),
            ("Caution", page.caution),
        ]
        .map(|(heading, text)| (heading, text.to_owned()))
        .to_vec(),
        example: String::new(),
    }
}

fn of_messages(title: &str, pages: &[message::Explained]) -> Section {
    let about = title.trim_start_matches("Messages about ");
    let page = |page: &message::Explained| ReferencePage {
        name: format!("message.{}", page.name),
        short: page.name.to_owned(),
        title: "",
        what: "a message".to_owned(),
        meaning: page.meaning.to_owned(),
        facts: vec![("What to do", page.action.to_owned())],
        example: String::new(),
    };
    let word = about.split([' ', ',', '.']).find(|word| word.len() > 3);
    Section {
        name: format!("messages.{}", word.unwrap_or("other")),
        title: title.to_owned(),
        meaning: format!(
            "A message ends with its name in brackets. These are the messages about {about}."
        ),
        example: String::new(),
        pages: pages.iter().map(page).collect(),
    }
}
