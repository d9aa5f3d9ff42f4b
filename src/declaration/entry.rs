//! Every key of a file with the tables that lead to it, and an example of it that can be read.

use super::{Declared, Key, ValueKind};

/// A key of a TOML file and the tables that lead to it.
#[derive(Clone, Debug)]
pub struct Entry {
    /// From the top of the file down; the last is the key itself.
    pub way: Vec<&'static Key>,
}

/// Every key of a file, tables before what they hold.
#[must_use]
pub fn entries(root: &'static Declared) -> Vec<Entry> {
    let mut found = Vec::new();
    add(root, &[], &mut found);
    found
}

fn add(table: &'static Declared, way: &[&'static Key], found: &mut Vec<Entry>) {
    for key in table.keys {
        let way = [way, &[key]].concat();
        found.push(Entry { way: way.clone() });
        if let Some(below) = key.kind.declared() {
            add(below, &way, found);
        }
    }
}

impl Entry {
    /// The key.
    #[must_use]
    pub fn key(&self) -> &'static Key {
        self.way[self.way.len() - 1]
    }

    /// `supply.phase_limit_a`.
    #[must_use]
    pub fn path(&self) -> String {
        let names: Vec<&str> = self.way.iter().map(|key| key.name).collect();
        names.join(".")
    }

    /// The table that the key is in, as it is written: `[supply]`, `cable of [[circuit]]`; empty for a table of the
    /// file itself.
    #[must_use]
    pub fn table(&self) -> String {
        let mut title = String::new();
        for (depth, key) in self.way[..self.way.len() - 1].iter().enumerate() {
            title = match (depth, key.kind) {
                (0, ValueKind::Tables(_)) => format!("[[{}]]", key.name),
                (0, _) => format!("[{}]", key.name),
                _ => format!("{} of {title}", key.name),
            };
        }
        title
    }

    /// The key with a value, within a table that is complete: it is read as it stands.
    #[must_use]
    pub fn example(&self) -> String {
        let top = self.way[0];
        let head = if matches!(top.kind, ValueKind::Tables(_)) {
            format!("[[{}]]", top.name)
        } else {
            format!("[{}]", top.name)
        };
        let lines = items(top, &self.way[1..]);
        format!("{head}\n{}\n", lines.join("\n"))
    }
}

/// `key = value` of all that a table must have, with what leads to the key last.
fn items(table: &'static Key, way: &[&'static Key]) -> Vec<String> {
    let keys = table.kind.declared().map_or(&[][..], |below| below.keys);
    let last = way.first().copied();
    let is_other = |key: &&Key| key.is_required() && last.is_none_or(|last| last.name != key.name);
    let mut items: Vec<String> = keys
        .iter()
        .filter(is_other)
        .map(|key| format!("{} = {}", key.name, value(key, &[])))
        .collect();
    if let Some(key) = last {
        if !key.needs.is_empty() && !key.needs.starts_with('{') {
            items.push(key.needs.to_owned());
        }
        items.push(format!("{} = {}", key.name, value(key, &way[1..])));
    }
    items
}

/// The value of a key that shows the rest of the way.
fn value(key: &'static Key, way: &[&'static Key]) -> String {
    if way.is_empty() && !key.example.is_empty() {
        return key.example.to_owned();
    }
    let table = format!("{{ {} }}", items(key, way).join(", "));
    match key.kind {
        ValueKind::Tables(_) => {
            let needs = way.first().map_or("", |key| key.needs);
            // Other needs are keys of the table itself.
            let needs = if needs.starts_with('{') { needs } else { "" };
            let comma = if needs.is_empty() { "" } else { ", " };
            format!("[ {table}{comma}{needs} ]")
        }
        _ => table,
    }
}

/// A file with one row in which the named column is filled, and what else a row needs: its header and its row.
#[must_use]
pub fn row_example(table: &'static Declared, column: &Key) -> String {
    // In the order of the table: the first column of some files is the time.
    let shown = |key: &&Key| key.is_required() || key.name == column.name;
    let needed = table.keys.iter().filter(shown);
    let needed = needed.map(|key| (key.name, key.example));
    let needs = column
        .needs
        .split(", ")
        .filter_map(|pair| pair.split_once(" = "));
    let all = needed.chain(needs);
    let (header, row): (Vec<&str>, Vec<&str>) = all.unzip();
    format!("{}\n{}\n", header.join(","), row.join(","))
}
