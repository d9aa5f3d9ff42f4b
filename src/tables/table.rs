//! A table: columns, rows and notes; how a cell is shown to people.

use super::cell::Cell;
use super::column::{Column, FILES, Output, words};
use super::plain::plain;
use units::{UNKNOWN, format_date, format_moment, format_number, format_signed, grouped_digits};

/// A titled table with typed cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Kebab-case name: of its sheet in a workbook, and after `--table`.
    pub id: &'static str,
    /// What it shows, without a full stop.
    pub title: String,
    /// How its figures are calculated, without a full stop; may be empty.
    pub method: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each as long as there are columns.
    pub rows: Vec<Vec<Cell>>,
    /// The row of totals for terminal and page; programs and workbooks can add for themselves.
    pub total: Option<Vec<Cell>>,
    /// Notes below it.
    pub notes: Vec<String>,
}

/// What an output shows of a table to people.
#[derive(Clone, Debug, PartialEq)]
pub struct ShownTable<'t> {
    /// The columns that the output shows.
    pub columns: Vec<&'t Column>,
    /// Formatted cells of the rows, and of the total.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table of columns and rows.
    pub fn new(
        id: &'static str,
        title: impl Into<String>,
        columns: Vec<Column>,
        rows: Vec<Vec<Cell>>,
    ) -> Table {
        Table {
            id,
            title: title.into(),
            columns,
            rows,
            ..Table::default()
        }
    }

    /// With how its figures are calculated.
    #[must_use]
    pub fn with_method(mut self, method: impl Into<String>) -> Table {
        self.method = method.into();
        self
    }

    /// With a row of totals: its name, and the cells of the columns that have a total.
    #[must_use]
    pub fn with_total<const N: usize>(mut self, name: &str, sums: [(&str, Cell); N]) -> Table {
        let mut total = vec![Cell::from(""); self.columns.len()];
        if let Some(first) = total.first_mut() {
            *first = name.into();
        }
        for (key, sum) in sums {
            if let Some(index) = self.position(key) {
                total[index] = sum;
            }
        }
        self.total = Some(total);
        self
    }

    /// With notes below it.
    #[must_use]
    pub fn with_notes(mut self, notes: impl IntoIterator<Item = String>) -> Table {
        self.notes.extend(notes);
        self
    }

    /// The same table with only the rows that pass a test.
    #[must_use]
    pub fn only(mut self, keeps: impl Fn(&[Cell]) -> bool) -> Table {
        self.rows.retain(|row| keeps(row));
        self
    }

    /// With the site in each row, for files: tables of several sites can then be put below one another.
    #[must_use]
    pub fn of_site(mut self, site: &str) -> Table {
        let column = words("Site").only(FILES);
        self.columns.insert(
            0,
            Column {
                key: "site",
                ..column
            },
        );
        for row in self.rows.iter_mut().chain(&mut self.total) {
            row.insert(0, site.into());
        }
        self
    }

    /// The same table without a column.
    #[must_use]
    pub fn without(&self, key: &str) -> Table {
        let others = self.columns.iter().map(|column| column.key);
        let others: Vec<&str> = others.filter(|other| *other != key).collect();
        self.part(self.title.clone(), &others)
            .with_method(self.method.clone())
    }

    /// Some columns of it as a table of its own, which terminal and page show: a wide one in several parts.
    #[must_use]
    pub fn part(&self, title: impl Into<String>, keys: &[&str]) -> Table {
        let places: Vec<usize> = keys.iter().filter_map(|key| self.position(key)).collect();
        let of = |row: &Vec<Cell>| places.iter().map(|&place| row[place].clone()).collect();
        let columns = places.iter().map(|&place| self.columns[place].clone());
        Table::new(
            self.id,
            title,
            columns.collect(),
            self.rows.iter().map(of).collect(),
        )
    }

    /// Index of a column.
    #[must_use]
    pub fn position(&self, key: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.key == key)
    }

    /// Indices of the columns that an output shows.
    #[must_use]
    pub fn places(&self, output: Output) -> Vec<usize> {
        let is_filled = |place: usize| self.rows.iter().any(|row| row[place].is_known());
        let is_shown = |&place: &usize| {
            let column = &self.columns[place];
            let is_page = matches!(output, Output::Text | Output::Html);
            column.shown_in.contains(&output)
                && !(is_page && column.is_optional && !is_filled(place))
        };
        (0..self.columns.len()).filter(is_shown).collect()
    }

    /// What an output shows to people: numbers rounded as their columns say, local times, a dash for unknown
    /// values.
    #[must_use]
    pub fn shown(&self, output: Output) -> ShownTable<'_> {
        let places = self.places(output);
        let cells = |row: &Vec<Cell>| {
            let cells = places.iter();
            cells
                .map(|&place| shown(&row[place], &self.columns[place]))
                .collect()
        };
        ShownTable {
            rows: self.rows.iter().chain(&self.total).map(cells).collect(),
            columns: places.iter().map(|&place| &self.columns[place]).collect(),
        }
    }
}

