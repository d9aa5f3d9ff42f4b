//! Columns together with the functions that give their cells.

use super::cell::Cell;
use super::column::Column;
use super::table::Table;

/// Gives the cell of a row.
type CellOf<'r, R> = Box<dyn Fn(R) -> Cell + 'r>;

/// Declares the columns of a table, a line for each: key, column, and its cell for a row.
///
/// ```
/// use tables::{columns, number, words};
/// use units::FigureKind;
///
/// let table = columns! { row in &(&str, Option<f64>);
///     machine: words("Machine") => row.0;
///     energy_kwh: number("Energy", FigureKind::ActiveEnergy) => row.1;
/// }
/// .table("machines", "Energy of machines", &[("saw", Some(12.34)), ("drill", None)]);
/// assert_eq!(table.csv().unwrap(), "machine,energy_kwh\nsaw,12.34\ndrill,\n");
/// assert!(table.text().contains("Energy [kWh]") && table.text().contains("–"));
/// ```
#[doc(hidden)]
#[macro_export]
macro_rules! table_columns {
    ($row:pat_param in $type:ty; $($key:ident: $column:expr => $says:expr;)+) => {
        $crate::Columns::<$type>::new()
            $(.add(stringify!($key), $column, move |row| {
                #[allow(unused_variables, reason = "a column may use only a part of its row")]
                let $row = row;
                $says
            }))+
    };
}

/// The columns of a table of rows `R`, each declared once: see `columns!`.
pub struct Columns<'r, R> {
    list: Vec<(Column, CellOf<'r, R>)>,
}

impl<R> Default for Columns<'_, R> {
    fn default() -> Self {
        Columns { list: Vec::new() }
    }
}

impl<'r, R: Copy> Columns<'r, R> {
    /// No columns yet.
    #[must_use]
    pub fn new() -> Columns<'r, R> {
        Columns::default()
    }

    /// With a further column to the right.
    #[must_use]
    pub fn add<V: Into<Cell>>(
        mut self,
        key: &'static str,
        column: Column,
        says: impl Fn(R) -> V + 'r,
    ) -> Self {
        let says: CellOf<'r, R> = Box::new(move |row| says(row).into());
        self.list.push((Column { key, ..column }, says));
        self
    }

    /// With the columns of another declaration.
    #[must_use]
    pub fn and(mut self, others: Columns<'r, R>) -> Self {
        self.list.extend(others.list);
        self
    }

    /// The table with a row for each thing.
    pub fn table(
        self,
        id: &'static str,
        title: impl Into<String>,
        rows: impl IntoIterator<Item = R>,
    ) -> Table {
        let cells = |row: R| self.list.iter().map(|(_, says)| says(row)).collect();
        Table {
            rows: rows.into_iter().map(cells).collect(),
            columns: self.list.into_iter().map(|(column, _)| column).collect(),
            ..Table::new(id, title, Vec::new(), Vec::new())
        }
    }
}

impl<R> std::fmt::Debug for Columns<'_, R> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let columns = self.list.iter().map(|(column, _)| column);
        f.debug_list().entries(columns).finish()
    }
}