/// A cell as people see it.
fn shown(cell: &Cell, column: &Column) -> String {
    let figure = |value: f64| match column.decimals() {
        Some(decimals) if column.is_signed => format_signed(value, decimals),
        Some(decimals) => format_number(value, decimals),
        None => grouped_digits(&(value + 0.0).to_string()),
    };
    match cell {
        Cell::Text(words) => plain(words),
        Cell::Number(value) => figure(*value),
        Cell::Rounded(value, decimals) => format_number(*value, *decimals),
        Cell::Decimal(value) => {
            let is_positive = value.is_sign_positive() && !value.is_zero();
            let sign = if is_positive && column.is_signed {
                "+"
            } else {
                ""
            };
            // Amounts have the places of their currency; quantities and prices have no trailing zeros.
            let digits = match column.decimals() {
                Some(_) => value.to_string(),
                None => value.normalize().to_string(),
            };
            format!("{sign}{}", grouped_digits(&digits))
        }
        Cell::Change(now, after) => {
            let after = figure(*after);
            match now.map(figure) {
                Some(now) if now != after => format!("{now} → {after}"),
                _ => after,
            }
        }
        Cell::Local(at) | Cell::Instant(at) => format_moment(*at),
        Cell::Date(date) => format_date(*date),
        Cell::YesNo(flag) => yes_or_no(*flag).to_owned(),
        Cell::Unknown => UNKNOWN.to_owned(),
    }
}

pub(super) const fn yes_or_no(flag: bool) -> &'static str {
    if flag { "yes" } else { "no" }
}

#[cfg(test)]
mod tests {
    use super::super::{PEOPLE, exact, number, words};
    use super::*;
    use units::FigureKind;

    const ALL: &[&str] = &["meter", "kw", "note"];

    fn keyed(columns: Vec<Column>) -> Vec<Column> {
        let keyed = columns.into_iter().zip(ALL);
        keyed
            .map(|(column, key)| Column { key, ..column })
            .collect()
    }

    #[test]
    fn an_empty_optional_column_is_left_out() {
        let table = Table::new(
            "loads",
            "Loads",
            keyed(vec![
                words("Meter"),
                number("Demand", FigureKind::ActivePower).only(PEOPLE),
                words("Note").optional(),
            ]),
            vec![vec!["saw".into(), Cell::Unknown, "".into()]],
        )
        .with_total("total", [("kw", 2.0.into())]);
        assert_eq!(table.places(Output::Text), [0, 1]);
        assert_eq!(table.places(Output::Workbook), [0, 1, 2]);
        assert_eq!(table.places(Output::Csv), [0, 2]);
        let rows = table.shown(Output::Html).rows;
        assert_eq!(rows, [["saw", "–"], ["total", "2.00"]]);
        let part = table.part("Demand", &["kw"]);
        assert_eq!((part.columns.len(), part.rows[0].len()), (1, 1));
    }

    #[test]
    fn signs_limits_and_changes_are_shown_as_people_read_them() {
        let current = number("Current", FigureKind::Current);
        let changed = |now, after| shown(&Cell::Change(now, after), &current);
        assert_eq!(changed(Some(5.0), 4.0), "5.0 → 4.0");
        assert_eq!(changed(Some(4.01), 4.0), "4.0");
        assert_eq!(changed(None, 4.0), "4.0");
        assert_eq!(shown(&0.04.into(), &current.clone().signed()), "0.0");
        assert_eq!(shown(&0.06.into(), &current.clone().signed()), "+0.1");
        assert_eq!(shown(&(-1234.5).into(), &current), "−1\u{202f}234.5");
        assert_eq!(shown(&62.5.into(), &exact("Limit", "A")), "62.5");
        assert_eq!(shown(&63.0.into(), &exact("Limit", "A")), "63");
        assert_eq!(shown(&f64::NAN.into(), &current), "–");
    }
}
